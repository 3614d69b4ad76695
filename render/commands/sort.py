"""``loomwright sort``: what of an old harness to keep, and what that got from the rest."""

from __future__ import annotations

import os
from pathlib import Path

import click

from . import options
from .exits import CannotError, reason
from .inputs import STANDARD_INPUT, sound_reading


@click.command()
@click.argument("file", metavar="STOCK", shell_complete=options.file_names)
@click.option(
    "--write",
    "new",
    metavar="NEW.loom",
    help="Also write the first file of the rebuild; an existing file is not overwritten.",
)
@options.text_or_json
def sort(file: str, new: str | None, format_: str) -> None:
    """Sort an old harness: which parts to keep, which to replace.

    Sorts every part and wire of STOCK into charging, ignition, starting, sensing and the rest, by what it is connected
    to and what it does, not by its name. Proposes to keep charging, ignition and sensors, and to replace all else;
    `kept` and `removed` in the file override that. Then lists the boundary: each lead of a kept part that is cut, and
    what the part got through it.

    \b
    Examples:
      loomwright sort stock.loom
      loomwright sort stock.loom --write rebuild.loom
      loomwright check rebuild.loom

    What `check` finds in the written file is the work that is left. Exits 0, 1 when the text has errors, 2 when
    a file cannot be read or written.
    """
    from ...checks.conversion.boundary import boundary
    from ...checks.conversion.side import Side
    from ...checks.conversion.sorting import Sorting
    from ..report import sorting as report

    if new is not None and file == STANDARD_INPUT:
        raise click.UsageError("--write needs a STOCK that has a name: the rebuild names it in `converts`")
    reading = sound_reading(file)
    side = Side(reading.harness)
    found = Sorting(side.circuit)
    leads = boundary(found, side)
    if new is not None:
        from ...lang.editing.formatter import TidyError
        from ..report.first_rebuild import first_rebuild

        folder = Path(new).parent
        old = os.path.relpath(file, folder).replace(os.sep, "/")
        if old.startswith(".."):
            raise CannotError(f"{new}: a rebuild reads its old harness from its own folder or below: put both there")
        try:
            text = first_rebuild(found, leads, reading.texts, old, new)
            with Path(new).open("x", encoding="utf-8", newline="\n") as stream:
                stream.write(text)
        except FileExistsError:
            raise CannotError(f"{new} is there already and stays as it is: name another file") from None
        except (OSError, ValueError) as error:
            raise CannotError(f"{new}: cannot be written: {reason(error)}") from None
        except TidyError as error:
            raise CannotError(f"{new}: {error}") from None
    write = report.as_json if format_ == "json" else report.as_text
    click.echo(write(found, leads), nl=False)
