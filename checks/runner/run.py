"""Running the rules over a harness: findings in order, waivers applied, and what could not be checked said."""

from __future__ import annotations

import importlib
import pkgutil
import traceback
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cache, cached_property
from typing import TYPE_CHECKING

from ...lang.diagnostics.diagnostic import Note, Span
from ...lang.diagnostics.messages import Diagnostics
from ...lang.editing.proposals import together
from ...lang.files.reading import UnreadableError
from ...lang.records import dataclass
from .. import rules as _rules
from ..findings.finding import Finding, Level, Outcome, Stage
from ..rule import FAMILIES, Rule
from ..study import Study
from ..tables.profiles import DEFAULT, Profile, profile_named
from .policy import SeverityOverride, judge
from .policy import mistakes as house_mistakes

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from ...lang.diagnostics.diagnostic import Diagnostic
    from ...lang.model.harness import Harness, Reading
    from ...lang.model.statements import Waiver
    from ..causes.offers import Causes
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
    return next((rule for rule in (*catalogue(), *own) if name == rule.name or name in rule.aliases), None)


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
    ) -> None:
        super().__init__(harness, today=today, profile=profile, otherwise=otherwise, old=old)
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
    would be a promise. A rule that breaks down is an error of its own in the report, and named in ``unchecked``. Raises
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
        findings=merged(findings),
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
            remedy="name that file; or take this line away, and nothing is said of what changes",
        )
        return found.sorted([study.harness.file])
    if old is not None and old.mistakes:
        first, *others = old.mistakes
        more = f", and {len(others)} more" if others else ""
        found.add(
            "mistaken-old",
            conversion.span,
            f"`{named}` has mistakes, so nothing can be compared with it: {first.message}{more}",
            expected="a harness without mistakes",
            remedy=f"mend what `loomwright check {named}` reports first",
            notes=(Note(first.message, first.span),),
        )
    return found.sorted([study.harness.file])


_BROKEN = "this rule could not be checked"


def is_broken(finding: Finding) -> bool:
    """Whether a finding says that its rule broke down: then nobody knows what the rule would say. What a rule says
    itself of one thing that it could not judge has a case.
    """
    return finding.outcome != "found" and not finding.case


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
    grave = {rule.name for rule in study.rules if rule.level is Level.ERROR}
    reasons = tuple(dict.fromkeys(each.why for each in unanswered))
    others = f", and {len(reasons) - 1} more" if len(reasons) > 1 else ""
    yield Finding(
        rule="not-judged",
        level=Level.WARNING if grave & by_rule.keys() else Level.NOTE,
        message=f"{_some(parts)} {'was' if len(parts) == 1 else 'were'} not judged in everything: {reasons[0]}{others}",
        span=next(iter(spans.values()), span),
        about=parts,
        source="Loomwright's limit: 2^22 combinations a question (device_constants.toml)",
        remedy="settle the other findings first, a lost ground or feed above all, and check again; measure on the"
        " motorcycle what is not judged then",
        notes=tuple(
            Note(f"by {rule}: {_some(tuple(named))}", next((spans[n] for n in named if n in spans), span))
            for rule, named in by_rule.items()
        ),
    )


def _some(names: tuple[str, ...]) -> str:
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


def in_order(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in the order in which they are shown, each once."""
    return tuple(sorted(dict.fromkeys(found), key=lambda finding: finding.order))


def merged(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in order, those of one group as one: the worst, of these the one of least rank, with the others as its
    notes, each with its place and its whole message.

    It is done after waivers, since each covers a thing of its own: what is waived hides nothing else.
    """
    groups: dict[tuple[str, str], list[Finding]] = {}
    alone: list[Finding] = []
    for finding in _explained(_waiting(in_order(found))):
        if finding.group:
            groups.setdefault((finding.rule, finding.group), []).append(finding)
        else:
            alone.append(finding)
    return in_order((*alone, *map(_as_one, groups.values())))


def _waiting(found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Findings that ask for the battery or a ground to be settled first, where one of these is found at fault: what
    they would propose suits a harness that is not meant (wires exchanged to suit a battery that is reversed).
    """
    first = next((finding for finding in found if finding.stage is Stage.SUPPLY), None)
    if first is None:
        return found
    proposing = {rule.name for rule in catalogue() if rule.fix is not None}
    return tuple(
        replace(finding, remedy=f"settle this first: {first.message}", proposals=())
        if finding.stage is not Stage.SUPPLY and (finding.rule in proposing or finding.proposals)
        else finding
        for finding in found
    )


def _explained(found: tuple[Finding, ...]) -> Iterator[Finding]:
    """What says no more than that a part does not work, or of one bare terminal what another finding says too, becomes
    a note of the first finding that explains it; what that explains in turn goes with it.
    """
    causes = [finding for finding in found if finding.explains]
    symptoms = {rule.name for rule in catalogue() if rule.symptom}
    leads: dict[int, Finding] = {}
    for finding in found:
        cause = next((each for each in causes if each is not finding and _explains(each, finding, symptoms)), None)
        if cause is not None:
            leads[id(finding)] = cause
    follows: dict[int, list[Finding]] = {}
    kept: list[Finding] = []
    for finding in found:
        first = finding
        passed = {id(first)}
        while id(first) in leads and id(leads[id(first)]) not in passed:
            first = leads[id(first)]
            passed.add(id(first))
        if first is finding:
            kept.append(finding)
        else:
            follows.setdefault(id(first), []).append(finding)
    for finding in kept:
        others = follows.get(id(finding), [])
        yield with_followers(finding, others) if others else finding


def _explains(cause: Finding, finding: Finding, symptoms: set[str]) -> bool:
    """Whether a finding is no more than what follows from another one."""
    if finding.level > cause.level or not finding.subject:
        return False
    if finding.subject in cause.explains:
        return True
    return finding.rule in symptoms and set(finding.about) <= set(cause.explains)


def with_followers(cause: Finding, others: Sequence[Finding]) -> Finding:
    """A finding with those that follow from it as its notes and members. Their own advice would be harmful while the
    cause is there (a larger fuse, exchanged wires), so that each asks for the cause to be settled first.
    """
    each = [member for other in others for member in (other.members or (other,))]
    more = "1 finding follows" if len(each) == 1 else f"{len(each)} findings follow"
    return replace(
        cause,
        message=f"{cause.message}; {more} from it",
        notes=(*cause.notes, *(note for o in others for note in (Note(o.message, o.span), *o.notes))),
        members=(
            *(cause.members or (cause,)),
            *(replace(member, remedy=f"settle this first: {cause.message}", proposals=()) for member in each),
        ),
    )


MOST_NAMED = 6
"""So many other things a message of several findings names; its notes have them all."""


def _as_one(group: list[Finding]) -> Finding:
    lead, *others = members = sorted(group, key=lambda finding: (-finding.level, round(finding.rank, 6), finding.order))
    if not others:
        return lead
    named = list(dict.fromkeys(name for other in others for name in other.about if name not in lead.about))
    more = f" and {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
    likewise = f"; likewise {', '.join(named[:MOST_NAMED])}{more}" if named else ""
    all_fixed = all(member.proposals for member in members)  # else no edit of the text settles them all
    return replace(
        lead,
        message=lead.message + likewise,
        about=(*lead.about, *named),
        notes=(*lead.notes, *(note for other in others for note in (Note(other.message, other.span), *other.notes))),
        members=tuple(members),
        remedy=lead.remedy if all_fixed else lead.to_do,
        proposals=(together(member.proposals[0] for member in members),) if all_fixed else (),
    )


def broken(harness: Harness, rule: Rule, error: Exception, *, own: bool = False) -> Finding:
    """A rule that could not be checked.

    Where no numbers can be had the harness is named, where too much hangs together the limit; else it is our own fault,
    or that of a rule of the user's ``own``.
    """
    from ..behaviour import TooWideError, too_wide

    span = harness.system_span or Span(harness.file, 1, 1, 2)
    why = " ".join(str(error).split()) or "no message"
    outcome: Outcome = "not-checked"
    if isinstance(error, ArithmeticError) and (part := getattr(error, "part", "")):
        message, remedy = f"{_BROKEN}: {why}", f"look at {part} first"
    elif isinstance(error, TooWideError):
        message = f"{_BROKEN}: {too_wide(error)}"
        remedy = "what this rule would say of the harness is not known: measure what it is about"
    else:
        outcome = "broken-down"
        inner = traceback.extract_tb(error.__traceback__)[-1]
        place = f"{inner.filename.rpartition('/')[2]}:{inner.lineno}"
        fault, remedy = ("its own", "mend the rule") if own else ("Loomwright itself", "report it with the file")
        message = f"{_BROKEN}, by a fault of {fault}: {type(error).__name__} at {place}: {why}"
        remedy += "; what this rule would say of the harness is not known"
    return Finding(
        rule=rule.name,
        level=Level.ERROR,
        message=message,
        span=span,
        stage=rule.stage,
        outcome=outcome,
        source="ours",
        remedy=remedy,
    )


def apply_waivers(
    harness: Harness, found: Iterable[Finding], today: date, own: tuple[Rule, ...] = ()
) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Split findings into those that count and those that a waiver covers (with its reason).

    A waiver past its last day covers nothing.
    """
    load_status = [waiver for waiver in harness.waivers if waiver.until is None or waiver.until >= today]
    counting: list[Finding] = []
    waived: list[Finding] = []
    for finding in found:
        waiver = next((w for w in load_status if covers(w, finding, own)), None)
        if finding.waived:  # the harness itself declares that it is meant
            waived.append(finding)
        elif waiver is None:
            counting.append(finding)
        else:
            waived.append(replace(finding, waived=waiver.because))
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
