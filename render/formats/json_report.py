"""Everything a check found, as JSON: the numbers as numbers, for programs that want more than a line of text.

``report.schema.json`` beside this file describes every field. ``version`` there counts up when a field changes its
meaning or goes; fields may be added under the same version, so a reader passes over what it does not know.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from ... import __version__
from ...checks.causes import Causes
from ...checks.findings.facts import Fact
from ...checks.findings.finding import Finding, Level
from ...checks.runner.policy import SeverityOverride
from ...checks.runner.run import Report
from ...lang.diagnostics.diagnostic import Diagnostic, Note, Span
from ...lang.quantities.quantity import Quantity
from .entries import Entry, entries_by_report
from .figures import rounded

FORMAT_VERSION = 1


def write(reports: Sequence[Report], *, waived: bool = False) -> str:  # noqa: ARG001  they have lists of their own
    """One document for all the reports. What a waiver covers and what was accepted are apart from what counts."""
    document = {
        "format": "loomwright-report",
        "version": FORMAT_VERSION,
        "loomwright": __version__,
        "harnesses": [_harness(report, rows) for report, rows in zip(reports, entries_by_report(reports), strict=True)],
    }
    return json.dumps(document, indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def _harness(report: Report, rows: Sequence[Entry]) -> dict[str, Any]:
    counts = {level.word: sum(f.level == level for f in report.findings) for level in sorted(Level, reverse=True)}
    counts |= {"waived": len(report.waived), "accepted": len(report.accepted)}
    return {
        "file": report.harness.file,
        "title": report.harness.title,
        "profile": report.profile,
        "unchecked": report.unchecked,
        "own_rules": {
            "run": [rule.name for rule in report.own_rules],
            "not_run": list(report.unrun.files) if report.unrun else [],
        },
        "causes": _causes(report.causes),
        "counts": {"mistake": len(report.mistakes), **counts},
        "mistakes": [_mistake(row.origin, row) for row in rows if isinstance(row.origin, Diagnostic)],
        "judged": [_judged(row.origin, row) for row in rows if isinstance(row.origin, SeverityOverride)],
        "findings": _findings(rows, "counts"),
        "waived": _findings(rows, "waived"),
        "accepted": _findings(rows, "accepted"),
    }


def _causes(causes: Causes | None) -> dict[str, Any] | None:
    """What a search for a likely cause gave; ``None`` where there was nothing to search for."""
    if causes is None:
        return None
    return {
        "offers": [
            {"message": offer.message, "about": list(offer.about), "settles": offer.settles} for offer in causes.offers
        ],
        "tried": causes.tried,
        "finished": causes.finished,
        "remark": causes.remark,
    }


def _findings(rows: Sequence[Entry], standing: str) -> list[dict[str, Any]]:
    return [_finding(row.origin, row) for row in rows if isinstance(row.origin, Finding) and row.standing == standing]


def _mistake(mistake: Diagnostic, entry: Entry) -> dict[str, Any]:
    return {
        "kind": mistake.kind,
        "message": mistake.message,
        "place": _place(mistake.span),
        "expected": mistake.expected,
        "nearest": mistake.nearest,
        "remedy": mistake.remedy,
        "notes": list(map(_note, mistake.notes)),
        "fingerprint": entry.fingerprint,
    }


def _judged(judged: SeverityOverride, entry: Entry) -> dict[str, Any]:
    return {
        "rule": judged.rule.name,
        "family": judged.rule.family,
        "level": judged.judgement.level,
        "as_it_comes": judged.rule.level.word,
        "danger": judged.danger,
        "findings": judged.changed,
        "because": judged.judgement.because,
        "message": judged.message,
        "place": _place(judged.judgement.span),
        "fingerprint": entry.fingerprint,
    }


def _finding(finding: Finding, entry: Entry) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "level": finding.level.word,
        "outcome": finding.outcome,
        "message": finding.message,
        "case": finding.case or None,
        "facts": {name: _fact(fact) for name, fact in finding.facts},
        "place": _place(finding.span),
        "about": list(finding.about),
        "state": finding.state or None,
        "combination": dict(finding.combination),
        "implausible": finding.implausible,
        "path": [str(step) for step in finding.path],
        "figures": [
            {"label": figure.label, "value": rounded(figure.value), "unit": figure.unit} for figure in finding.figures
        ],
        "source": finding.source,
        "remedy": finding.to_do,
        "notes": list(map(_note, finding.notes)),
        "waived": finding.waived or None,
        "fingerprint": entry.fingerprint,
    }


def _fact(fact: Fact) -> str | list[str] | dict[str, Any]:
    if isinstance(fact, Quantity):
        return {"value": rounded(fact.value), "unit": fact.unit}
    return fact if isinstance(fact, str) else list(fact)


def _note(note: Note) -> dict[str, Any]:
    return {"message": note.text, "place": _place(note.span)}


def _place(span: Span) -> dict[str, Any]:
    return {"file": span.file, "line": span.line, "column": span.column, "end_column": span.end_column}
