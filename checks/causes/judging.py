"""What an edit settles: rules asked of a harness that was changed, one by one, for no longer than it may be offered.

What bounds this is a count of work, so that the answer is the same everywhere. Work that runs out ends in "not
finished", and so does a guard in seconds for harnesses of which a single analysis is dear; neither ends in another
answer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from ..findings.finding import Finding, Level
from ..runner.run import broken
from ..tally import TooMuchWorkError
from .rule_order import BY_COPPER

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from ..rule import Rule
    from ..runner.run import RuleStudy
    from .edits import Edit

BRANCH, LOGIC = 12, 600
"""What counts as how much work beside what is counted while it is done (``tally``), in the same unit (ours): each
branch of a harness that is looked at, and its logic.
"""
MOST_WORK: Final = 1_000_000
"""Work after which the search gives up, and says so (ours)."""
SECONDS: Final = 4.0
"""Processor time after which it gives up even so, on a machine that is much slower (ours)."""
OUTWEIGHS: Final = 3
"""An edit may bring a new warning where it settles this many findings (ours)."""

Place = tuple[str, object]
"""What tells a finding from another before and after an edit: its rule, and where it points."""


@dataclass(frozen=True, slots=True)
class Settles:
    """An edit, the findings that it settles, and those that come instead (notes, or a warning that it outweighs)."""

    edit: Edit
    settled: frozenset[Place]
    new: tuple[Finding, ...]


def place(finding: Finding) -> Place:
    return finding.rule, finding.span


class Trial:
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


class Judge:
    """What is asked of every edit on the same terms, and what all that takes together.

    ``loud`` are the findings that an edit may settle, ``wanted`` those that are to be explained, ``base`` has the level
    of each that was there before. ``rules`` are in the order in which they are asked.
    """

    def __init__(
        self,
        rules: Sequence[Rule],
        asked: Sequence[Finding],
        loud: Iterable[Finding],
        base: Mapping[Place, Level],
        clock: Callable[[], float],
    ) -> None:
        self.rules = rules
        self.wanted = frozenset(map(place, asked))
        self.loud = frozenset(map(place, loud))
        self.base = base
        self.by_copper = tuple(rule for rule in rules if rule.name in BY_COPPER)
        self.settling = tuple(rule for rule in rules if rule.name in {finding.rule for finding in asked})
        self.clock = clock
        self.end = clock() + SECONDS
        self.work = 0

    def looks_at(self, study: RuleStudy) -> None:
        """Count that a changed harness is looked at."""
        self.work += BRANCH * len(study.circuit.branches)

    def settles_lead(self, trial: Trial, rule: Rule, lead: Finding) -> bool:
        """Whether an edit settles the finding that it is tried for.

        Most do not, and most rules say so early: what comes after that is not worked out.
        """
        with trial.edited.asking_only(lead.span):
            self._allow(trial)
            settles = all(place(finding) != place(lead) for finding in finds(rule, trial.edited))
            self._count(trial)
        return settles

    def ask(self, trial: Trial, rules: Iterable[Rule], *, on: bool = False, whole: bool = False) -> None:
        """Judge an edit by those of some rules that were not asked yet, until it is barred; past that where ``on``.

        ``whole``: no further than until it cannot settle everything.
        """
        most = len(self.wanted)
        for rule in rules:
            if rule.name in trial.asked:
                continue
            self._allow(trial)
            for finding in finds(rule, trial.edited):
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

    def offered(self, trial: Trial) -> Settles | None:
        """What an edit settles, by every rule; ``None`` where it brings a new error, or a warning for too little."""
        if not trial.barred:
            self.ask(trial, self.rules)
        if trial.barred:
            return None
        settles = self.settles_so_far(trial)
        return None if trial.worse and len(settles.settled) < OUTWEIGHS else settles

    def settles_so_far(self, trial: Trial) -> Settles:
        new = tuple(finding for finding in trial.after if place(finding) not in self.base)
        return Settles(trial.edit, trial.settled(self.loud), new)

    def _allow(self, trial: Trial) -> None:
        """Let an edit have the work that is left. What asks for more is stopped in the middle: one rule may ask for
        more than all the others.
        """
        trial.edited.tally.most = MOST_WORK - self.work + trial.work

    def _count(self, trial: Trial) -> None:
        """Count what was worked out about a changed harness since it was counted last."""
        work = worked_out(trial.edited)
        self.work += work - trial.work
        trial.work = work
        if self.work > MOST_WORK or self.clock() > self.end:
            raise TooMuchWorkError


def worked_out(study: RuleStudy) -> int:
    """What was worked out about a harness so far, beside its circuit; asked without working out anything."""
    return study.tally.work + (LOGIC if "logic" in vars(study) else 0)


def finds(rule: Rule, study: RuleStudy) -> Iterator[Finding]:
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
