"""The baseline: findings that are known and accepted, the list of them in a file, read, matched and written.

An old motorcycle has more findings than anybody repairs in a day. Once listed, a known one does not count; a new one
does. A finding is known by its fingerprint: rule, file and the things it is about, never a line. One that has become
worse than it was when it was accepted counts again. Mistakes in a text and rules that broke down are never accepted.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from ...lang.diagnostics.diagnostic import Note, Span
from ...lang.files.uri import uri
from ...lang.records import dataclass
from ..findings.facts import as_facts
from ..findings.finding import Finding, Level
from ..findings.fingerprint import Fingerprints
from ..findings.wording import filled
from .run import Report, is_broken

FORMAT: Final = "loomwright-accepted"
VERSION: Final = 1

IDLE_ACCEPTANCE: Final = "idle-acceptance"
"""The name of the note that an accepted finding is not found any more."""


class NoBaselineError(ValueError):
    """A file that is no list of accepted findings; ``str()`` says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """A finding that the list has, and the line that it is on."""

    rule: str
    level: Level
    about: tuple[str, ...]
    message: str
    fingerprint: str
    line: int = 1


Baseline = Mapping[str, tuple[Accepted, ...]]
"""Harness, as seen from the folder of the list -> what is accepted in it."""


def read_baseline(file: str) -> Baseline:
    """What a list holds. Raises ``OSError`` where it cannot be read and ``NoBaselineError`` where it is none."""
    try:
        text = Path(file).read_bytes().decode("utf-8")
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise NoBaselineError(f"{file} is no list of accepted findings: {error}") from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise NoBaselineError(f'{file} is no list of accepted findings: it has no "format": "{FORMAT}"')
    if document.get("version") != VERSION:
        raise NoBaselineError(f"{file} is a list of another version; this one reads version {VERSION}")
    lines = text.split("\n")
    try:
        return {
            str(harness): tuple(_entry(row, lines) for row in rows) for harness, rows in document["harnesses"].items()
        }
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise NoBaselineError(f"{file} is damaged: {type(error).__name__}: {error}") from None


def _entry(row: dict[str, Any], lines: Sequence[str]) -> Accepted:
    fingerprint = str(row["fingerprint"])
    return Accepted(
        rule=str(row["rule"]),
        level=Level[row["level"].upper()],
        about=tuple(str(name) for name in row["about"]),
        message=str(row["message"]),
        fingerprint=fingerprint,
        line=next((number for number, line in enumerate(lines, 1) if fingerprint in line), 1),
    )


def without_accepted(report: Report, baseline: Baseline, file: str) -> Report:
    """A report in which the findings of the list do not count.

    Entries that match nothing any more, and findings worse than they were, are reported where the list has them.
    """
    if report.mistakes:
        return report
    folder = Path(file).parent
    known = {entry.fingerprint: entry for entry in baseline.get(uri(report.harness.file, folder), ())}
    counting: list[Finding] = []
    accepted: list[Finding] = []
    found: set[str] = set()
    for fingerprint, finding in _with_fingerprints(report, folder):
        entry = known.get(fingerprint)
        if entry is None or is_broken(finding):
            counting.append(finding)
            continue
        found.add(fingerprint)
        if finding.level > entry.level:
            note = Note(f"accepted as {_a(entry.level)}, more severe now", _place(file, entry))
            counting.append(replace(finding, notes=(*finding.notes, note)))
        else:
            accepted.append(replace(finding, waived=f"accepted in {file}"))
    idle = [_idle(entry, file) for fingerprint, entry in known.items() if fingerprint not in found]
    return replace(report, findings=(*counting, *idle), accepted=tuple(accepted))


def _with_fingerprints(report: Report, folder: Path) -> list[tuple[str, Finding]]:
    """The findings of a report that count, each behind its fingerprint as seen from ``folder``, in order."""
    fingerprints = Fingerprints(folder)
    found = sorted(report.findings, key=lambda finding: finding.order)
    return [(fingerprints.of_finding(finding), finding) for finding in found]


def _a(level: Level) -> str:
    return f"{'an' if level is Level.ERROR else 'a'} {level.word}"


def _place(file: str, entry: Accepted) -> Span:
    return Span(file, entry.line, 1, 2)


def _idle(entry: Accepted, file: str) -> Finding:
    facts = as_facts({"finding": entry.message, "rule": entry.rule})
    return Finding(
        rule=IDLE_ACCEPTANCE,
        level=Level.NOTE,
        message=filled("accepted finding is no longer found: {finding} ({rule})", facts),
        span=_place(file, entry),
        case="idle",
        facts=facts,
        about=entry.about,
        remedy="write the list again with `loomwright accept`",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class NewBaseline:
    """A list to write: its text, how many findings of the reports it holds, and what could not be accepted."""

    text: str
    accepted: int
    refused: tuple[Finding, ...]


def new_baseline(reports: Sequence[Report], file: str, old: Baseline) -> NewBaseline:
    """The list of what the reports found; harnesses that are not among them keep what ``old`` says of them."""
    folder = Path(file).parent
    lists: dict[str, Sequence[Accepted]] = dict(old)
    refused: list[Finding] = []
    count = 0
    for report in reports:
        rows = _with_fingerprints(report, folder)
        refused += [finding for _, finding in rows if is_broken(finding)]
        taken = [
            Accepted(
                rule=finding.rule,
                level=finding.level,
                about=tuple(sorted(finding.about)),
                message=finding.message,
                fingerprint=fingerprint,
            )
            for fingerprint, finding in rows
            if not is_broken(finding)
        ]
        count += len(taken)
        lists[uri(report.harness.file, folder)] = taken
    return NewBaseline(text=_text(lists), accepted=count, refused=tuple(refused))


def _text(lists: Baseline | dict[str, Sequence[Accepted]]) -> str:
    """One finding a line, sorted: what was repaired is a line less in the next diff."""
    harnesses = []
    for harness, entries in sorted(lists.items()):
        if not entries:
            continue
        rows = [
            json.dumps(
                {
                    "rule": entry.rule,
                    "level": entry.level.word,
                    "about": list(entry.about),
                    "message": entry.message,
                    "fingerprint": entry.fingerprint,
                },
                ensure_ascii=False,
            )
            for entry in sorted(entries, key=lambda entry: (entry.rule, entry.about, entry.message, entry.fingerprint))
        ]
        harnesses.append(f"    {json.dumps(harness)}: [\n      " + ",\n      ".join(rows) + "\n    ]")
    inside = "{\n" + ",\n".join(harnesses) + "\n  }" if harnesses else "{}"
    return f'{{\n  "format": "{FORMAT}",\n  "version": {VERSION},\n  "harnesses": {inside}\n}}\n'
