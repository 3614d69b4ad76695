"""``loomwright trace``: the current path to a thing and back."""

from __future__ import annotations

import click

from . import options
from .exits import no_such
from .inputs import sound


@click.command()
@options.file
@click.argument("name", metavar="NAME")
@click.option(
    "--in",
    "state",
    metavar="STATE",
    help="In this state of the file; controls that it does not name rest, latches are cleared.",
)
@click.option(
    "--with", "positions", metavar="'CONTROL POSITION, ...'", help="With these controls there; others anywhere."
)
@options.stdin_filename
def trace(file: str, name: str, state: str | None, positions: str | None, stdin_filename: str | None) -> None:
    """Trace the current to a part and back.

    NAME is an element (HEAD.dip), a terminal (KEY.30), a part or a wire of FILE. Shows each setting of the controls in
    which it is live, in as few words as possible, and for each the path of the current. Exits 1 when the file has
    errors.
    """
    from ...checks.behaviour.trace import UnknownThingError
    from ..report.asked import AskedError, trace_asked

    harness = sound(file, stdin_filename)
    try:
        text = trace_asked(harness, name, state, positions)
    except AskedError as error:
        raise click.UsageError(str(error)) from None
    except UnknownThingError as unknown:
        raise no_such(f"part, wire, element or terminal of {file}", name, unknown.known) from None
    click.echo(text, nl=False)
