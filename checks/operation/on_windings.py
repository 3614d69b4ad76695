"""Which consumers live on alternating windings, and which of these are solved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.paths import steps_over
from ...lang.model.parts import Source
from ...lang.search.walks import closure

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.ids import End
    from .operating_point import OperatingPoint


def has_windings(circuit: Circuit) -> bool:
    """Whether anything in a circuit wants more than direct current: a winding, or a stator that was measured."""
    if any(supply.kind == "winding" for supply in circuit.supplies):
        return True
    return any(isinstance(p, Source) and p.measured.volts is not None for p in circuit.harness.parts.values())


def driven_both_ways(point: OperatingPoint, branch: Branch) -> bool:
    """Whether a winding is at both ends of a branch past nothing that lets current one way only: what a diode shuts off
    has no volts that numbers tell.
    """
    ends = {e for s in point.circuit.supplies if s.kind == "winding" for e in (*s.plus, s.minus)}

    def passes(step: Branch) -> bool:
        return step is not branch and step.branch_type.as_load is Direction.BOTH and point.connectivity.conducts(step)

    steps = steps_over(point.circuit, passes)

    def beside(node: End) -> Iterator[End]:
        return (other for other, _ in steps(node))

    reached: list[set[End]] = [closure([end], beside) for end in (branch.a, branch.b)]
    return all(ends & each for each in reached)


class OnWindings:
    """The consumers of one circuit that only windings can feed."""

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self._known: dict[frozenset[str], tuple[str, ...]] = {}

    @property
    def all(self) -> tuple[str, ...]:
        """The consumers that only alternating windings can feed, by key."""
        return self._by(frozenset(s.name for s in self._circuit.supplies if s.kind == "winding"))

    def untold(self, point: OperatingPoint) -> tuple[str, ...]:
        """Those of them that are not solved at an operating point, and read 0 there, by key."""
        left_out = frozenset(each.winding for each in point.flow.left_out)
        found = self._by(left_out) if left_out else ()
        if not point.flow.by_watts:
            return found
        # What a box on a winding gets its watts alone do not tell.
        by_key = self._circuit.by_key
        boxes = (key for key in self.all if by_key[key].branch_type is BranchType.IGNITION)
        return tuple(dict.fromkeys((*found, *boxes)))

    def _by(self, windings: frozenset[str]) -> tuple[str, ...]:
        if windings not in self._known:
            self._known[windings] = self._driven(windings) if windings else ()
        return self._known[windings]

    def _driven(self, windings: frozenset[str]) -> tuple[str, ...]:
        """The consumers that some windings can feed, and no other source. A battery feeds nothing against a diode."""
        circuit, nets = self._circuit, self._circuit.nets
        of = nets.of
        onward: dict[int, set[int]] = {}
        backward: dict[int, set[int]] = {}
        for edge in nets.switched:
            for tail, head in ((edge.a, edge.b), (edge.b, edge.a)) if edge.both else ((edge.a, edge.b),):
                onward.setdefault(tail, set()).add(head)
                backward.setdefault(head, set()).add(tail)
        grounds = {of[supply.minus] for supply in circuit.supplies}

        def reached(starts: set[int], *ways: dict[int, set[int]]) -> set[int]:
            def near(net: int) -> set[int]:
                return (
                    set[int]().union(*(way.get(net, set()) for way in ways)) - grounds if net not in grounds else set()
                )

            return set(closure(starts, near)) - grounds

        others = [s for s in circuit.supplies if s.name not in windings]
        fed = reached({of[p] for s in others for p in s.plus}, onward)
        fed |= reached({of[s.minus] for s in others} - grounds, backward)
        hot = {of[p] for s in circuit.supplies if s.name in windings for p in s.plus} - grounds
        driven = reached(hot, onward, backward) - fed
        return tuple(e.branch.key for e in nets.consumers if e.a in driven or e.b in driven)
