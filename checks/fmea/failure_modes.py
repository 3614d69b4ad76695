"""What can fail, and how."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from ...lang.circuit.ids import End
from ...lang.records import dataclass
from ...lang.search.disjoint_set import DisjointSet

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit

Mode = Literal["open", "short to ground", "diode open", "diode short", "short between phases"]
SHORT: Mode = "short to ground"
DIODE_OPEN: Mode = "diode open"
DIODE_SHORT: Mode = "diode short"
PHASES: Mode = "short between phases"
STATOR: tuple[Mode, ...] = (DIODE_OPEN, DIODE_SHORT, PHASES)
"""What fails in stators and rectifiers without anything that opens or touches ground."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that fails: the branch, by key, and its failure mode; the branch that it touches, by key, where it is
    shorted to another one.
    """

    key: str
    mode: Mode = "open"
    other: str = ""

    def __str__(self) -> str:
        return f"{self.where} {self.mode}"

    @property
    def where(self) -> str:
        """What it is named by."""
        return f"{self.key} to {self.other}" if self.other else self.key


@dataclass(frozen=True, slots=True)
class Damage:
    """What a fault leaves behind: branches that are ``opened``, a node that is shorted to ground (``""``: none),
    plain resistances that are ``resisting`` by this many ohms more, and pairs of nodes that are ``joined``.
    """

    opened: tuple[Branch, ...] = ()
    grounded: str = ""
    resisting: tuple[tuple[Branch, float], ...] = ()
    joined: tuple[tuple[End, End], ...] = ()

    @property
    def keys(self) -> frozenset[str]:
        """The keys of what is open."""
        return frozenset(branch.key for branch in self.opened)


def series_groups(circuit: Circuit, conducts: Callable[[Branch], bool] | None = None) -> dict[str, str]:
    """For each branch that can fail open, the first one in series with it and nothing between.

    Whichever of a chain opens, the same current is gone; only the volts inside the chain tell them apart. ``conducts``:
    what counts; everything if left out, and then a chain is one in every state.
    """
    merged = DisjointSet(branch.key for branch in opens(circuit))
    place = {key: i for i, key in enumerate(merged.leaders)}
    for here in inner_nodes(circuit, conducts).values():
        merged.merge(*sorted((merged.leader(b.key) for b in here), key=place.__getitem__))
    return {key: merged.leader(key) for key in place}


def inner_nodes(circuit: Circuit, conducts: Callable[[Branch], bool] | None = None) -> dict[str, tuple[Branch, Branch]]:
    """The nodes within a series, each with the two branches that meet there and can fail open: nothing else does, and
    no pole or telling terminal is there. ``conducts`` as in ``series_groups``.
    """
    watched = {pole for s in circuit.supplies for pole in (*s.plus, s.minus, *s.phases)}
    watched |= {End(part.name, t) for part in circuit.harness.parts.values() for t in telling(part)}
    can_open = {branch.key for branch in opens(circuit)}
    found = {}
    for node, touching in circuit.at.items():
        here = touching if conducts is None else [b for b in touching if conducts(b)]
        if len(here) == 2 and node not in watched and all(b.key in can_open for b in here):
            found[node] = (here[0], here[1])
    return found


def telling(part: object) -> Iterator[str]:
    """The terminals at which a part tells what they are connected to, and takes no current."""
    yield from getattr(part, "sense", None) or ()
    yield from getattr(part, "stop_lead", None) or ()
    for given in getattr(part, "inputs", ()):
        yield given.terminal


def opens(circuit: Circuit) -> Iterator[Branch]:
    """Every branch that can fail open, in the order of the text."""
    for branch in circuit.branches:
        if branch.branch_type.fails_open and branch.a != branch.b:
            yield branch
