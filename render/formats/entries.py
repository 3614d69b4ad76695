"""Reports as a flat list of entries: mistakes in a text and findings of the rules, each with a lasting fingerprint."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from ...checks.findings.finding import Figure, Finding, Level
from ...checks.findings.fingerprint import Fingerprints
from ...checks.runner.own_rules import Unrun
from ...checks.runner.policy import SeverityOverride
from ...checks.runner.run import Report
from ...lang.circuit.ids import spelled
from ...lang.diagnostics.diagnostic import Diagnostic, Note, Span
from ...lang.quantities.quantity import MOST_DIGITS, all_apart, shown
from ...lang.records import dataclass

MISTAKE_RULE = "mistake-in-text"
"""The name under which mistakes of the text itself are beside the rules' names."""

JUDGED_RULE = "judged-rule"
"""The name of the note that a rule is judged otherwise than it comes, or switched off."""


OWN_RULES_NOT_RUN = "own-rules-not-run"
"""The name of the note that rules of the user's own were not run."""


Standing = Literal["counts", "waived", "accepted"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of a report. ``evidence`` is plain text, a fact a line. ``fingerprint`` survives moved lines.

    ``waived`` holds the reason why it does not count. ``standing`` is the list of the report that it is from.
    """

    rule: str
    level: Level
    message: str
    span: Span
    evidence: tuple[str, ...]
    notes: tuple[Note, ...]
    fingerprint: str
    origin: Finding | Diagnostic | SeverityOverride | Unrun
    waived: str = ""
    standing: Standing = "counts"

    @property
    def counts(self) -> bool:
        return self.standing == "counts"

    @property
    def danger(self) -> bool:
        """Whether it says that a rule against fire, or for stopping the engine, is judged milder or switched off."""
        return isinstance(self.origin, SeverityOverride) and self.origin.danger


def entries(reports: Sequence[Report], *, waived: bool = False) -> tuple[Entry, ...]:
    """Every mistake and finding of some reports, in their order; waived and accepted ones only where asked for."""
    found = entries_by_report(reports)
    return tuple(entry for rows in found for entry in rows if waived or entry.counts)


def entries_by_report(reports: Sequence[Report]) -> tuple[tuple[Entry, ...], ...]:
    """Everything in some reports, a row each: mistakes first, then rules that are judged otherwise, dangers in front,
    then findings in their order, those that do not count too.

    Twins are counted through all the reports, those that count first (``Fingerprints``).
    """
    fingerprints = Fingerprints()

    def of_mistake(mistake: Diagnostic) -> Entry:
        return Entry(
            rule=MISTAKE_RULE,
            level=Level.ERROR,
            message=mistake.message,
            span=mistake.span,
            evidence=mistake_evidence(mistake),
            notes=mistake.notes,
            fingerprint=fingerprints.of(MISTAKE_RULE, mistake.span.file, mistake.kind, mistake.message),
            origin=mistake,
        )

    def of_finding(finding: Finding, standing: Standing) -> Entry:
        return Entry(
            rule=finding.rule,
            level=finding.level,
            message=finding.message,
            span=finding.span,
            evidence=finding_evidence(finding),
            notes=finding.notes,
            fingerprint=fingerprints.of_finding(finding),
            origin=finding,
            waived=finding.waived,
            standing=standing,
        )

    def of_judged(judged: SeverityOverride) -> Entry:
        judgement = judged.judgement
        return Entry(
            rule=JUDGED_RULE,
            level=Level.NOTE,
            message=judged.message,
            span=judgement.span,
            evidence=judged_evidence(judged),
            notes=(),
            fingerprint=fingerprints.of(
                JUDGED_RULE, judged.judgement.span.file, judged.rule.name, judged.judgement.level
            ),
            origin=judged,
        )

    def of_unrun(unrun: Unrun) -> Entry:
        return Entry(
            rule=OWN_RULES_NOT_RUN,
            level=Level.NOTE,
            message=unrun.message,
            span=unrun.span,
            evidence=(UNRUN_REMEDY,),
            notes=(),
            fingerprint=fingerprints.of(OWN_RULES_NOT_RUN, unrun.span.file, *unrun.files),
            origin=unrun,
        )

    found = []
    for report in reports:
        mistakes = [of_mistake(mistake) for mistake in report.mistakes]
        standings: tuple[tuple[Standing, tuple[Finding, ...]], ...] = (
            ("counts", report.findings),
            ("waived", report.waived),
            ("accepted", report.accepted),
        )
        findings = [
            (finding.order, of_finding(finding, standing))
            for standing, those in standings
            for finding in sorted(those, key=lambda finding: finding.order)
        ]
        findings.sort(key=lambda row: row[0])
        unrun = [of_unrun(report.unrun)] if report.unrun else []
        found.append((*mistakes, *map(of_judged, report.judged), *unrun, *(entry for _, entry in findings)))
    return tuple(found)


def mistake_evidence(mistake: Diagnostic) -> tuple[str, ...]:
    """What is under a mistake's first line, as plain text."""
    lines = []
    if mistake.expected:
        lines.append(f"expected: {mistake.expected}")
    if mistake.nearest:
        lines.append(f"nearest known name: {mistake.nearest}")
    if mistake.remedy:
        lines.append(f"fix: {mistake.remedy}")
    return tuple(lines)


UNRUN_REMEDY = "fix: they are code; read them, and give --own-rules to run them"


def judged_evidence(judged: SeverityOverride) -> tuple[str, ...]:
    """What is under the line that says that a rule is judged otherwise."""
    as_it_comes = f"as it comes: {judged.rule.level.word}, {judged.rule.catches}"
    return (as_it_comes, *(("what it catches can burn, strand or hurt",) if judged.danger else ()))


def finding_evidence(finding: Finding) -> tuple[str, ...]:
    """What is under a finding's first line, as plain text: where it shows, by which way, with which figures."""
    lines = []
    if finding.state:
        lines.append(f"in state: {finding.state}")
    if finding.combination:
        lines.append("with: " + ", ".join(f"{control} {position}" for control, position in finding.combination))
    if finding.implausible:
        lines.append("only in a combination that is not plausible")
    if finding.path:
        lines.append(f"path: {spelled(finding.path)}")
    lines.extend(_figures(finding.figures))
    if finding.source:
        lines.append(f"source: {finding.source}")
    if finding.to_do:
        lines.append(f"fix: {finding.to_do}")
    if finding.waived:
        lines.append(f"waived: {finding.waived}")
    return tuple(lines)


def _figures(figures: Sequence[Figure]) -> Iterator[str]:
    """Each figure in a line; those of one unit with as many digits as it takes to see which is the greater."""
    values = {unit: [figure.value for figure in figures if figure.unit == unit] for unit in {f.unit for f in figures}}
    texts = {unit: iter(all_apart(_merged(each))) for unit, each in values.items()}
    return (f"{figure.label}: {next(texts[figure.unit])} {figure.unit}" for figure in figures)


def _merged(values: Sequence[float]) -> list[float]:
    """The same, but for those that no digits would part: one of them in place of each."""
    known = {shown(value, MOST_DIGITS): value for value in values}
    return [known[shown(value, MOST_DIGITS)] for value in values]


def number(value: float) -> str:
    """A figure as people read it: three significant digits, no exponent, no trailing zeros."""
    return shown(value)
