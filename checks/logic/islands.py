"""What can come to an element through other loads: its island, and the most volts that it can get there.

Nets on a pole are rails. Only a net that is neither can carry a halfway voltage: the *island* of an element is
what is connected to it past such nets. Every law of a consumer rises, so the volts of an island rise with each +
rail and with each conductance towards +, and fall with each conductance towards -. Solved alone, with the + rails at
the highest volts of the sources, conductors of 0 ohm and contacts that the scope does not decide open, it gives at
least what the element gets at any volts of the battery and any watts of a machine.
"""

from __future__ import annotations

import itertools
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.model.parts import UnitSupply
from ...lang.quantities.quantity import shown
from ...lang.quantities.ranking import largest
from ...lang.records import dataclass
from ...lang.search.walks import reachable
from ..dc.device_models import diode
from ..tables.device_constants import laws
from .balances import MINUS, MOST_STEPS, PLUS, balanced_before, volts_at
from .circuit_figures import amps_at_most, curve_of, highest_volts, source_volts, unrated
from .terms import DIRECT

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.graphs import Net
    from ..dc.device_models import Curve
    from .reach_tables import ReachTables
    from .switching_network import SwitchingNetwork
    from .terms import Graph
    from .truth_tables import Table

MOST_WORK = 1 << 25
"""This many bits of tables classes of combinations are looked for in, for one element (ours): some tenths of a
second.
"""


@dataclass(frozen=True, slots=True)
class Bound:
    """The most volts across an element, from ``a`` to ``b``, and the amps through it at these.

    ``why``: not known, and why; ``proved`` where nothing that is left out can make it more.
    """

    volts: float = 0.0
    amps: float = 0.0
    proved: bool = True
    why: str = ""


@dataclass(frozen=True, slots=True)
class Island:
    """The island of an element in one combination.

    ``same``: every combination that leaves it alike. ``entering`` and ``leaving``: the consumers through which current
    can come from a + rail, or go to a - rail; ``None`` where the element itself is connected to such a rail. ``loads``:
    every consumer in it with where its two ends lie; ``valves``: what lets current one way only. ``ends``: of the
    element. ``loose``: a contact that the scope does not decide touches it, and counts as open.
    """

    same: Table
    entering: tuple[Branch, ...] | None
    leaving: tuple[Branch, ...] | None
    loads: tuple[tuple[Branch, int, int], ...]
    valves: tuple[tuple[int, int], ...]
    ends: tuple[int, int]
    asleep: bool
    loose: bool


def most_classes(scope: ReachTables) -> int:
    """This many classes of combinations that leave an island alike are looked for: fewer, the wider the table."""
    return min(laws().solved_classes, MOST_WORK // scope.size)


class Islands:
    """The islands of an element, one combination after the other; what they share is worked out once."""

    def __init__(
        self,
        network: SwitchingNetwork,
        scope: ReachTables,
        branch: Branch,
        graph: Graph = "wide",
        volts: float | None = None,
    ) -> None:
        """``volts``: of the + rails, in V; the highest of the harness's sources where left out."""
        self._circuit = network.circuit
        self._most = volts
        self._network = network
        self._scope = scope
        self._branch = branch
        self._graph = graph
        self._ends = (network.net(branch.a), network.net(branch.b))
        self._sides: dict[Net, tuple[Table, Table]] = {}
        self._active = [(origin, scope.active(origin)) for origin in network.origins_of(DIRECT)]
        self._amps: dict[str, float | None] = {}
        self._curves: dict[tuple[str, bool], Curve | None] = {}
        self._near = network.near(graph)
        self._steps = 0

    def _side(self, net: Net) -> tuple[Table, Table]:
        """Where a net is connected to a +, and where to a -, of any source."""
        found = self._sides.get(net)
        if found is None:
            plus = minus = 0
            for origin, on in self._active:
                plus |= self._scope.reached(self._network.feeds(origin), net) & on
                minus |= self._scope.reached(self._network.returns(origin), net) & on
            found = self._sides[net] = (plus, minus)
        return found

    def at(self, index: int) -> Island:
        """The island in the combination ``index``."""
        network, scope = self._network, self._scope
        network.tally.island()
        first = len(network.edges)
        same = scope.full
        rails: dict[Net, tuple[bool, bool]] = {}

        def rail(net: Net) -> tuple[bool, bool]:
            """Which rails a net is part of, here; where it is otherwise the island is another."""
            nonlocal same
            if net not in rails:
                here = []
                for table in self._side(net):
                    held = bool((table >> index) & 1)
                    same &= table if held else same ^ (same & table)
                    here.append(held)
                rails[net] = (here[0], here[1])
            return rails[net]

        def place(net: Net) -> int:
            plus, minus = rail(net)
            return PLUS if plus else MINUS if minus else net

        stack = [net for net in self._ends if not any(rail(net))]
        island = set(stack)
        entering: list[Branch] = []
        leaving: list[Branch] = []
        loads: list[tuple[Branch, int, int]] = []
        copper: list[tuple[Net, Net]] = []
        valves: list[tuple[Net, Net]] = []
        seen: set[int] = set()
        loose = False
        # No search of `lang.search`: each step narrows the combinations in which the island is the same.
        while stack:
            net = stack.pop()
            for other, i in self._near.get(net, ()):
                if i in seen:
                    continue
                seen.add(i)
                edge = network.wide_edges[i]
                if i < first:
                    table = scope.guard_of(i)
                    loose |= not scope.decides(i)
                    if not (table >> index) & 1:
                        same ^= same & table
                        continue
                    same &= table
                elif edge.branch.key == self._branch.key:
                    continue
                plus, minus = rail(other)
                if not (plus or minus) and other not in island:
                    island.add(other)
                    stack.append(other)
                if i >= first:
                    loads.append((edge.branch, place(edge.a), place(edge.b)))
                    if plus and (edge.both or edge.a == other):
                        entering.append(edge.branch)
                    if minus and (edge.both or edge.b == other):
                        leaving.append(edge.branch)
                elif not (plus or minus):
                    # A valve between a rail and the island never conducts: else the net would be on that rail.
                    (copper if edge.both else valves).append((edge.a, edge.b))
        drawn = _drawn_together(island, copper)
        ends = [rail(net) for net in self._ends]
        asleep, same = self._asleep(index, same, loads)
        return Island(
            same,
            None if any(plus for plus, _ in ends) else tuple(entering),
            None if any(minus for _, minus in ends) else tuple(leaving),
            tuple((branch, drawn.get(a, a), drawn.get(b, b)) for branch, a, b in loads),
            tuple((drawn.get(a, a), drawn.get(b, b)) for a, b in valves),
            (drawn.get(a := place(self._ends[0]), a), drawn.get(b := place(self._ends[1]), b)),
            asleep,
            loose,
        )

    def _asleep(self, index: int, same: Table, loads: Iterable[tuple[Branch, int, int]]) -> tuple[bool, Table]:
        """Whether units of the island may sleep in a combination, and the combinations in which that is alike."""
        items = [branch.item for branch, _, _ in loads]
        if not any(isinstance(item, UnitSupply) and item.asleep is not None for item in items):
            return False, same
        table = self._scope.may_sleep
        held = bool((table >> index) & 1)
        return held, same & table if held else same ^ (same & table)

    # --- a bound without a solution
    def most_amps(self, island: Island) -> float | None:
        """The most that can reach the element, in A; ``None`` where ratings are missing or nothing limits it."""
        sums = [self._sum(side) for side in (island.entering, island.leaving) if side is not None]
        known = [total for total in sums if total is not None]
        return min(known, default=None)

    def _sum(self, branches: tuple[Branch, ...]) -> float | None:
        total = 0.0
        for branch in branches:
            if branch.key not in self._amps:
                self._amps[branch.key] = amps_at_most(branch, self._circuit)
            amps = self._amps[branch.key]
            if amps is None:
                return None
            total += amps
        return total

    # --- the solution
    def bound(self, island: Island) -> Bound:
        """The most volts across the element."""
        if self._apart:
            return Bound(why=self._apart)
        if self.exhausted:
            return Bound(why=self._too_long)
        readings = [self._reading(island, asleep=False)]
        if island.asleep:
            readings.append(self._reading(island, asleep=True))
        unknown = next((reading for reading in readings if reading.why), None)
        return unknown or largest(readings, key=lambda reading: abs(reading.volts))

    @property
    def exhausted(self) -> bool:
        """Whether all steps are spent: no further island is worked out."""
        return self._steps > MOST_STEPS

    @cached_property
    def _apart(self) -> str:
        """Why sources give no bound: they have no pole in common."""
        sources = [s for s in self._circuit.supplies if s.kind != "winding"]
        net = self._network.net
        minus = {net(s.minus) for s in sources}
        plus = {net(p) for s in sources for p in s.plus}
        if len(minus) <= 1 or len(plus) <= 1:
            return ""
        if any(len(_groups(self._network, nets)) == 1 for nets in (minus, plus)):
            return ""
        return "its sources have no pole in common"

    @property
    def _too_long(self) -> str:
        return (
            f"what reaches {self._branch.key} through other loads takes more than {shown(MOST_STEPS)} steps to work out"
        )

    @cached_property
    def _highest(self) -> float:
        return highest_volts(self._circuit) if self._most is None else self._most

    def _reading(self, island: Island, *, asleep: bool) -> Bound:
        most = self._highest
        mine = self._curve(self._branch, asleep=asleep)
        if mine is None and unrated(self._branch, self._circuit):
            return Bound(why=f"{self._branch.key} has no rating")
        loads: list[tuple[str, int, int, Curve]] = []
        for branch, a, b in island.loads:
            curve = self._curve(branch, asleep=asleep)
            if curve is not None:
                loads.append((branch.key, a, b, curve))
            elif unrated(branch, self._circuit):
                return Bound(why=f"{branch.key} has no rating")
        a, b = island.ends
        if mine is not None:
            loads.append((self._branch.key, a, b, mine))
        rising = PLUS in (a, b)  # what is connected to a + rail has most where its other end is lowest
        # All consumers of an island share its solution: their order must not tell which of them asks.
        loads.sort(key=lambda load: load[:3])
        valves = tuple(sorted(island.valves))
        key = (tuple(load[:3] for load in loads), valves, asleep, most, rising)
        found = self._network.balances.get(key)
        if found is None:
            edges = [(curve, a, b) for _, a, b, curve in loads]
            edges += [(diode(laws().diode_volts, laws().diode_ohms), a, b) for a, b in valves]
            found = self._network.balances[key] = balanced_before(edges, most, rising=rising)
        nets, steps = found
        self._steps += steps  # of what was there already, too: the answer must not depend on what was asked before
        if self.exhausted:
            return Bound(why=self._too_long)
        if nets is None:
            return Bound(why="its voltage could not be worked out")
        volts = volts_at(nets, a, most) - volts_at(nets, b, most)
        if self._branch.branch_type.as_load is not Direction.BOTH:
            volts = max(volts, 0.0)
        floating = a not in (PLUS, MINUS) and b not in (PLUS, MINUS)
        return Bound(volts, mine.amps(volts) if mine is not None else 0.0, proved=not floating)

    def _curve(self, branch: Branch, *, asleep: bool) -> Curve | None:
        key = (branch.key, asleep)
        if key not in self._curves:
            self._curves[key] = curve_of(branch, self._circuit, asleep=asleep)
        return self._curves[key]


def _groups(network: SwitchingNetwork, nets: Iterable[Net]) -> set[frozenset[Net]]:
    """The groups of some nets that what may close can hold together."""
    near = network.near("nets")
    groups: set[frozenset[Net]] = set()
    for start in nets:
        groups.add(frozenset(reachable([start], lambda net: near.get(net, ()))))
    return groups


def _drawn_together(nets: Iterable[Net], pairs: Iterable[tuple[Net, Net]]) -> dict[Net, Net]:
    """One net for all that copper joins."""
    from ...lang.search.disjoint_set import DisjointSet

    merged: DisjointSet[Net] = DisjointSet(sorted(nets))
    for a, b in pairs:
        merged.merge(a, b)
    return {net: merged.leader(net) for net in merged.leaders}


def between_sources(network: SwitchingNetwork, scope: ReachTables, branch: Branch) -> list[tuple[Table, float]]:
    """Where both ends of an element are connected to like poles of two sources of different volts, and by how many V.

    Nowhere that one source is at both ends. The greatest first.
    """
    if not network.between_sources(branch):
        return []
    ends = (network.net(branch.a), network.net(branch.b))
    origins = [(o, scope.active(o)) for o in network.origins if o.kind in DIRECT]
    volts_of = [source_volts(origin.supply, network.circuit) for origin, _ in origins]
    found: list[tuple[Table, float]] = []
    for reach in (network.feeds, network.returns):
        at = [[scope.reached(reach(o), end) & on for o, on in origins] for end in ends]
        both = 0
        for one, other in zip(*at, strict=True):
            both |= one & other
        for (first, one), (second, other) in itertools.product(
            zip(volts_of, at[0], strict=True), zip(volts_of, at[1], strict=True)
        ):
            here = one & other
            here &= here ^ both
            if here and first != second:
                found.append((here, abs(first - second)))
    return sorted(found, key=lambda pair: -pair[1])
