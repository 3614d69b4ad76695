"""``loomwright prove``: the sheets to prove a harness by."""

from __future__ import annotations

from pathlib import Path

import click

from . import options
from .inputs import sound
from .outputs import ending_of, save, save_bytes
from .progress import progress

STAGES = ("eye", "table", "rest", "power")


@click.command()
@options.file
@click.option(
    "--stage",
    "names",
    type=click.Choice(STAGES),
    multiple=True,
    help="This stage alone: by eye, on the table, battery off, first power; may be repeated.",
)
@options.text_or_csv
@options.list_output
@options.paper
def prove(file: str, names: tuple[str, ...], format_: str, output: str | None, paper: str) -> None:
    """Plan how to prove a harness.

    Four stages, each with its cautions. By eye: what a meter cannot show. On the table: each loom of FILE with a
    beeper, one row less than it has points, a current through thick wires, a pull for each kind of crimp; kept wires
    are left out. On the motorcycle with the battery's leads off: resistance where first power would show nothing, or
    smoke. First power: each fuse with a lamp across its clips, each control there and back, then the engine, with the
    voltages to expect. What no row shows is listed.

    \b
    Examples:
      loomwright prove bike.loom
      loomwright prove bike.loom --stage table
      loomwright prove bike.loom -o prove.pdf
      loomwright prove bike.loom -o prove.csv

    Fill in the column `reading` of the CSV and let `record` read it back.

    Exits 0, 1 when the text has errors, 2 when a file cannot be read or written.
    """
    from ...checks.bench.proving.plan import Proof
    from ...lang.files.revisions import revision_of
    from ..bench import prove_sheet

    ending = ending_of(output)
    proof = Proof(sound(file))
    stages = tuple(number for number, name in enumerate(STAGES) if not names or name in names)
    with progress("planning the proof"):
        if ending == "pdf":
            title = proof.harness.title or Path(file).name
            made: str | bytes = prove_sheet.prove_pdf(title, proof, stages, paper, revision_of(file))
        elif (ending or format_) == "csv":
            made = prove_sheet.prove_csv(proof, stages)
        else:
            made = prove_sheet.prove_text(proof, stages)
    if isinstance(made, bytes):
        save_bytes(output or "", made)
    elif output is None:
        click.echo(made, nl=False)
    else:
        save(output, made)
    if output is not None:
        click.echo(f"{output}: written", err=True)
