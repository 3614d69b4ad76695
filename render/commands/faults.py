"""``loomwright faults``: what every single fault does."""

from __future__ import annotations

import click

from . import options
from .charting import PICTURES, save_charts
from .exits import CannotError, say
from .inputs import named_states, sound
from .outputs import ending_of
from .progress import progress


@click.command()
@options.file
@click.option("--state", "names", metavar="STATE", multiple=True, help="Only in this state; may be repeated.")
@click.option("--map", "as_map", is_flag=True, help="A map in place of the list: faults by place and severity.")
@click.option("-o", "--output", metavar="DRAWING", help="Draw the map; the ending tells the format: pdf, svg or png.")
@options.text_or_json
@options.stdin_filename
def faults(
    file: str, names: tuple[str, ...], as_map: bool, output: str | None, format_: str, stdin_filename: str | None
) -> None:
    """Simulate single open circuits and shorts to ground, worst first.

    In each named state, from rest and as relays and alternators may have been left before: opens each wire, way, fuse,
    contact and mount, and shorts each wire to ground, one at a time; then follows relays, units and alternators until
    nothing changes any more: what goes dead, what comes on, what is fed backwards, which fuse blows. Where that stops
    the engine, the rest is as it is once the engine does not turn. The first state in
    which the engine runs is also stopped by each stop control, to find the faults that keep the engine running. Faults
    with the same effects are merged. Severity (words of MIL-STD-1629A, grades: Loomwright's limit): I fire, or an
    engine that cannot be stopped; II the engine stops, lights are out, the battery is overcharged, or the starter runs
    by itself; III no start, no charge, no warning; IV the rest.

    A stator with its open-circuit voltage and short-circuit current stated also has its rectifier's diodes open and
    shorted, and its phases shorted together.

    A state in which a fault cannot be solved is listed last, as not calculated, with the reason.

    Not simulated: other shorts between wires or to a feed, contacts that stick or weld, bad joints, other shorts inside
    parts, and the phases of any other stator.

    \b
    Examples:
      loomwright faults bike.loom
      loomwright faults bike.loom --state riding
      loomwright faults bike.loom --map
      loomwright faults bike.loom -o faults.pdf

    Exits 1 when the file has errors, 2 when the file cannot be read or names no state.
    """
    from ...checks.fmea.fault_simulation import Sweep
    from ...checks.fmea.not_opened import not_opened
    from ...checks.fmea.report import all_faults
    from ...checks.fmea.starting_in_gear import not_asked_in_gear
    from ...checks.operation.operation import Operation
    from ...checks.protection.protection import Protection
    from ...lang.circuit.build import build_circuit
    from ..report.charts import charts_text, fault_map
    from ..report.faults import faults_json, faults_text

    if (as_map or output is not None) and format_ != "text":
        raise click.UsageError("--map and -o show a map: leave --format out")
    ending = ending_of(output, PICTURES)
    harness = sound(file, stdin_filename)
    operation = Operation(build_circuit(harness))
    chosen = named_states(harness, file, names)
    for name in chosen:
        if name in operation.unsolved:
            raise CannotError(f"{file}: state {name} has no numbers: {operation.unsolved[name]}")
    protection = Protection(operation.circuit)
    sweep = Sweep(operation, protection)
    with progress("simulating faults") as steps:
        reports, unknown = all_faults(sweep, chosen, protection, steps)
    if output is not None:
        save_charts(harness, (fault_map(reports, operation.circuit),), "faults", file, output, ending)
        text = ""
    elif as_map:
        text = charts_text((fault_map(reports, operation.circuit),))
    elif format_ == "json":
        states = sweep.all_states(chosen)
        text = faults_json(reports, unknown, not_opened(sweep, states), not_asked_in_gear(sweep, states))
    else:
        states = sweep.all_states(chosen)
        idle, unasked = not_opened(sweep, states), not_asked_in_gear(sweep, states)
        text = faults_text(reports, harness, states, sweep.live_in(states), unknown, idle, unasked)
    click.echo(text, nl=False)
    if unknown and (as_map or output is not None):
        say(f"not on the map, since not calculated: {sum(len(each.faults) for each in unknown)} faults")
    for name in chosen:
        for way in operation.left_before.unfollowed(name):
            say(f"faults were not followed in {name} {way}")
    for name in chosen:
        point = operation.points.get(name)
        for winding, why, _ in point.flow.left_out if point is not None else ():
            say(f"alternating current of {winding} is left out in {name}: {why}")
