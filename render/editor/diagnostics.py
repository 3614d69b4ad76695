"""Mistakes and findings as an editor underlines them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from ...lang.mistake import Mistake, Note, Span
from ..formats.entries import finding_evidence, mistake_evidence

if TYPE_CHECKING:
    from ...checks.finding import Finding
    from ...checks.runner import Report
    from ...lang.model import Reading

SOURCE = "loomwright"
UNCHECKED = "not-checked"
"""The code of the note that the rules were not asked."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Something to underline. ``code`` is the name of the rule, or of the kind of mistake."""

    span: Span
    level: Literal["error", "warning", "note"]
    code: str
    message: str
    related: tuple[Note, ...] = ()
    origin: Mistake | Finding | None = None


def of_mistakes(reading: Reading) -> tuple[Problem, ...]:
    """What is wrong with the text, and that nothing else was looked at while something is."""
    found = [_of_mistake(mistake) for mistake in reading.mistakes]
    if found:
        found.append(_unchecked(reading, "the rules were not asked: mend the mistakes in the text first"))
    return tuple(found)


def of_report(report: Report) -> tuple[Problem, ...]:
    """What the rules found that counts, by place; what is waived is left out."""
    return tuple(_of_finding(finding) for finding in report.findings)


def of_fault(reading: Reading, error: Exception) -> tuple[Problem, ...]:
    """That the rules could not be asked, by a fault of Loomwright itself: silence would be a promise."""
    what = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
    message = f"the rules could not be asked, by a fault of Loomwright itself ({what}); please report it with the file"
    return (Problem(_first(reading), "error", UNCHECKED, message),)


def _of_mistake(mistake: Mistake) -> Problem:
    message = "\n".join((mistake.message, *mistake_evidence(mistake)))
    return Problem(mistake.span, "error", mistake.kind, message, mistake.notes, mistake)


def _of_finding(finding: Finding) -> Problem:
    message = "\n".join((finding.message, *finding_evidence(finding)))
    level: Literal["error", "warning", "note"] = finding.level.word  # type: ignore[assignment]
    return Problem(finding.span, level, finding.rule, message, finding.notes, finding)


def _unchecked(reading: Reading, message: str) -> Problem:
    return Problem(_first(reading), "note", UNCHECKED, message)


def _first(reading: Reading) -> Span:
    """The beginning of the file that is checked."""
    return Span(reading.harness.file, 1, 1, 2)


def by_file(problems: Iterable[Problem]) -> dict[str, list[Problem]]:
    """Problems by the name of their file, each once: two harnesses may use one file."""
    found: dict[str, list[Problem]] = {}
    for problem in dict.fromkeys(problems):
        found.setdefault(problem.span.file, []).append(problem)
    return found
