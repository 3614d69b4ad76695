"""The files of a command line: read, found in folders, taken from standard input, their mistakes shown."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from .exits import FOUND, CannotError, no_such

if TYPE_CHECKING:
    from ...lang.diagnostics.diagnostic import Diagnostic
    from ...lang.model.harness import Harness, Reading

STANDARD_INPUT: Final = "-"


def check_standard_input(files: Sequence[str], stdin_filename: str | None) -> None:
    """Refuse standard input twice, and a name for it where it is not read."""
    if files.count(STANDARD_INPUT) > 1:
        raise click.UsageError("standard input can be read once: give - once")
    if stdin_filename is not None and STANDARD_INPUT not in files:
        raise click.UsageError("--stdin-filename names what standard input holds: give - as a FILE")


def in_folders(files: Sequence[str], *, titled: bool = False) -> Iterator[str]:
    """The files of the command line, with those of a folder in its place, each once; ``titled``: only harnesses of
    their own.
    """
    seen: set[str] = set()
    for file in _expanded(files, titled=titled):
        real = file if file == STANDARD_INPUT or "\0" in file else os.path.realpath(file)
        if real not in seen:
            seen.add(real)
            yield file


def _expanded(files: Sequence[str], *, titled: bool) -> Iterator[str]:
    from ...lang.files.folders import harness_files, has_title

    for file in files:
        if file != STANDARD_INPUT and Path(file).is_dir():
            found = [each for each in harness_files(file) if not titled or has_title(each)]
            if not found:
                needed = "a .loom file that has a `loom` line" if titled else "a .loom file"
                raise CannotError(f"cannot read {file}: this is a folder without {needed}")
            yield from found
        else:
            yield file


def read(file: str, stdin_filename: str | None = None) -> Reading:
    """The harness of one file, with its mistakes. Raises ``CannotError`` where the file cannot be read."""
    from ...lang.files.reading import UnreadableError, read_file, read_text

    if file == STANDARD_INPUT:
        text = sys.stdin.buffer.read().decode("utf-8", "surrogateescape")  # as files are read: reported line by line
        return read_text(text, stdin_filename or "<stdin>")
    try:
        return read_file(file)
    except UnreadableError as error:
        raise CannotError(f"cannot read {error}") from None


def of_revision(name: str) -> tuple[str, str]:
    """A revision and a file in ``REV:FILE``; the revision is empty where a file has that whole name."""
    revision, colon, file = name.partition(":")
    return ("", name) if not colon or not revision or not file or Path(name).exists() else (revision, file)


def read_either(name: str) -> Reading:
    """A file, or one of a revision: ``REV:FILE``. Raises ``CannotError``."""
    revision, file = of_revision(name)
    if not revision:
        return read(name)
    from ...lang.files.reading import UnreadableError
    from ...lang.files.revisions import read_revision

    try:
        return read_revision(revision, file)
    except UnreadableError as error:
        raise CannotError(f"cannot read {name}: {error}") from None


def read_all(files: Sequence[str], stdin_filename: str | None) -> tuple[list[Reading], bool]:
    """Every file that can be read, and whether one could not: that is stated at once, and the others are still read."""
    check_standard_input(files, stdin_filename)
    readings, unreadable = [], False
    for file in in_folders(files, titled=True):
        try:
            readings.append(read(file, stdin_filename))
        except CannotError as failure:
            failure.show()
            unreadable = True
    return readings, unreadable


def sound(file: str, stdin_filename: str | None = None) -> Harness:
    """The harness of a file without mistakes; where there are some they are reported, and the command ends with 1."""
    return sound_reading(file, stdin_filename).harness


def sound_reading(file: str, stdin_filename: str | None = None) -> Reading:
    """The same with its texts."""
    if stdin_filename is not None and file != STANDARD_INPUT:
        raise click.UsageError("--stdin-filename names what standard input holds: give - as FILE")
    return _without_mistakes(read(file, stdin_filename))


def sound_either(name: str) -> Harness:
    """The harness of a file or of one of a revision, as :func:`read_either` reads it, without mistakes."""
    return _without_mistakes(read_either(name)).harness


def _without_mistakes(reading: Reading) -> Reading:
    if not reading.mistakes:
        return reading
    show_mistakes(reading.harness, reading.mistakes, reading.texts, "fix the errors in the file first")
    raise click.exceptions.Exit(FOUND)


def show_mistakes(harness: Harness, mistakes: tuple[Diagnostic, ...], texts: Mapping[str, str], unchecked: str) -> None:
    """The mistakes of a text on standard error; ``unchecked`` says what they leave open."""
    from ...checks.runner.run import Report
    from ..report.findings import report_text, wants_colour

    report = Report(harness=harness, mistakes=mistakes, findings=(), waived=(), texts=dict(texts), unchecked=unchecked)
    colour = wants_colour(sys.stderr, os.environ)
    click.echo(report_text(report, colour=colour), nl=False, err=True, color=colour)


def named_states(harness: Harness, file: str, names: tuple[str, ...]) -> tuple[str, ...]:
    """The named states that the command line asks for; all of them where it asks for none."""
    from ..report.asked import without_states

    for name in names:
        if name not in harness.states:
            raise no_such("state", name, harness.states)
    if lacking := without_states(harness):
        raise CannotError(f"{file} {lacking}")
    return names or tuple(harness.states)
