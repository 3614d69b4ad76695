"""The findings of a harness as the page lists them, each with its evidence and the setting that shows it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ...checks.findings.finding import Finding
from ..formats.entries import entries

if TYPE_CHECKING:
    from ...checks.runner.run import Report

Json = dict[str, Any]


def findings(report: Report) -> list[Json]:
    """What counts, worst first; ``positions`` of the controls, or a named ``state``, that shows it."""
    found = []
    for entry in entries((report,)):
        origin = entry.origin if isinstance(entry.origin, Finding) else None
        found.append(
            {
                "rule": entry.rule,
                "level": entry.level.word,
                "message": entry.message,
                "evidence": list(entry.evidence),
                "notes": [note.text for note in entry.notes],
                "about": list(origin.about) if origin else [],
                "positions": dict(origin.combination) if origin else {},
                "state": origin.state if origin else "",
            }
        )
    return found
