"""What the shop of a harness asks of the checks: whose limits they use, and rules judged otherwise than they come.

A name that means nothing here is a mistake in the text like any other, and nothing is checked until it is fixed: by
the wrong limits, silence would be a promise.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.diagnostic import Diagnostic, Span
from ...lang.diagnostics.messages import Diagnostics, listed
from ...lang.records import dataclass
from ..findings.facts import Fact, as_facts
from ..findings.finding import Finding, Level
from ..findings.wording import filled
from ..rule import Rule
from ..tables.house import stated_profile
from ..tables.profiles import profile_names

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.statements import Judgement

DANGERS: Final = ("fire", "stop")
"""Families of rules that, judged milder or switched off, are stated before anything else."""

JUDGED: Final = {
    level: f"{{rule}}[, a rule of family {{family}},] {how} in this harness ({{changed:finding}}): {{because}}"
    for level, how in (
        ("off", "is switched off"),
        ("note", "counts as a note"),
        ("warning", "counts as a warning"),
        ("error", "counts as an error"),
    )
}
"""What is reported on a rule that is judged otherwise than it comes, by the level that it is judged by."""


# --- rules -----------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class SeverityOverride:
    """A rule that is judged otherwise, and how many of its findings that changed."""

    judgement: Judgement
    rule: Rule
    changed: int

    @property
    def danger(self) -> bool:
        """Whether a rule against fire, or for stopping the engine, is judged milder than it comes."""
        milder = self.judgement.level == "off" or Level[self.judgement.level.upper()] < self.rule.level
        return milder and self.rule.family in DANGERS

    @property
    def message(self) -> str:
        """One line that stands alone."""
        facts: dict[str, Fact | float] = {
            "rule": self.rule.name,
            "family": self.rule.family if self.danger else "",
            "changed": self.changed,
            "because": self.judgement.because,
        }
        return filled(JUDGED[self.judgement.level], as_facts(facts))

    @property
    def order(self) -> tuple[bool, Span]:
        """Dangers first, then by place."""
        return (not self.danger, self.judgement.span)


def judge(
    harness: Harness, found: Iterable[Finding], rules: Iterable[Rule], sure: Iterable[Finding] = ()
) -> tuple[tuple[Finding, ...], tuple[Finding, ...], tuple[SeverityOverride, ...]]:
    """Findings by the levels that the harness judges them by: those that stay, those switched off, and what was done.

    ``sure`` are findings that nobody can judge away: those that say that a rule broke down.
    """
    by_name = {name: rule for rule in rules for name in (rule.name, *rule.aliases)}
    judged = {by_name[each.rule].name: each for each in harness.judgements if each.rule in by_name}
    keep = set(sure)
    staying: list[Finding] = []
    off: list[Finding] = []
    changed = dict.fromkeys(judged, 0)
    for finding in found:
        judgement = None if finding in keep else judged.get(finding.rule)
        if judgement is None:
            staying.append(finding)
        elif judgement.level == "off":
            off.append(replace(finding, waived=f"switched off: {judgement.because}"))
            changed[finding.rule] += 1
        else:
            level = Level[judgement.level.upper()]
            staying.append(replace(finding, level=level))
            changed[finding.rule] += finding.level is not level
    done = [SeverityOverride(judgement, by_name[name], changed[name]) for name, judgement in judged.items()]
    return tuple(staying), tuple(off), tuple(sorted(done, key=lambda each: each.order))


# --- names -----------------------------------------------------------------------------------------------------------
def mistakes(harness: Harness, rules: Iterable[Rule], *, all_known: bool = True) -> tuple[Diagnostic, ...]:
    """What the shop and the waivers name that is not there.

    A waiver of no rule covers nothing, and what its writer thought known counts after all: so it is stated first.
    ``all_known`` is false where rules of the user's own were not run: then any other name may be one of theirs.
    """
    found = Diagnostics()
    names = [name for rule in rules for name in (rule.name, *rule.aliases)]
    seen: dict[str, Judgement] = {}
    by_name = {name: rule.name for rule in rules for name in (rule.name, *rule.aliases)}
    named = [(judgement.rule, judgement.span) for judgement in harness.judgements]
    named += [(waiver.rule, waiver.rule_span or waiver.span) for waiver in harness.waivers]
    for rule, span in named if all_known else ():
        if rule not in by_name:
            found.add(
                "unknown-rule",
                span,
                f"no rule is named `{rule}`",
                expected="a rule that `loomwright rules` lists",
                wrong=rule,
                known=names,
            )
    for judgement in harness.judgements:
        name = by_name.get(judgement.rule)
        if name is not None and name in seen:
            found.add(
                "repeated",
                judgement.span,
                f"`{judgement.rule}` and `{seen[name].rule}` are one rule, and it is judged twice",
                expected="one of the two",
            )
        elif name is not None:
            seen[name] = judgement
    stated = harness.house.profile
    if stated is not None and not stated.is_file and stated.name not in profile_names():
        found.add(
            "unknown-profile",
            stated.span,
            f"no profile is named `{stated.name}`",
            expected=f'{listed(profile_names())}; the name of a file goes in `"`',
            wrong=stated.name,
            known=profile_names(),
        )
    elif stated is not None:
        try:
            stated_profile(harness, stated)
        except ValueError as error:
            found.add(
                "unreadable-profile",
                stated.span,
                f"`{stated.name}` cannot be used as a profile: {error}",
                expected="a file that states figures and their sources, as those in checks/tables/profiles do",
            )
    return found.sorted([harness.file])
