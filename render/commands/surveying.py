"""What the commands that read a survey share: reading it, and showing its mistakes."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Final, NoReturn

import click

if TYPE_CHECKING:
    from ...lang.survey.record import SurveyReading

FOUND: Final = 1
CANNOT: Final = 2


def cannot(message: str) -> NoReturn:
    """Ends the command: a file cannot be read or written, or it is of the wrong sort."""
    click.echo(f"loomwright: {message}", err=True)
    raise click.exceptions.Exit(CANNOT)


def read(file: str) -> SurveyReading:
    """The survey in a file, its mistakes and those of its diagram shown on standard error."""
    from ...lang.files.reading import UnreadableError
    from ...lang.survey.reading import read_survey_file

    try:
        reading = read_survey_file(file)
    except UnreadableError as error:
        cannot(f"cannot read {error}")
    show_mistakes(reading)
    return reading


def show_mistakes(reading: SurveyReading) -> None:
    """Every mistake of a survey and of its diagram, and that what was understood is used."""
    from ...checks.runner.run import Report
    from ...lang.model.harness import Harness
    from ..report.findings import report_text, wants_colour

    found = [(reading.survey.file, reading.mistakes, "lines with a mistake are left out")]
    if reading.diagram is not None:
        found.append((reading.diagram.harness.file, reading.diagram.mistakes, "what was understood of it is used"))
    colour = wants_colour(sys.stderr, os.environ)
    for file, mistakes, unchecked in found:
        if mistakes:
            report = Report(
                harness=Harness(file=file),
                mistakes=mistakes,
                findings=(),
                waived=(),
                texts=reading.texts,
                unchecked=unchecked,
            )
            click.echo(report_text(report, colour=colour), nl=False, err=True, color=colour)


def has_mistakes(reading: SurveyReading) -> bool:
    return bool(reading.mistakes or (reading.diagram and reading.diagram.mistakes))
