"""GitHub workflow commands: a finding beside the line it is about. Printed to standard output, worst first.

The host shows the first ten errors and ten warnings of a step and drops the rest without a word, so the plain report
belongs beside it. A danger that is judged milder comes before all, as a warning, so that it is not dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import unquote

from ...checks.findings.finding import Level
from ...checks.runner.run import Report
from ...lang.files.uri import uri
from .entries import entries

_COMMANDS = {Level.ERROR: "error", Level.WARNING: "warning", Level.NOTE: "notice"}


def write(reports: Sequence[Report], *, waived: bool = False) -> str:
    """One command a line."""
    lines = []
    for row in sorted(entries(reports, waived=waived), key=lambda entry: (not entry.danger, -entry.level)):
        fields = {
            "file": unquote(uri(row.span.file)),
            "line": str(row.span.line),
            "endLine": str(row.span.line),
            "col": str(row.span.column),
            "endColumn": str(row.span.end_column),
            "title": row.rule,
        }
        where = ",".join(f"{name}={_field(value)}" for name, value in fields.items())
        command = _COMMANDS[Level.WARNING if row.danger else row.level]
        lines.append(f"::{command} {where}::{_data(chr(10).join((row.message, *row.evidence)))}")
    return "".join(f"{line}\n" for line in lines)


def _data(text: str) -> str:
    """The host's escapes for a message."""
    clean = text.encode("utf-8", "replace").decode("utf-8")
    return clean.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _field(text: str) -> str:
    """The host's escapes for a property."""
    return _data(text).replace(":", "%3A").replace(",", "%2C")
