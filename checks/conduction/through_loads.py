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
    cases: list[Combination] = []
    while left and len(cases) <= laws().solved_classes:
        shown = conduction.show(scope, left)
        if shown is None:
            break
        alike = _Island(conduction, scope, branch, shown)
        left &= left ^ alike.same
        most = alike.most_amps()
        if most is None or limit is None or most >= limit:
            cases.append(shown)
    if not cases:
        return Judgement()
    if decider is None:
        return Judgement(open=cases[0], why="the currents of the loads in its way were not worked out")
    too_many = len(cases) > laws().solved_classes
    for shown in cases[:TRIED] if too_many else cases:
        told = decider(conduction, shown, branch)
        if told is None:
            return Judgement(open=shown, why="its numbers could not be worked out")
        if told:
            return Judgement(alive=shown)
    if too_many:
        return Judgement(open=cases[0], why=f"more than {laws().solved_classes} different cases")
    return Judgement()


class _Island:
    """The island of an element in one combination, and every combination that leaves it alike."""

    def __init__(self, conduction: Conduction, scope: Scope, branch: Branch, shown: Combination) -> None:
        self._conduction = conduction
        self._branch = branch
        network = conduction.network
        index = shown.index
        same = scope.full
        origins = network.origins_of(DIRECT)
        active = [(origin, scope.active(origin)) for origin in origins]
        sides: dict[Net, tuple[bool, bool]] = {}

        def side(net: Net) -> tuple[bool, bool]:
            """Whether a net is joined to a + and to a -, here; where it is otherwise the island is another."""
            nonlocal same
            if net not in sides:
                found = []
                for feeds in (True, False):
                    table = 0
                    for origin, on in active:
                        reach = network.feeds(origin) if feeds else network.returns(origin)
                        table |= scope.reached(reach, net) & on
                    here = bool((table >> index) & 1)
                    same &= table if here else scope.full ^ table
                    found.append(here)
                sides[net] = (found[0], found[1])
            return sides[net]

        first = len(network.edges)
        near: dict[Net, list[tuple[Net, int]]] = {}
        for i in network.edges_of("wide"):
            edge = network.wide_edges[i]
            near.setdefault(edge.a, []).append((edge.b, i))
            near.setdefault(edge.b, []).append((edge.a, i))
        island: set[Net] = set()
        self.entering: list[Branch] = []
        self.leaving: list[Branch] = []
        stack = [net for net in (network.net(branch.a), network.net(branch.b)) if not any(side(net))]
        island.update(stack)
        seen: set[int] = set()
        while stack:
            net = stack.pop()
            for other, i in near.get(net, ()):
                if i in seen:
                    continue
                seen.add(i)
                edge = network.wide_edges[i]
                if i < first:
                    table = scope.guard_of(i)
                    here = bool((table >> index) & 1)
                    same &= table if here else scope.full ^ table
                    if not here:
                        continue
                rail = side(other)
                if not any(rail):
                    if other not in island:
                        island.add(other)
                        stack.append(other)
                elif i >= first and edge.branch.key != branch.key:
                    comes_in = edge.both or edge.a == other
                    goes_out = edge.both or edge.b == other
                    if rail[0] and comes_in:
                        self.entering.append(edge.branch)
                    if rail[1] and goes_out:
                        self.leaving.append(edge.branch)
        ends = [side(network.net(node)) for node in (branch.a, branch.b)]
        self.on_plus = any(plus for plus, _ in ends)
        self.on_minus = any(minus for _, minus in ends)
        self.same = same

    def most_amps(self) -> float | None:
        """The most that can reach the element, in A; ``None`` where ratings are missing or nothing limits it."""
        sums = []
        if not self.on_plus:
            sums.append(_sum_amps(self.entering, self._conduction.circuit))
        if not self.on_minus:
            sums.append(_sum_amps(self.leaving, self._conduction.circuit))
        known = [total for total in sums if total is not None]
        return min(known, default=None)


def _sum_amps(branches: list[Branch], circuit: Circuit) -> float | None:
    total = 0.0
    volts = highest_volts(circuit)
    for branch in branches:
        law = rated(branch, circuit)
        if law.missing or (law.ohms is None and law.curve is None):
            return None
        total += volts / law.ohms if law.ohms else law.curve.amps(volts) if law.curve else 0.0
    return total


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
