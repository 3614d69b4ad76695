"""Protection: what a fault in each conductor can draw, which devices limit it, and how far it is from the feed pole.

A conductor is on the *feed side* where a feed pole reaches it through contacts in any position but through no consumer,
on the *return side* where only a return pole does. Nothing here depends on which pole of the sources is grounded.
"""

from __future__ import annotations

import heapq
import math
from bisect import bisect_left, bisect_right
from collections import Counter, deque
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from itertools import pairwise, product
from operator import itemgetter
from typing import Literal

from ...lang.circuit.branch import Branch, InPosition, Pulled, Supply
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.graphs import always_joins
from ...lang.circuit.ids import BranchId, End
from ...lang.model.parts import Fuse, Rectifier, Regulator, Source, UnitOutput
from ...lang.model.wires import Segment
from ...lang.records import dataclass
from ...lang.search.blocks import between
from ...lang.search.bridges import islands
from ...lang.search.cuts import Arc, Cut, Into, Node, Residual, both_ways, cut_before
from ...lang.search.disjoint_set import DisjointSet
from ...lang.vocabulary.words import DEFAULT_AMBIENT
from ..tables.ampacity import Ampacity, ampacity
from ..tables.conductors import InsulationClass, insulation_classes
from ..tables.fuses import continuous_amps
from ..tables.profiles import DEFAULT, Profile, profile_named

UNKNOWN = 1e6
"""Stands for the rating of a device that has none in the text, in A: below no limit at all, above every real one."""

MOST_POSITIONS = 256
"""Positions of several controls together that an exposure is worked out for (ours)."""

_POLES = "feed poles"
_NEVER_OPEN = frozenset(
    {BranchType.WIRE, BranchType.WAY, BranchType.MOUNT, BranchType.LINK, BranchType.FUSE, BranchType.METER}
)
_CRANKING_LAWS = frozenset({BranchType.WIRE, BranchType.WAY, BranchType.MOUNT, BranchType.LINK, BranchType.CONTACT})

Side = Literal["feed", "return", "between"]


@dataclass(frozen=True, slots=True)
class Limit:
    """A device or a machine that limits a fault. ``amps`` is ``None`` where the text gives no rating."""

    name: str
    amps: float | None
    machine: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SustainedFault:
    """What a fault in a conductor can draw for ever.

    ``amps`` is infinite where no device stands between it and a battery; ``limits`` are the devices of the minimum cut,
    empty then. ``at`` is the end at which that current comes in. ``known`` is false where a rating in the cut is
    missing: ``amps`` then says nothing.
    """

    conductor: Branch
    amps: float
    at: End
    limits: tuple[Limit, ...]

    @property
    def protected(self) -> bool:
        return not math.isinf(self.amps)

    @property
    def known(self) -> bool:
        return all(limit.amps is not None for limit in self.limits)

    @property
    def devices(self) -> tuple[str, ...]:
        """The parts that limit it, machines left out, as the user names them."""
        return tuple(limit.name for limit in self.limits if not limit.machine)


class Protection:
    """The protection of one circuit, judged by one profile of published limits."""

    def __init__(self, circuit: Circuit, profile: Profile | str = DEFAULT) -> None:
        self.circuit = circuit
        self.profile = profile_named(profile) if isinstance(profile, str) else profile

    def ampacity(self, segment: Segment, area: float | None = None) -> Ampacity | None:
        """What a piece may carry for ever on its route, with ``area`` mm2 in place of its own; ``None`` without any."""
        area = segment.size.area if area is None and segment.size else area
        if area is None:
            return None
        return ampacity(area, segment.wire_class, self.ambient(segment), self.profile, self.bundled(segment))

    def judged(self, segment: Segment, area: float | None = None) -> Ampacity | None:
        """What currents are judged by: the piece's ampacity, and where its class leaves no rise on its route, that of
        the class that the route needs.

        Such a wire is of the wrong class, whatever flows in it, and the rule of its route says so; a current that
        is too much for the right class as well is another fault. ``amps`` is ``None`` where no class is made for
        the route.
        """
        found = self.ampacity(segment, area)
        if found is None or found.amps != 0.0:
            return found
        needed, size = self.class_for(segment), area or (segment.size.area if segment.size else 0.0)
        if needed is None:
            return found._replace(amps=None, certain=None)
        hot = ampacity(size, needed.letter, self.ambient(segment), self.profile, self.bundled(segment))
        return hot._replace(why=f"{hot.why}, which its route needs: class {segment.wire_class} leaves no rise")

    def class_for(self, segment: Segment) -> InsulationClass | None:
        """The coolest insulation class that leaves a piece some rise on its route; ``None`` where none does."""
        ambient = self.ambient(segment)
        classes = sorted(insulation_classes().values(), key=lambda each: each.highest)
        return next((each for each in classes if ampacity(1.0, each.letter, ambient, self.profile).amps), None)

    def ambient(self, segment: Segment) -> float:
        """The hottest ambient on a piece's route in degC, the profile's where none is given."""
        if self.profile.ambient == DEFAULT_AMBIENT:
            return segment.ambient
        stretches = pairwise(segment.route)
        return max(
            (self._stretches.get(frozenset(ends), self.profile.ambient) for ends in stretches),
            default=self.profile.ambient,
        )

    @cached_property
    def _stretches(self) -> dict[frozenset[str], float]:
        """The ambient of each stretch that gives one."""
        found = {frozenset((r.a, r.b)): r.ambient for r in self.circuit.harness.routes}
        return {ends: ambient for ends, ambient in found.items() if ambient is not None}

    def bundled(self, segment: Segment) -> int:
        """How many conductors lie together where most do on a piece's route; 1 where the profile does not ask.

        All that run along a stretch count, since any may carry current.
        """
        if not self.profile.bundle:
            return 1
        return max((self._together[frozenset(ends)] for ends in pairwise(segment.route)), default=1)

    @cached_property
    def _together(self) -> Counter[frozenset[str]]:
        segments = [branch.segment for branch in self.circuit.branches if branch.segment is not None]
        return Counter(frozenset(ends) for segment in segments for ends in pairwise(segment.route))

    # --- sides -------------------------------------------------------------------------------------------------------
    @cached_property
    def sources(self) -> tuple[Supply, ...]:
        """Every source of direct current."""
        return tuple(s for s in self.circuit.supplies if s.kind != "winding")

    def feed_pole(self, supply: Supply) -> End:
        """The pole that the system does not ground."""
        return supply.plus[0] if self.circuit.return_sign == "-" else supply.minus

    def return_pole(self, supply: Supply) -> End:
        """The pole that the system grounds."""
        return supply.minus if self.circuit.return_sign == "-" else supply.plus[0]

    @cached_property
    def _net(self) -> dict[End, End]:
        """The end that stands for each set of ends joined by what cannot open."""
        merged: DisjointSet[End] = DisjointSet()
        for supply in self.sources:
            merged.leader(self.feed_pole(supply))
            merged.leader(self.return_pole(supply))
        for branch in self.circuit.branches:
            a, b = merged.leader(branch.a), merged.leader(branch.b)
            if branch.branch_type in _NEVER_OPEN:
                merged.merge(a, b)
        return {node: merged.leader(node) for node in tuple(merged.leaders)}

    @cached_property
    def past_no_device(self) -> tuple[Mapping[str, str], tuple[Branch, ...]]:
        """What joins nodes both ways past no fuse: a name for each set of nodes whose joins nothing opens, by node, and
        the branches that may be open.
        """
        merged: DisjointSet[str] = DisjointSet()
        at_times = []
        for branch in self.circuit.branches:
            if branch.branch_type is BranchType.FUSE or branch.branch_type.joined is not Direction.BOTH:
                continue
            if always_joins(branch):
                merged.merge(branch.a, branch.b)
            else:
                at_times.append(branch)
        return {node: merged.leader(node) for node in tuple(merged.leaders)}, tuple(at_times)

    def same_net(self, a: End, b: End) -> bool:
        """Whether two nodes are joined by what cannot open."""
        return self._net.get(a, a) == self._net.get(b, b)

    @cached_property
    def shorted(self) -> bool:
        """Whether copper alone joins the two poles of one source: then nothing else can be said of protection."""
        return any(self._net[self.feed_pole(s)] == self._net[self.return_pole(s)] for s in self.sources)

    @cached_property
    def returns(self) -> frozenset[End]:
        """The nodes joined to a return pole by what cannot open.

        Of batteries in series only the end of the row is a return: what joins two of them is a feed.
        """
        feeds = {self._net[self.feed_pole(s)] for s in self.sources if s.kind == "battery"}
        nets = {self._net[self.return_pole(s)] for s in self.sources} - feeds
        return frozenset(node for node, net in self._net.items() if net in nets)

    def feed_end(self, load: Branch) -> End:
        """The end of a load where its feed belongs: the first, or the second where only the first is grounded."""
        return load.b if load.a in self.returns and load.b not in self.returns else load.a

    @cached_property
    def feeds(self) -> frozenset[End]:
        """The nodes that a feed pole reaches, contacts closed in any position, consumers and returns left out."""
        poles = [self.feed_pole(s) for s in self.sources]
        poles += [tap for s in self.sources for tap in s.plus[1:] if self.circuit.return_sign == "-"]
        return frozenset(self._reached([p for p in poles if p not in self.returns], outward=True, shut=self.returns))

    @cached_property
    def can_short(self) -> bool:
        """Whether contacts, closed all at once, join a feed pole to a return pole past no consumer."""
        return self.shorted or any(
            near in self.feeds and far in self.returns
            for branch in self.circuit.branches
            for near, far in self.ways(branch)
        )

    @cached_property
    def returned(self) -> frozenset[End]:
        """The nodes from which a return pole can be reached, contacts closed in any position, consumers left out."""
        return frozenset(self._reached(self.returns, outward=False, shut=frozenset()))

    def _reached(
        self, start: Iterable[End], *, outward: bool, shut: frozenset[End], to: End | None = None
    ) -> dict[End, Branch | None]:
        """Every node that current gets to (``outward`` from the feed, else from the return), and by which branch; no
        more than it takes to find ``to``, where that is given.
        """
        found: dict[End, Branch | None] = dict.fromkeys(sorted(start))
        queue = deque(found)
        while queue and to not in found:
            node = queue.popleft()
            for branch in self.circuit.at.get(node, ()):
                for near, far in self.ways(branch) if outward else ((f, n) for n, f in self.ways(branch)):
                    if near == node and far not in found and far not in shut:
                        found[far] = branch
                        queue.append(far)
        return found

    def ways(self, branch: Branch) -> tuple[tuple[End, End], ...]:
        """The directions in which a branch lets a fault current away from the feed, as (near the feed, beyond)."""
        if branch.branch_type.joined is Direction.NEVER:
            return ()
        if branch.branch_type.joined is Direction.BOTH:
            return ((branch.a, branch.b), (branch.b, branch.a))
        return ((branch.a, branch.b),) if self.circuit.return_sign == "-" else ((branch.b, branch.a),)

    def can_be_reversed(self, branch: Branch) -> bool:
        """Whether a feed pole can reach the far end of a consumer, and a return pole its near one."""
        near, far = (branch.a, branch.b) if self.circuit.return_sign == "-" else (branch.b, branch.a)
        return far in self.feeds and near in self.returned

    def side(self, branch: Branch) -> Side:
        """On which side of the consumers a conductor is; what both poles can reach counts as feed."""
        ends = {branch.a, branch.b}
        if ends & self.returns:
            return "return"
        if ends & self.feeds:
            return "feed"
        return "return" if ends & self.returned else "between"

    # --- exposure ----------------------------------------------------------------------------------------------------
    @cached_property
    def sustained_faults(self) -> dict[str, SustainedFault]:
        """The exposure of every feed-side piece of wire, by the piece's name, in the order of the text.

        Each is a minimum cut with the piece taken out. Hundreds of cuts of the whole graph would cost more than all the
        rest of a check, so the graph is reduced first: what no device parts is one node (an island). A piece that is no
        bridge leaves its island whole; one with all feeds on one side of it leaves nothing beyond; only a piece with
        feeds on both sides needs a cut of its own, and pieces that part the same feeds share it.

        All contacts count as closed at once, at first. That is a bound, and the answer where it names one device. Where
        several devices add up, or a battery is reached past none, contacts of one control (or one relay) that are never
        closed together are taken by position: a change-over between two feeds never joins them.
        """
        if self.shorted:
            return {}
        segments = {branch.segment.name: branch for branch in self._copper if branch.segment is not None}
        worst = {segment: _worst_end(self._islands, branch) for segment, branch in segments.items()}
        open_to_doubt = {
            segment: segments[segment]
            for segment, (cut, _) in worst.items()
            if math.isinf(cut.amps) or sum(not self.limit(name).machine for name in cut.names) > 1
        }
        worst.update(self._by_position({segment: worst[segment] for segment in open_to_doubt}, open_to_doubt))
        return {
            segment: SustainedFault(
                conductor=segments[segment], amps=cut.amps, at=at, limits=tuple(map(self.limit, cut.names))
            )
            for segment, (cut, at) in worst.items()
        }

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
        left = [segment for segment in worst if _amps(_worst_end(apart, segments[segment])) < _amps(worst[segment])]
        if not left:
            return {}
        together = math.prod(len(rows) for rows in moved) <= MOST_POSITIONS
        groups = [moved] if together else [(rows,) for rows in moved]
        found: dict[str, tuple[Cut, End]] = {}
        for group in groups:
            mine = frozenset(key for rows in group for closed in rows for key in closed)
            each = [self._islands_without(mine - frozenset().union(*closed)) for closed in product(*group)]
            for segment in left:
                here = max((_worst_end(islands_, segments[segment]) for islands_ in each), key=_amps)
                found[segment] = min((found.get(segment, worst[segment]), here), key=_amps)
        return found

    @cached_property
    def _exclusive(self) -> tuple[tuple[frozenset[str], ...], ...]:
        """For each control and relay that never closes all its feed-side contacts at once: what each position closes.

        A position that closes no more than another one is left out: it can feed nothing else.
        """
        moved: dict[tuple[str, str], dict[str, set[str]]] = {}
        contacts: dict[tuple[str, str], set[str]] = {}
        for branch in self._copper:
            match branch.guard:
                case InPosition(control=control, positions=places):
                    mover = ("control", control)
                case Pulled(relay=relay, pulled=pulled):
                    mover, places = ("relay", relay), frozenset({"pulled" if pulled else "released"})
                case _:
                    continue  # an output is an arc, and what has no guard is always closed
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

    def _islands_without(self, open_: frozenset[str]) -> _Islands:
        copper = tuple(branch for branch in self._copper if branch.key not in open_)
        return _Islands(sorted(self.feeds), copper, self._arcs)

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
                arcs.append(Arc(_POLES, pole, amps, supply.name))
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
        """What a device, by branch key, or a machine, by name, limits a fault to."""
        branch = self.circuit.by_key.get(name)
        if branch is None:
            supply = next(s for s in self.sources if s.name == name)
            return Limit(name, self.machine_amps(supply), machine=True)
        if isinstance(branch.item, UnitOutput):
            return Limit(name, branch.item.passes_at_most)
        part = self.circuit.harness.parts[branch.part]
        return Limit(name, continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None)

    def machine_amps(self, supply: Supply) -> float | None:
        """The most a machine gives, in A: its watts at its regulated volts, at nominal volts where none are written.

        Its taps (D+, a trio) are no source of fault current: they feed its own field, and a fault there starves it.
        """
        if supply.output is None or (watts := max(supply.output.watts or 0.0, supply.output.idle or 0.0)) == 0.0:
            return None
        parts = self.circuit.harness.parts
        own = parts[supply.name]
        written = [own.regulated] if isinstance(own, Source | Rectifier) else []
        written += [part.regulated for part in parts.values() if isinstance(part, Regulator)]
        return watts / next((volts for volts in written if volts), self.circuit.harness.volts)

    @cached_property
    def _islands(self) -> _Islands:
        return _Islands(sorted(self.feeds), self._copper, self._arcs)

    @cached_property
    def in_series(self) -> tuple[tuple[str, str], ...]:
        """Pairs of fuses in a row, (the one nearer to the consumers, the one before it), with no device between.

        A row begins at a battery: a machine gives its own limit and no more, which melts neither of two fuses at once.
        """
        poles = [p for s in self.sources if s.kind == "battery" and (p := self.feed_pole(s)) in self.feeds]
        order = {node: i for i, node in enumerate(self._reached(poles, outward=True, shut=self.returns))}
        near: dict[BranchId, int] = {}
        far: dict[BranchId, int] = {}
        for branch in self.circuit.branches:
            if branch.branch_type is BranchType.FUSE and branch.a in order and branch.b in order:
                first, last = sorted((branch.a, branch.b), key=order.__getitem__)
                near[branch.key], far[branch.key] = self._islands.of(first), self._islands.of(last)
        return tuple((one, other) for one in near for other in far if one != other and near[one] == far[other])

    # --- distance ----------------------------------------------------------------------------------------------------
    @cached_property
    def _unprotected(self) -> dict[End, tuple[float, Branch | None]]:
        """For each node that a battery reaches past no device: metres of wire from the pole, and the last branch.

        A piece of unknown length counts as none: what is returned is then the least that the distance can be.
        """
        poles = sorted(p for s in self.sources if s.kind == "battery" and (p := self.feed_pole(s)) in self.feeds)
        found: dict[End, tuple[float, Branch | None]] = {}
        waiting: list[tuple[float, int, End, Branch | None]] = [(0.0, i, pole, None) for i, pole in enumerate(poles)]
        count = len(waiting)
        while waiting:
            metres, _, node, by = heapq.heappop(waiting)
            if node in found:
                continue
            found[node] = (metres, by)
            for branch in self.circuit.at.get(node, ()):
                if is_device(branch):
                    continue
                for near, far in self.ways(branch):
                    if near == node and far in self.feeds and far not in found:
                        count += 1
                        heapq.heappush(waiting, (metres + _metres(branch), count, far, branch))
        return found

    def distance(self, sustained_fault: SustainedFault) -> float:
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
        while (by := self._unprotected[node][1]) is not None:
            yield by
            node = by.a if by.b == node else by.b

    def origin(self, sustained_fault: SustainedFault) -> tuple[End, End]:
        """The pole that feeds an unprotected conductor, and the end of the conductor that is nearer to it."""
        end = node = min(self._near(sustained_fault.conductor), key=lambda each: self._unprotected[each][0])
        for by in self._way_back(sustained_fault):
            node = by.a if by.b == node else by.b
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
            names = [*self._way_through(sustained_fault), sustained_fault.conductor.owner]
        return tuple(name for i, name in enumerate(names) if name and (i == 0 or names[i - 1] != name))

    def _way_through(self, sustained_fault: SustainedFault) -> list[str]:
        """Names from the nearest of the limiting devices to the end at which the current comes in."""
        ends = {name: self.circuit.by_key[name] for name in sustained_fault.devices if name in self.circuit.by_key}
        start = {b.b for b in ends.values()} | {b.a for b in ends.values() if b.branch_type is BranchType.FUSE}
        shut = self.returns | ({sustained_fault.conductor.a, sustained_fault.conductor.b} - {sustained_fault.at})
        node = sustained_fault.at
        open_ = [n for n in start if n in self.feeds and n not in shut]
        reached = self._reached(open_, outward=True, shut=shut, to=node)
        names: list[str] = []
        if node not in reached:
            return list(sustained_fault.devices)
        while (by := reached[node]) is not None:
            names.append(by.owner)
            node = by.a if by.b == node else by.b
        names.append(node.part)
        return names[::-1]

    # --- cranking ----------------------------------------------------------------------------------------------------
    @cached_property
    def cranking(self) -> frozenset[str]:
        """Keys of the branches on a simple path of wires and contacts from a battery's feed pole to a starter motor."""
        return self._on_the_way([b for b in self._cranking_copper if b.a in self.feeds and b.b in self.feeds])

    @cached_property
    def cranking_returns(self) -> frozenset[str]:
        """Keys of the branches on a simple path from a starter motor back to a battery's return pole."""
        return self._on_the_way([b for b in self._cranking_copper if b.a not in self.feeds and b.b not in self.feeds])

    @property
    def _cranking_copper(self) -> list[Branch]:
        return [b for b in self.circuit.branches if b.branch_type in _CRANKING_LAWS]

    def _on_the_way(self, branches: list[Branch]) -> frozenset[str]:
        """Keys of the branches on a simple path between a pole of a battery and a terminal of a starter motor."""
        edges = [(b.a, b.b) for b in branches]
        known = {node for edge in edges for node in edge}
        poles = {p for s in self.sources if s.kind == "battery" for p in (self.feed_pole(s), self.return_pole(s))}
        terminals = {node for armature in self.armatures for node in (armature.a, armature.b)}
        return frozenset(
            branches[i].key
            for pole in sorted(poles & known)
            for terminal in sorted(terminals & known)
            for i in between(edges, pole, terminal)
        )

    @cached_property
    def armatures(self) -> tuple[Branch, ...]:
        """The motors of loads that are for starting."""
        parts = self.circuit.harness.parts
        return tuple(
            b for b in self.circuit.branches if b.branch_type is BranchType.MOTOR and parts[b.part].system == "starting"
        )


class _Islands:
    """The feed side with all that limits nothing drawn together: a few islands, joined by devices and one-way arcs."""

    def __init__(self, nodes: list[End], copper: tuple[Branch, ...], arcs: tuple[Arc, ...]) -> None:
        self._found = islands(nodes, [(b.a, b.b) for b in copper])
        self._place = {branch.key: i for i, branch in enumerate(copper)}
        ways: dict[int, list[tuple[int, Node, Residual]]] = {}
        for tail, head, step in both_ways(arcs):
            if head != _POLES:
                ways.setdefault(self._found.island[str(head)], []).append((self._found.order[str(head)], tail, step))
        # The ways into each island, each with the order of the node that it leads to: as the arcs stand, and by order.
        self._ways = ways
        self._in_order = {island: sorted(found, key=itemgetter(0)) for island, found in ways.items()}
        self._ends = {island: [order for order, _, _ in found] for island, found in self._in_order.items()}
        self._known: dict[tuple[int, int, int, bool], Cut] = {}

    def of(self, node: End) -> int:
        """The island of a feed-side node."""
        return self._found.island[node]

    def cut(self, branch: Branch, end: End) -> Cut:
        """The least cut between the feed poles and ``end``, an end of the copper ``branch``, with that branch out."""
        edge = self._place[branch.key]
        island = self._found.island[end]
        ends = self._ends.get(island, [])
        if edge not in self._found.far_side:
            return self._least(island, 0, 0, False)
        first, last = self._found.far_side[edge]
        beyond = first <= self._found.order[end] <= last
        low, high = bisect_left(ends, first), bisect_right(ends, last)
        inside, outside = high - low, len(ends) - (high - low)
        if not (inside if beyond else outside):
            return Cut(0.0, ())
        if not (outside if beyond else inside):
            return self._least(island, 0, 0, False)
        return self._least(island, low, high, beyond)

    def _least(self, island: int, low: int, high: int, beyond: bool) -> Cut:
        """The cut to an island, or to one side of it: the arcs' ends from ``low`` to ``high`` by order lie beyond."""
        key = (island, low, high, beyond)
        if key not in self._known:
            self._known[key] = cut_before(self._parted(island, low, high), _POLES, (island, beyond))
        return self._known[key]

    def _parted(self, parted: int, low: int, high: int) -> Into:
        """The islands drawn together, one of them parted: a node of this graph is an island and whether it is what lies
        beyond.
        """
        ends = self._ends.get(parted, [])
        far = range(ends[low], ends[high - 1] + 1) if low < high else range(0)

        def place(node: Node) -> Node:
            if node == _POLES:
                return node
            where = self._found.island[str(node)]
            return (where, where == parted and self._found.order[str(node)] in far)

        def into(node: Node) -> Iterator[tuple[Node, Residual]]:
            if not isinstance(node, tuple):
                return  # nothing feeds the poles
            island, beyond = node
            ways: Iterable[tuple[int, Node, Residual]] = self._ways.get(island, ())
            if beyond:
                ways = sorted(self._in_order[island][low:high], key=lambda way: way[2].number)
            for order, tail, step in ways:
                if (beyond or island != parted or order not in far) and (start := place(tail)) != node:
                    yield start, step

        return into


def is_device(branch: Branch) -> bool:
    """Whether a branch protects what lies behind it: a fuse or a breaker, or a unit's output that trips or limits."""
    return branch.branch_type is BranchType.FUSE or (
        isinstance(branch.item, UnitOutput) and branch.item.passes_at_most is not None
    )


def _worst_end(islands_: _Islands, branch: Branch) -> tuple[Cut, End]:
    """The greater of the cuts at the two ends of a copper branch, the branch itself out, and the end it is at."""
    near, far = islands_.cut(branch, branch.a), islands_.cut(branch, branch.b)
    return (near, branch.a) if near.amps >= far.amps else (far, branch.b)


def _amps(found: tuple[Cut, End]) -> float:
    return found[0].amps


def _metres(branch: Branch) -> float:
    return (branch.segment.length or 0.0) if branch.segment else 0.0
