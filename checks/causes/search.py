"""The bounded search: first the edits that are likely and near, each judged by the rules, until one settles everything.

What bounds it is a count of tries, so that the answer is the same everywhere. The guard in seconds of processor time
ends in "not finished", never in another answer.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ...lang.model.harness import Harness
from ...lang.model.parts import Switch, Unit
from ...lang.records import dataclass
from ..behaviour.dependents import may_live
from ..findings.finding import HOW_IT_IS_JOINED, WHAT_COMES_FIRST, WHAT_EXPLAINS, WHAT_FOLLOWS, Finding, Level
from ..logic.connected import Copper
from ..runner.run import LAST, broken
from .edits import Edit, distances, edits

if TYPE_CHECKING:
    from ..rule import Rule
    from ..study import Examination

TRIES: Final = 30
"""So many edits are judged for one finding (ours)."""
TRIES_AGAIN: Final = 15
"""So many for the first finding of another rule (ours)."""
LOOKED_AT: Final = 3
"""So many times as many are looked at, those left out unjudged among them (ours)."""
SECONDS: Final = 1.5
"""Processor time after which the search gives up, and says so (ours)."""
MOST_OFFERS: Final = 3
OUTWEIGHS: Final = 3
"""An edit may bring a new warning where it settles so many findings (ours)."""

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
    ``follows`` has, for a finding by its place, what is sure to go with it.
    """

    offers: tuple[tuple[Settles, ...], ...]
    tried: int
    finished: bool
    follows: tuple[tuple[Place, frozenset[Place]], ...] = ()


def place(finding: Finding) -> Place:
    return finding.rule, finding.span


class _OutOfTimeError(Exception):
    """The guard."""


class Search:
    """One search over one harness. ``asked`` are the findings to explain, in the order in which they are shown, and
    ``loud`` every error and warning, those among them; ``base`` is everything that was found before, whatever its
    level, waived and accepted ones too. ``examine_edited`` examines a changed harness on the same terms.
    """

    def __init__(
        self,
        examination: Examination,
        asked: Sequence[Finding],
        loud: Sequence[Finding],
        base: Iterable[Finding],
        examine_edited: Callable[[Harness], Examination],
        clock: Callable[[], float] = time.process_time,
    ) -> None:
        self.examination = examination
        self.asked = asked
        self.loud = frozenset(map(place, loud))
        self.wanted = frozenset(map(place, asked))
        self.base = {place(finding): finding.level for finding in sorted(base, key=lambda f: f.level)}
        self.examine_edited = examine_edited
        self.clock = clock
        self.end = clock() + SECONDS
        self.tried = 0
        self.mends: list[Settles] = []
        self.alive = may_live(examination)
        self.seen = {_signature(examination)}
        self.rules = self._in_order(examination.rules)

    def run(self) -> Found:
        """The offers. What settles everything comes before two edits that do so together."""
        kept: list[Settles] = []
        try:
            for lead, budget in zip(self._leads(), (TRIES, TRIES_AGAIN), strict=False):
                kept += self._for(lead, budget)
                if any(each.settled >= self.wanted for each in kept):
                    break
        except _OutOfTimeError:
            return Found((), self.tried, finished=False)
        whole: list[tuple[Settles, ...]] = [(each,) for each in kept if each.settled >= self.wanted]
        offers = tuple(_few(whole or _covers(kept, self.wanted)))
        return Found(offers, self.tried, finished=True, follows=tuple(self._follows()))

    def _follows(self) -> Iterator[tuple[Place, frozenset[Place]]]:
        """For each finding whose rule names its own mend: what is settled by every edit that may be this mend. Those
        that touch only what the finding is about come before others, and of either kind those that settle the most.
        """
        for cause in self.asked:
            if cause.rule not in WHAT_EXPLAINS:
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

    def _for(self, lead: Finding, budget: int) -> Iterable[Settles]:
        """The edits that settle one finding and bring nothing graver."""
        near = distances(self.examination, (*lead.about, *lead.path))
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
        for edit in sorted(edits(self.examination), key=rank):
            if not budget or not left:
                return
            if danger and not own & set(edit.touches):
                continue
            left -= 1
            edited = self.examine_edited(edit.apply())
            signature = _signature(edited)
            if signature in self.seen:
                continue
            self.seen.add(signature)
            if not self.alive <= may_live(edited):
                continue  # it would settle a finding by making something dead
            budget -= 1
            self.tried += 1
            if self.clock() > self.end:
                raise _OutOfTimeError
            # Most edits do not settle it, and most rules say so early: what comes after that is not worked out.
            asked = self.examine_edited(narrowed) if (narrowed := _narrowed(edited.harness, lead)) else edited
            if any(place(finding) == place(lead) for finding in _finds(rule, asked)):
                continue
            # With its battery right a motorcycle may show another fault: what the first caused is gone all the same.
            whole = lead.rule in WHAT_COMES_FIRST and bool(own & set(edit.touches))
            settles = self._judged(edit, edited, whole=whole)
            if settles is not None:
                yield settles

    def _judged(self, edit: Edit, edited: Examination, *, whole: bool) -> Settles | None:
        """What an edit settles, by every rule; ``None`` where it brings a new error, or a warning for too little.
        ``whole``: every rule is asked even so, and what the edit settles is kept among the mends.
        """
        offered = True
        after: list[Finding] = []
        new_warnings = 0
        most = len(self.wanted)
        for rule in self.rules:
            for finding in _finds(rule, edited):
                after.append(finding)
                if finding.level is Level.NOTE or self.base.get(place(finding), Level.NOTE) >= finding.level:
                    continue
                if finding.level is Level.ERROR or most < OUTWEIGHS:
                    if not whole:
                        return None
                    offered = False
                new_warnings += 1
                if self.clock() > self.end:
                    raise _OutOfTimeError
            if self.clock() > self.end:
                raise _OutOfTimeError
        here = {place(finding) for finding in after if finding.level > Level.NOTE}
        settled = self.loud - here
        settles = Settles(edit, settled, tuple(finding for finding in after if place(finding) not in self.base))
        if new_warnings and len(settled) < OUTWEIGHS:
            offered = False
        if offered or whole:
            self.mends.append(settles)
        return settles if offered else None

    def _in_order(self, rules: Iterable[Rule]) -> tuple[Rule, ...]:
        """Cheap rules of joins first, then those that found something, then all others; those of numbers come last."""
        found = {finding.rule for finding in self.asked}
        off = {judgement.rule for judgement in self.examination.harness.judgements if judgement.level == "off"}

        def rank(rule: Rule) -> tuple[int, str]:
            if rule.name in WHAT_COMES_FIRST or rule.name in ("loose-end", "input-kind", "exchanged-field"):
                return 0, rule.name
            if rule.name in HOW_IT_IS_JOINED:
                return 1, rule.name
            return (4 if rule.name in WHAT_FOLLOWS else 3 if rule.name not in found else 2), rule.name

        return tuple(sorted((r for r in rules if r.name not in LAST and r.name not in off), key=rank))


def _narrowed(harness: Harness, lead: Finding) -> Harness | None:
    """The harness with the one expectation that a finding is about; ``None`` where the finding is about none."""
    if lead.rule != "unmet-expectation":
        return None
    mine = tuple(e for e in harness.expectations if lead.span in (e.span, *(claim.span for claim in e.claims)))
    return replace(harness, expectations=mine)


def _finds(rule: Rule, examination: Examination) -> Iterator[Finding]:
    """What a rule finds, one by one; a rule that breaks down on a changed harness finds that, as it does in a check."""
    examination.between_rules()
    try:
        yield from rule.find(examination)
    except Exception as error:  # noqa: BLE001  an edit that breaks a rule is none to offer, whatever the reason
        yield broken(examination.harness, rule, error)


def _signature(examination: Examination) -> frozenset[object]:
    """What is joined with what, and what the file says of inputs and contacts: edits alike in this are the same one."""
    copper: Copper = examination.copper
    groups = frozenset(frozenset(nodes) for nodes in copper.bare.members.values() if len(nodes) > 1)
    told: list[object] = []
    for part in examination.harness.parts.values():
        if isinstance(part, Unit):
            told += [(part.name, given.name, given.mode) for given in part.inputs]
        elif isinstance(part, Switch):
            told += [(part.name, position.name, position.pairs) for position in part.positions]
    return frozenset((*groups, *told))


def _covers(kept: Sequence[Settles], wanted: frozenset[Place]) -> list[tuple[Settles, ...]]:
    """Two edits of different things that settle everything together, and nothing twice."""
    return [
        (one, other)
        for i, one in enumerate(kept)
        for other in kept[i + 1 :]
        if one.settled | other.settled >= wanted
        and not one.settled & other.settled & wanted
        and not set(one.edit.touches) & set(other.edit.touches)
    ]


def _few(offers: list[tuple[Settles, ...]]) -> list[tuple[Settles, ...]]:
    """One to three offers; where more are equally good, silence."""
    if not offers:
        return []
    best = min(sum(len(each.new) for each in offer) for offer in offers)
    fewest = [offer for offer in offers if sum(len(each.new) for each in offer) == best]
    return fewest if len(fewest) <= MOST_OFFERS else []
