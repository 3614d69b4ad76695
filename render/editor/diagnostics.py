"""Mistakes and findings as an editor underlines them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import PurePath
from typing import TYPE_CHECKING

from ...checks.findings.finding import Finding, Level
from ...lang.diagnostics.diagnostic import Diagnostic, Note, Span
from ...lang.diagnostics.messages import plainly_listed
from ...lang.records import dataclass
from ..formats.entries import Entry, entries, finding_evidence, mistake_evidence

if TYPE_CHECKING:
    from ...checks.runner.run import Report
    from ...lang.model.harness import Reading
    from ...lang.model.parts import Part
    from ...lang.model.wires import Wire

SOURCE = "loomwright"
UNCHECKED = "not-checked"
"""The code of the note that the rules were not asked."""
CAUSE = "likely-cause"
"""The code of the note that one small change would settle everything."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Something to underline. ``code`` is the name of the rule, or of the kind of mistake."""

    span: Span
    level: str
    code: str
    message: str
    related: tuple[Note, ...] = ()
    origin: Diagnostic | Finding | None = None


def of_mistakes(reading: Reading) -> tuple[Problem, ...]:
    """What is wrong with the text, and that nothing else was looked at while something is."""
    found = [_of_mistake(mistake) for mistake in reading.mistakes]
    if found:
        first = f"fix the errors in {_where_wrong(reading)} first"
        found.append(_unchecked(reading, Level.NOTE, f"the rules were not run: {first}"))
    return tuple(found)


def _where_wrong(reading: Reading) -> str:
    """The files with mistakes, by name if one is a used file: nothing else in the harness's own text leads there."""
    files = {mistake.span.file for mistake in reading.mistakes}
    if files == {reading.harness.file}:
        return "the file"
    return plainly_listed(sorted({PurePath(file).name for file in files}))


def of_report(report: Report) -> tuple[Problem, ...]:
    """What a report says that counts, in its order; what is waived or accepted is left out.

    What is reported as one finding is underlined wherever it is.
    """
    return tuple(problem for entry in entries((report,)) for problem in _of_entry(entry))


def of_causes(report: Report) -> tuple[Problem, ...]:
    """What one small change would settle, underlined at what it touches; nothing where no search was made or found."""
    if report.causes is None:
        return ()
    if not report.causes.finished:
        return (Problem(Span(report.harness.file, 1, 1, 2), Level.NOTE.word, CAUSE, report.causes.remark),)
    things: dict[str, Wire | Part] = {**report.harness.wires, **report.harness.parts}
    return tuple(
        Problem(
            next((things[name].span for name in offer.about if name in things), Span(report.harness.file, 1, 1, 2)),
            Level.NOTE.word,
            CAUSE,
            f"{offer.message}\n{report.causes.remark}",
        )
        for offer in report.causes.offers
    )


def of_fault(reading: Reading, error: Exception) -> tuple[Problem, ...]:
    """That the rules could not be asked, by a fault of Loomwright itself: silence would be a promise."""
    what = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
    message = f"the rules could not be asked, by a fault of Loomwright itself ({what}); please report it with the file"
    return (_unchecked(reading, Level.ERROR, message),)


def of_terms(reading: Reading, why: str) -> tuple[Problem, ...]:
    """That nobody knows what to judge by, such as a file of settings that cannot be used."""
    return (_unchecked(reading, Level.ERROR, f"the rules were not run: {why}"),)


def _of_mistake(mistake: Diagnostic) -> Problem:
    message = "\n".join((mistake.message, *mistake_evidence(mistake)))
    return Problem(mistake.span, Level.ERROR.word, mistake.kind, message, mistake.notes, mistake)


def _of_entry(entry: Entry) -> Iterator[Problem]:
    if isinstance(entry.origin, Diagnostic):
        yield _of_mistake(entry.origin)
    elif isinstance(entry.origin, Finding):
        yield from map(_of_finding, entry.origin.members or (entry.origin,))
    else:
        message = "\n".join((entry.message, *entry.evidence))
        yield Problem(entry.span, entry.level.word, entry.rule, message, entry.notes)


def _of_finding(finding: Finding) -> Problem:
    message = "\n".join((finding.message, *finding_evidence(finding)))
    return Problem(finding.span, finding.level.word, finding.rule, message, finding.notes, finding)


def _unchecked(reading: Reading, level: Level, message: str) -> Problem:
    """A problem of the whole harness: at the beginning of the file that is checked."""
    return Problem(Span(reading.harness.file, 1, 1, 2), level.word, UNCHECKED, message)


def by_file(problems: Iterable[Problem]) -> dict[str, list[Problem]]:
    """Problems by the name of their file, each once: two harnesses may use one file."""
    found: dict[str, list[Problem]] = {}
    for problem in dict.fromkeys(problems):
        found.setdefault(problem.span.file, []).append(problem)
    return found
