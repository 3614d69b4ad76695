"""``loomwright record``: readings of a proof, compared with what must show."""

from __future__ import annotations

from pathlib import Path

import click

from . import options
from .exits import FOUND, CannotError, reason
from .inputs import sound


@click.command()
@options.file
@click.argument("readings", metavar="READINGS.csv", shell_complete=options.file_names)
def record(file: str, readings: str) -> None:
    """Compare the readings of a proof.

    READINGS.csv is the CSV that `prove` made for FILE, with its column `reading` filled in: `beep` or `silent`, `ok` or
    `not ok`, a figure with its unit or in the row's own, `open`; in a row of first power what is seen, such as `HORN
    dead`. A row without a reading is not done yet. Names the rows that are off and what single fault explains them;
    readings of first power go on to `suspect`.

    \b
    Examples:
      loomwright prove bike.loom -o proof.csv
      loomwright record bike.loom proof.csv

    Exits 0, 1 when a row is off or the text has errors, 2 when a file cannot be read or does not belong to FILE.
    """
    from ...checks.bench.proving.plan import Proof
    from ...checks.bench.proving.record import read_record, verdict
    from ...checks.bench.spreadsheet import SheetError
    from ..bench.record_text import record_text

    proof = Proof(sound(file))
    try:
        read = read_record(Path(readings).read_bytes(), readings, proof)
    except (OSError, ValueError) as error:
        if isinstance(error, SheetError):
            raise CannotError(str(error)) from None
        raise CannotError(f"cannot read {readings}: {reason(error)}") from None
    found = verdict(proof, read)
    click.echo(record_text(proof, found), nl=False)
    if found.off:
        raise click.exceptions.Exit(FOUND)
