"""What commands print and save: reports in every format, and files put in place whole."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from .exits import CannotError, reason

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...checks.runner.run import Report

FORMATS: Final = {
    "text": "",
    "json": "json_report",
    "sarif": "sarif",
    "junit": "junit",
    "github": "annotations",
    "gitlab": "code_quality",
}
"""What ``check`` can write, and the module of ``render.formats`` that writes it."""


def in_colour(format_: str) -> bool:
    """Whether what is printed in this format gets colours: text on a terminal that wants them."""
    from ..report.findings import wants_colour

    return format_ == "text" and wants_colour(sys.stdout, os.environ)


def print_reports(reports: Sequence[Report], format_: str, *, waived: bool) -> None:
    colour = in_colour(format_)
    click.echo(_formatted(reports, format_, waived=waived, colour=colour), nl=False, color=colour)


def save_report(reports: Sequence[Report], format_: str, file: str, *, waived: bool) -> None:
    """Write reports to a file that is no harness."""
    read = {os.path.realpath(name) for report in reports for name in report.texts if "\0" not in name}
    if file.endswith(".loom") or ("\0" not in file and os.path.realpath(file) in read):
        raise click.UsageError(f"--also {format_} {file} would write over a harness: name another file")
    save(file, _formatted(reports, format_, waived=waived))


def _formatted(reports: Sequence[Report], format_: str, *, waived: bool, colour: bool = False) -> str:
    if format_ == "text":
        from ..report.findings import report_text

        return "".join(report_text(report, colour=colour, waived=waived) for report in reports)
    from importlib import import_module

    text: str = import_module(f"..formats.{FORMATS[format_]}", __package__).write(reports, waived=waived)
    return text


def ending_of(output: str | None, known: Sequence[str] = ("pdf", "csv")) -> str:
    """The format that the name of an output file tells; empty where there is no file."""
    ending = "" if output is None else Path(output).suffix.lower().removeprefix(".")
    if output is not None and ending not in known:
        raise click.UsageError(f"-o {output}: the ending tells the format; expected one of {', '.join(known)}")
    return ending


def save(file: str, text: str) -> None:
    """Put a text into a file, whole or not at all; its folder is made without one."""
    save_bytes(file, text.encode("utf-8", "backslashreplace"))


def save_bytes(file: str, data: bytes) -> None:
    """The same with what is no text."""
    from ...lang.editing.replace import replace_file

    try:
        Path(file).parent.mkdir(parents=True, exist_ok=True)
        replace_file(Path(file), data)
    except (OSError, ValueError) as error:
        raise CannotError(f"{file}: cannot be written: {reason(error)}") from None
