"""``loomwright size``: proposes sizes of wires and ratings of fuses."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ...lang.diagnostics.visible import visible
from . import options
from .exits import CannotError, no_such, reason
from .inputs import STANDARD_INPUT, sound_reading
from .judging import limits_for
from .outputs import in_colour
from .progress import progress

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from ...checks.sizing.sized import Sizing


@click.command()
@options.file
@click.argument("names", metavar="[NAME]...", nargs=-1)
@click.option("--all", "every", is_flag=True, help="Show what stays as it is, too.")
@options.text_or_json
@click.option("--thinner", is_flag=True, help="Propose thinner wires and smaller fuses where these are enough, too.")
@click.option(
    "--write", is_flag=True, help="Put the proposed sizes and ratings into the files, and change nothing else."
)
@options.profile
@options.stdin_filename
@options.today
def size(
    file: str,
    names: tuple[str, ...],
    every: bool,
    format_: str,
    thinner: bool,
    write: bool,
    profile: str | None,
    stdin_filename: str | None,
    today: datetime | None,
) -> None:
    """Propose wire sizes and fuse ratings.

    Finds the wires that are too thin for their current, fuse, voltage drop or a dead short and says which of these
    decides, with the smallest standard size, metric and AWG, that is enough; and the fuses that are too small for their
    current or too large for the wires behind them, with the least rating that carries the current: a smaller fuse comes
    before a thicker wire. What is enough stays as it is; --thinner proposes less where less is enough; leads of
    battery, starter and engine ground never become thinner than the main feed. With NAMEs (wires and fuses), only for
    these. A star marks a change. Files are changed only with --write; parts that are kept from an old harness never
    are, and waived findings do not count.

    \b
    Examples:
      loomwright size bike.loom
      loomwright size bike.loom 12 14 F-IGN --all
      loomwright size bike.loom --write

    Exits 0, 1 when the file has errors, 2 when a file cannot be read or written.
    """
    from ...checks.sizing.sizing import UnknownNameError, sizing
    from ...lang.editing.resize import own_files
    from ..report.sizes import sizing_json, sizing_text

    if write and file == STANDARD_INPUT:
        raise click.UsageError("--write needs files to write: standard input is none")
    reading = sound_reading(file, stdin_filename)
    harness = reading.harness
    files = own_files(reading.texts)
    places = {name: thing.span for things in (harness.wires, harness.parts) for name, thing in things.items()}
    foreign = [name for name, span in places.items() if span.file not in (*files, harness.file)]
    day = options.day_of(today)
    limits = limits_for(harness, profile)
    try:
        with progress("sizing"):
            found = sizing(reading, today=day, profile=limits, names=names, foreign=foreign, thinner=thinner)
    except UnknownNameError as unknown:
        raise no_such(f"wire or fuse of {file}", unknown.name, unknown.known) from None
    colour = in_colour(format_)
    text = sizing_json(found) if format_ == "json" else sizing_text(found, every=every or bool(names), colour=colour)
    click.echo(text, nl=False, color=colour)
    if write:
        _write_sizes(files, found)


def _write_sizes(files: Sequence[str], found: Sizing) -> None:
    """Puts what is proposed into the files, all or none, and tells which were written."""
    from ...lang.editing.resize import ResizeError, resized_files, write_all

    try:
        changed = resized_files(files, found.sizes, found.ratings)
        write_all(changed)
    except ResizeError as error:
        raise CannotError(str(error)) from None
    except OSError as error:
        raise CannotError(f"{error.filename or 'a file'}: cannot be written: {reason(error)}") from None
    for each in changed:
        click.echo(f"{visible(each.file)}: written", err=True)
