"""Fixes that can be applied: what a rule proposes, tried on the text and checked again before anybody is offered it.

A rule gives its proposals with the finding, where they cost nothing, or by its ``fix``, where they must be worked out.
Nothing here is trusted: what comes of a proposal is read and checked like any other harness. It is harmless where the
finding is gone, no error has come, nothing of the finding's own level or above has come instead, and no consumer is
cut off that could be live before.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from ...lang.editing.fixing import FixError, edits, fixed_reading, fixed_texts
from ...lang.records import dataclass
from ..behaviour.dependents import may_live
from ..findings.finding import Finding, Level, Stage
from .run import RuleStudy, apply_waivers, examine, found_by_all, is_broken, rule_named

if TYPE_CHECKING:
    from ...lang.editing.proposals import Proposal
    from ...lang.editing.resize import Edit
    from ...lang.model.harness import Reading
    from ...lang.syntax.tree import Syntax

MOST_TRIED: Final = 8
"""This many proposals for one finding are tried (ours)."""


@dataclass(frozen=True, slots=True)
class Proved:
    """A proposal that was tried, with the edits of each file that do it and the texts after them."""

    proposal: Proposal
    edits: Mapping[str, tuple[Edit, ...]]
    texts: Mapping[str, str]


def proposals(study: RuleStudy, finding: Finding) -> Iterator[Proposal]:
    """What a rule proposes for a separate finding, best first and not tried yet."""
    if _waits(study, finding):
        return
    yield from finding.proposals
    rule = rule_named(finding.rule, study.own_rules)
    if rule is not None and rule.fix is not None:
        yield from rule.fix(study, finding)


def _waits(study: RuleStudy, finding: Finding) -> bool:
    """Whether the battery or a ground is found at fault, and this is not that: everything else follows from it. What a
    waiver covers is no fault to wait for.
    """
    if finding.stage is Stage.SUPPLY:
        return False
    at_fault = [each for each in study.found if each.stage is Stage.SUPPLY]
    return bool(apply_waivers(study.harness, at_fault, study.today, study.own_rules)[0])


def proved(reading: Reading, syntaxes: Sequence[Syntax], study: RuleStudy, finding: Finding) -> Iterator[Proved]:
    """The proposals that are harmless on this very harness. ``syntaxes``: the files that are the user's to change."""
    tried: list[Mapping[str, str]] = []
    for number, proposal in enumerate(proposals(study, finding)):
        if number == MOST_TRIED:
            return
        try:
            changed = edits(syntaxes, proposal.changes)
            texts = fixed_texts(syntaxes, proposal.changes)
        except FixError:
            continue  # the text is not the user's, or not as the proposal expects it: nothing is offered
        if texts in tried:
            continue  # the same edits by another reason
        tried.append(texts)
        if not harm(reading, study, finding, texts):
            yield Proved(proposal, changed, texts)


def harm(reading: Reading, study: RuleStudy, finding: Finding, texts: Mapping[str, str]) -> str:
    """What is wrong with new texts as the answer to a finding; empty where they settle it and do no harm."""
    after = fixed_reading(reading, texts)
    if after.mistakes:
        return f"{after.mistakes[0].span}: {after.mistakes[0].message}"
    again = RuleStudy(
        after.harness,
        today=study.today,
        profile=study.profile,
        own_rules=study.own_rules,
        unrun=study.unrun,
        between_rules=study.between_rules,
        old=study.old,
    )
    wanted = _wanted(finding)
    own = rule_named(finding.rule, study.own_rules)
    if own is not None and not own.needs_all and any(_wanted(f) & wanted for f in examine(again, [own])):
        return "it is found still"  # most of what does not help is known by its own rule
    other = _names(study) ^ _names(again)
    new, old = _levels(again, other), _levels(study, other)
    if {(rule, _without(names, other)) for rule, names in wanted} & new.keys():
        return "it is found still"
    for (rule, names), level in sorted(new.items(), key=lambda item: (-item[1], item[0])):
        if level <= old.get((rule, names), _NONE):
            continue
        if level is Level.ERROR or level >= finding.level:
            return f"{Level(level).word} {rule} of {', '.join(names)} comes instead"
    cut = may_live(study.circuit) - may_live(again.circuit)
    if cut:
        return f"{min(cut)} would be cut off"
    return ""


_NONE: Final = -1
"""Below every level: what was not found."""
_Place = tuple[str, tuple[str, ...]]


def _place(finding: Finding) -> _Place:
    """What a finding is of, in any order of its names: loads that nearly tie may come in another one."""
    return finding.rule, tuple(sorted(finding.about))


def _wanted(finding: Finding) -> set[_Place]:
    return {_place(each) for each in finding.members or (finding,)}


def _names(study: RuleStudy) -> set[str]:
    return {*study.harness.parts, *study.harness.wires}


def _without(names: tuple[str, ...], other: set[str]) -> tuple[str, ...]:
    return tuple(name for name in names if name not in other)


def _levels(study: RuleStudy, other: set[str]) -> dict[_Place, int]:
    """What every rule finds and no waiver covers, by rule and names, with the worst level. Names of what a fix adds
    or takes out, ``other``, do not count: what is found on a path through a part that was added was found before.
    """
    raw = found_by_all(study)
    left, _ = apply_waivers(study.harness, raw, study.today, study.own_rules)
    levels: dict[_Place, int] = {}
    for each in (*left, *(f for f in raw if is_broken(f))):
        rule, names = _place(each)
        place = rule, _without(names, other)
        levels[place] = max(each.level, levels.get(place, _NONE))
    return levels
