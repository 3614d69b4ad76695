"""``loomwright cut``: the list to cut a loom from."""

from __future__ import annotations

from pathlib import Path

import click

from . import options
from .exits import FOUND
from .inputs import sound
from .outputs import ending_of, save, save_bytes


@click.command()
@options.file
@click.option("--by", "order", type=click.Choice(["spool", "loom"]), default="spool", help="To cut, or to lay.")
@options.text_or_csv
@options.list_output
@options.paper
def cut(file: str, order: str, format_: str, output: str | None, paper: str) -> None:
    """List what to cut.

    Every new piece of wire of FILE with its length and what goes on its ends: by spool, longest first, to cut, or by
    loom and branch to lay, with how thick each stretch is. Kept wires are left out. What the text does not say stays
    blank, and is listed once as owed.

    \b
    Examples:
      loomwright cut bike.loom
      loomwright cut bike.loom --by loom
      loomwright cut bike.loom -o cut.csv
      loomwright cut bike.loom -o cut.pdf

    Exits 0, 1 when a piece has no length or the text has errors, 2 when a file cannot be read or written.
    """
    from ...checks.bench.looms import looms
    from ...checks.bench.pieces import owed, pieces
    from ...checks.bench.stretches import stretches
    from ...lang.files.revisions import revision_of
    from ..bench import cut_list
    from ..bench.owed import owed_lines

    ending = ending_of(output)
    harness = sound(file)
    found = pieces(harness)
    made = looms(harness, found)
    lacking = owed_lines(harness, found, owed(harness, found), ("length", "size", "colour", "ends"))
    kept = sum(wire.kept for wire in harness.wires.values())
    if ending == "pdf" and output is not None:
        title = harness.title or Path(file).name
        data = cut_list.cut_pdf(title, made, lacking, order=order, paper=paper, revision=revision_of(file))
        save_bytes(output, data)
    elif (ending or format_) == "csv":
        text = cut_list.cut_csv(made, order=order)
        click.echo(text, nl=False) if output is None else save(output, text)
    else:
        click.echo(
            cut_list.cut_text(made, [stretches(harness, each.pieces) for each in made], kept, lacking, order=order),
            nl=False,
        )
    if output is not None or format_ == "csv":
        for line in lacking:
            click.echo(line, err=True)
    if output is not None:
        click.echo(f"{output}: written", err=True)
    if any(piece.cut is None and not piece.kept for piece in found):
        raise click.exceptions.Exit(FOUND)
