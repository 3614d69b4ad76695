"""The bounded search: first the edits that are likely and near, each judged by the rules, until one settles everything.

What bounds it is a count of tries, and the count of work that judging them takes.

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
from ..findings.finding import Finding, Stage
from ..logic.connected import Copper
from ..tally import TooMuchWorkError
from .edits import Edit, distances, edits
from .judging import Judge, Place, Settles, Trial, place
from .rule_order import in_order

if TYPE_CHECKING:
    from ..runner.run import RuleStudy

TRIES: Final = 30
"""This many edits are judged for one finding (ours)."""
TRIES_AGAIN: Final = 15
"""This many for the first finding of another rule (ours)."""
LOOKED_AT: Final = 3
"""This many times as many are looked at, those left out unjudged among them (ours)."""
MOST_OFFERS: Final = 3

DANGERS: Final = ("fire", "stop")


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
        self.wanted = frozenset(map(place, asked))
        off = {judgement.rule for judgement in study.harness.judgements if judgement.level == "off"}
        self.judge = Judge(
            in_order(study.rules, {finding.rule for finding in asked}, off),
            asked,
            loud,
            {place(finding): finding.level for finding in sorted(base, key=lambda f: f.level)},
            clock,
        )
        self.examine_edited = examine_edited
        self.tried = 0
        self.mends: list[Settles] = []
        self.alive = may_live(study.circuit)
        self.seen = {_signature(study)}
        self.roots = {rule.name for rule in study.rules if rule.root_cause}
        self.explains = any(finding.rule in self.roots for finding in asked)

    def run(self) -> Found:
        """The offers. What settles everything comes before two edits that do so together."""
        kept: list[Trial] = []
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

    def _whole(self, trial: Trial) -> Settles | None:
        """The offer of an edit that settles everything."""
        return self.judge.offered(trial) if trial.settled(self.wanted) >= self.wanted else None

    def _covers(self, kept: Sequence[Trial]) -> Iterator[tuple[Trial, Trial]]:
        """Two edits of different things that settle everything together, and nothing twice.

        What an edit has not been asked counts as settled by it, until it is asked of a pair that would do.
        """
        for one, other in combinations(kept, 2):
            if set(one.edit.touches) & set(other.edit.touches):
                continue
            for trial in (one, other):
                if one.settled(self.wanted) | other.settled(self.wanted) >= self.wanted and not trial.barred:
                    self.judge.ask(trial, self.judge.settling)
            settled = one.settled(self.wanted), other.settled(self.wanted)
            if one.barred or other.barred or settled[0] & settled[1]:
                continue
            if settled[0] | settled[1] >= self.wanted:
                yield one, other

    def _both(self, one: Trial, other: Trial) -> tuple[Settles, ...]:
        """The offer of two edits together; empty where one of them is none to offer."""
        first = self.judge.offered(one)
        second = self.judge.offered(other) if first is not None else None
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

    def _for(self, lead: Finding, budget: int) -> Iterable[Trial]:
        """The edits that settle one finding, and that nothing worse is known of so far."""
        near = distances(self.study, (*lead.about, *lead.path))
        own = {name for name, away in near.items() if away == 0}
        far = max(near.values(), default=0) + 1

        def rank(edit: Edit) -> tuple[float, str]:
            away = min((near.get(name, far) for name in edit.touches), default=far)
            return (away - edit.odds, edit.key)

        rule = next((r for r in self.judge.rules if r.name == lead.rule), None)
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
            self.judge.looks_at(edited)
            signature = _signature(edited)
            if signature in self.seen:
                continue
            self.seen.add(signature)
            if not self.alive <= may_live(edited.circuit):
                continue  # it would settle a finding by making something dead
            budget -= 1
            self.tried += 1
            trial = Trial(edit, edited)
            # With its battery right a motorcycle may show another fault: what the first caused is gone all the same.
            surely = lead.stage is Stage.SUPPLY and bool(own & set(edit.touches))
            if not surely:
                self.judge.ask(trial, self.judge.by_copper)
                if trial.barred:
                    continue
            if not self.judge.settles_lead(trial, rule, lead):
                continue
            self.judge.ask(trial, self.judge.settling, on=surely, whole=not self.explains)
            if surely or self._may_mend(trial):
                self.judge.ask(trial, self.judge.rules, on=surely)
                self._keep(trial, surely=surely)
            if not trial.barred:
                yield trial
                if self._is_its_repair(lead, trial):
                    return

    def _is_its_repair(self, lead: Finding, trial: Trial) -> bool:
        """Whether an edit is the repair that a finding names by itself, and settles everything: no other edit settles
        more.
        """
        own = lead.rule in self.roots and set(trial.edit.touches) <= set(lead.about)
        return own and trial.settled(self.wanted) >= self.wanted and self._whole(trial) is not None

    def _may_mend(self, trial: Trial) -> bool:
        """Whether an edit may be the repair that a finding names by itself, so that what it settles is asked for."""
        touches = set(trial.edit.touches)
        settled = trial.settled(self.wanted)
        return not trial.barred and any(
            cause.rule in self.roots and place(cause) in settled and touches & set(cause.about) for cause in self.asked
        )

    def _keep(self, trial: Trial, *, surely: bool) -> None:
        """Keep what an edit settles among the repairs, where it can be offered, or ``surely``."""
        if surely:
            self.mends.append(self.judge.settles_so_far(trial))
        elif (settles := self.judge.offered(trial)) is not None:
            self.mends.append(settles)


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
