"""What the commands that read a survey share: reading it, and showing its mistakes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from . import inputs
from .exits import FOUND, CannotError

if TYPE_CHECKING:
    from ...lang.survey.record import SurveyReading


def read(file: str) -> SurveyReading:
    """The survey in a file, its mistakes and those of its diagram shown on standard error."""
    from ...lang.files.reading import UnreadableError
    from ...lang.survey.reading import read_survey_file

    try:
        reading = read_survey_file(file)
    except UnreadableError as error:
        raise CannotError(f"cannot read {error}") from None
    show_mistakes(reading)
    return reading


def show_mistakes(reading: SurveyReading) -> None:
    """Every mistake of a survey and of its diagram, and that what was understood is used."""
    from ...lang.model.harness import Harness

    found = [(reading.survey.file, reading.mistakes, "lines with a mistake are left out")]
    if reading.diagram is not None:
        found.append((reading.diagram.harness.file, reading.diagram.mistakes, "what was understood of it is used"))
    for file, mistakes, unchecked in found:
        if mistakes:
            inputs.show_mistakes(Harness(file=file), mistakes, reading.texts, unchecked)


def has_mistakes(reading: SurveyReading) -> bool:
    return bool(reading.mistakes or (reading.diagram and reading.diagram.mistakes))


def require_leads(file: str, reading: SurveyReading) -> None:
    """End where no half of the survey has a lead, so that there is nothing to work on; its mistakes say why, if any."""
    if any(half.wired for half in reading.survey.halves.values()):
        return
    if reading.mistakes:
        raise click.exceptions.Exit(FOUND)
    raise CannotError(f"{file} names no half with a lead: write one, such as: half P1 socket og/rd bk")
