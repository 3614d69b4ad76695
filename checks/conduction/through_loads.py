"""Whether an element that is joined to no source is dead all the same, or lives on what comes through other loads.

Nets joined to a pole are rails. Only a net that is neither can carry a halfway voltage: the *island* of an element is
what hangs together with it past such nets. First a bound, then numbers, a class of combinations that leave the island
alike at a time; what neither decides is said, never passed over.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...lang.circuit import Law, Way
from ...lang.model import Element, Rectifier, Regulator, Source
from ..dc.elements import default_regulated, rated
from ..tables.laws import laws, shares
from .network import DIRECT
from .questions import ThroughLoads

if TYPE_CHECKING:
    from ...lang.circuit import Branch, Circuit
    from ...lang.graphs import Net
    from .analysis import Combination, Conduction
    from .scope import Scope
    from .tables import Table

Decider = Callable[["Conduction", "Combination", "Branch"], "bool | None"]
"""Whether an element gets more than its dead share in a combination, by numbers; ``None``: could not be told."""

GRAPH_LAWS = {
    Law.COIL: "coil",
    Law.SUPPLY: "unit supply",
    Law.LAMP: "lamp",
    Law.LED: "led",
    Law.IGNITION: "ignition",
    Law.MOTOR: "motor",
    Law.SOLENOID: "solenoid",
    Law.PUMP: "pump",
    Law.HORN: "horn",
    Law.HEATER: "heater",
    Law.ELECTRONICS: "electronics",
}
"""The row of the table of shares that holds for a law."""


TRIED = 64
"""Of cases that are too many to be solved, so many are solved all the same (ours): the nearest to rest may refute."""

SERIES_LAWS = (Law.FIELD, Law.RESISTOR, Law.SENSOR)
"""What is made to stand in series with others: no load by itself."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """What was found of the combinations asked about, each the first of its class or ``None``.

    ``alive``: the element gets more than its dead share. ``open``: neither proved nor refuted, and ``why``.
    """

    alive: Combination | None = None
    open: Combination | None = None
    why: str = ""


def judge(
    conduction: Conduction, scope: Scope, branch: Branch, asked: Table, decider: Decider | None = None
) -> Judgement:
    """Whether what comes through other loads keeps an element alive in any of some combinations.

    ``asked`` is a table of a scope that ``ThroughLoads(branch.key)`` fits in; combinations in which the element is
    joined must not be in it.
    """
    left = asked & ThroughLoads(branch.key, DIRECT).table(scope) & scope.counted
    limit = dead_amps(branch, conduction.circuit)
    islands = _Islands(conduction, scope, branch)
    cases: list[tuple[int, Table]] = []
    while left and len(cases) <= laws().solved_classes:
        index = scope.nearest((left & scope.plausible) or left, scope.visible)
        island = islands.at(index)
        most = islands.most_amps(island)
        if most is None or limit is None or most >= limit:
            cases.append((index, left & island.same))
        left &= left ^ island.same
    if not cases:
        return Judgement()
    too_many = len(cases) > laws().solved_classes
    first = conduction.show(scope, 1 << cases[0][0], anywhere=cases[0][1])
    if decider is None:
        return Judgement(open=first, why="the currents of the loads in its way were not worked out")
    for index, same in cases[:TRIED] if too_many else cases:
        shown = conduction.show(scope, 1 << index, anywhere=same)
        if shown is None:  # cannot be: the case holds at least its own combination
            continue
        told = decider(conduction, shown, branch)
        if told is None:
            return Judgement(open=shown, why="its numbers could not be worked out")
        if told:
            return Judgement(alive=shown)
    if too_many:
        return Judgement(open=first, why=f"more than {laws().solved_classes} different cases")
    return Judgement()


@dataclass(frozen=True, slots=True)
class _Island:
    """The island of an element in one combination.

    ``same``: every combination that leaves it alike. ``entering`` and ``leaving``: the consumers through which current
    can come from a + rail, or go to a - rail; ``None`` where the element itself hangs on such a rail.
    """

    same: Table
    entering: tuple[Branch, ...] | None
    leaving: tuple[Branch, ...] | None


class _Islands:
    """The islands of an element, one combination after the other; what they share is worked out once."""

    def __init__(self, conduction: Conduction, scope: Scope, branch: Branch) -> None:
        self._circuit = conduction.circuit
        self._network = network = conduction.network
        self._scope = scope
        self._branch = branch
        self._ends = (network.net(branch.a), network.net(branch.b))
        self._sides: dict[Net, tuple[Table, Table]] = {}
        self._active = [(origin, scope.active(origin)) for origin in network.origins_of(DIRECT)]
        self._amps: dict[str, float | None] = {}
        self._near = network.near("wide")

    def _side(self, net: Net) -> tuple[Table, Table]:
        """Where a net is joined to a +, and where to a -, of any source."""
        found = self._sides.get(net)
        if found is None:
            plus = minus = 0
            for origin, on in self._active:
                plus |= self._scope.reached(self._network.feeds(origin), net) & on
                minus |= self._scope.reached(self._network.returns(origin), net) & on
            found = self._sides[net] = (plus, minus)
        return found

    def at(self, index: int) -> _Island:
        """The island in the combination ``index``."""
        network, scope = self._network, self._scope
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

        stack = [net for net in self._ends if not any(rail(net))]
        island = set(stack)
        entering: list[Branch] = []
        leaving: list[Branch] = []
        seen: set[int] = set()
        while stack:
            net = stack.pop()
            for other, i in self._near.get(net, ()):
                if i in seen:
                    continue
                seen.add(i)
                edge = network.wide_edges[i]
                if i < first:
                    table = scope.guard_of(i)
                    if not (table >> index) & 1:
                        same ^= same & table
                        continue
                    same &= table
                plus, minus = rail(other)
                if not (plus or minus):
                    if other not in island:
                        island.add(other)
                        stack.append(other)
                elif i >= first and edge.branch.key != self._branch.key:
                    if plus and (edge.both or edge.a == other):
                        entering.append(edge.branch)
                    if minus and (edge.both or edge.b == other):
                        leaving.append(edge.branch)
        ends = [rail(net) for net in self._ends]
        return _Island(
            same,
            None if any(plus for plus, _ in ends) else tuple(entering),
            None if any(minus for _, minus in ends) else tuple(leaving),
        )

    def most_amps(self, island: _Island) -> float | None:
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


def amps_at_most(branch: Branch, circuit: Circuit) -> float | None:
    """What a consumer takes at the highest volts of the system, in A; ``None`` where its rating is missing."""
    law = rated(branch, circuit)
    if law.missing or (law.ohms is None and law.curve is None):
        return None
    volts = highest_volts(circuit)
    return volts / law.ohms if law.ohms else law.curve.amps(volts) if law.curve else 0.0


def highest_volts(circuit: Circuit) -> float:
    """The highest volts of the system: what its machines are regulated to, the usual share above nominal at least."""
    found = [default_regulated(circuit.harness.volts)]
    for part in circuit.harness.parts.values():
        if isinstance(part, (Source, Rectifier, Regulator)) and part.regulated:
            found.append(part.regulated)
        if isinstance(part, Source) and part.volts:
            found.append(part.volts)
    return max(found)


def dead_amps(branch: Branch, circuit: Circuit) -> float | None:
    """The current in A below which an element is dead; ``None`` where a rating is missing."""
    kind = GRAPH_LAWS.get(branch.law)
    law = rated(branch, circuit)
    if kind is None or law.missing:
        return None
    share = shares()[kind]
    if share.of == "rated amps":
        return None if law.amps is None else share.dead * law.amps
    volts = share.dead * circuit.harness.volts
    if law.ohms:
        return volts / law.ohms
    return law.curve.amps(volts) if law.curve else None


def is_alive(branch: Branch, circuit: Circuit, volts: float, amps: float) -> bool:
    """Whether an element that has ``volts`` across it and takes ``amps`` is above its dead share."""
    kind = GRAPH_LAWS.get(branch.law)
    if kind is None:
        return False
    share = shares()[kind]
    if branch.law.wide is Way.BOTH:
        volts, amps = abs(volts), abs(amps)
    if share.of == "rated amps":
        most = rated(branch, circuit).amps
        return most is not None and amps >= share.dead * most
    return volts >= share.dead * circuit.harness.volts


def needed_volts(branch: Branch, circuit: Circuit) -> float | None:
    """The volts that an element needs to work: its own ``needs``, else its kind's share of nominal volts."""
    if isinstance(branch.item, Element) and branch.item.needs is not None:
        return branch.item.needs
    kind = GRAPH_LAWS.get(branch.law)
    share = shares()[kind] if kind else None
    return None if share is None or share.of == "rated amps" else share.works * circuit.harness.volts
