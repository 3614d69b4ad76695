"""``loomwright buy``: what to buy for a loom, less what is on the shelf."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from . import options
from .exits import CannotError, reason
from .inputs import sound
from .outputs import ending_of, save, save_bytes
from .progress import progress

if TYPE_CHECKING:
    from ...checks.bench.pieces import Piece
    from ...checks.bench.purchase import Item
    from ...checks.bench.shelf import Shelf
    from ...checks.bench.spools import Plan, Unplanned


@click.command()
@options.file
@click.option("--shelf", metavar="SHELF.csv", help="What is there already, and the packs that things are sold in.")
@click.option("--spools", is_flag=True, help="Plan which piece is cut from which spool; needs --shelf.")
@options.text_or_csv
@options.list_output
@options.paper
def buy(file: str, shelf: str | None, spools: bool, format_: str, output: str | None, paper: str) -> None:
    """List what to buy.

    Wire by colour, size and class; crimps, seals, housings, blanking plugs, covers and ties; fuses with a spare of
    each; relays, lamps and parts. Kept parts and wires are there already. SHELF.csv has the columns item, have and
    unit (m or pieces), and may have pack, kind and note; items are named as this command prints them, each spool of
    wire in a separate row. What is missing is rounded up to packs.

    \b
    Examples:
      loomwright buy bike.loom
      loomwright buy bike.loom --format csv > shelf.csv
      loomwright buy bike.loom --shelf shelf.csv
      loomwright buy bike.loom --shelf shelf.csv --spools -o buy.pdf

    With --spools CSV is the plan of cuts. Exits 0, 1 when the text has errors, 2 when a file cannot be read or
    written.
    """
    from ...checks.bench.looms import looms
    from ...checks.bench.pieces import owed, pieces
    from ...checks.bench.purchase import purchase, restripes, with_shelf
    from ...checks.bench.shelf import EMPTY, unknown
    from ...lang.files.revisions import revision_of
    from ..bench import buy_list
    from ..bench.owed import owed_lines

    ending = ending_of(output)
    if spools and shelf is None:
        raise click.UsageError("--spools plans with the spools and packs of a shelf: name it with --shelf")
    harness = sound(file)
    found = pieces(harness)
    made = looms(harness, found)
    items = purchase(harness, made)
    there = EMPTY if shelf is None else _shelf(shelf, items)
    lines = with_shelf(items, there.totals, there.packs)
    unused = unknown(there, items)
    new = [piece for loom in made for piece in loom.pieces]
    stripes = restripes(new)
    with progress("planning the spools"):
        plans = _plans(new, there) if spools else []
    lacking = owed_lines(harness, found, owed(harness, found), buy_list.ON_BUY_LIST)
    if ending == "pdf" and output is not None:
        notes = buy_list.notes_of(unused, stripes, plans, lacking)
        title = harness.title or Path(file).name
        save_bytes(output, buy_list.buy_pdf(title, lines, plans, notes, paper, revision_of(file)))
    elif (ending or format_) == "csv":
        text = buy_list.spools_csv(plans) if spools else buy_list.buy_csv(lines)
        click.echo(text, nl=False) if output is None else save(output, text)
        for line in buy_list.notes_of(unused, stripes, plans, lacking):
            click.echo(line, err=True)
    else:
        text = buy_list.buy_text(lines, unused, stripes, plans, lacking, shelf=shelf is not None)
        click.echo(text, nl=False)
    if output is not None:
        click.echo(f"{output}: written", err=True)


def _shelf(file: str, items: tuple[Item, ...]) -> Shelf:
    """What the file of a shelf says. Raises ``CannotError``."""
    from ...checks.bench.shelf import read_shelf
    from ...checks.bench.spreadsheet import SheetError

    try:
        return read_shelf(Path(file).read_bytes(), file, items)
    except (OSError, ValueError) as error:
        if isinstance(error, SheetError):
            raise CannotError(str(error)) from None
        raise CannotError(f"cannot read {file}: {reason(error)}") from None


def _plans(new: list[Piece], shelf: Shelf) -> list[Plan | Unplanned]:
    """A plan for each kind of wire. Raises ``CannotError`` where the solver is needed and not installed."""
    from ...checks.bench.spools import Cut, NoSolverError, plan

    cuts: dict[str, list[Cut]] = {}
    for piece in new:
        if piece.cut is not None:
            cuts.setdefault(piece.spool.name, []).append(Cut(piece=piece.name, length=piece.cut))
    try:
        return [
            plan(kind, each, shelf.have.get(kind, ()), shelf.packs.get(kind, 0.0))
            for kind, each in sorted(cuts.items())
        ]
    except NoSolverError:
        raise CannotError(
            "--spools needs SciPy, which is not installed: install it with python -m pip install 'loomwright[spools]'"
        ) from None
