"""Branches of a circuit, the controls that move them, and supplies."""

from __future__ import annotations

from typing import Literal

from ..diagnostics.diagnostic import Span
from ..model.parts import (
    Coil,
    Element,
    Field,
    Output,
    UnitOutput,
    UnitSupply,
    Winding,
)
from ..model.wires import Segment
from ..records import dataclass
from .branch_types import BranchType
from .ids import BranchId, End, Role, source_of


# --- what moves a branch ---------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class InPosition:
    """Conducts while ``control`` is in one of ``positions``."""

    control: str
    positions: frozenset[str]


@dataclass(frozen=True, slots=True)
class Pulled:
    """Conducts while the relay is pulled (``pulled``) or released (not ``pulled``)."""

    relay: str
    pulled: bool


@dataclass(frozen=True, slots=True)
class On:
    """Conducts while the output of a unit is on: the unit is powered and the output's expression holds."""

    unit: str
    output: str


Guard = InPosition | Pulled | On


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """One variable of a combination: a switch, a sensed quantity, a free signal or the engine.

    ``rest`` is its position at rest. ``free`` marks what is in no one position while the engine turns (crank
    switches, ``signal`` inputs): what lies behind it is live if live in any position, dead only if dead in all.
    """

    name: str
    positions: tuple[str, ...]
    rest: str
    span: Span | None
    switches: tuple[str, ...] = ()
    momentary: bool = False
    sensed: str | None = None
    key: bool = False
    free: bool = False


Item = Element | Field | Coil | UnitSupply | UnitOutput | Winding | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A two-terminal thing. Current from ``a`` to ``b`` is forward. ``key`` is unique and reads as a name.

    ``part`` is the part it belongs to (empty for a wire), ``segment`` the stretch of wire it is. ``guard`` is ``None``
    for what always conducts by its law. ``reliable`` is false for a mount through bearings, paint, rubber or a hinge.
    """

    key: BranchId
    branch_type: BranchType
    a: End
    b: End
    span: Span
    part: str = ""
    segment: Segment | None = None
    item: Item = None
    guard: Guard | None = None
    reliable: bool = True

    def made_for(self, system: float) -> float:
        """V that it is made for: what its line says after ``at``, else those of the ``system``."""
        rated = self.item.rated_volts if isinstance(self.item, Element | Coil) else None
        return rated or system

    def other_end(self, node: str) -> End:
        """The terminal that current comes to over it from one of its two."""
        return self.b if self.a == node else self.a

    @property
    def owner(self) -> str:
        """The name a user knows it by: the wire's or the part's."""
        return self.segment.wire if self.segment else self.part


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """A source: its poles as nodes, and when it is one.

    ``kind``: ``battery`` always; ``machine`` while the engine turns (cranking only with ``output.cranking`` watts);
    ``winding``: alternating, in both directions, while the engine turns. ``plus``: the main + first, then taps that are
    a second + of the same source (D+, trio). ``phases`` (of a rectifier) must be on the phases of an alternator,
    whose name is then the machine's; ``field_keys`` are the field branches of which one must be fed first (empty: the
    machine excites itself).
    """

    part: str
    kind: Literal["battery", "machine", "winding"]
    plus: tuple[End, ...]
    minus: End
    span: Span
    output: Output | None = None
    phases: tuple[End, ...] = ()
    field_keys: tuple[BranchId, ...] = ()
    winding: str = ""

    @property
    def name(self) -> str:
        """The part's, with that of the winding where it is one of several: no other source has it."""
        return f"{self.part}.{self.winding}" if self.winding else self.part

    @property
    def key(self) -> BranchId:
        """What currents and voltages of it go by, beside those of branches."""
        return source_of(self.part, self.winding)

    def tap(self, plus: End) -> BranchId:
        """What the current out of one of its several + terminals goes by."""
        return BranchId(self.part, Role.TAP, plus.terminal)
