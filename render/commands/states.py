"""``loomwright states``: the named states in numbers."""

from __future__ import annotations

import click

from . import options
from .inputs import named_states, sound
from .judging import limits_for
from .outputs import in_colour


@click.command()
@options.file
@click.option("--state", "names", metavar="STATE", multiple=True, help="Only this state; may be repeated.")
@click.option("--format", "format_", type=click.Choice(["text", "json", "csv"]), default="text", help="What to write.")
@options.profile
@options.stdin_filename
def states(file: str, names: tuple[str, ...], format_: str, profile: str | None, stdin_filename: str | None) -> None:
    """Show voltages and currents in the named states.

    For each state the voltage, current and power of sources and loads, with per cent of their rating; the load of
    fuses; the hottest wires and their margin to the limit of their insulation; and whether the battery is charged or
    discharges.

    \b
    Examples:
      loomwright states bike.loom
      loomwright states bike.loom --state cranking
      loomwright states bike.loom --format csv > states.csv

    Exits 1 when the file has errors, 2 when the file cannot be read or names no state.
    """
    from ...checks.operation.operating_points import state_tables
    from ...checks.operation.operation import Operation
    from ...lang.circuit.build import build_circuit
    from ..report.states import states_csv, states_json, states_text

    harness = sound(file, stdin_filename)
    chosen = named_states(harness, file, names)
    tables = list(state_tables(Operation(build_circuit(harness)), limits_for(harness, profile), chosen))
    colour = in_colour(format_)
    text = {"json": states_json, "csv": states_csv}.get(format_, lambda found: states_text(found, colour=colour))(
        tables
    )
    click.echo(text, nl=False, color=colour)
