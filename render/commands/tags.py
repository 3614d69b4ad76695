"""``loomwright tags``: tags for the old wires, before they are cut."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from . import options
from .exits import CannotError
from .inputs import STANDARD_INPUT, sound, sound_reading
from .outputs import save, save_bytes

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ..report.tag_sheet import Sheet

WRITERS: Final = ("text", "csv", "json")
ENDINGS: Final = ("pdf", "csv", "json")


@click.command()
@click.argument("file", metavar="STOCK", shell_complete=options.file_names)
@click.option("--new", metavar="NEW.loom", help="The rebuild that converts STOCK: it decides what is kept.")
@click.option("--format", "format_", type=click.Choice(WRITERS), default="text", help="What to write.")
@click.option("-o", "--output", metavar="FILE", help="Write it here; the ending tells the format: pdf, csv or json.")
@click.option("--paper", type=click.Choice(["A4", "A3", "letter"]), default="A4", help="Paper of the PDF.")
@click.option("--tag", "size", metavar="WxH", default="62x28", show_default=True, help="Size of a tag in mm.")
def tags(file: str, new: str | None, format_: str, output: str | None, paper: str, size: str) -> None:
    """Make tags for the old wires.

    Makes a tag for each end of each wire of STOCK, except in splices: what it is, where the wire goes, whether to keep
    it, take it off or cut it, and what a kept part got through it. They come in the order in which to work along the
    motorcycle. With --new they also name the end in the new harness; without it they keep what `sort` proposes, and
    leave a line to write on.

    \b
    Examples:
      loomwright tags stock.loom
      loomwright tags stock.loom --new rebuild.loom -o tags.pdf
      loomwright tags stock.loom --format csv > tags.csv

    A tag without room for all its words is named, and they are printed in full on the last page.

    Exits 0, 1 when a text has errors, 2 when a file cannot be read or written.
    """
    from ...checks.conversion.side import Side
    from ...checks.conversion.sorting import Sorting
    from ...checks.conversion.tags import tags as tagged
    from ...lang.circuit.build import build_circuit
    from ..report import tags as report

    ending = "" if output is None else Path(output).suffix.lower().removeprefix(".")
    if output is not None and ending not in ENDINGS:
        raise click.UsageError(f"-o {output}: the ending tells the format; expected one of {', '.join(ENDINGS)}")
    sheet = _sheet(paper, size)
    harness = sound_reading(file).harness
    rebuilt = None if new is None else build_circuit(_rebuild(file, new))
    side = Side(harness)
    found = tagged(Sorting(side.circuit), side, rebuilt)
    text = {"csv": report.tags_csv, "json": report.tags_json}.get(ending or format_, report.tags_text)(found)
    if output is None:
        click.echo(text, nl=False)
        return
    if ending == "pdf":
        from ..report.tag_sheet import left_off, tags_pdf

        title = harness.title or Path(file).name
        save_bytes(output, tags_pdf(found, sheet, title))
        for each in left_off(found, sheet):
            click.echo(f"tag {each.number} ({each.end}, wire {each.wire}) does not fit: see the last page", err=True)
    else:
        save(output, text)
    click.echo(f"{output}: written", err=True)


def _sheet(paper: str, size: str) -> Sheet:
    from ..report.tag_sheet import LEAST, Sheet

    width, _, height = size.lower().partition("x")
    try:
        sheet = Sheet(paper, float(width), float(height))
    except ValueError:
        raise click.UsageError(f"--tag {size}: expected width x height in mm, such as 62x28") from None
    if not (sheet.width >= LEAST[0] and sheet.height >= LEAST[1]):
        raise click.UsageError(f"--tag {size}: expected 45x24 or more, in mm, so that there is room to write")
    if not (sheet.columns and sheet.rows):
        raise click.UsageError(f"--tag {size}: is larger than a sheet of {paper}")
    return sheet


def _rebuild(file: str, new: str) -> Harness:
    """The rebuild, once it is sure that it converts this old harness."""
    harness = sound(new)
    named = harness.conversion.converts
    if named is None:
        raise CannotError(f'{new} converts no harness: write in it: converts "{Path(file).name}"')
    old = str(Path(new).parent / named)
    if STANDARD_INPUT not in (file, new) and os.path.realpath(old) != os.path.realpath(file):
        raise CannotError(f"{new} converts {old}, not {file}: name the old harness that it converts")
    return harness
