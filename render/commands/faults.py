"""``loomwright faults``: what every single fault does."""

from __future__ import annotations

import click

from . import options
from .exits import CannotError, say
from .inputs import named_states, sound


@click.command()
@options.file
@click.option("--state", "names", metavar="STATE", multiple=True, help="Only in this state; may be repeated.")
@options.text_or_json
@options.stdin_filename
def faults(file: str, names: tuple[str, ...], format_: str, stdin_filename: str | None) -> None:
    """Simulate every single fault, worst first.

    Opens each wire, way, fuse, contact and mount in each named state, from rest and with relays and alternators as they
    may have been left before; shorts each wire to ground; and follows relays, units and alternators until nothing
    changes any more: what goes dead, what comes on, what is fed backwards, which fuse blows. From the first state in
    which the engine runs it is also stopped by each stop control, to find the faults that keep it running. Like
    faults are merged, by severity: I fire, or an engine that cannot be stopped; II the engine stops, or the
    motorcycle is not seen; III no start, no charge, no warning; IV the rest (words of MIL-STD-1629A, grades:
    Loomwright's limit).

    \b
    Examples:
      loomwright faults bike.loom
      loomwright faults bike.loom --state riding

    Exits 1 when the file has mistakes, 2 when the file cannot be read or names no state.
    """
    from ...checks.fmea.fault_simulation import Sweep
    from ...checks.fmea.report import fault_reports
    from ...checks.operation.operation import Operation
    from ...checks.protection.protection import Protection
    from ...lang.circuit.build import build_circuit
    from ..report.faults import faults_json, faults_text

    harness = sound(file, stdin_filename)
    operation = Operation(build_circuit(harness))
    chosen = named_states(harness, file, names)
    for name in chosen:
        if name in operation.unsolved:
            raise CannotError(f"{file}: state {name} has no numbers: {operation.unsolved[name]}")
    protection = Protection(operation.circuit)
    sweep = Sweep(operation, protection)
    reports = fault_reports(sweep, chosen, protection)
    text = faults_json(reports) if format_ == "json" else faults_text(reports, harness, sweep.all_states(chosen))
    click.echo(text, nl=False)
    for name in chosen:
        for way in operation.unfollowed(name):
            say(f"faults were not followed in {name} {way}")
    if operation.alternating:
        say(f"alternating current is not solved: {', '.join(operation.alternating)}")
