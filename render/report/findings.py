"""What was found, as plain text for a terminal, a log or an editor.

A finding begins with one line that every editor understands, ``FILE:LINE:COLUMN: level: message [rule]``; what proves
it stands indented below. Columns count code points from 1. Text that a user wrote never reaches a terminal with control
characters in it.
"""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, TextIO

from ...checks.findings.finding import Finding, Level
from ...lang.diagnostics.visible import visible
from ..formats.entries import (
    JUDGED_RULE,
    OWN_RULES_NOT_RUN,
    UNRUN_REMEDY,
    finding_evidence,
    judged_evidence,
    mistake_evidence,
)

if TYPE_CHECKING:
    from ...checks.runner.policy import SeverityOverride
    from ...checks.runner.run import Report
    from ...lang.diagnostics.diagnostic import Diagnostic, Note, Span

INDENT = "    "
_COLOURS = {"error": "\x1b[1;31m", "warning": "\x1b[1;33m", "note": "\x1b[1;36m"}
_BOLD, _FAINT, _PLAIN = "\x1b[1m", "\x1b[2m", "\x1b[0m"


def wants_colour(stream: TextIO, environment: Mapping[str, str]) -> bool:
    """Whether to write colours to ``stream``: the one place that decides it.

    ``NO_COLOR`` wins over ``FORCE_COLOR`` (both count when set and not empty); then a terminal that can do it gets it.
    """
    if environment.get("NO_COLOR"):
        return False
    if environment.get("FORCE_COLOR"):
        return True
    return environment.get("TERM") != "dumb" and stream.isatty()


def report_text(report: Report, *, colour: bool = False, waived: bool = False) -> str:
    """Everything that a check found in one harness, and a last line that counts it.

    Rules against fire, or for stopping the engine, that the harness judges milder come before all.
    """
    lines: list[str] = []
    hurt = dict.fromkeys(mistake.span.file for mistake in report.mistakes)
    sources = {file: source_lines(report.texts.get(file, "")) for file in hurt}
    for mistake in report.mistakes:
        lines += _mistake(mistake, sources, colour)
    lines += _causes(report)
    for judged in report.judged:
        lines += _judged(judged, colour)
    if report.unrun:
        lines.append(_head(report.unrun.span, Level.NOTE.word, report.unrun.message, OWN_RULES_NOT_RUN, colour))
        lines.append(INDENT + UNRUN_REMEDY)
    shown = (*report.findings, *((*report.waived, *report.accepted) if waived else ()))
    for finding in sorted(shown, key=lambda finding: finding.order):
        lines += _finding(finding, colour)
    if report.causes is not None and not report.causes.finished:
        lines.append(f"{visible(report.harness.file)}: {report.causes.remark}")
    lines.append(closing_line(report))
    return "".join(f"{line}\n" for line in lines)


def _causes(report: Report) -> Iterator[str]:
    """What one small change would settle, before all that it settles; nothing where no search was made."""
    if report.causes is None:
        return
    name = visible(report.harness.file)
    for offer in report.causes.offers:
        yield f"{name}: {visible(offer.message)}"
    if report.causes.offers:
        yield INDENT + report.causes.remark


def closing_line(report: Report) -> str:
    """How many of each level, how many are waived or accepted, which dangers are judged milder, what was not checked,
    and how much was.

    It never says that a harness is safe.
    """
    levels = Counter(finding.level for finding in report.findings)
    levels[Level.ERROR] += len(report.mistakes)
    counts = ", ".join(counted(levels[level], level.word) for level in sorted(Level, reverse=True) if levels[level])
    line = f"{visible(report.harness.file)}: {counts or 'nothing found'}"
    if report.waived:
        line += f", {len(report.waived)} waived"
    if report.accepted:
        line += f", {len(report.accepted)} accepted"
    for judged in report.judged:
        if judged.danger:
            level = judged.judgement.level
            how = "switched off" if level == "off" else f"only a {level}"
            line += f"; {judged.rule.name} ({judged.rule.family}) is {how}"
    if report.unchecked:
        line += f"; {report.unchecked}"
    if report.rules:
        line += f" ({counted(report.rules, 'rule')} over {counted(len(report.harness.wires), 'wire')})"
    return line


def counted(number: int, noun: str) -> str:
    """``1 error``, ``2 errors``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def finding_text(finding: Finding) -> str:
    """One finding with its evidence, as it is in a report without colours."""
    return "".join(f"{line}\n" for line in _finding(finding, colour=False))


def _finding(finding: Finding, colour: bool) -> Iterator[str]:
    yield _head(finding.span, finding.level.word, finding.message, finding.rule, colour)
    for line in finding_evidence(finding):
        yield INDENT + visible(line)
    yield from map(_note, finding.notes)


def _judged(judged: SeverityOverride, colour: bool) -> Iterator[str]:
    yield _head(judged.judgement.span, Level.NOTE.word, judged.message, JUDGED_RULE, colour)
    for line in judged_evidence(judged):
        yield INDENT + visible(line)


def _mistake(mistake: Diagnostic, sources: Mapping[str, list[str]], colour: bool) -> Iterator[str]:
    yield _head(mistake.span, Level.ERROR.word, mistake.message, mistake.kind, colour)
    yield from _marked_line(mistake.span, sources[mistake.span.file], colour)
    for line in mistake_evidence(mistake):
        yield INDENT + visible(line)
    yield from map(_note, mistake.notes)


def _head(span: Span, word: str, message: str, rule: str, colour: bool) -> str:
    place, message = visible(str(span)), visible(message)
    if colour:
        return f"{_BOLD}{place}:{_PLAIN} {_COLOURS[word]}{word}:{_PLAIN} {message} {_FAINT}[{rule}]{_PLAIN}"
    return f"{place}: {word}: {message} [{rule}]"


def _note(note: Note) -> str:
    return f"{INDENT}{visible(str(note.span))}: {visible(note.text)}"


def _marked_line(span: Span, lines: list[str], colour: bool) -> Iterator[str]:
    """The line that a span is in, and a line below it that marks the spot (at least one character)."""
    if span.line > len(lines):
        return
    line = lines[span.line - 1]
    before, spot = line[: span.column - 1], line[span.column - 1 : span.end_column - 1]
    lead = "".join("\t" if character == "\t" else " " * _width(character) for character in before)
    mark = "^" * max(1, sum(map(_width, spot)))
    yield INDENT + visible(line).rstrip()
    yield INDENT + lead + (f"{_COLOURS['error']}{mark}{_PLAIN}" if colour else mark)


def source_lines(text: str) -> list[str]:
    """The lines of a file as the language counts them: by line feeds, a carriage return before one left out."""
    return [line.removesuffix("\r") for line in text.removeprefix("\ufeff").split("\n")]


def _width(character: str) -> int:
    """Columns that a terminal gives a character."""
    if unicodedata.combining(character):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1
