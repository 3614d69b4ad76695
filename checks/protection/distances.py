"""How far a conductor that nothing protects is from the feed pole, and the way of a fault current to any conductor."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.search.cheapest import nearest
from ...lang.search.walks import back
from .sides import Sides
from .sustained_fault import SustainedFault, is_device


class Distances:
    """Ways from the feed poles of one circuit, along the wire."""

    def __init__(self, sides: Sides) -> None:
        self.sides = sides

    @cached_property
    def _unprotected(self) -> dict[End, tuple[float, Branch | None]]:
        """For each node that a battery reaches past no device: metres of wire from the pole, and the last branch.

        A piece of unknown length counts as none: what is returned is then the least that the distance can be.
        """
        poles = sorted(
            p for s in self.sides.sources if s.kind == "battery" and (p := self.sides.feed_pole(s)) in self.sides.feeds
        )

        def step(node: str) -> Iterator[tuple[End, Branch]]:
            for far, branch in self.sides.steps(node, outward=True):
                if far in self.sides.feeds and not is_device(branch):
                    yield far, branch

        found = nearest(poles, step, lambda metres, branch: metres + _metres(branch))
        return {node: (metres, by) for node, metres, by in found}

    def of(self, sustained_fault: SustainedFault) -> float:
        """Metres along the wire from the feed pole to the far end of an unprotected conductor (at least, where a length
        is unknown).
        """
        branch = sustained_fault.conductor
        return min(self._unprotected[end][0] for end in self._near(branch)) + _metres(branch)

    def _near(self, branch: Branch) -> tuple[End, ...]:
        return tuple(end for end in (branch.a, branch.b) if end in self._unprotected)

    def lengths_known(self, sustained_fault: SustainedFault) -> bool:
        """Whether the lengths of an unprotected conductor and of its way from the pole are all known."""
        way = [*self._way_back(sustained_fault), sustained_fault.conductor]
        return all(branch.segment is None or branch.segment.length is not None for branch in way)

    def _way_back(self, sustained_fault: SustainedFault) -> Iterator[Branch]:
        branch = sustained_fault.conductor
        node = min(self._near(branch), key=lambda end: self._unprotected[end][0])
        return back(lambda there: self._unprotected[there][1], node, Branch.other_end)

    def origin(self, sustained_fault: SustainedFault) -> tuple[End, End]:
        """The pole that feeds an unprotected conductor, and the end of the conductor that is nearer to it."""
        end = node = min(self._near(sustained_fault.conductor), key=lambda each: self._unprotected[each][0])
        for by in self._way_back(sustained_fault):
            node = by.other_end(node)
        return node, end

    def way(self, sustained_fault: SustainedFault) -> tuple[str, ...]:
        """The way of a fault current from a feed pole to the conductor, as names of wires and parts in order.

        For an unprotected one the shortest past no device; otherwise through the device that limits it.
        """
        if not sustained_fault.protected:
            back = list(self._way_back(sustained_fault))
            first = back[-1] if back else sustained_fault.conductor
            ends = [e for e in (first.a, first.b) if self._unprotected.get(e, (1.0,))[0] == 0.0]
            pole = ends[0].part if ends else ""
            names = [pole, *(b.owner for b in reversed(back)), sustained_fault.conductor.owner]
        else:
            names = [*self._names_through(sustained_fault), sustained_fault.conductor.owner]
        return tuple(name for i, name in enumerate(names) if name and (i == 0 or names[i - 1] != name))

    def _names_through(self, sustained_fault: SustainedFault) -> list[str]:
        """Names from the nearest of the limiting devices to the end at which the current comes in."""
        way, node = self._way_through(sustained_fault), sustained_fault.at
        if way is None:
            return list(sustained_fault.devices)
        for by in reversed(way):
            node = by.other_end(node)
        return [node.part, *(by.owner for by in way)]

    def branches_to(self, sustained_fault: SustainedFault) -> list[Branch]:
        """The branches from the nearest of the limiting devices to the end of a conductor at which the current enters,
        in that order; none where no such way is known.
        """
        return self._way_through(sustained_fault) or []

    def _way_through(self, sustained_fault: SustainedFault) -> list[Branch] | None:
        """The branches of that way; ``None`` without one."""
        ends = {
            name: self.sides.circuit.by_key[name]
            for name in sustained_fault.devices
            if name in self.sides.circuit.by_key
        }
        start = {b.b for b in ends.values()} | {b.a for b in ends.values() if b.branch_type is BranchType.FUSE}
        shut = self.sides.returns | ({sustained_fault.conductor.a, sustained_fault.conductor.b} - {sustained_fault.at})
        node = sustained_fault.at
        open_ = [n for n in start if n in self.sides.feeds and n not in shut]
        reached = self.sides.reached(open_, outward=True, shut=shut, to=node)
        return [*back(reached.__getitem__, node, Branch.other_end)][::-1] if node in reached else None


def _metres(branch: Branch) -> float:
    return (branch.segment.length or 0.0) if branch.segment else 0.0
