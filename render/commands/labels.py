"""``loomwright labels``: labels for wire ends, plugs and fuses."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import click

from . import options
from .exits import FOUND
from .inputs import sound
from .outputs import ending_of, save, save_bytes

if TYPE_CHECKING:
    from ..bench.label_sheet import LabelSheet


@click.command()
@options.file
@click.option(
    "--only",
    "sorts",
    type=click.Choice(["wire", "connector", "fuse"]),
    multiple=True,
    help="Labels of this sort alone.",
)
@click.option("--as", "way", type=click.Choice(["wrap", "flag"]), default="wrap", help="How they go on a wire.")
@options.text_or_csv
@options.list_output
@options.paper
@click.option("--label", "size", metavar="WxH", default="40x20", show_default=True, help="Size of a label in mm.")
@click.option(
    "--first", metavar="XxY", default="5x8.5", show_default=True, help="Upper left corner of the first label in mm."
)
@click.option("--step", metavar="XxY", default="40x20", show_default=True, help="From one label to the next in mm.")
@click.option("--used", type=click.IntRange(0), default=0, help="This many labels of the first sheet are used up.")
def labels(
    file: str,
    sorts: tuple[str, ...],
    way: str,
    format_: str,
    output: str | None,
    paper: str,
    size: str,
    first: str,
    step: str,
    used: int,
) -> None:
    """Make labels.

    Each end of each new piece of wire of FILE gets one, each half of each connector of its looms, and each fuse, on
    sheets whose measures are given in millimetres. A label for a wire wraps round it and repeats wire and terminal, so
    that they can be read from each side; as a flag it also says on both halves where the other end is. Letters are at
    least 1.8 mm high.

    \b
    Examples:
      loomwright labels bike.loom
      loomwright labels bike.loom --format csv > labels.csv
      loomwright labels bike.loom -o labels.pdf
      loomwright labels bike.loom --as flag --label 60x10 --first 10x10 --step 65x12 -o flags.pdf

    A label whose words do not fit is named and left blank. Exits 0, 1 when one does not fit or the text has errors,
    2 when a file cannot be read or written.
    """
    from ...checks.bench.labels import SORTS
    from ...checks.bench.labels import labels as labelled
    from ...checks.bench.looms import looms
    from ...checks.bench.pieces import pieces
    from ..bench import label_sheet as sheets

    ending = ending_of(output)
    sheet = _sheet(paper, size, first, step, used)
    harness = sound(file)
    made = looms(harness, pieces(harness))
    found = labelled(harness, made, cast(Any, sorts) or SORTS)
    if ending != "pdf" or output is None:
        text = sheets.labels_csv(found) if (ending or format_) == "csv" else sheets.labels_text(found)
        click.echo(text, nl=False) if output is None else save(output, text)
        if output is not None:
            click.echo(f"{output}: written", err=True)
        return
    folded = cast(Any, way)
    save_bytes(output, sheets.labels_pdf(harness.title or Path(file).name, found, sheet, folded))
    over = sheets.left_out(found, sheet, folded)
    for label in over:
        click.echo(f"the label of {label.sort} {label.of} does not fit {size} mm with letters of 1.8 mm", err=True)
    click.echo(f"{output}: written; {sheets.CAUTION}", err=True)
    if over:
        raise click.exceptions.Exit(FOUND)


def _sheet(paper: str, size: str, first: str, step: str, used: int) -> LabelSheet:
    """The sheet that the options describe. Raises ``click.UsageError``."""
    from ..bench.label_sheet import LabelSheet

    width, height = _pair("--label", size, 1.0)
    x, y = _pair("--first", first, 0.0)
    step_x, step_y = _pair("--step", step, 1.0)
    if step_x < width or step_y < height:
        raise click.UsageError(f"--step {step}: labels of {size} mm would lie on each other: expected {size} or more")
    sheet = LabelSheet(paper=paper, width=width, height=height, x=x, y=y, step_x=step_x, step_y=step_y, used=used)
    if not (sheet.across and sheet.down):
        raise click.UsageError(f"--label {size}: no such label fits a sheet of {paper} from {first} mm on")
    if used >= sheet.across * sheet.down:
        raise click.UsageError(f"--used {used}: a sheet has {sheet.across * sheet.down} labels: expected fewer")
    return sheet


def _pair(option: str, text: str, least: float) -> tuple[float, float]:
    from ...lang.quantities.quantity import shown

    one, _, other = text.lower().partition("x")
    try:
        pair = float(one), float(other)
    except ValueError:
        raise click.UsageError(f"{option} {text}: expected two lengths in mm, such as 40x20") from None
    if not all(math.isfinite(each) and least <= each <= 1000.0 for each in pair):
        raise click.UsageError(f"{option} {text}: expected lengths from {shown(least)} to 1000 mm, such as 40x20")
    return pair
