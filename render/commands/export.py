"""``loomwright export``: the circuit as numbers, for other programs."""

from __future__ import annotations

import click

from . import options
from .inputs import sound
from .outputs import save


@click.command()
@options.file
@click.option("-o", "--output", metavar="FILE", help="Write it here, instead of to standard output.")
@options.stdin_filename
def export(file: str, output: str | None, stdin_filename: str | None) -> None:
    """Write the circuit as numbers, for other programs.

    JSON with every terminal, and every wire, contact, load and source as a resistance or as current over voltage; what
    opens and closes each, relays and control units with when they move, the settings in which each is live, in words,
    and the named states solved. Its schema is render/formats/circuit.schema.json.

    \b
    Examples:
      loomwright export bike.loom -o circuit.json
      loomwright export bike.loom | jq '.branches[] | select(.type == "fuse")'

    Exits 1 when the file has errors, 2 when the file cannot be read or written.
    """
    from ..formats.circuit import circuit_json

    harness = sound(file, stdin_filename)
    text = circuit_json(harness)
    if output is None:
        click.echo(text, nl=False)
    else:
        save(output, text)
        click.echo(f"{output}: written", err=True)
