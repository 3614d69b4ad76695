"""``loomwright compare``: what differs between two harnesses, and in what they do."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import click

from . import options
from .exits import FOUND
from .inputs import read_either, show_mistakes
from .judging import folder_settings, terms_of
from .outputs import in_colour
from .progress import progress

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from ...checks.runner.run import Report
    from ...lang.model.harness import Reading

WRITERS: Final = ("text", "markdown", "json")


@click.command()
@click.argument("old", metavar="OLD", shell_complete=options.file_names)
@click.argument("new", metavar="NEW", shell_complete=options.file_names)
@click.option("--format", "format_", type=click.Choice(WRITERS), default="text", help="What to write.")
@click.option("--findings", "with_findings", is_flag=True, help="Also list what a check finds in one of them alone.")
@click.option(
    "--faults",
    "with_faults",
    is_flag=True,
    help="Also list effects of categories I and II of single faults that are new; takes longer.",
)
@options.today
def compare(old: str, new: str, format_: str, with_findings: bool, with_faults: bool, today: datetime | None) -> None:
    """Compare two harnesses, and what they do.

    OLD and NEW are files, or REV:FILE for a file as it was in a revision of its git repository. Parts and wires are
    matched by name, by `was`, and by what they connect: added, removed, renamed, re-routed, resized. Then it lists what
    behaves differently: what is live in other switch positions, over every combination of the controls that both have,
    and voltage and current in every state that both name.

    \b
    Examples:
      loomwright compare stock.loom rebuild.loom
      loomwright compare HEAD:bike.loom bike.loom
      loomwright compare origin/main:bike.loom bike.loom --findings --faults --format markdown

    Exits 0 whether anything differs or not, 1 when a file has errors, 2 when a file cannot be read.
    """
    from ...checks.conversion.comparison import Comparison
    from ...checks.conversion.difference import compared
    from ...checks.conversion.new_findings import finding_changes
    from ...checks.conversion.side import Side
    from ..report import comparison as report

    readings = [read_either(name) for name in (old, new)]
    _refuse_mistaken(readings)
    sides = [Side(reading.harness) for reading in readings]
    comparison = Comparison(*sides, by_ends=True)
    with progress("comparing"):
        found = compared(comparison, old, new, with_faults=with_faults)
        reports = [_checked(reading, options.day_of(today)) for reading in readings] if with_findings else []
    _refuse_mistaken(reports)
    if reports:
        before, now = (each.findings for each in reports)
        found = replace(found, findings=finding_changes(comparison.match, before, now))
    colour = in_colour(format_)
    match format_:
        case "json":
            text = report.as_json(found)
        case "markdown":
            text = report.as_markdown(found)
        case _:
            text = report.as_text(found)
    click.echo(text, nl=False, color=colour)


def _refuse_mistaken(harnesses: Sequence[Reading | Report]) -> None:
    """End with what is wrong with any of them, such as that what it converts cannot be read: of such a harness no
    finding is known, and none may pass for settled or new.
    """
    mistaken = [each for each in harnesses if each.mistakes]
    for each in mistaken:
        show_mistakes(each.harness, each.mistakes, each.texts, "fix the errors in the file first")
    if mistaken:
        raise click.exceptions.Exit(FOUND)


def _checked(reading: Reading, day: date) -> Report:
    """What a check finds, by the settings of the harness's folder. Raises ``CannotError``."""
    from ...checks.runner.run import check

    return check(reading, today=day, **terms_of(folder_settings(reading.harness.file), None, own_rules=False))
