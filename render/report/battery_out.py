"""What is measured with the battery out, where no voltage tells suspects apart, as text."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator
from typing import TYPE_CHECKING

from ...checks.diagnosis.ohm_tests import RANGE
from ...checks.tables.meter import meter_figures
from ...lang.circuit.ids import End
from ...lang.diagnostics.messages import plainly_listed
from ...lang.model.parts import Fuse, Source
from ...lang.quantities.quantity import shown
from .paragraphs import wrapped

if TYPE_CHECKING:
    from ...checks.diagnosis.diagnosis import Diagnosis
    from ...checks.diagnosis.next_test import ToGround
    from ...checks.diagnosis.ohm_tests import Ohms
    from ...checks.diagnosis.probes import Lead
    from ...lang.model.harness import Harness

MANY = 12
"""Of this many suspects that one line cannot tell apart the rest is counted and not named."""


def battery_out(diagnosis: Diagnosis, harness: Harness, state: str, width: int) -> Iterator[str]:
    """The lines that say what to measure: resistances from end to end and to ground, and what no meter judges."""
    suspects = {each.fault.key for each in diagnosis.ohms}
    said = ["No voltage that a probe reaches tells them apart."] if len(diagnosis.suspects) > 1 else []
    said.append("Stop the engine and turn the key off.")
    if any(isinstance(part, Source) and part.what == "battery" for part in harness.parts.values()):
        said.append(f"Disconnect the battery, {'minus' if harness.grounded == 'negative' else 'plus'} first.")
        said += _bunches(harness)
    measured = [each for each in diagnosis.ohms if each.kind != "none"]
    if any(each.kind != "diode" for each in measured) or diagnosis.to_ground:
        said.append(
            f"Measure resistance, range {_ohm(RANGE)}{' where no other is named' if _ranges(measured) else ''}."
        )
    if measured:
        if any(each.kind == "continuity" for each in measured):
            said.append("End to end, near 0 ohm is sound, no reading is an open circuit, a few ohm is a bad joint.")
        leads = [lead for each in measured[:MANY] for lead in (each.red, each.black)]
        if any(lead.by for lead in leads):
            said.append("In brackets: what leads from the terminal to an end that no probe reaches, measured with it.")
        if any(not suspects.isdisjoint(lead.by) for lead in leads):
            said.append("Where that is a suspect too, take the cover off that end to tell which of the two it is.")
    if diagnosis.to_ground:
        said.append("To ground, near 0 ohm is a short. A load has its own resistance, a cold bulb a very low one.")
    yield from wrapped(" ".join(said), width)
    for each in measured[:MANY]:
        off = "taken out" if is_fuse(harness, each.fault.key) else "one end taken off"
        unplug = f", {off}: other things join its ends" if each.bypassed else ""
        held = f", {each.held}" if each.held else ""
        said_of = f"{each.fault.key}: {_lead(each.red, suspects)} to {_lead(each.black, suspects)}{held}{unplug}"
        yield from wrapped(f"{said_of}{_shows(each)}", width, "  ", "      ")
    if len(measured) > MANY:
        yield f"  and {len(measured) - MANY} more likewise"
    for row in diagnosis.to_ground:
        yield from wrapped(_to_ground(row, harness, state), width, "  ", "      ")
    for each in diagnosis.ohms:
        if each.kind == "none":
            yield from wrapped(f"{each.fault.key}: no ohm meter judges it. {each.instead}.", width, "  ", "      ")


def _ranges(measured: Iterable[Ohms]) -> bool:
    """Whether one of these needs another range of the meter than the lowest."""
    return any(each.kind == "diode" or (each.kind == "resistance" and each.range != RANGE) for each in measured)


def _shows(each: Ohms) -> str:
    """What the meter shows of what is no plain copper, and in which range."""
    if each.kind == "diode":
        return "; diode range: about 0.5 V this way, open circuit the other way round"
    if each.kind != "resistance":
        return ""
    if math.isinf(each.most):
        return "; it has its own resistance, which the file does not state; no reading is an open circuit"
    near = meter_figures().probe_ohms  # the meter's own leads hide what is less
    setting = f"range {_ohm(each.range)}: " if each.range != RANGE else ""
    if each.most < near:
        return f"; {setting}near 0 ohm is sound, no reading is an open circuit"
    low, high = shown(each.least), shown(each.most)
    span = _ohm(each.most) if low == high or each.least < near else f"{low} to {high} ohm"
    upto = "up to " if low != high and each.least < near else "some "
    return f"; {setting}{upto}{span} is sound, no reading is an open circuit"


def _ohm(value: float) -> str:
    return f"{shown(value)} ohm"


def _lead(lead: Lead, suspects: Collection[str]) -> str:
    """Where a lead goes, and what is measured with it there; ``suspects`` by their keys."""
    if lead.at is None:
        return f"{lead.of} (no bare terminal is joined to it: its cover must come off)"
    if not lead.by:
        return lead.at
    too = ", a suspect too" if any(key in suspects for key in lead.by) else ""
    return f"{lead.at} ({plainly_listed(lead.by)} to {lead.of}{too})"


def _bunches(harness: Harness) -> Iterator[str]:
    """How what meets at a pole stays joined: off the post its leads are open to each other, the engine to the frame
    among them, and a short to the one would be missed from the other.
    """
    batteries = [name for name, part in harness.parts.items() if isinstance(part, Source) and part.what == "battery"]
    leads: dict[End, list[str]] = {End(name, pole): [] for name in batteries for pole in "+-"}
    for wire in harness.wires.values():
        for segment in wire.segments:
            for end in (segment.a, segment.b):
                if end in leads:
                    leads[end].append(f"wire {segment.name}")
    bunches = [f"{plainly_listed(wires)} ({pole})" for pole, wires in leads.items() if len(wires) > 1]
    if bunches:
        yield f"Clip the leads of each pole together, off its post: {'; '.join(bunches)}."
        yield "Keep plus and minus apart."


def _to_ground(row: ToGround, harness: Harness, state: str) -> str:
    """How a wire that is shorted to ground is found."""
    out = [f"{'take out' if is_fuse(harness, name) else 'unplug'} {name}" for name in row.devices]
    switches = f"put every switch, the key too, as in {state}"
    said = [*out, switches, f"measure {row.red}{place_of(harness, row.red)} to {row.black}"]
    then = ""
    if row.unplug:
        turns = ", one after the other" if len(row.unplug) > 1 else ""
        then = (
            f" Unplug or take out {', '.join(row.unplug)}{turns}: where the resistance rises, the short is behind it."
        )
    names = ", ".join(fault.key for fault in row.faults)
    return f"{names}: {', '.join(said)}.{then}"


def place_of(harness: Harness, node: End) -> str:
    """What a terminal belongs to and where that is."""
    part = harness.parts.get(node.part)
    if part is None:
        return ""
    words = f"{part.kind} at {part.place}" if part.place else part.kind
    return f" ({words})"


def is_fuse(harness: Harness, key: str) -> bool:
    return isinstance(harness.parts.get(key), Fuse)
