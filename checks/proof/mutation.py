"""Which single faults a harness's own checks and expectations would not notice, put in one by one.

A fault is noticed where a rule finds an error or a warning that it does not find without it, unmet expectations among
them; what a waiver or the shop's own levels keep quiet does not count. The rules are asked one after another, until one
notices. What a fault does not change is not worked out again.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from ...lang.records import dataclass
from ..conversion.comparison import Comparison
from ..findings.finding import Finding, Level
from ..runner.policy import judge
from ..runner.run import RuleStudy, apply_waivers, examine, is_broken
from .claims import Difference, difference, side
from .faults import KINDS, SIZES_ONLY, Fault, faults

if TYPE_CHECKING:
    from ...lang.model.harness import Harness, Reading
    from ..rule import Rule

FIRST: Final = (
    "loose-end",
    "wrong-terminal",
    "stop-always-on",
    "input-kind",
    "stop-lamp-controls",
    "shared-colour",
    "both-beams",
    "cut-lead",
    "lost-function",
    "split-ground",
    "dead-short",
    "lamp-law",
    "live-with-key-out",
    "never-live",
    "starter-interlock",
    "floating-ground",
    "no-kill-path",
)
"""Rules that are asked first: together they notice two faults of three, for a few milliseconds each (measured)."""

LAST: Final = (
    "no-field-feed",
    "key-off-drain",
    "oversized-fuse",
    "fuse-not-selective",
    "short-not-cleared",
    "unmet-expectation",
    "overheated-resistor",
    "overloaded-contact",
    "overloaded-fuse",
    "thin-conductor",
    "thin-return",
    "voltage-drop",
    "sense-error",
    "starter-through-ground",
    "cranking-brownout",
    "charge-deficit",
    "no-flasher",
    "flasher-load",
    "lost-ground",
    "feedback-path",
    "weak-relay",
    "changed-feed",
    "overcharge",
    "missing-suppression",
    "relay-chatter",
    "undecided-path",
)
"""Rules that need numbers, or go many ways: asked last, as they cost and notice (measured)."""

QUIET: Final = ("not-judged", "undecided", "idle-waiver", "expired-waiver", "idle-declaration")
"""Rules about what was not judged, and about the file's own exceptions: no fault is noticed by these."""

_AS_BUILT: Final = ("fire", "workmanship")
"""Families that judge how a wire is made: of a wire that a fault adds they tell nothing."""

Place = tuple[str, tuple[str, ...], str, str]


@dataclass(frozen=True, slots=True)
class Noticed:
    """A fault and the first rule that notices it, with what it says."""

    fault: Fault
    rule: str
    message: str


@dataclass(frozen=True, slots=True)
class Survivor:
    """A fault that nothing notices: what differs with it, and the line that would notice it; empty where none would.

    ``differs`` is ``None`` where nothing is live otherwise and every voltage of every named state is the same.
    """

    fault: Fault
    differs: Difference | None
    line: str

    @property
    def order(self) -> tuple[int, int, str, int, str]:
        """The worst first: fire, an ignition that is not stopped, what comes on, what fails, what is weaker."""
        severity = self.differs.severity if self.differs else 9
        return severity, KINDS.index(self.fault.kind), self.fault.span.file, self.fault.span.line, self.fault.key


@dataclass(frozen=True, slots=True)
class Score:
    """How many of the faults that can be noticed are. ``missed`` are those for which there is a line that would notice
    them, ``beyond`` those that no rule notices and no line could: nothing that is solved differs, or within the limits.
    """

    noticed: tuple[Noticed, ...]
    missed: tuple[Survivor, ...]
    beyond: tuple[Survivor, ...]
    faults: int

    @property
    def share(self) -> float:
        """From 0 to 1; 1 where there is nothing to notice."""
        can = len(self.noticed) + len(self.missed)
        return len(self.noticed) / can if can else 1.0


class Mutation:
    """One sound harness, and every fault of it. ``terms`` are those of the check (``RuleStudy``)."""

    def __init__(self, reading: Reading, **terms: Any) -> None:
        self.reading = reading
        self.harness = reading.harness
        self.terms = terms
        self.sound = RuleStudy(self.harness, old=reading.old, **terms)

    @cached_property
    def rules(self) -> tuple[Rule, ...]:
        """The rules in the order in which they are asked; those that judge what all others found at the end."""
        places = {name: place for place, name in enumerate((*FIRST, "", *LAST))}
        asked = [rule for rule in self.sound.rules if rule.name not in QUIET]
        return tuple(sorted(asked, key=lambda rule: (rule.needs_all, places.get(rule.name, places[""]))))

    @cached_property
    def before(self) -> dict[Place, Level]:
        """What is found without a fault, and how severe it is."""
        levels: dict[Place, Level] = {}
        for finding in self._counting((*self.sound.found, *self._of_all(self.sound))):
            levels[_place(finding)] = max(finding.level, levels.get(_place(finding), Level.NOTE))
        return levels

    def study(self, fault: Fault) -> RuleStudy:
        """The harness with a fault, under examination: what the fault does not change is taken over."""
        study = RuleStudy(fault.apply(), old=self.reading.old, **self.terms)
        if fault.kind in SIZES_ONLY:  # everything is connected as before
            for name in ("logic", "properties", "behaviour", "misfed", "copper"):
                study.__dict__[name] = getattr(self.sound, name)
        if self.sound.comparison is not None:
            study.__dict__["comparison"] = Comparison(self.sound.comparison.old, side(study))
        return study

    def notices(self, fault: Fault, study: RuleStudy) -> Noticed | None:
        """The first rule that notices a fault; ``None`` where none does."""
        found: list[Finding] = []
        for rule in self.rules:
            if rule.needs_all and "found" not in study.__dict__:
                study.__dict__["found"] = tuple(found)
            new = examine(study, [rule])
            found += new
            for finding in self._counting(new):
                if finding.level > self.before.get(_place(finding), Level.NOTE) and not _of_added(fault, rule, finding):
                    return Noticed(fault, rule.name, finding.message)
        return None

    def _of_all(self, study: RuleStudy) -> Iterator[Finding]:
        yield from examine(study, [rule for rule in study.rules if rule.needs_all])

    def _counting(self, found: Iterable[Finding]) -> tuple[Finding, ...]:
        """Those that count: no rule that broke down, nothing waived or judged away."""
        told = [each for each in found if each.level > Level.NOTE or self.harness.judgements]
        told = [each for each in told if not is_broken(each) and each.outcome == "found"]
        if not told:
            return ()
        staying, _, _ = judge(self.harness, told, self.sound.rules)
        counting, _ = apply_waivers(self.harness, staying, self.sound.today, self.sound.own_rules)
        return counting

    def judged(self, fault: Fault) -> Outcome:
        """How it goes with one fault."""
        study = self.study(fault)
        noticed = self.notices(fault, study)
        if noticed is not None:
            return noticed
        differs, line = difference(self.sound, study, fault)
        return Survivor(fault, differs, line)


def _place(finding: Finding) -> Place:
    return finding.rule, finding.about, finding.state, finding.case


def _of_added(fault: Fault, rule: Rule, finding: Finding) -> bool:
    return bool(fault.adds) and rule.family in _AS_BUILT and fault.adds in finding.about


def chosen(harness: Harness, sample: int | None = None, seed: int = 0) -> tuple[Fault, ...]:
    """The faults to put in: all, or a sample of this many, the same for the same seed, in the order of all."""
    every = faults(harness)
    if sample is None or sample >= len(every):
        return every
    places = sorted(random.Random(seed).sample(range(len(every)), sample))  # noqa: S311  a sample keeps no secret
    return tuple(every[place] for place in places)


def score(results: Sequence[Outcome]) -> Score:
    """What became of all faults, survivors the worst first."""
    survivors = sorted((each for each in results if isinstance(each, Survivor)), key=lambda each: each.order)
    return Score(
        noticed=tuple(each for each in results if isinstance(each, Noticed)),
        missed=tuple(each for each in survivors if each.line),
        beyond=tuple(each for each in survivors if not each.line),
        faults=len(results),
    )


Outcome = Noticed | Survivor
Progress = Callable[[int, int], None]
"""Called with how many faults are done, and how many there are."""


def judged_all(
    mutation: Mutation, every: Sequence[Fault], jobs: int = 1, progress: Progress = lambda _done, _all: None
) -> tuple[Outcome, ...]:
    """How it goes with each fault, in their order, whatever the ``jobs``: that many processes share the work.

    The user's own rules stay in the process that read them: with these there is one.
    """
    found: list[Outcome] = []
    answers = _by_processes(mutation, every, jobs) if jobs > 1 and not mutation.sound.own_rules else None
    for fault in every:
        found.append(mutation.judged(fault) if answers is None else _whole(fault, next(answers)))
        progress(len(found), len(every))
    return tuple(found)


_Bare = tuple[Any, ...]
"""An outcome without its fault, whose function no other process can read."""


def _by_processes(mutation: Mutation, every: Sequence[Fault], jobs: int) -> Iterator[_Bare]:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    places = {fault.key: place for place, fault in enumerate(faults(mutation.harness))}
    asked = [places[fault.key] for fault in every]
    chunk = max(1, min(8, len(asked) // (4 * jobs)))
    with ProcessPoolExecutor(
        jobs, get_context("spawn"), initializer=_begin, initargs=(mutation.reading, mutation.terms)
    ) as pool:
        yield from pool.map(_one, asked, chunksize=chunk)


_HERE: list[tuple[Mutation, tuple[Fault, ...]]] = []
"""In a process that shares the work: the harness, and its faults."""


def _begin(reading: Reading, terms: dict[str, Any]) -> None:
    _HERE[:] = [(Mutation(reading, **terms), faults(reading.harness))]


def _one(place: int) -> _Bare:
    mutation, every = _HERE[0]
    found = mutation.judged(every[place])
    if isinstance(found, Noticed):
        return (found.rule, found.message)
    return (found.differs.says, found.differs.severity, found.line) if found.differs else (None, 0, found.line)


def _whole(fault: Fault, bare: _Bare) -> Outcome:
    if len(bare) == 2:
        return Noticed(fault, *bare)
    says, severity, line = bare
    return Survivor(fault, Difference(says, severity) if says is not None else None, line)
