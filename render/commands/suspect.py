"""``loomwright suspect``: what may have failed, and the next measurement."""

from __future__ import annotations

import click

from . import options
from .exits import CannotError, no_such
from .inputs import named_states, sound
from .progress import progress


@click.command()
@options.file
@click.option(
    "--state",
    "name",
    metavar="STATE",
    shell_complete=options.state_names,
    help="The state that the motorcycle is in, one that FILE names.",
)
@click.option(
    "--seen",
    metavar="'THING WORD'",
    multiple=True,
    required=True,
    shell_complete=options.seen_words,
    help="What is seen there, a thing and dead, dim or live, or what is measured, as shown above; may be repeated, "
    "or several with commas between.",
)
@options.text_or_json
@options.stdin_filename
def suspect(file: str, name: str | None, seen: tuple[str, ...], format_: str, stdin_filename: str | None) -> None:
    """Find the likely faults from symptoms and readings, and the next test.

    Ranks the single faults (an open conductor, contact, fuse or load, a bad joint, a wire shorted to ground, a diode or
    two phases of a measured stator) by how well they explain the symptoms and readings, each with its reasons, those in
    series together, and a blown fuse with the wires that may have blown it; then says where to put the two leads of the
    meter, and what it shows with each of them. Ask again with that reading, until one place is left; where voltages
    cannot tell two apart, measure their resistance with the battery off.

    \b
    What can be seen, and read in V or mV:
      "HORN dead"                     a part or an element: dead, dim (some 20 to
                                      93 % of its voltage without a fault) or live
      "HEAD.dip 9.1 V at 56b"         from a terminal to the battery's ground pole
      "9.1 V at HEAD.56b"             the same
      "9.1 V across HEAD.dip"         between the two ends of an element, a fuse, a wire, a contact
      "0.4 V from HEAD.31 to FRAME"   red lead, black lead
      "6.7 V AC at MAG.59"            with the meter on AC volts, or DC

    \b
    Examples:
      loomwright suspect bike.loom --state braking --seen "REAR.stop dead, REAR.tail live"
      loomwright suspect bike.loom --state braking --seen "REAR.stop dead" --seen "0.0 V at C-TAIL.1s"

    Exits 1 when the file has errors, 2 when the file cannot be read or the question cannot be read.
    """
    from ...checks.dc.devices import UnsolvableError
    from ...checks.diagnosis.observations import ObservationError, UnknownThingError, observations
    from ...checks.diagnosis.ranking import Diagnoser
    from ...checks.fmea.fault_simulation import Sweep
    from ...checks.operation.operation import Operation
    from ...lang.circuit.build import build_circuit
    from ...lang.diagnostics.messages import plainly_listed
    from ..report.diagnosis import inquiry_text
    from ..report.diagnosis_json import inquiry_json

    harness = sound(file, stdin_filename)
    if name is None:
        named = (
            plainly_listed(harness.states, "or") if harness.states else "none: write one, such as `state on { KEY on }`"
        )
        raise click.UsageError(f"--state is missing: in which state is the motorcycle? {file} names {named}")
    named_states(harness, file, (name,))
    try:
        with progress("ranking faults"):
            detective = Diagnoser(Sweep(Operation(build_circuit(harness))), name)
            diagnosis = detective.inquire([each for text in seen for each in observations(text, detective.places)])
    except UnsolvableError as error:
        raise CannotError(f"{file}: state {name} has no numbers: {error}") from None
    except ObservationError as error:
        raise click.UsageError(f"--seen: {error}") from None
    except UnknownThingError as unknown:
        raise no_such(f"{unknown.what} in {file}", unknown.name, unknown.known) from None
    text = inquiry_json(diagnosis, name) if format_ == "json" else inquiry_text(diagnosis, harness, name)
    click.echo(text, nl=False)
