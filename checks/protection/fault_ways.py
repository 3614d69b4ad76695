"""One way of a fault current from a feed pole, and whether the contacts on it are ever closed at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

from ...lang.circuit.branch import Branch, InPosition, Pulled
from ...lang.search.cuts import Arc, Node
from ...lang.search.walks import back, reachable
from .fault_islands import POLES

Mover = tuple[str, str]
"""What moves contacts: a control or a relay, and its name."""

Step = tuple[Node, Branch | None]
"""Whence a way comes to a node, and by which copper; by none through a device, or out of a pole."""


def moved_by(branch: Branch) -> tuple[Mover, frozenset[str]] | None:
    """What moves a contact, and where it is closed; ``None`` for what is always closed, and for outputs."""
    match branch.guard:
        case InPosition(control=control, positions=places):
            return ("control", control), places
        case Pulled(relay=relay, pulled=pulled):
            return ("relay", relay), frozenset({"pulled" if pulled else "released"})
        case _:
            return None


class FaultWays:
    """The shortest ways from the feed poles, through devices of this rating or more."""

    def __init__(self, copper: tuple[Branch, ...], arcs: tuple[Arc, ...]) -> None:
        self._copper = copper
        self._arcs = arcs
        self._known: dict[float, Mapping[Node, Step | None]] = {}

    def in_one_position(self, piece: Branch, amps: float, at: Node) -> bool:
        """Whether the way by which this many A reach an end, without the piece itself, needs of no control and no relay
        contacts that are never closed at once. Another way may; then this one is no proof.
        """
        if amps not in self._known:
            self._known[amps] = reachable([POLES], lambda node: self._steps(node, amps))
        ways = self._known[amps]
        left: dict[Mover, frozenset[str]] = {}
        for _, branch in back(ways.get, at, lambda step, _: step[0]):
            if branch is piece:
                return False
            if branch is not None and (moved := moved_by(branch)) is not None:
                mover, places = moved
                left[mover] = left.get(mover, places) & places
        return at in ways and all(left.values())

    def _steps(self, node: Node, amps: float) -> Iterator[tuple[Node, Step]]:
        for far, branch, most in self._beside.get(node, ()):
            if most >= amps:
                yield far, (node, branch)

    @cached_property
    def _beside(self) -> Mapping[Node, list[tuple[Node, Branch | None, float]]]:
        """What lies one step from each node, by which copper, and how many A get there."""
        found: dict[Node, list[tuple[Node, Branch | None, float]]] = {}
        for arc in self._arcs:
            found.setdefault(arc.tail, []).append((arc.head, None, arc.amps))
            if arc.both:
                found.setdefault(arc.head, []).append((arc.tail, None, arc.amps))
        for branch in self._copper:
            found.setdefault(branch.a, []).append((branch.b, branch, float("inf")))
            found.setdefault(branch.b, []).append((branch.a, branch, float("inf")))
        return found
