"""``loomwright bench``: every list, label and drawing of a harness for the bench, in one folder."""

from __future__ import annotations

from pathlib import Path

import click

from . import options
from .exits import FOUND
from .inputs import STANDARD_INPUT, sound
from .outputs import save_bytes


@click.command()
@options.file
@click.option("--into", metavar="FOLDER", required=True, help="Write them here; made if it does not exist.")
@options.paper
def bench(file: str, into: str, paper: str) -> None:
    """Make every list, label and drawing for the bench.

    Of FILE the buying list, the cut list (by spool to cut, by loom to lay), labels, drawings for the bench, the proof
    and the sheets for the next owner in FOLDER, as PDF, and as CSV where a list has one. All of them are made before
    the first is written, and each takes the place of an older one whole. Files that it does not make are left alone.
    What a text owes is printed.

    \b
    Example:
      loomwright bench bike.loom --into bench

    Exits 0, 1 when something could not be made or the text has errors, 2 when a file cannot be read or written.
    """
    from ...lang.diagnostics.visible import visible
    from ...lang.files.revisions import revision_of
    from ..bench.folder import jobs

    harness = sound(file)
    stem = "harness" if file == STANDARD_INPUT else Path(file).stem
    revision = "" if file == STANDARD_INPUT else revision_of(file)
    files: dict[str, bytes] = {}
    notes: list[str] = []
    lacking: list[str] = []
    for job in jobs(harness, stem, paper=paper, revision=revision):
        made = job.make()
        files |= made.files
        notes += [note for note in made.notes if note not in notes]
        if made.lacking:
            lacking.append(f"{job.name}: {made.lacking}")
        click.echo(visible(f"{job.name}: {made.lacking or ', '.join(made.files)}"), err=True)
    for name, data in files.items():
        save_bytes(str(Path(into) / name), data)
    for note in notes:
        click.echo(visible(note), err=True)
    click.echo(visible(f"{into}: {len(files)} files"))
    if lacking:
        raise click.exceptions.Exit(FOUND)
