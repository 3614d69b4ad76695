"""Whether an element that is connected to no source is dead all the same, or lives on what comes through other loads.

First a bound, then the island solved by itself (``islands``), a class of combinations that leave it alike at a time;
what neither decides is stated, never passed over.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from ...lang.quantities.quantity import shown as count
from ...lang.records import dataclass
from ..logic.islands import Island, Islands, most_classes
from ..logic.load_shares import dead_amps, is_alive, works
from ..logic.predicates import ThroughLoads
from ..logic.terms import DIRECT, MACHINE

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ..logic.analysis import Combination, SwitchingLogic
    from ..logic.state_space import StateSpace
    from ..logic.truth_tables import Table

Decider = Callable[["SwitchingLogic", "Combination", "Branch"], "bool | None"]
"""Whether an element gets more than its dead share in a combination, by numbers; ``None``: could not be told."""

ASKED = 8
"""Of cases without a bound, this many are solved in numbers (ours)."""

TRIED = 64
"""Of cases that are too many to be solved, this many are solved all the same (ours): the nearest to rest may refute."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """What was found of the combinations asked about, each the first of its class or ``None``.

    ``alive``: the element gets more than its dead share. ``open``: neither proved nor refuted, and ``why``.
    """

    alive: Combination | None = None
    open: Combination | None = None
    why: str = ""


def judge(
    logic: SwitchingLogic, scope: StateSpace, branch: Branch, asked: Table, decider: Decider | None = None
) -> Judgement:
    """Whether what comes through other loads keeps an element alive in any of some combinations.

    ``asked`` is a table of a scope that ``ThroughLoads(branch.key)`` fits in; combinations in which the element is
    joined must not be in it. With a ``decider`` those count alone that it finds alive as well, and what has no bound
    is alive where it says so.
    """
    left = asked & ThroughLoads(branch.key, DIRECT).table(scope) & scope.counted
    limit = dead_amps(branch, logic.circuit)
    islands = Islands(logic.network, scope, branch)
    charging = _charging(logic, scope) if decider is not None else 0
    cases: list[tuple[int, Island, Table]] = []
    most_cases = most_classes(scope)
    for _ in range(most_cases):
        if not left:
            break
        index = scope.nearest((left & scope.plausible) or left, scope.visible)
        island = islands.at(index)
        same = left & island.same
        left ^= same
        most = islands.most_amps(island)
        if most is None or limit is None or most >= limit:
            cases.append((index, island, same))
    too_many = bool(left)
    open_, asked_numbers = Judgement(), 0
    for index, island, same in cases[:TRIED] if too_many else cases:
        bound = islands.bound(island)
        alive = not bound.why and is_alive(branch, logic.circuit, bound.volts, bound.amps)
        if not alive and not bound.why and bound.proved:
            continue  # dead: the bound proves it
        asked_numbers += bool(bound.why)
        if bound.why and open_.open is not None and (decider is None or asked_numbers > ASKED):
            continue  # as undecided as what is reported already
        shown = logic.show(scope, 1 << index, anywhere=same)
        told: bool | None = alive
        if decider is not None and shown is not None and (alive or bound.why):
            told = decider(logic, shown, branch)  # without a bound, numbers refute it and never prove it
        if alive and told is False and decider is not None:
            # Its volts are highest while a machine charges: what a battery alone does not keep alive, this may.
            nearest = logic.show(scope, same & charging, anywhere=same)
            if nearest is not None:
                told = decider(logic, nearest, branch)
                shown = nearest if told is not False else shown
        if told:
            return Judgement(alive=shown)
        if open_.open is None and (told is None or not alive):
            floating = "neither of its ends is connected to a source, and at another voltage it may get more"
            why = bound.why or (floating if not alive else "its numbers could not be worked out")
            open_ = Judgement(open=shown, why=why)
    if too_many and open_.open is None:
        index = cases[0][0] if cases else scope.nearest(left, scope.visible)
        first = logic.show(scope, 1 << index, anywhere=cases[0][2] if cases else left)
        return Judgement(open=first, why=f"more than {count(most_cases)} cases to solve")
    return open_


def _charging(logic: SwitchingLogic, scope: StateSpace) -> Table:
    """Where a machine gives its most."""
    table = 0
    for origin in logic.network.origins_of(MACHINE):
        table |= scope.active(origin)
    return table & scope.at("engine", "running") if "engine" in scope else table


def reached_at_all(logic: SwitchingLogic, branch: Branch) -> bool:
    """Whether enough to matter may come to an element through other loads, as far as the bound tells."""
    wide = ThroughLoads(branch.key, DIRECT)
    scope = logic.scope(wide)
    told = judge(logic, scope, branch, wide.table(scope))
    return told.alive is not None or told.open is not None


def works_through_loads(logic: SwitchingLogic, scope: StateSpace, branch: Branch, asked: Table) -> Combination | None:
    """A combination, of some, in which an element has its working share by what comes through other loads.

    ``None`` where none of as many cases as are solved shows it.
    """
    left = asked
    islands = Islands(logic.network, scope, branch)
    for _ in range(most_classes(scope)):
        if not left:
            return None
        index = scope.nearest((left & scope.plausible) or left, scope.visible)
        island = islands.at(index)
        same = left & island.same
        left ^= same
        bound = islands.bound(island)
        if not bound.why and works(branch, logic.circuit, bound.volts, bound.amps):
            return logic.show(scope, 1 << index, anywhere=same)
    return None
