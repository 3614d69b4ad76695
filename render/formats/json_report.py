"""Everything a check found, as JSON: the numbers as numbers, for programs that want more than a line of text.

``report.schema.json`` beside this file describes every field. ``version`` there counts up when a field changes its
meaning or goes; fields may be added under the same version, so a reader passes over what it does not know.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from typing import Any

from ... import __version__
from ...checks.finding import Finding, Level
from ...checks.runner import Report
from ...lang.mistake import Mistake, Note, Span
from .entries import Entry, entries

FORMAT_VERSION = 1


def write(reports: Sequence[Report], *, waived: bool = False) -> str:
    """One document for all the reports. Waived findings are always counted and listed only where asked for."""
    rows = iter(entries(reports, waived=waived))
    document = {
        "format": "loomwright-report",
        "version": FORMAT_VERSION,
        "loomwright": __version__,
        "harnesses": [_harness(report, rows, waived=waived) for report in reports],
    }
    return json.dumps(document, indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def _harness(report: Report, rows: Iterator[Entry], *, waived: bool) -> dict[str, Any]:
    """``rows`` gives the entries of this report next, in the order of its mistakes and then of its findings."""
    mistakes = [_mistake(mistake, next(rows)) for mistake in report.mistakes]
    shown = sorted((*report.findings, *(report.waived if waived else ())), key=lambda finding: finding.order)
    findings = [_finding(finding, next(rows)) for finding in shown]
    counts = {level.word: sum(f.level == level for f in report.findings) for level in sorted(Level, reverse=True)}
    return {
        "file": report.harness.file,
        "title": report.harness.title,
        "unchecked": report.unchecked,
        "counts": {"mistake": len(mistakes), **counts, "waived": len(report.waived)},
        "mistakes": mistakes,
        "findings": findings,
    }


def _mistake(mistake: Mistake, entry: Entry) -> dict[str, Any]:
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


def _finding(finding: Finding, entry: Entry) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "level": finding.level.word,
        "message": finding.message,
        "place": _place(finding.span),
        "about": list(finding.about),
        "state": finding.state or None,
        "combination": dict(finding.combination),
        "implausible": finding.implausible,
        "path": list(finding.path),
        "figures": [
            {"label": figure.label, "value": figure.value if math.isfinite(figure.value) else None, "unit": figure.unit}
            for figure in finding.figures
        ],
        "source": finding.source,
        "remedy": finding.remedy,
        "notes": list(map(_note, finding.notes)),
        "waived": finding.waived or None,
        "fingerprint": entry.fingerprint,
    }


def _note(note: Note) -> dict[str, Any]:
    return {"message": note.text, "place": _place(note.span)}


def _place(span: Span) -> dict[str, Any]:
    return {"file": span.file, "line": span.line, "column": span.column, "end_column": span.end_column}
