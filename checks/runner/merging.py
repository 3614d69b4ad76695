"""Merging: findings that one repair answers become one, and what follows from another one becomes its note.

Which ones these are is decided by groups, by what a rule says that it explains, and by a search that proves it; never
by words. What is reported on the whole group comes from templates and facts, as a finding's own words do.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.diagnostic import Note
from ...lang.editing.proposals import of_one_size, together
from ...lang.quantities.quantity import Quantity
from ..findings.facts import as_facts
from ..findings.finding import Stage
from ..findings.wording import filled

if TYPE_CHECKING:
    from ..findings.facts import Fact
    from ..findings.finding import Finding
    from ..rule import Rule

MERGED: Final = "{message}[; likewise {likewise...}][; {followers:other finding} {followers:follows|follow} from this]"
"""The message of a finding that others are merged with: its own, and what comes to it."""

FIRST: Final = "correct this first: {cause}"
"""What is to be done about a finding before its own advice is any good."""


def in_order(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in the order in which they are shown, each once."""
    return tuple(sorted(dict.fromkeys(found), key=lambda finding: finding.order))


def merged(found: Iterable[Finding], rules: Iterable[Rule]) -> tuple[Finding, ...]:
    """Findings in order, those of one group as one: the worst, of these the one of least rank, with the others as its
    notes, each with its place and its whole message. ``rules`` are those that were asked.

    It is done after waivers, since each covers a separate thing: what is waived hides nothing else.
    """
    asked = tuple(rules)
    groups: dict[tuple[str, str], list[Finding]] = {}
    alone: list[Finding] = []
    for finding in _explained(_waiting(_of_one_size(in_order(found)), asked), asked):
        if finding.group:
            groups.setdefault((finding.rule, finding.group), []).append(finding)
        else:
            alone.append(finding)
    return in_order((*alone, *map(_as_one, groups.values())))


def _of_one_size(found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Findings of which the first proposals give each wire one size: the greatest that any of them asks for."""
    proposing = [finding for finding in found if finding.proposals]
    firsts = of_one_size([finding.proposals[0] for finding in proposing])
    sized = {id(f): (first, *f.proposals[1:]) for f, first in zip(proposing, firsts, strict=True)}
    return tuple(replace(f, proposals=sized[id(f)]) if id(f) in sized else f for f in found)


def _waiting(found: tuple[Finding, ...], rules: tuple[Rule, ...]) -> tuple[Finding, ...]:
    """Findings that ask for the battery or a ground to be settled first, where one of these is found at fault: what
    they would propose suits a harness that is not meant (wires exchanged to suit a battery that is reversed).
    """
    first = next((finding for finding in found if finding.stage is Stage.SUPPLY), None)
    if first is None:
        return found
    proposing = {rule.name for rule in rules if rule.fix is not None}
    return tuple(
        _after(first, finding)
        if finding.stage is not Stage.SUPPLY and (finding.rule in proposing or finding.proposals)
        else finding
        for finding in found
    )


def _explained(found: tuple[Finding, ...], rules: tuple[Rule, ...]) -> Iterator[Finding]:
    """What says no more than that a part does not work, or of one bare terminal what another finding says too, becomes
    a note of the first finding that explains it; what that explains in turn goes with it.
    """
    causes = [finding for finding in found if finding.explains]
    symptoms = {rule.name for rule in rules if rule.symptom}
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
    before = dict(cause.facts).get("followers")
    count = len(each) + (int(before.value) if isinstance(before, Quantity) else 0)
    return replace(
        _reworded(cause, {"followers": count}),
        notes=(*cause.notes, *(note for o in others for note in (Note(o.message, o.span), *o.notes))),
        members=(
            *(cause.members or (cause,)),
            *(_after(cause, member) for member in each),
        ),
    )


def _after(cause: Finding, finding: Finding) -> Finding:
    """A finding that asks for another one to be settled before it, and proposes nothing."""
    return replace(finding, remedy=filled(FIRST, as_facts({"cause": cause.message})), proposals=())


def _reworded(finding: Finding, more: Mapping[str, Fact | float]) -> Finding:
    """A finding with facts of what is merged with it, and with the words for all of these."""
    facts = as_facts({**dict(finding.facts), **more})
    alone = finding
    while alone.members:
        alone = alone.members[0]
    return replace(finding, facts=facts, message=filled(MERGED, as_facts({**dict(facts), "message": alone.message})))


def _prominence(finding: Finding) -> tuple[object, ...]:
    """What leads: the worst, of these the least rank, of equal ones the first by name and not by its line."""
    return -finding.level, round(finding.rank, 6), tuple((len(name), name) for name in finding.about)


def _as_one(group: list[Finding]) -> Finding:
    ordered = sorted(group, key=lambda finding: (-finding.level, round(finding.rank, 6), finding.order))
    lead = min(ordered, key=_prominence)
    others = [finding for finding in ordered if finding is not lead]
    members = (lead, *others)
    if not others:
        return lead
    named = tuple(dict.fromkeys(name for other in others for name in other.about if name not in lead.about))
    all_fixed = all(member.proposals for member in members)  # else no edit of the text settles them all
    return replace(
        _reworded(lead, {"likewise": named}),
        about=(*lead.about, *named),
        notes=(*lead.notes, *(note for other in others for note in (Note(other.message, other.span), *other.notes))),
        members=members,
        remedy=lead.remedy if all_fixed else lead.to_do,
        proposals=(together(member.proposals[0] for member in members),) if all_fixed else (),
    )
