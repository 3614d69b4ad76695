"""``loomwright trace``: the current path to a thing and back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from . import options
from .exits import no_such
from .inputs import sound

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit


@click.command()
@options.file
@click.argument("name", metavar="NAME")
@click.option("--in", "state", metavar="STATE", help="In this state of the file; controls that it does not name rest.")
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
    from ...checks.behaviour import Behaviour
    from ...checks.behaviour.trace import UnknownThingError
    from ...checks.behaviour.trace import trace as traced
    from ...lang.circuit.build import build_circuit
    from ..report.trace import trace_text

    if state is not None and positions is not None:
        raise click.UsageError("--in and --with say the same thing in two ways: give one")
    harness = sound(file, stdin_filename)
    circuit = build_circuit(harness)
    settings = _settings(circuit, state, positions)
    try:
        behaviour = Behaviour.of(circuit)
        found = traced(behaviour, name, settings, rest=state is not None)
    except UnknownThingError as unknown:
        raise no_such(f"part, wire, element or terminal of {file}", name, unknown.known) from None
    click.echo(trace_text(behaviour, found, anywhere=not settings and state is None), nl=False)


def _settings(circuit: Circuit, state: str | None, positions: str | None) -> dict[str, str]:
    """The positions that the command line asks for, by control; a switch's name stands for its control."""
    if state is not None:
        known = circuit.harness.states.get(state)
        if known is None:
            raise no_such("state", state, circuit.harness.states)
        return dict(known.settings)
    settings = {}
    for words in (positions or "").split(","):
        match words.split():
            case []:
                continue
            case [name, position]:
                pass
            case _:
                raise click.UsageError(
                    f"--with takes a control and its position, such as 'KEY on', not {words.strip()!r}"
                )
        control = next((c for c in circuit.controls.values() if name in (c.name, *c.switches)), None)
        if control is None:
            raise no_such("control", name, circuit.controls)
        if position not in control.positions:
            raise no_such(f"position of {name}", position, control.positions)
        settings[control.name] = position
    return settings
