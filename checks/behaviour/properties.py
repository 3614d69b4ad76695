"""What must be proved of every combination: that each control stops each ignition part, and that what must be dead is.

A proof ends in one of three ways: it holds; a combination refutes it, with its path; or it stays open, and says why.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, Final, Literal

from ...lang.circuit.branch import InPosition
from ...lang.circuit.branch_types import BranchType
from ...lang.model.conditions import AnyOf as Either
from ...lang.model.parts import Fuse, Load, Source
from ...lang.records import dataclass
from ..logic.analysis import TooWideError
from ..logic.named_states import InState, contradiction
from ..logic.predicates import (
    Active,
    AllOf,
    AnyOf,
    Holds,
    In,
    Joined,
    JoinedInSeries,
    Runs,
    Shows,
    Stopped,
    ThroughLoads,
    consumer_keys,
    driven_coils,
    feed_keys,
    implied,
    is_ignition,
    stop_lead,
)
from ..logic.terms import ANY, BATTERY, DIRECT
from .keys import StopControl, stop_controls
from .sneak_paths import judge, works_through_loads
from .undecided import UndecidedError, shown_for_sure, too_wide, undecided_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from ...lang.model.statements import Claim, Expectation
    from ..logic.analysis import Combination, SwitchingLogic
    from ..logic.named_states import Settings
    from ..logic.predicates import Question
    from ..logic.state_space import StateSpace
    from ..logic.switching_network import SwitchingNetwork
    from ..logic.terms import Graph, Kind
    from ..logic.truth_tables import Table

FED: tuple[Graph, Graph] = ("nets", "ballast")
MOST_SHORTS = 8
MOST_BLOWN = 4
"""So many dead shorts that a stop makes are followed, each until so many fuses have opened (ours)."""


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


@dataclass(frozen=True, slots=True)
class Kill:
    """The proof that one control stops one ignition part."""

    control: StopControl
    part: str
    proof: Proof


def ignition_parts(network: SwitchingNetwork) -> tuple[Part, ...]:
    """Everything that makes sparks, in the order of the text."""
    removed = network.circuit.removed
    return tuple(part for part in network.harness.parts.values() if is_ignition(part) and part.name not in removed)


def kills(logic: SwitchingLogic) -> Iterator[Kill]:
    """Every stop control against every ignition part, each by itself."""
    for control in stop_controls(logic.network):
        for part in ignition_parts(logic.network):
            try:
                proof = _whatever_blows(logic, _meant(logic.network, control), partial(_kill, control, part))
            except TooWideError as wide:
                proof = Proof(ended="open", why=too_wide(wide))
            except UndecidedError as undecided:
                proof = Proof(ended="open", why=str(undecided))
            yield Kill(control, part.name, proof)


ONCE_BLOWN: Final = "[it makes a dead short, and once {blown} {blown:has|have} blown ]"
"""How a finding begins its reason where a control first shorts what then blows; gone where nothing blows."""
AFTER_SHORT: Final = "[remove the short that blows {blown} (dead-short); then ]"
"""The same before what it advises."""


@dataclass(frozen=True, slots=True)
class Turning:
    """The engine in any position but `off`, where anything depends on it: a stop is asked of an engine that turns."""

    def needs(self, _network: SwitchingNetwork) -> frozenset[str]:
        return frozenset()

    def table(self, scope: StateSpace) -> Table:
        return scope.full ^ scope.at("engine", "off") if "engine" in scope else scope.full


def _meant(network: SwitchingNetwork, control: StopControl) -> In:
    return In(control.control, tuple(network.positions_meant(control.switch, control.position)[1]))


def _kill(control: StopControl, part: Part, logic: SwitchingLogic) -> Proof:
    network = logic.network
    meant = _meant(network, control)
    asked = AllOf((meant, Turning()))
    driven = driven_coils(network, part)
    keys = tuple(key for _, key in driven) or feed_keys(network, part)
    if not keys:
        shown = _nearest(logic, Runs(part.name), meant, asked)
        return Proof(ended="holds") if shown is None else Proof(ended="refuted", by="stop lead", shown=shown)
    for kinds in (BATTERY, ANY):
        shown = _nearest(logic, Runs(part.name, kinds, "nets"), meant, asked)
        if shown is not None:
            by: Literal["battery", "machine"] = "battery" if kinds == BATTERY else "machine"
            return Proof(ended="refuted", by=by, shown=shown, path=fed_path(logic, shown, keys, kinds))
    return _past_ballast(logic, _still_through_loads(logic, part, asked), keys)


def _still_through_loads(logic: SwitchingLogic, part: Part, while_: Question) -> Proof:
    """The proof that nothing that comes through other loads keeps an ignition part running.

    A unit that drives coils is as still as the worst of them, each asked while the output that it hangs on is on.
    """
    but = Stopped(part.name) if stop_lead(part) else None
    driven = driven_coils(logic.network, part)
    if not driven:
        return dead_through_loads(logic, feed_keys(logic.network, part), while_, but=but)
    found = Proof(ended="holds")
    for output, key in driven:
        proof = dead_through_loads(logic, (key,), while_, but=but, also=(Shows(output),))
        if proof.ended == "refuted":
            return proof
        if found.ended == "holds":
            found = proof
    return found


# --- dead shorts ------------------------------------------------------------------------------------------------------
def _whatever_blows(logic: SwitchingLogic, while_: Question, prove: Callable[[SwitchingLogic], Proof]) -> Proof:
    """A proof, and where a dead short hides combinations from it, the same once what stands in its way has opened.

    Of a short nothing else is asked, and a stop that shorts a feed would hold for want of any combination. What has
    blown stays blown, so all that is asked about is asked again. Raises as ``prove``.
    """
    proof = prove(logic)
    return proof if proof.ended != "holds" else _after_shorts(logic, while_, prove, ()) or proof


def _after_shorts(
    logic: SwitchingLogic, while_: Question, prove: Callable[[SwitchingLogic], Proof], opened: tuple[str, ...]
) -> Proof | None:
    """How a proof ends that no longer holds once fuses have opened in dead shorts; ``None`` where it holds on.

    Open where what is asked about makes a dead short itself that no fuse ends.
    """
    here = logic.without(opened) if opened else logic
    if not here.can_short:
        return None
    scope = here.scope(while_)
    asked = while_.table(scope) & Turning().table(scope) & scope.occurring
    left = asked & scope.shorts
    made = frozenset(control for control, _ in implied(while_, here.network))
    for _ in range(MOST_SHORTS):
        shown = here.show(scope, left)
        if shown is None:
            break
        ways = [here.short_path(shown, origin) for origin in here.shorted(shown)]
        way = next((way for way in ways if _first_to_open(here, way) is not None), ways[0])
        closed = scope.full
        for branch in way:
            closed &= scope.conducting(branch)
        left &= left ^ closed
        blown = _first_to_open(here, way)
        if blown is None:
            if not asked & scope.counted or any(_sets(branch, made) for branch in way):
                return Proof(ended="open", by="short", shown=shown, why="it is a dead short there, and no fuse ends it")
            continue  # something else makes the short, and without that the answer is there
        known = (*opened, blown)
        proof = prove(logic.without(known))
        if proof.ended != "holds":
            return replace(proof, after=known)
        deeper = _after_shorts(logic, while_, prove, known) if len(known) < MOST_BLOWN else None
        if deeper is not None and deeper.ended == "refuted":
            return deeper
    return None


def _sets(branch: Branch, controls: frozenset[str]) -> bool:
    return isinstance(branch.guard, InPosition) and branch.guard.control in controls


def _first_to_open(logic: SwitchingLogic, way: Iterable[Branch]) -> str | None:
    """The fuse on the way of a short that opens first: that of the least rating, the first where none is known."""
    parts = logic.network.harness.parts
    fuses = [
        part
        for branch in way
        if branch.branch_type is BranchType.FUSE and isinstance(part := parts.get(branch.part), Fuse)
    ]
    return min(fuses, key=lambda fuse: math.inf if fuse.amps is None else fuse.amps).name if fuses else None


def _nearest(logic: SwitchingLogic, runs: Runs, meant: Question, asked: Question) -> Combination | None:
    """The combination nearest to rest in which a part runs where it is asked about.

    The controls shown are those that matter to ``meant``: an engine that is off as well is not told of.
    """
    scope = logic.scope(runs, meant, asked)
    held = runs.table(scope) & scope.counted & meant.table(scope)
    return shown_for_sure(logic, scope, held & asked.table(scope), held)


def _past_ballast(logic: SwitchingLogic, proof: Proof, keys: Iterable[str]) -> Proof:
    """What lives on current through nothing but resistors is fed by a source, not by other loads."""
    shown = proof.shown
    if proof.ended == "refuted" and shown is not None:
        for kinds in (BATTERY, DIRECT):
            for key in keys:
                branch = logic.circuit.by_key[key]
                if (shown.scope.joined_through(branch, "ballast", kinds) >> shown.index) & 1:
                    by: Literal["battery", "machine"] = "battery" if kinds == BATTERY else "machine"
                    return replace(proof, by=by, path=logic.loop(shown, branch, kinds, "ballast"))
    return proof


def fed_path(
    logic: SwitchingLogic, shown: Combination, keys: Iterable[str], kinds: frozenset[Kind] = ANY
) -> tuple[str, ...]:
    """The way of the current through the first of some elements that is joined in a combination."""
    for key in keys:
        for graph in FED:
            if path := logic.loop(shown, logic.circuit.by_key[key], kinds, graph):
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


# --- expectations ----------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Claimed:
    """How one claim of one expectation ended. ``never``: no combination meets its condition."""

    expectation: Expectation
    claim: Claim | None
    proof: Proof
    never: bool = False


def claims(logic: SwitchingLogic, harness: Harness) -> Iterator[Claimed]:
    """Every claim of ``live`` or ``dead``; those of numbers are not for the logic."""
    for expectation in harness.expectations:
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
            if claim.how not in ("live", "dead"):
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
        return Proof(ended="open", shown=maybe, why="only what comes through other loads reaches it there")
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


# --- the starter -----------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Interlock:
    """The proof that a starter stays dead in a danger: ``clutch`` (in gear, clutch out) or ``stand`` (in gear, down).

    ``fitted`` names the switches of the quantities that lie in the starter's circuit.
    """

    starter: str
    danger: Literal["clutch", "stand"]
    fitted: tuple[str, ...]
    proof: Proof


def starters(network: SwitchingNetwork) -> tuple[tuple[str, str], ...]:
    """Every starter motor, as its part and the key of its branch."""
    return tuple(
        (part.name, f"{part.name}.{element.name}")
        for part in network.harness.parts.values()
        if isinstance(part, Load) and part.system == "starting"
        for element in part.elements
        if element.what == "motor" and f"{part.name}.{element.name}" in network.circuit.by_key
    )


def in_gear(network: SwitchingNetwork) -> In | None:
    """The gearbox in any position but neutral; ``None`` where nothing senses it."""
    gearbox = network.circuit.controls.get("gearbox")
    if gearbox is None:
        return None
    return In("gearbox", tuple(position for position in gearbox.positions if position != "neutral"))


def interlocks(logic: SwitchingLogic) -> Iterator[Interlock]:
    """Each starter against the dangers that something senses."""
    network = logic.network
    controls = network.circuit.controls
    gear = in_gear(network)
    dangers: list[tuple[Literal["clutch", "stand"], tuple[In, ...]]] = []
    if gear is not None or "clutch" in controls:
        clutch = (In("clutch", ("out",)),) if "clutch" in controls else ()
        dangers.append(("clutch", (*((gear,) if gear else ()), *clutch)))
    if gear is not None and "stand" in controls:
        dangers.append(("stand", (gear, In("stand", ("down",)))))
    for starter, key in starters(network):
        for danger, ins in dangers:
            # What prevents the one danger may be passed on purpose in the other: a clutch switch lets it turn in gear.
            named = ("stand",) if danger == "stand" else tuple(question.control for question in ins)
            try:
                fitted, proof = _interlock(logic, key, ins)
            except TooWideError as wide:
                fitted, proof = frozenset(wide.names), Proof(ended="open", why=too_wide(wide))
            except UndecidedError as undecided:
                fitted, proof = logic.support(Joined(key)), Proof(ended="open", why=str(undecided))
            switches = tuple(s for name in named if name in fitted for s in controls[name].switches)
            yield Interlock(starter, danger, switches, proof)


def _interlock(logic: SwitchingLogic, key: str, ins: tuple[In, ...]) -> tuple[frozenset[str], Proof]:
    live = Joined(key)
    fitted = logic.support(live)
    while_ = AllOf(ins)
    scope = logic.scope(live, while_)
    shown = shown_for_sure(logic, scope, scope.counted & while_.table(scope) & live.table(scope))
    if shown is not None:
        return fitted, Proof(ended="refuted", shown=shown, path=fed_path(logic, shown, (key,)))
    return fitted, dead_through_loads(logic, (key,), while_)


@dataclass
class Properties:
    """All that has to be proved of one harness, each worked out once."""

    logic: SwitchingLogic
    harness: Harness

    @cached_property
    def kills(self) -> tuple[Kill, ...]:
        return tuple(kills(self.logic))

    @cached_property
    def claims(self) -> tuple[Claimed, ...]:
        return tuple(claims(self.logic, self.harness))

    @cached_property
    def interlocks(self) -> tuple[Interlock, ...]:
        return tuple(interlocks(self.logic))
