"""What a text says for the bench: what terminals offer, housings, shared crimps, spare wires. SI units."""

from __future__ import annotations

from typing import Literal

from ..diagnostics.diagnostic import Span
from ..quantities.size import Size
from ..records import dataclass
from ..vocabulary.colours import Colour
from .wires import End


@dataclass(frozen=True, slots=True, kw_only=True)
class Offered:
    """What terminals of a part offer a wire. ``terminals`` are its own, or the empty name of a ground's one node.

    ``size`` in m is a tab's width or the diameter of a bullet or pin; ``thread`` the M of a stud or a screw, in mm.
    """

    part: str
    terminals: tuple[str, ...]
    what: Literal["stud", "tab", "bullet", "pin", "screw", "bare"]
    span: Span
    size: float | None = None
    thread: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Housing:
    """A part that plugs in by itself: the housing that the loom has for it."""

    part: str
    ways: int
    span: Span
    sealed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """Wires that share one crimp at a terminal."""

    wires: tuple[str, ...]
    end: End
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class SpareWire:
    """A wire that is laid in between two places and connected to nothing."""

    name: str
    a: str
    b: str
    span: Span
    colour: Colour | None = None
    size: Size | None = None
    wire_class: str = "A"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """All that a text says for the bench. ``slack``: share of 1 of every route that does not say its own."""

    slack: float | None = None
    offered: tuple[Offered, ...] = ()
    housings: tuple[Housing, ...] = ()
    together: tuple[Together, ...] = ()
    spare_wires: tuple[SpareWire, ...] = ()

    def at(self, end: End) -> Offered | None:
        """What a terminal offers; ``None`` where the text does not say."""
        return next((o for o in self.offered if o.part == end.part and end.terminal in o.terminals), None)

    def housing(self, part: str) -> Housing | None:
        """The housing of a part that plugs in by itself."""
        return next((housing for housing in self.housings if housing.part == part), None)

    def housed(self, *ends: End) -> int:
        """How many of some ends are at parts that plug in by themselves."""
        return sum(self.housing(end.part) is not None for end in ends)

    def beside(self, wire: str, end: End) -> tuple[str, ...]:
        """The other wires in the crimp of this one at this end."""
        joint = next((t for t in self.together if t.end == end and wire in t.wires), None)
        return tuple(name for name in joint.wires if name != wire) if joint else ()
