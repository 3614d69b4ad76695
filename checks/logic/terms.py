"""The terms of the logic: graphs, kinds of source, questions of reaching, conditions and doubts, with their names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End, Role, inside
from ...lang.named_tuples import NamedTuple
from ...lang.records import dataclass

if TYPE_CHECKING:
    from ...lang.circuit.branch import Supply
    from ...lang.circuit.graphs import Net


Kind = Literal["battery", "machine", "winding"]


Given = tuple[tuple[str, frozenset[str]], ...]
"""Controls, each with the only positions in which it is asked about."""


Graph = Literal["nets", "ballast", "series", "wide"]
"""What conducts besides nets and switches: nothing; resistors; what is made to be in series; every consumer."""


ALSO: dict[Graph, tuple[BranchType, ...]] = {
    "nets": (),
    "ballast": (BranchType.RESISTOR,),
    "series": tuple(branch_type for branch_type in BranchType if branch_type.in_series),
    "wide": tuple(branch_type for branch_type in BranchType if branch_type.consumes),
}


BATTERY: frozenset[Kind] = frozenset({"battery"})


MACHINE: frozenset[Kind] = frozenset({"machine"})


DIRECT: frozenset[Kind] = frozenset({"battery", "machine"})


ANY: frozenset[Kind] = frozenset({"battery", "machine", "winding"})


JOINED, OPEN = "joined", "open"
YES, NO = "yes", "no"
LEFT_OUT, COUNTED = "left out", "counted"

Steps = dict[int, list[tuple[int, int]]]
"""For each net, the nets that a step leads to, and the numbers of the edges that it takes."""


Need = frozenset[str]
"""Names of controls, joints and conditions that an answer can depend on."""


NOTHING: Need = frozenset()


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a source gives current (``plus``) and takes it back (``minus``), as nets.

    A winding has one for each ordered pair of its terminals, since its current runs both ways; batteries in series have
    one for each stretch of the string beside their own.
    """

    supply: Supply
    plus: Net
    minus: Net
    plus_node: End
    minus_node: End

    @property
    def kind(self) -> Kind:
        return self.supply.kind


class Reach(NamedTuple):
    """A question to the net graph: what current reaches from ``start`` (``forward``), or from where it reaches
    ``start``, never running through the net ``wall``.

    A tuple, since tables and cones are looked up by it a hundred thousand times in one check.
    """

    start: Net
    forward: bool
    wall: Net | None = None


@dataclass(frozen=True, slots=True)
class Condition:
    """Something that a relay, a unit or a machine remembers or shows: ``name`` reads as a statement that holds or not.

    ``pulled``: the relay's coil is joined. ``on``: a unit's output. ``set``: a latch. ``excited``: a field machine.
    """

    name: str
    kind: Literal["pulled", "on", "set", "excited"]
    part: str
    item: str = ""

    @property
    def thing(self) -> str:
        """What it is about: a relay, a machine, or an output or latch of a unit (``CTRL.horn``)."""
        return inside(self.part, self.item, _ROLES[self.kind]) if self.item else self.part


_ROLES: Final = {"on": Role.OUTPUT, "set": Role.LATCH}


@dataclass(frozen=True, slots=True)
class Doubt:
    """One thing that may work on what comes to it through other loads, and may not: ``name`` is the variable that
    counts it or does not.

    ``part`` is a relay, a unit or the source of a field, ``item`` an input. ``why``: whether it is weak could not be
    decided, and why. ``free``: what it depends on through loads is too much to go through; counted, it may work at any
    time.
    """

    name: str
    kind: Literal["relay", "supply", "input", "field"]
    part: str
    item: str = ""
    why: str = ""
    free: bool = False


def relay_doubt(relay: str) -> str:
    return f"{relay} through loads"


def supply_doubt(unit: str) -> str:
    return f"{unit} supply through loads"


def input_doubt(unit: str, name: str) -> str:
    return f"{unit}.{name} through loads"


def field_doubt(supply: str) -> str:
    return f"{supply} field through loads"


def pulled(relay: str) -> str:
    return f"{relay} pulled"


def on(unit: str, output: str) -> str:
    return f"{unit}.{output} on"


def latched(unit: str, latch: str) -> str:
    return f"{unit}.{latch} set"


def excited(supply: str) -> str:
    return f"{supply} excited"
