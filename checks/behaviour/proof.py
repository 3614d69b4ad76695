"""How a proof over every combination ended: it holds, a combination refutes it, or it stays open, and says why."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from ...lang.model.conditions import AnyOf as Either
from ...lang.records import dataclass
from ..logic import current_paths
from ..logic.named_states import InState
from ..logic.part_predicates import Runs, Stopped
from ..logic.predicates import Holds, Joined, ThroughLoads, implied
from ..logic.terms import ANY, BATTERY, DIRECT
from .sneak_paths import judge
from .undecided import shown_for_sure

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ..logic.analysis import Combination, SwitchingLogic
    from ..logic.predicates import Question
    from ..logic.terms import Graph, Kind


FED: tuple[Graph, Graph] = ("nets", "ballast")


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """How a proof ended. ``by`` tells what keeps the thing alive: a battery, another source, a stop lead that is not
    grounded, or other loads; of an open one, that it makes a dead short, so that nobody may try it. ``shown`` is the
    combination that refutes it, or that stays open for the reason ``why``; ``of`` the element that lives on other loads
    there, by its branch; ``after`` the fuses that a dead short has opened before.
    """

    ended: Literal["holds", "refuted", "open"]
    by: Literal["", "battery", "machine", "stop lead", "loads", "short"] = ""
    shown: Combination | None = None
    path: tuple[str, ...] = ()
    why: str = ""
    of: str = ""
    after: tuple[str, ...] = ()


def nearest(logic: SwitchingLogic, runs: Runs, meant: Question, asked: Question) -> Combination | None:
    """The combination nearest to rest in which a part runs where it is asked about.

    The controls shown are those that matter to ``meant``: an engine that is off as well is not mentioned.
    """
    scope = logic.scope(runs, meant, asked)
    held = runs.table(scope) & scope.counted & meant.table(scope)
    return shown_for_sure(logic, scope, held & asked.table(scope), held)


def past_ballast(logic: SwitchingLogic, proof: Proof, keys: Iterable[str]) -> Proof:
    """What lives on current through nothing but resistors is fed by a source, not by other loads."""
    shown = proof.shown
    if proof.ended == "refuted" and shown is not None:
        for kinds in (BATTERY, DIRECT):
            for key in keys:
                branch = logic.circuit.by_key[key]
                if (shown.scope.joined_through(branch, "ballast", kinds) >> shown.index) & 1:
                    by: Literal["battery", "machine"] = "battery" if kinds == BATTERY else "machine"
                    return replace(proof, by=by, path=current_paths.loop(logic, shown, branch, kinds, "ballast"))
    return proof


def fed_path(
    logic: SwitchingLogic, shown: Combination, keys: Iterable[str], kinds: frozenset[Kind] = ANY
) -> tuple[str, ...]:
    """The way of the current through the first of some elements that is joined in a combination."""
    for key in keys:
        for graph in FED:
            if path := current_paths.loop(logic, shown, logic.circuit.by_key[key], kinds, graph):
                return path
    return ()


def dead_through_loads(
    logic: SwitchingLogic,
    keys: Iterable[str],
    while_: Question,
    but: Stopped | None = None,
    also: tuple[Question, ...] = (),
) -> Proof:
    """The proof that elements get no more than their dead share through other loads where they are not joined.

    Asked where ``while_`` and all of ``also`` hold, and not where ``but`` does.
    """
    for case, key in itertools.product(_cases(while_), tuple(keys)):
        network = logic.network
        branch = logic.circuit.by_key[key]
        wide = ThroughLoads(key, DIRECT, case.given(network) if isinstance(case, InState) else implied(case, network))
        questions: list[Question] = [wide, Joined(key), case, *also]
        if but is not None:
            questions.append(but)
        scope = logic.scope(*questions)
        asked = wide.table(scope) & scope.counted & case.table(scope)
        if not asked:
            continue
        joined = Joined(key).table(scope)
        asked &= asked ^ joined
        for each in also:
            asked &= each.table(scope)
        if but is not None:
            asked &= asked ^ but.table(scope)
        told = judge(logic, scope, branch, asked)
        if told.alive is not None:
            return Proof(ended="refuted", by="loads", shown=told.alive, of=key)
        if told.open is not None:
            return Proof(ended="open", shown=told.open, why=told.why, of=key)
    return Proof(ended="holds")


def _cases(question: Question) -> tuple[Question, ...]:
    """The parts of an `or`, each with more that is known of the controls than the whole tells."""
    if isinstance(question, Holds) and isinstance(question.expression, Either):
        return tuple(case for term in question.expression.terms for case in _cases(Holds(term)))
    return (question,)
