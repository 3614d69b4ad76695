"""That what a text expects is so in every combination that it speaks of."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from ...lang.model.parts import Source
from ...lang.records import dataclass
from ..logic.analysis import TooWideError
from ..logic.named_states import InState, contradiction
from ..logic.part_predicates import Runs, consumer_keys, feed_keys, is_ignition
from ..logic.predicates import Active, AnyOf, Holds, Joined, JoinedInSeries, ThroughLoads
from ..logic.terms import DIRECT
from .proof import Proof, dead_through_loads, fed_path
from .sneak_paths import works_through_loads
from .stopping import _still_through_loads, _whatever_blows
from .undecided import UndecidedError, shown_for_sure, too_wide, undecided_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from ...lang.diagnostics.diagnostic import Span
    from ...lang.model.harness import Harness
    from ...lang.model.statements import Claim, Expectation
    from ..logic.analysis import Combination, SwitchingLogic
    from ..logic.named_states import Settings
    from ..logic.predicates import Question
    from ..logic.state_space import StateSpace
    from ..logic.truth_tables import Table


@dataclass(frozen=True, slots=True)
class Claimed:
    """How one claim of one expectation ended. ``never``: no combination meets its condition."""

    expectation: Expectation
    claim: Claim | None
    proof: Proof
    never: bool = False


def claims(logic: SwitchingLogic, harness: Harness, at: Callable[[Span], bool] = lambda _: True) -> Iterator[Claimed]:
    """Every claim of ``live`` or ``dead``, ``at`` the places that are asked of; those of numbers are not for the logic.

    An expectation itself is asked about with any of its claims.
    """
    for expectation in harness.expectations:
        if not at(expectation.span) and not any(at(claim.span) for claim in expectation.claims):
            continue
        asked = logic.without(expectation.without) if expectation.without else logic
        while_: Question
        if expectation.whenever is not None:
            while_ = Holds(expectation.whenever)
            scope = asked.scope(while_)
            if not while_.table(scope) & scope.occurring:
                yield Claimed(expectation, None, Proof(ended="refuted"), never=True)
                continue
        else:
            state = harness.states.get(expectation.state or "")
            settings = state.settings if state else ()
            if cannot_be(asked, settings):
                continue  # said once, at the state (impossible-state)
            while_ = InState(settings)
        for claim in expectation.claims:
            if claim.how not in ("live", "dead") or not at(claim.span):
                continue
            try:
                if claim.how == "live":
                    proof = _live(asked, claim, while_, named=expectation.state is not None)
                else:
                    proof = _whatever_blows(asked, while_, partial(_dead, claim, while_))
            except TooWideError as wide:
                proof = Proof(ended="open", why=too_wide(wide))
            except UndecidedError as undecided:
                proof = Proof(ended="open", why=str(undecided))
            yield Claimed(expectation, claim, proof)


def cannot_be(logic: SwitchingLogic, settings: Settings) -> bool:
    """Whether a state cannot come about; not where that is too wide to be told."""
    try:
        return contradiction(logic, settings) is not None
    except TooWideError:
        return False  # what is asked of the state then says itself that it was not proved


def claimed_keys(logic: SwitchingLogic, claim: Claim) -> tuple[str, ...]:
    """The branches of the elements that a claim is about."""
    part = logic.network.harness.parts.get(claim.part)
    if claim.element is None and part is not None and is_ignition(part):
        return feed_keys(logic.network, part)
    return consumer_keys(logic.network, claim.part, claim.element)


def _question(logic: SwitchingLogic, claim: Claim, *, series: bool) -> AnyOf:
    network = logic.network
    part = network.harness.parts.get(claim.part)
    if claim.element is None and part is not None:
        if is_ignition(part) and part.name not in network.circuit.removed:
            return AnyOf((Runs(part.name),))
        if isinstance(part, Source):
            return AnyOf(tuple(Active(o) for o in network.origins if o.supply.name == part.name))
    keys = claimed_keys(logic, claim)
    return AnyOf(tuple(JoinedInSeries(key) if series else Joined(key) for key in keys))


def _live(logic: SwitchingLogic, claim: Claim, while_: Question, *, named: bool) -> Proof:
    """A duty: live in each plausible combination of the condition, whatever nobody sets."""
    live = _question(logic, claim, series=True)
    scope = logic.scope(live, while_)
    among = scope.counted & while_.table(scope)
    if not named:
        among &= scope.plausible
    table = live.table(scope)
    hidden = (*scope.bits, *scope.free)
    failing = scope.some(among, hidden)
    failing &= failing ^ scope.must(table, among)
    if named:  # what only loads reach is live by its volts, and claims in numbers tell
        failing &= failing ^ _reached_by_loads(logic, scope, claim)
    failing &= among & (among ^ (among & table))
    shown = logic.show(scope, failing)
    if shown is None:
        return Proof(ended="holds")
    for doubt in undecided_of(logic, scope):
        if doubt.kind == "field" and not failing & (failing ^ scope.rest((doubt.name,))):
            raise UndecidedError(doubt.why)
    plain = logic.plain if named else None
    if plain is not None and plain is not logic:
        # Whether other loads hold a relay in there is known by volts, and claims in numbers tell of each history.
        by_copper = _live(plain, claim, while_, named=True)
        if by_copper.ended == "holds":
            return by_copper
    if not named and (maybe := _works_through_loads(logic, claim, while_, live)) is not None:
        return Proof(ended="open", shown=maybe, why="it is fed only through other loads there")
    return Proof(ended="refuted", shown=shown)


def _works_through_loads(logic: SwitchingLogic, claim: Claim, while_: Question, live: Question) -> Combination | None:
    """A combination in which a claim of ``live`` fails, where all of these bring, through other loads, as much as may
    do for its working share; ``None`` where in some nothing comes, or too little by the most that can.
    """
    keys = claimed_keys(logic, claim)
    wide = tuple(ThroughLoads(key, DIRECT) for key in keys)
    if not wide:
        return None
    scope = logic.scope(live, while_, *wide)
    failing = while_.table(scope) & scope.counted & scope.plausible
    failing &= failing ^ live.table(scope)
    nothing = failing
    for key, through in zip(keys, wide, strict=True):
        reached = failing & through.table(scope)
        if works_through_loads(logic, scope, logic.circuit.by_key[key], reached):
            nothing &= nothing ^ reached
    return None if nothing else logic.show(scope, failing)


def _reached_by_loads(logic: SwitchingLogic, scope: StateSpace, claim: Claim) -> Table:
    """Where something claimed is reached through other loads, as far as a scope of what is joined decides it."""
    table = 0
    for key in claimed_keys(logic, claim):
        table |= scope.joined_through(logic.circuit.by_key[key], "wide", DIRECT)
    return table


def _dead(claim: Claim, while_: Question, logic: SwitchingLogic) -> Proof:
    """A danger: live in no possible combination of the condition, and no more than the dead share through loads."""
    live = _question(logic, claim, series=False)
    scope = logic.scope(live, while_)
    shown = shown_for_sure(logic, scope, scope.counted & while_.table(scope) & live.table(scope))
    keys = claimed_keys(logic, claim)
    if shown is not None:
        return Proof(ended="refuted", shown=shown, path=fed_path(logic, shown, keys))
    part = logic.network.harness.parts.get(claim.part)
    if part is not None and claim.element is None and is_ignition(part):
        return _still_through_loads(logic, part, while_)
    return dead_through_loads(logic, keys, while_)
