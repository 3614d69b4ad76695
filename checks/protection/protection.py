"""Protection: what a fault in each conductor can draw, and which devices limit it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property
from itertools import product

from ...lang.circuit.branch import Branch, Supply
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import BranchId, End
from ...lang.model.parts import Fuse, Rectifier, Regulator, Source, UnitOutput
from ...lang.search.cuts import Arc, Cut
from ..tables.fuses import continuous_amps
from ..tables.profiles import DEFAULT, Profile, profile_named
from .ampacities import Ampacities
from .cranking_path import CrankingPath
from .distances import Distances
from .fault_islands import POLES, FaultIslands, worst_end
from .fault_ways import FaultWays, Mover, moved_by
from .sides import Sides
from .sustained_fault import UNKNOWN, Limit, SustainedFault, is_device

MOST_POSITIONS = 256
"""Positions of several controls together that an exposure is worked out for (ours)."""


class Protection(Sides):
    """The protection of one circuit, judged by one profile of published limits."""

    def __init__(self, circuit: Circuit, profile: Profile | str = DEFAULT) -> None:
        super().__init__(circuit)
        self.profile = profile_named(profile) if isinstance(profile, str) else profile

    @cached_property
    def ampacities(self) -> Ampacities:
        """What wires may carry continuously."""
        return Ampacities(self.circuit, self.profile)

    @cached_property
    def distances(self) -> Distances:
        """Ways of fault currents from the feed poles."""
        return Distances(self)

    @cached_property
    def cranking_path(self) -> CrankingPath:
        """The way of the starter's current."""
        return CrankingPath(self)

    @cached_property
    def sustained_faults(self) -> dict[str, SustainedFault]:
        """The exposure of every feed-side piece of wire, by the piece's name, in the order of the text.

        Each is a minimum cut with the piece taken out. Hundreds of cuts of the whole graph would cost more than all the
        rest of a check, so the graph is reduced first: what no device parts is one node (an island). A piece that is no
        bridge leaves its island whole; one with all feeds on one side of it leaves nothing beyond; only a piece with
        feeds on both sides needs a separate cut, and pieces that part the same feeds share it.

        All contacts count as closed at once, at first. That is a bound, and the answer where it names one device and
        the way through that needs nothing closed at once that never is. Where several devices add up, or a battery is
        reached past none, or a way takes both throws of a change-over, contacts of one control (or one relay) that are
        never closed together are taken by position: a change-over between two feeds never joins them.
        """
        if self.shorted:
            return {}
        segments = {branch.segment.name: branch for branch in self._copper if branch.segment is not None}
        worst = {segment: worst_end(self._islands, branch) for segment, branch in segments.items()}
        open_to_doubt = {
            segment: segments[segment]
            for segment, (cut, at) in worst.items()
            if math.isinf(cut.amps)
            or sum(not self.limit(name).machine for name in cut.names) > 1
            or (len(cut.names) == 1 and not self._stands(segments[segment], cut.amps, at))
        }
        worst.update(self._by_position({segment: worst[segment] for segment in open_to_doubt}, open_to_doubt))
        return {
            segment: SustainedFault(
                conductor=segments[segment], amps=cut.amps, at=at, limits=tuple(map(self.limit, cut.names))
            )
            for segment, (cut, at) in worst.items()
        }

    def _stands(self, segment: Branch, amps: float, at: End) -> bool:
        """Whether contacts that are never closed together do not matter to what one device limits a fault to."""
        return not self._exclusive or self._fault_ways.in_one_position(segment, amps, at)

    def _by_position(
        self, worst: Mapping[str, tuple[Cut, End]], segments: Mapping[str, Branch]
    ) -> dict[str, tuple[Cut, End]]:
        """The worst cuts of some pieces with every control and relay in one position at a time.

        All positions of all of them together, up to ``MOST_POSITIONS``; beyond, one after the other, which can only
        give more than the true exposure, never less.
        """
        moved = self._exclusive if worst else ()
        if not moved:
            return {}
        guarded = frozenset(key for rows in moved for closed in rows for key in closed)
        apart = self._islands_without(guarded)
        # What is as bad with all of these contacts open is as bad in any position.
        left = [segment for segment in worst if _amps(worst_end(apart, segments[segment])) < _amps(worst[segment])]
        if not left:
            return {}
        together = math.prod(len(rows) for rows in moved) <= MOST_POSITIONS
        groups = [moved] if together else [(rows,) for rows in moved]
        found: dict[str, tuple[Cut, End]] = {}
        for group in groups:
            mine = frozenset(key for rows in group for closed in rows for key in closed)
            each = [self._islands_without(mine - frozenset().union(*closed)) for closed in product(*group)]
            for segment in left:
                here = max((worst_end(islands_, segments[segment]) for islands_ in each), key=_amps)
                found[segment] = min((found.get(segment, worst[segment]), here), key=_amps)
        return found

    @cached_property
    def _exclusive(self) -> tuple[tuple[frozenset[str], ...], ...]:
        """For each control and relay that never closes all its feed-side contacts at once: what each position closes.

        A position that closes no more than another one is left out: it can feed nothing else.
        """
        moved: dict[Mover, dict[str, set[str]]] = {}
        contacts: dict[Mover, set[str]] = {}
        for branch in self._copper:
            if (by := moved_by(branch)) is None:
                continue  # an output is an arc, and what has no guard is always closed
            mover, places = by
            contacts.setdefault(mover, set()).add(branch.key)
            for place in places:
                moved.setdefault(mover, {}).setdefault(place, set()).add(branch.key)
        found = []
        for mover, rows in moved.items():
            closed = dict.fromkeys(frozenset(rows[place]) for place in sorted(rows))
            most = tuple(row for row in closed if not any(row < other for other in closed))
            if most != (frozenset(contacts[mover]),):
                found.append(most)
        return tuple(found)

    @cached_property
    def _fault_ways(self) -> FaultWays:
        return FaultWays(self._copper, self._arcs)

    def _islands_without(self, open_: frozenset[str]) -> FaultIslands:
        copper = tuple(branch for branch in self._copper if branch.key not in open_)
        return FaultIslands(sorted(self.feeds), copper, self._arcs)

    @cached_property
    def _copper(self) -> tuple[Branch, ...]:
        """The feed-side branches that limit nothing and conduct both ways."""
        return tuple(
            b
            for b in self.circuit.branches
            if b.branch_type.joined is Direction.BOTH
            and b.branch_type is not BranchType.FUSE
            and b.a in self.feeds
            and b.b in self.feeds
        )

    @cached_property
    def _arcs(self) -> tuple[Arc, ...]:
        """All else that feeds: poles, devices, and what conducts one way."""
        arcs = []
        for supply in self.sources:
            pole = self.feed_pole(supply)
            if pole in self.feeds:
                most = self.machine_amps(supply)
                amps = math.inf if supply.kind == "battery" else UNKNOWN if most is None else most
                arcs.append(Arc(POLES, pole, amps, supply.key))
        for branch in self.circuit.branches:
            if branch.a not in self.feeds or branch.b not in self.feeds:
                continue
            if branch.branch_type is BranchType.FUSE:
                arcs.append(Arc(branch.a, branch.b, self._rating(branch), branch.key, both=True))
            elif branch.branch_type.joined is Direction.FORWARD:
                ((near, far),) = self.ways(branch)
                arcs.append(Arc(near, far, self._rating(branch), branch.key))
        return tuple(arcs)

    def _rating(self, branch: Branch) -> float:
        limit = self.limit(branch.key) if is_device(branch) else None
        return math.inf if limit is None else UNKNOWN if limit.amps is None else limit.amps

    def limit(self, name: str) -> Limit:
        """What a device or a machine limits a fault to."""
        branch = self.circuit.by_key.get(name)
        if branch is None:
            supply = next(s for s in self.sources if s.key == name)
            return Limit(name, self.machine_amps(supply), machine=True)
        if isinstance(branch.item, UnitOutput):
            return Limit(name, branch.item.passes_at_most)
        part = self.circuit.harness.parts[branch.part]
        return Limit(name, continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None)

    def machine_amps(self, supply: Supply) -> float | None:
        """The most a machine gives, in A: its watts at its regulated volts, at nominal volts where none are written. A
        stator that was measured gives what it gives into a short, at most speed.

        Its taps (D+, a trio) are no source of fault current: they feed its own field, and a fault there starves it.
        """
        if supply.phases and self._measured:
            from ..ac.windings import stator_of

            if (stator := stator_of(self.circuit, supply)) is not None:
                return stator.direct_amps(0.0, stator.source.speeds[1])
        if supply.output is None or (watts := max(supply.output.watts or 0.0, supply.output.idle or 0.0)) == 0.0:
            return None
        parts = self.circuit.harness.parts
        own = parts[supply.name]
        written = [own.regulated] if isinstance(own, Source | Rectifier) else []
        written += [part.regulated for part in parts.values() if isinstance(part, Regulator)]
        return watts / next((volts for volts in written if volts), self.circuit.harness.volts)

    @cached_property
    def _measured(self) -> bool:
        """Whether the figures of a stator are written."""
        return any(isinstance(p, Source) and p.measured.volts is not None for p in self.circuit.harness.parts.values())

    @cached_property
    def _islands(self) -> FaultIslands:
        return FaultIslands(sorted(self.feeds), self._copper, self._arcs)

    @cached_property
    def in_series(self) -> tuple[tuple[str, str], ...]:
        """Pairs of fuses in a row, (the one nearer to the consumers, the one before it), with no device between.

        A row begins at a battery: a machine gives its own limit and no more, which melts neither of two fuses at once.
        """
        poles = [p for s in self.sources if s.kind == "battery" and (p := self.feed_pole(s)) in self.feeds]
        order = {node: i for i, node in enumerate(self.reached(poles, outward=True, shut=self.returns))}
        near: dict[BranchId, int] = {}
        far: dict[BranchId, int] = {}
        for branch in self.circuit.branches:
            if branch.branch_type is BranchType.FUSE and branch.a in order and branch.b in order:
                first, last = sorted((branch.a, branch.b), key=order.__getitem__)
                near[branch.key], far[branch.key] = self._islands.of(first), self._islands.of(last)
        beyond: dict[int, list[BranchId]] = {}
        for key, island in far.items():
            beyond.setdefault(island, []).append(key)
        return tuple((one, other) for one in near for other in beyond.get(near[one], ()) if one != other)


def _amps(found: tuple[Cut, End]) -> float:
    return found[0].amps
