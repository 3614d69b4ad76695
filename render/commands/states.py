"""``loomwright states``: the named states in numbers."""

from __future__ import annotations

import click

from . import options
from .charting import PICTURES, save_charts
from .inputs import named_states, sound
from .judging import limits_for
from .outputs import ending_of, in_colour


@click.command()
@options.file
@click.option("--state", "names", metavar="STATE", multiple=True, help="Only this state; may be repeated.")
@click.option("--format", "format_", type=click.Choice(["text", "json", "csv"]), default="text", help="What to write.")
@click.option("--bars", is_flag=True, help="Bars in place of tables: fuse loads, voltage drops, the battery's balance.")
@click.option("-o", "--output", metavar="DRAWING", help="Draw the bars; the ending tells the format: pdf, svg or png.")
@options.profile
@options.stdin_filename
def states(
    file: str,
    names: tuple[str, ...],
    format_: str,
    bars: bool,
    output: str | None,
    profile: str | None,
    stdin_filename: str | None,
) -> None:
    """Show voltages and currents in the named states.

    For each state the voltage, current and power of sources and loads, with per cent of their rating; the load of
    fuses; the hottest wires and their margin to the limit of their insulation; and whether the battery is charged or
    discharges.

    \b
    Examples:
      loomwright states bike.loom
      loomwright states bike.loom --state cranking
      loomwright states bike.loom --format csv > states.csv
      loomwright states bike.loom --bars
      loomwright states bike.loom -o states.pdf

    Exits 1 when the file has errors, 2 when the file cannot be read or names no state.
    """
    from ...checks.operation.load_drops import load_drops
    from ...checks.operation.operating_points import state_tables
    from ...checks.operation.operation import Operation
    from ...lang.circuit.build import build_circuit
    from ..report.charts import NO_BARS, charts_text, state_charts
    from ..report.states import states_csv, states_json, states_text

    if (bars or output is not None) and format_ != "text":
        raise click.UsageError("--bars and -o show bars: leave --format out")
    ending = ending_of(output, PICTURES)
    harness = sound(file, stdin_filename)
    chosen = named_states(harness, file, names)
    limits, operation = limits_for(harness, profile), Operation(build_circuit(harness))
    tables = list(state_tables(operation, limits, chosen))
    if bars or output is not None:
        charts = state_charts(tables, load_drops(operation, chosen), limits)
        if output is None:
            click.echo(charts_text(charts) if charts else NO_BARS, nl=False)
        else:
            save_charts(harness, charts, "states", file, output, ending)
        return
    colour = in_colour(format_)
    text = {"json": states_json, "csv": states_csv}.get(format_, lambda found: states_text(found, colour=colour))(
        tables
    )
    click.echo(text, nl=False, color=colour)
