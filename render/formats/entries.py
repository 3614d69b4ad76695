"""Reports as a flat list of entries: mistakes in a text and findings of the rules, each with a lasting fingerprint."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from urllib.parse import quote

from ...checks.finding import Finding, Level
from ...checks.runner import Report
from ...lang.mistake import Mistake, Note, Span

MISTAKE_RULE = "mistake-in-text"
"""The name under which mistakes of the text itself stand beside the rules' names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of a report. ``evidence`` is plain text, a fact a line. ``fingerprint`` survives moved lines.

    ``waived`` holds the waiver's reason, empty where none covers it.
    """

    rule: str
    level: Level
    message: str
    span: Span
    evidence: tuple[str, ...]
    notes: tuple[Note, ...]
    fingerprint: str
    waived: str = ""


def entries(reports: Sequence[Report], *, waived: bool = False) -> tuple[Entry, ...]:
    """Every mistake and finding of some reports, in their order; waived ones only where asked for."""
    rows: list[tuple[str, Level, str, Span, tuple[str, ...], tuple[Note, ...], tuple[str, ...], str]] = []
    for report in reports:
        rows.extend(
            (MISTAKE_RULE, Level.ERROR, m.message, m.span, mistake_evidence(m), m.notes, (m.kind, m.message), "")
            for m in report.mistakes
        )
        shown = (*report.findings, *(report.waived if waived else ()))
        rows.extend(
            (f.rule, f.level, f.message, f.span, finding_evidence(f), f.notes, (*sorted(f.about), f.state), f.waived)
            for f in sorted(shown, key=lambda finding: finding.order)
        )
    return tuple(_fingerprinted(rows))


def _fingerprinted(
    rows: Iterable[tuple[str, Level, str, Span, tuple[str, ...], tuple[Note, ...], tuple[str, ...], str]],
) -> Iterable[Entry]:
    """A fingerprint is made of rule, file and the things concerned, never of a line; twins are counted."""
    seen: dict[str, int] = {}
    for rule, level, message, span, evidence, notes, about, reason in rows:
        basis = "\x00".join((rule, uri(span.file), *about))
        count = seen[basis] = seen.get(basis, 0) + 1
        digest = hashlib.sha256(f"{basis}\x00{count}".encode("utf-8", "surrogatepass")).hexdigest()[:32]
        yield Entry(
            rule=rule,
            level=level,
            message=message,
            span=span,
            evidence=evidence,
            notes=notes,
            fingerprint=digest,
            waived=reason,
        )


def mistake_evidence(mistake: Mistake) -> tuple[str, ...]:
    """What stands under a mistake's first line, as plain text."""
    lines = []
    if mistake.expected:
        lines.append(f"expected: {mistake.expected}")
    if mistake.nearest:
        lines.append(f"nearest known name: {mistake.nearest}")
    if mistake.remedy:
        lines.append(f"to do: {mistake.remedy}")
    return tuple(lines)


def finding_evidence(finding: Finding) -> tuple[str, ...]:
    """What stands under a finding's first line, as plain text: where it shows, by which way, with which figures."""
    lines = []
    if finding.state:
        lines.append(f"in state: {finding.state}")
    if finding.combination:
        lines.append("when: " + ", ".join(f"{control} {position}" for control, position in finding.combination))
    if finding.implausible:
        lines.append("only in a combination that is not plausible")
    if finding.path:
        lines.append("path: " + " - ".join(finding.path))
    lines.extend(f"{figure.label}: {number(figure.value)} {figure.unit}" for figure in finding.figures)
    if finding.source:
        lines.append(f"by: {finding.source}")
    if finding.remedy:
        lines.append(f"to do: {finding.remedy}")
    if finding.waived:
        lines.append(f"waived: {finding.waived}")
    return tuple(lines)


def number(value: float) -> str:
    """A figure as people read it: three significant digits, no exponent, no trailing zeros."""
    if value == 0 or value != value or value in (float("inf"), float("-inf")):
        return {float("inf"): "unlimited", float("-inf"): "unlimited"}.get(value, "0" if value == 0 else "unknown")
    from math import floor, log10

    digits = max(0, 2 - floor(log10(abs(value))))
    text = f"{value:.{min(digits, 9)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def uri(file: str) -> str:
    """A file's name as a relative, percent-encoded URI with ``/``; what lies outside this folder keeps its path."""
    path = PurePath(file)
    if path.is_absolute():
        from pathlib import Path

        try:
            path = PurePath(Path(file).relative_to(Path.cwd()))
        except ValueError:
            return "file://" + quote(path.as_posix(), safe="/", errors="replace")
    text = path.as_posix()
    return quote(text.removeprefix("./"), safe="/", errors="replace")
