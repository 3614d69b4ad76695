"""Running the rules over a harness: findings in order, waivers applied, and what could not be checked said."""

from __future__ import annotations

import importlib
import pkgutil
import traceback
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache, cached_property
from operator import itemgetter
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.diagnostic import Note, Span
from ...lang.diagnostics.messages import Diagnostics
from ...lang.files.reading import UnreadableError
from ...lang.records import dataclass
from .. import rules as _rules
from ..behaviour import TooWideError, too_wide
from ..findings.facts import as_facts
from ..findings.finding import Finding, Level
from ..findings.wording import filled
from ..rule import FAMILIES, Rule
from ..rules.coverage.not_judged import RULE as NOT_JUDGED
from ..study import Study
from ..tables.profiles import DEFAULT, Profile, profile_named
from .merging import in_order, merged
from .policy import SeverityOverride, judge
from .policy import mistakes as house_mistakes

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from ...lang.diagnostics.diagnostic import Diagnostic
    from ...lang.model.harness import Harness, Reading
    from ...lang.model.statements import Waiver
    from ..findings.facts import Fact
    from ..findings.offers import Causes
    from ..kept import Kept
    from .own_rules import Unrun


@cache
def catalogue() -> tuple[Rule, ...]:
    """Every rule, by family and then by name. One module of ``checks/rules/<family>`` holds one ``RULE``."""
    found = [
        importlib.import_module(module.name).RULE
        for module in pkgutil.walk_packages(_rules.__path__, f"{_rules.__name__}.")
        if not module.ispkg
    ]
    return tuple(sorted(found, key=lambda rule: (FAMILIES.index(rule.family), rule.name)))


def rule_named(name: str, own: tuple[Rule, ...] = ()) -> Rule | None:
    """The rule of that name, or that once had it; ``own`` are the user's."""
    return _by_name().get(name) or next((rule for rule in own if name == rule.name or name in rule.aliases), None)


@cache
def _by_name() -> dict[str, Rule]:
    return {name: rule for rule in catalogue() for name in (*rule.aliases, rule.name)}


def _go_on() -> None:
    """Between two rules of an examination that nobody gives up."""


class RuleStudy(Study):
    """A study, and the rules that are run on it.

    ``own_rules`` are the user's; ``unrun`` says that there are others of the user's which are not run.
    ``between_rules`` is called before each rule and may raise to give the examination up, as an editor does when the
    text has changed.
    """

    def __init__(
        self,
        harness: Harness,
        *,
        today: date,
        profile: Profile | str | None = None,
        otherwise: Profile | str = DEFAULT,
        own_rules: tuple[Rule, ...] = (),
        unrun: Unrun | None = None,
        between_rules: Callable[[], None] = _go_on,
        old: Callable[[], Reading] | None = None,
        kept: Kept | None = None,
    ) -> None:
        super().__init__(harness, today=today, profile=profile, otherwise=otherwise, old=old, kept=kept)
        self.own_rules = own_rules
        self.unrun = unrun
        self.between_rules = between_rules

    @cached_property
    def rules(self) -> tuple[Rule, ...]:
        """Every rule to run, the user's own last."""
        return (*catalogue(), *self.own_rules)

    @cached_property
    def found(self) -> tuple[Finding, ...]:
        """What the rules find that look at the harness itself, in order, before waivers."""
        return examine(self, [rule for rule in self.rules if not rule.needs_all])


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What a check gave. ``mistakes`` are of the text; where there are any, ``unchecked`` says what that leaves open.

    ``findings`` are those that count, in the order of ``Finding.order``, groups as one; ``waived`` those that a waiver
    covers or whose rule is switched off;
    ``accepted`` those that were found before and are listed as known. ``judged`` are the rules that the harness judges
    otherwise than they come, dangers first. ``own_rules`` are the user's that were run, ``unrun`` says which were not.
    ``profile`` names whose limits were used; ``rules`` counts those that were run. ``causes`` is what a search for a
    likely cause gave, where there was one.
    """

    harness: Harness
    mistakes: tuple[Diagnostic, ...]
    findings: tuple[Finding, ...]
    waived: tuple[Finding, ...]
    texts: dict[str, str]
    unchecked: str = ""
    accepted: tuple[Finding, ...] = ()
    judged: tuple[SeverityOverride, ...] = ()
    own_rules: tuple[Rule, ...] = ()
    unrun: Unrun | None = None
    profile: str = ""
    rules: int = 0
    causes: Causes | None = None

    @property
    def worst(self) -> Level | None:
        """The worst level, mistakes in the text included; ``None`` where nothing was found."""
        levels = [f.level for f in self.findings] + [Level.ERROR] * bool(self.mistakes)
        return max(levels, default=None)


def check(
    reading: Reading,
    *,
    today: date,
    profile: Profile | str | None = None,
    otherwise: Profile | str = DEFAULT,
    own_rules: tuple[Rule, ...] = (),
    unrun: Unrun | None = None,
) -> Report:
    """Every rule over one harness. ``today`` decides which waivers are past their date.

    ``profile`` names the limits to judge by; where it is ``None`` the harness's house does, else ``otherwise``.
    ``own_rules`` are run too; ``unrun`` says that there are others which are not, so that a name that no rule has may
    be one of theirs. Where the text has mistakes no rule is run: half a harness gives false alarms, and silence
    would be a promise. A rule that breaks down is a separate error in the report, and named in ``unchecked``. Raises
    ``ValueError`` for an unknown ``profile`` or ``otherwise``.
    """
    for each in (profile, otherwise):
        if isinstance(each, str):
            profile_named(each)
    study = RuleStudy(
        reading.harness,
        today=today,
        profile=profile,
        otherwise=otherwise,
        own_rules=own_rules,
        unrun=unrun,
        old=reading.old,
    )
    return check_examined(reading, study)


def check_examined(reading: Reading, study: RuleStudy) -> Report:
    """The same, with an examination that is kept for further questions."""
    mistakes = (
        reading.mistakes
        or house_mistakes(reading.harness, study.rules, all_known=study.unrun is None)
        or old_mistakes(study)
    )
    if mistakes:
        return Report(
            harness=reading.harness,
            mistakes=mistakes,
            findings=(),
            waived=(),
            texts=reading.texts,
            unchecked="the harness was not checked: fix the errors in the file first",
            unrun=study.unrun,
        )
    raw = found_by_all(study)
    broken = [finding for finding in raw if is_broken(finding)]
    staying, off, judged = judge(reading.harness, raw, study.rules, broken)
    findings, waived = apply_waivers(reading.harness, staying, study.today, study.own_rules)
    failed = sorted({finding.rule for finding in broken})
    return Report(
        harness=reading.harness,
        mistakes=(),
        findings=merged(findings, study.rules),
        waived=in_order((*waived, *off)),
        texts=reading.texts,
        unchecked=f"not checked: {', '.join(failed)}" if failed else "",
        judged=judged,
        own_rules=study.own_rules,
        unrun=study.unrun,
        profile=study.profile.title,
        rules=len(study.rules) - len(failed),
    )


def old_mistakes(study: RuleStudy) -> tuple[Diagnostic, ...]:
    """What is wrong with the harness that this one converts, told where this one names it."""
    conversion = study.harness.conversion
    if study.old is None or conversion.span is None:
        return ()
    found = Diagnostics()
    named = conversion.converts
    try:
        old = study.old_reading
    except UnreadableError as error:
        found.add(
            "unreadable-old",
            conversion.span,
            f"`{named}` cannot be read as the harness that this one replaces: {error}",
            expected="the name of that harness's file, as seen from this one",
            remedy="name that file; or take this line away, and the two are not compared",
        )
        return found.sorted([study.harness.file])
    if old is not None and old.mistakes:
        first, *others = old.mistakes
        more = f", and {len(others)} more" if others else ""
        found.add(
            "mistaken-old",
            conversion.span,
            f"`{named}` has errors, so nothing can be compared with it: {first.message}{more}",
            expected="a harness without errors",
            remedy=f"correct what `loomwright check {named}` reports first",
            notes=(Note(first.message, first.span),),
        )
    return found.sorted([study.harness.file])


def is_broken(finding: Finding) -> bool:
    """Whether a finding says that its rule broke down: then nobody knows what the rule would say. What a rule says
    itself of one thing that it could not judge has a separate case.
    """
    return finding.outcome != "found" and finding.case in ("", *BROKEN)


def examine(study: RuleStudy, rules: Iterable[Rule]) -> tuple[Finding, ...]:
    """What the rules find, in order, before waivers. A rule that breaks down is found too, and stops no other."""
    found: list[Finding] = []
    for rule in rules:
        study.between_rules()
        study.unjudged.rule = rule.name
        try:
            found.extend(_in_its_stage(rule, rule.find(study, study.found) if rule.needs_all else rule.find(study)))
        except Exception as error:  # noqa: BLE001  whatever it is: the rider must hear that this was not checked
            found.append(broken(study.harness, rule, error, own=rule in study.own_rules))
    found.extend(_unjudged(study))
    return in_order(found)


def _in_its_stage(rule: Rule, found: Iterable[Finding]) -> Iterator[Finding]:
    """The findings of a rule, each in the stage of the rule."""
    for finding in found:
        yield finding if finding.stage is rule.stage else replace(finding, stage=rule.stage)


def found_by_all(study: RuleStudy) -> tuple[Finding, ...]:
    """What all rules find, in order, before waivers: also those that judge what the others found."""
    return in_order((*study.found, *examine(study, [rule for rule in study.rules if rule.needs_all])))


def _unjudged(study: RuleStudy) -> Iterator[Finding]:
    """What rules could not judge, once for all of them: which parts, why, and what to do."""
    unanswered = study.unjudged.drained()
    if not unanswered:
        return
    harness = study.harness
    span = harness.system_span or Span(harness.file, 1, 1, 2)
    by_rule: dict[str, dict[str, None]] = {}
    for each in unanswered:
        by_rule.setdefault(each.rule, {}).update(dict.fromkeys(each.parts))
    parts = tuple(dict.fromkeys(part for each in unanswered for part in each.parts))
    spans = {part: harness.parts[part].span for part in parts if part in harness.parts}
    severe = {rule.name for rule in study.rules if rule.level is Level.ERROR}
    reasons = tuple(dict.fromkeys(each.why for each in unanswered))
    more: dict[str, Fact | float] = {"more": len(reasons) - 1} if len(reasons) > 1 else {}
    yield NOT_JUDGED.found(
        "rules",
        next(iter(spans.values()), span),
        facts={"parts": parts, "reason": reasons[0], **more},
        level=Level.WARNING if severe & by_rule.keys() else Level.NOTE,
        about=parts,
        source="Loomwright's limit: 2^22 combinations a question (device_constants.toml)",
        notes=tuple(
            Note(
                filled("by {rule}: {parts...}", as_facts({"rule": rule, "parts": tuple(named)})),
                next((spans[name] for name in named if name in spans), span),
            )
            for rule, named in by_rule.items()
        ),
    )


FAULTS: Final = frozenset({"own-fault", "fault"})
"""Cases of a rule that broke down by a fault in itself or in Loomwright; in all others no answer can be had."""

BROKEN: Final = {
    "no-numbers": "rule {rule} was not checked: {why}",
    "too-wide": "rule {rule} was not checked: {why}",
    "own-fault": "rule {rule} was not checked: a fault in the rule itself, {error} at {place}: {why}",
    "fault": "rule {rule} was not checked: a fault in Loomwright, {error} at {place}: {why}",
}
BROKEN_FIXES: Final = {
    "no-numbers": "check {part} first",
    "too-wide": "measure on the motorcycle what this rule is about: what it would find is not known",
    "own-fault": "correct the rule: what it would find is not known",
    "fault": "report this with the file: what this rule would find is not known",
}
"""What is reported on a rule without an answer, whichever rule it is, and what to do."""


def broken(harness: Harness, rule: Rule, error: Exception, *, own: bool = False) -> Finding:
    """A rule that could not be checked.

    Where no numbers can be had the harness is named, where too much is connected the limit; else it is our own fault,
    or that of a rule of the user's ``own``.
    """
    why = " ".join(str(error).split()) or "no message"
    facts: dict[str, Fact | float] = {"rule": rule.name, "why": why}
    if isinstance(error, ArithmeticError) and (part := getattr(error, "part", "")):
        case, facts["part"] = "no-numbers", part
    elif isinstance(error, TooWideError):
        case, facts["why"] = "too-wide", too_wide(error)
    else:
        inner = traceback.extract_tb(error.__traceback__)[-1]
        case = "own-fault" if own else "fault"
        facts |= {"error": type(error).__name__, "place": f"{inner.filename.rpartition('/')[2]}:{inner.lineno}"}
    known = as_facts(facts)
    return Finding(
        rule=rule.name,
        level=Level.ERROR,
        message=filled(BROKEN[case], known),
        span=harness.system_span or Span(harness.file, 1, 1, 2),
        case=case,
        facts=known,
        stage=rule.stage,
        outcome="broken-down" if case in FAULTS else "not-checked",
        source="Loomwright itself",
        remedy=filled(BROKEN_FIXES[case], known),
    )


def apply_waivers(
    harness: Harness, found: Iterable[Finding], today: date, own: tuple[Rule, ...] = ()
) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Split findings into those that count and those that a waiver covers (with its reason).

    A waiver past its last day covers nothing.
    """
    about: defaultdict[str, list[tuple[int, Waiver]]] = defaultdict(list)
    for order, waiver in enumerate(harness.waivers):
        if waiver.until is None or waiver.until >= today:
            for name in dict.fromkeys(waiver.names):
                about[name].append((order, waiver))
    counting: list[Finding] = []
    waived: list[Finding] = []
    for finding in found:
        near = (named for name in finding.about for named in about.get(name, ()))
        first = min((named for named in near if covers(named[1], finding, own)), default=None, key=itemgetter(0))
        if finding.waived:  # the harness itself declares that it is meant
            waived.append(finding)
        elif first is None:
            counting.append(finding)
        else:
            waived.append(replace(finding, waived=first[1].because))
    return tuple(counting), tuple(waived)


def covers(waiver: Waiver, finding: Finding, own: tuple[Rule, ...] = ()) -> bool:
    """Whether a waiver covers a finding: the same rule, the finding is about one of the things named, and it names the
    state that the waiver is for, where that is for one.
    """
    rule = rule_named(waiver.rule, own)
    return (
        rule is not None
        and rule.name == finding.rule
        and (waiver.state is None or waiver.state == finding.state)
        and any(name in finding.about for name in waiver.names)
    )
