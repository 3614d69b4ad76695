"""The bounded search: first the edits that are likely and near, each judged by the rules, until one settles everything.

What bounds it is a count of tries and a count of work, so that the answer is the same everywhere. Work that runs out
ends in "not finished", and so does a guard in seconds for harnesses of which a single analysis is dear; neither ends in
another answer.

An edit is asked of in turn: whether it settles the finding that it is tried for, then by the rules that have more to
settle, and only where it can be offered by all others.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, Final

from ...lang.model.harness import Harness
from ...lang.model.parts import Switch, Unit
from ...lang.records import dataclass
from ..behaviour.dependents import may_live
from ..findings.finding import Finding, Level, Stage
from ..logic.connected import Copper
from ..runner.run import broken
from ..tally import TooMuchWorkError
from .edits import Edit, distances, edits

if TYPE_CHECKING:
    from ..rule import Rule
    from ..runner.run import RuleStudy

TRIES: Final = 30
"""This many edits are judged for one finding (ours)."""
TRIES_AGAIN: Final = 15
"""This many for the first finding of another rule (ours)."""
LOOKED_AT: Final = 3
"""This many times as many are looked at, those left out unjudged among them (ours)."""
BRANCH, LOGIC = 12, 600
"""What counts as how much work beside what is counted while it is done (``tally``), in the same unit (ours): each
branch of a harness that is looked at, and its logic.
"""
MOST_WORK: Final = 1_000_000
"""Work after which the search gives up, and says so (ours)."""
SECONDS: Final = 4.0
"""Processor time after which it gives up even so, on a machine that is much slower (ours)."""
MOST_OFFERS: Final = 3
OUTWEIGHS: Final = 3
"""An edit may bring a new warning where it settles this many findings (ours)."""

NOT_BY_JOINS: Final = frozenset(
    {
        "ballast-mismatch",
        "battery-can-part",
        "capacitor-volts",
        "changed-feed",
        "charge-deficit",
        "colour-change",
        "crowded-ground",
        "crowded-seal",
        "crowded-terminal",
        "cut-lead",
        "expired-waiver",
        "fuse-not-selective",
        "house-colour",
        "house-connector",
        "house-size",
        "idle-waiver",
        "key-without-off",
        "latch-stuck",
        "live-pins",
        "look-alike-plugs",
        "lost-function",
        "missing-condenser",
        "missing-suppression",
        "not-judged",
        "over-temperature",
        "overloaded-fuse",
        "oversized-fuse",
        "polarity-changed",
        "shared-colour",
        "short-not-cleared",
        "short-wire",
        "starter-through-ground",
        "stiff-at-steering",
        "thin-conductor",
        "thin-return",
        "undecided",
        "unsealed",
        "wrong-terminal",
        "wrong-voltage",
    }
)
"""Rules of sizes, figures, workmanship and words: no wire on another terminal is what settles them."""

BY_COPPER: Final = ("battery-reversed", "split-ground", "grounded-winding", "exchanged-field")
"""Rules that refuse an edit by what is joined alone: asked before any logic is worked out (measured: of ten, one)."""
DEAR: Final = (
    "relay-chatter",
    "overcharge",
    "feedback-path",
    "undecided-path",
    "flasher-load",
    "lost-ground",
    "missing-suppression",
    "no-flasher",
    "not-judged",
    "oversized-fuse",
    "unfused-feed",
)
"""Rules that solve many states or walk many ways, and seldom refuse an edit: asked last (measured)."""

DANGERS: Final = ("fire", "stop")

Place = tuple[str, object]
"""What tells a finding from another before and after an edit: its rule, and where it points."""


@dataclass(frozen=True, slots=True)
class Settles:
    """An edit, the findings that it settles, and those that come instead (notes, or a warning that it outweighs)."""

    edit: Edit
    settled: frozenset[Place]
    new: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """What the search found: offers of one or two edits each, how many were tried, and whether it was finished.

    Where it was not, none count as tried: how far it came may depend on the machine, and no answer may. ``follows``
    has, for a finding by its place, what is sure to go with it.
    """

    offers: tuple[tuple[Settles, ...], ...]
    tried: int
    finished: bool
    follows: tuple[tuple[Place, frozenset[Place]], ...] = ()


def place(finding: Finding) -> Place:
    return finding.rule, finding.span


class _Trial:
    """An edit under judgement: the harness after it, what rules have found there so far, and by which rules.

    ``barred``: it brings what no offer may; ``worse`` counts the warnings that it brings, ``work`` what was worked out.
    """

    def __init__(self, edit: Edit, edited: RuleStudy) -> None:
        self.edit = edit
        self.edited = edited
        self.after: list[Finding] = []
        self.asked: set[str] = set()
        self.barred = False
        self.worse = 0
        self.work = 0

    def settled(self, places: frozenset[Place]) -> frozenset[Place]:
        """Those of some findings that no rule has found again so far."""
        return places - {place(finding) for finding in self.after if finding.level > Level.NOTE}


class Search:
    """One search over one harness. ``asked`` are the findings to explain, in the order in which they are shown, and
    ``loud`` every error and warning, those among them; ``base`` is everything that was found before, whatever its
    level, waived and accepted ones too. ``examine_edited`` examines a changed harness on the same terms.
    """

    def __init__(
        self,
        study: RuleStudy,
        asked: Sequence[Finding],
        loud: Sequence[Finding],
        base: Iterable[Finding],
        examine_edited: Callable[[Harness], RuleStudy],
        clock: Callable[[], float] = time.process_time,
    ) -> None:
        self.study = study
        self.asked = asked
        self.loud = frozenset(map(place, loud))
        self.wanted = frozenset(map(place, asked))
        self.base = {place(finding): finding.level for finding in sorted(base, key=lambda f: f.level)}
        self.examine_edited = examine_edited
        self.clock = clock
        self.end = clock() + SECONDS
        self.work = 0
        self.tried = 0
        self.mends: list[Settles] = []
        self.alive = may_live(study.circuit)
        self.seen = {_signature(study)}
        self.rules = self._in_order(study.rules)
        self.roots = {rule.name for rule in study.rules if rule.root_cause}
        self.explains = any(finding.rule in self.roots for finding in asked)
        self.by_copper = tuple(rule for rule in self.rules if rule.name in BY_COPPER)
        self.settling = tuple(rule for rule in self.rules if rule.name in {finding.rule for finding in asked})

    def run(self) -> Found:
        """The offers. What settles everything comes before two edits that do so together."""
        kept: list[_Trial] = []
        try:
            for lead, budget in zip(self._leads(), (TRIES, TRIES_AGAIN), strict=False):
                kept += self._for(lead, budget)
                whole = [each for trial in kept if (each := self._whole(trial)) is not None]
                if whole:
                    break
            pairs = [] if whole else [self._both(*pair) for pair in self._covers(kept)]
        except TooMuchWorkError:
            return Found((), 0, finished=False)
        offers = tuple(_few([(each,) for each in whole] or [pair for pair in pairs if pair]))
        return Found(offers, self.tried, finished=True, follows=tuple(self._follows()))

    def _whole(self, trial: _Trial) -> Settles | None:
        """The offer of an edit that settles everything."""
        return self._settles(trial) if trial.settled(self.wanted) >= self.wanted else None

    def _covers(self, kept: Sequence[_Trial]) -> Iterator[tuple[_Trial, _Trial]]:
        """Two edits of different things that settle everything together, and nothing twice.

        What an edit has not been asked counts as settled by it, until it is asked of a pair that would do.
        """
        for one, other in combinations(kept, 2):
            if set(one.edit.touches) & set(other.edit.touches):
                continue
            for trial in (one, other):
                if one.settled(self.wanted) | other.settled(self.wanted) >= self.wanted and not trial.barred:
                    self._ask(trial, self.settling)
            settled = one.settled(self.wanted), other.settled(self.wanted)
            if one.barred or other.barred or settled[0] & settled[1]:
                continue
            if settled[0] | settled[1] >= self.wanted:
                yield one, other

    def _both(self, one: _Trial, other: _Trial) -> tuple[Settles, ...]:
        """The offer of two edits together; empty where one of them is none to offer."""
        first = self._settles(one)
        second = self._settles(other) if first is not None else None
        return (first, second) if first is not None and second is not None else ()

    def _follows(self) -> Iterator[tuple[Place, frozenset[Place]]]:
        """For each finding whose rule names its own repair: what is settled by every edit that may be this repair.
        Those that touch only what the finding is about come before others, and of either kind those that settle the
        most.
        """
        for cause in self.asked:
            if cause.rule not in self.roots:
                continue
            own = set(cause.about)
            mends = [
                ((set(each.edit.touches) <= own, len(each.settled)), each.settled)
                for each in self.mends
                if place(cause) in each.settled and own & set(each.edit.touches)
            ]
            best = [settled for rank, settled in mends if rank == max(rank for rank, _ in mends)]
            if best:
                yield place(cause), frozenset.intersection(*best) - {place(cause)}

    def _leads(self) -> Iterable[Finding]:
        """The first finding that no number decides, and the first of another rule: joins come before numbers."""
        first = next((finding for finding in self.asked if not finding.figures), self.asked[0])
        yield first
        others = [finding for finding in self.asked if finding.rule != first.rule]
        other = next((finding for finding in others if not finding.figures), next(iter(others), None))
        if other is not None:
            yield other

    def _for(self, lead: Finding, budget: int) -> Iterable[_Trial]:
        """The edits that settle one finding, and that nothing worse is known of so far."""
        near = distances(self.study, (*lead.about, *lead.path))
        own = {name for name, away in near.items() if away == 0}
        far = max(near.values(), default=0) + 1

        def rank(edit: Edit) -> tuple[float, str]:
            away = min((near.get(name, far) for name in edit.touches), default=far)
            return (away - edit.odds, edit.key)

        rule = next((r for r in self.rules if r.name == lead.rule), None)
        if rule is None:
            return
        danger = rule.family in DANGERS
        left = LOOKED_AT * budget
        for edit in sorted(edits(self.study), key=rank):
            if not budget or not left:
                return
            if danger and not own & set(edit.touches):
                continue
            left -= 1
            edited = self.examine_edited(edit.apply())
            self.work += BRANCH * len(edited.circuit.branches)
            signature = _signature(edited)
            if signature in self.seen:
                continue
            self.seen.add(signature)
            if not self.alive <= may_live(edited.circuit):
                continue  # it would settle a finding by making something dead
            budget -= 1
            self.tried += 1
            trial = _Trial(edit, edited)
            # With its battery right a motorcycle may show another fault: what the first caused is gone all the same.
            surely = lead.stage is Stage.SUPPLY and bool(own & set(edit.touches))
            if not surely:
                self._ask(trial, self.by_copper)
                if trial.barred:
                    continue
            if not self._settles_lead(trial, rule, lead):
                continue
            self._ask(trial, self.settling, on=surely, whole=not self.explains)
            if surely or self._may_mend(trial):
                self._ask(trial, self.rules, on=surely)
                self._keep(trial, surely=surely)
            if not trial.barred:
                yield trial

    def _settles_lead(self, trial: _Trial, rule: Rule, lead: Finding) -> bool:
        """Whether an edit settles the finding that it is tried for.

        Most do not, and most rules say so early: what comes after that is not worked out.
        """
        with trial.edited.asking_only(lead.span):
            self._allow(trial)
            settles = all(place(finding) != place(lead) for finding in _finds(rule, trial.edited))
            self._count(trial)
        return settles

    def _may_mend(self, trial: _Trial) -> bool:
        """Whether an edit may be the repair that a finding names by itself, so that what it settles is asked for."""
        touches = set(trial.edit.touches)
        settled = trial.settled(self.wanted)
        return not trial.barred and any(
            cause.rule in self.roots and place(cause) in settled and touches & set(cause.about) for cause in self.asked
        )

    def _ask(self, trial: _Trial, rules: Iterable[Rule], *, on: bool = False, whole: bool = False) -> None:
        """Judge an edit by those of some rules that were not asked yet, until it is barred; past that where ``on``.

        ``whole``: no further than until it cannot settle everything.
        """
        most = len(self.wanted)
        for rule in rules:
            if rule.name in trial.asked:
                continue
            self._allow(trial)
            for finding in _finds(rule, trial.edited):
                trial.after.append(finding)
                if finding.level is Level.NOTE or self.base.get(place(finding), Level.NOTE) >= finding.level:
                    continue
                trial.worse += 1
                trial.barred |= finding.level is Level.ERROR or most < OUTWEIGHS
                if trial.barred and not on:
                    return
            trial.asked.add(rule.name)
            self._count(trial)
            if whole and not trial.settled(self.wanted) >= self.wanted:
                return

    def _settles(self, trial: _Trial) -> Settles | None:
        """What an edit settles, by every rule; ``None`` where it brings a new error, or a warning for too little."""
        if not trial.barred:
            self._ask(trial, self.rules)
        if trial.barred:
            return None
        settles = self._told(trial)
        return None if trial.worse and len(settles.settled) < OUTWEIGHS else settles

    def _keep(self, trial: _Trial, *, surely: bool) -> None:
        """Keep what an edit settles among the repairs, where it can be offered, or ``surely``."""
        if surely:
            self.mends.append(self._told(trial))
        elif (settles := self._settles(trial)) is not None:
            self.mends.append(settles)

    def _told(self, trial: _Trial) -> Settles:
        new = tuple(finding for finding in trial.after if place(finding) not in self.base)
        return Settles(trial.edit, trial.settled(self.loud), new)

    def _allow(self, trial: _Trial) -> None:
        """Let an edit have the work that is left. What asks for more is stopped in the middle: one rule may ask for
        more than all the others.
        """
        trial.edited.tally.most = MOST_WORK - self.work + trial.work

    def _count(self, trial: _Trial) -> None:
        """Count what was worked out about a changed harness since it was counted last."""
        work = _worked_out(trial.edited)
        self.work += work - trial.work
        trial.work = work
        if self.work > MOST_WORK or self.clock() > self.end:
            raise TooMuchWorkError

    def _in_order(self, rules: Iterable[Rule]) -> tuple[Rule, ...]:
        """Cheap rules of joins first, then those that found something, then all others; the dear ones come last."""
        found = {finding.rule for finding in self.asked}
        off = {judgement.rule for judgement in self.study.harness.judgements if judgement.level == "off"}

        def rank(rule: Rule) -> tuple[int, str]:
            if rule.stage is Stage.SUPPLY or rule.name in ("loose-end", "input-kind", "exchanged-field"):
                return 0, rule.name
            if rule.name in DEAR:
                return 5, rule.name
            if rule.stage is Stage.TOPOLOGY:
                return 1, rule.name
            return (4 if rule.stage is Stage.CONSEQUENCE else 3 if rule.name not in found else 2), rule.name

        return tuple(sorted((r for r in rules if not r.needs_all and r.name not in off), key=rank))


def _worked_out(study: RuleStudy) -> int:
    """What was worked out about a harness so far, beside its circuit; asked without working out anything."""
    return study.tally.work + (LOGIC if "logic" in vars(study) else 0)


def _finds(rule: Rule, study: RuleStudy) -> Iterator[Finding]:
    """What a rule finds, one by one; a rule that breaks down on a changed harness finds that, as it does in a check.

    Raises ``TooMuchWorkError`` where it asks for more than is allowed.
    """
    study.between_rules()
    try:
        yield from rule.find(study)
    except TooMuchWorkError:
        raise
    except Exception as error:  # noqa: BLE001  an edit that breaks a rule is none to offer, whatever the reason
        yield broken(study.harness, rule, error)


def _signature(study: RuleStudy) -> frozenset[object]:
    """What is joined with what, and what the file says of inputs and contacts: edits alike in this are the same one."""
    copper: Copper = study.copper
    groups = frozenset(frozenset(nodes) for nodes in copper.bare.members.values() if len(nodes) > 1)
    told: list[object] = []
    for part in study.harness.parts.values():
        if isinstance(part, Unit):
            told += [(part.name, given.name, given.mode) for given in part.inputs]
        elif isinstance(part, Switch):
            told += [(part.name, position.name, position.pairs) for position in part.positions]
    return frozenset((*groups, *told))


def _few(offers: list[tuple[Settles, ...]]) -> list[tuple[Settles, ...]]:
    """One to three offers; where more are equally good, silence."""
    if not offers:
        return []
    best = min(sum(len(each.new) for each in offer) for offer in offers)
    fewest = [offer for offer in offers if sum(len(each.new) for each in offer) == best]
    return fewest if len(fewest) <= MOST_OFFERS else []
