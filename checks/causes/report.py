"""What the search found, in words, and put into a report."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ..findings.offers import Causes, Offer

if TYPE_CHECKING:
    from datetime import date
    from typing import Any

    from ...lang.model.harness import Harness
    from ..findings.finding import Finding
    from ..runner.run import Report, RuleStudy
    from .judging import Settles
    from .search import Found


OF_THE_OLD_HARNESS = frozenset({"changed-feed", "cut-lead", "lost-function", "polarity-changed", "undecided"})
"""Rules that compare with the harness that this one converts."""


def with_likely_cause(report: Report, today: date, **terms: Any) -> Report:
    """The report with what a search for a likely cause gave; the same report where there is nothing to search for.

    ``terms`` are those that the report was made with. Nothing is searched where fewer than two errors or warnings are
    left, where the text has mistakes, or where a rule could not be checked.
    """
    from ..findings.finding import Level
    from ..runner.run import catalogue

    if report.mistakes or report.unchecked:
        return report
    # A harness that is tried is not compared with the old one: what that gives cannot be seen to be settled.
    here = [finding for finding in report.findings if finding.rule not in OF_THE_OLD_HARNESS]
    loud = [each for finding in here for each in (finding.members or (finding,)) if each.level > Level.NOTE]
    if len(loud) < 2:
        return report
    from .rule_order import NOT_BY_JOINS

    asked = [finding for finding in loud if finding.rule not in NOT_BY_JOINS]
    roots = {rule.name for rule in (*catalogue(), *report.own_rules) if rule.root_cause}
    # What numbers decide is seldom the fault of a wire on the wrong terminal, and dear to ask again.
    if sum(not finding.figures for finding in asked) < 2 and not any(f.rule in roots for f in asked):
        return report
    found = _searched(report, asked, loud, today, terms)
    return replace(report, causes=_told(found, loud), findings=_folded(report.findings, found))


def _folded(findings: tuple[Finding, ...], found: Found) -> tuple[Finding, ...]:
    """Findings in order, where what is sure to go with a cause is reported as its notes. Nothing worse than its cause
    is hidden in it, and of several that are reported as one all must go.
    """
    from ..runner.merging import in_order, with_followers
    from .judging import place

    left = list(findings)
    for at, follows in found.follows:
        cause = next((f for f in left if place(f) == at), None)
        if cause is None:
            continue  # shown as a note of another one already
        others = [
            finding
            for finding in left
            if finding is not cause
            and finding.level <= cause.level
            and all(place(each) in follows for each in (finding.members or (finding,)))
        ]
        if others:
            left = [f for f in left if f is not cause and f not in others] + [with_followers(cause, others)]
    return in_order(left)


def _searched(report: Report, asked: list[Finding], loud: list[Finding], today: date, terms: dict[str, Any]) -> Found:
    from ..runner.run import RuleStudy
    from .search import Search

    base = [each for finding in report.findings for each in (finding.members or (finding,))]
    base += [*report.waived, *report.accepted]
    given = {key: value for key, value in terms.items() if key != "unrun"}

    def examine(harness: Harness) -> RuleStudy:
        return RuleStudy(harness, today=today, **given)

    study = examine(report.harness)
    return Search(study, asked, loud, base, examine).run()


def _told(found: Found, loud: list[Finding]) -> Causes:
    """The offers in words. One that settles a single finding says no more than that finding's own advice."""
    offers = [_offer(offer, loud) for offer in found.offers]
    return Causes(
        offers=tuple(offer for offer in offers if offer.settles > 1), tried=found.tried, finished=found.finished
    )


def _offer(offer: tuple[Settles, ...], loud: list[Finding]) -> Offer:
    from .judging import place

    edits = [each.edit for each in offer]
    places = frozenset().union(*(each.settled for each in offer))
    settled, all_ = sum(place(finding) in places for finding in loud), len(loud)
    if settled == all_:
        what = "both findings are" if all_ == 2 else f"all {all_} findings are"
    else:
        what = f"{settled} of {all_} findings are"
    said = " and: ".join(edit.wrong for edit in edits)
    done = " and ".join(edit.done for edit in edits)
    return Offer(
        message=f"likely cause, in the file or on the motorcycle: {said}; {done}, {what} settled",
        about=tuple(dict.fromkeys(name for edit in edits for name in edit.touches)),
        settles=settled,
        changes=len(edits),
        fixed=offer[0].edit.apply(),
    )
