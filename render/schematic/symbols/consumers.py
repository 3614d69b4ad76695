"""What consumes: lamps and other elements, ignition, control units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import assert_never

from ....lang.circuit.ids import End, Role, inside, unit_supply
from ....lang.model.conditions import Pair
from ....lang.model.parts import Element, Load, Sensor, Unit
from ...report.unit_logic import logic
from . import glyphs
from .columns import Column, columns
from .drawn import (
    Around,
    Drawn,
    by_side,
    drawn,
    first_up,
    label,
    number,
    ohms,
    sides_of,
    standing_for,
    stated,
    two_ended,
    upright,
    with_unit,
)
from .glyph import Glyph, Side
from .pin_box import Pin, pin_box


def sensor(part: Sensor, signal: Pair, around: Around) -> Drawn:
    """A sensor between two leads of one unit hangs below it: both its leads come from above.

    One for ignition is a pick-up: a coil. Of any other the language says a resistance, not whether that changes or is
    that of a coil: it is drawn as a resistance, and its kind stands beside it.
    """
    pick_up = part.system == "ignition"
    glyph = glyphs.winding() if pick_up else glyphs.resistor()
    lines = stated("" if pick_up else part.kind, ohms(part.ohms))
    if not all(End(part.name, terminal) in around.currents.still for terminal in signal):
        return two_ended(part, glyph, *signal, lines, around)
    body = [Column(glyph, (signal[0],), (signal[1],), group=standing_for(part.name))]
    sides: dict[str, Side] = {signal[0]: "top", signal[1]: "top"}
    symbol = columns(part.kind, part.name, [*label(part), *lines], body, sides=sides)
    return drawn(part, symbol, " ".join([part.kind, *lines]))


def _element_glyph(element: Element) -> Glyph:
    match element.what:
        case "lamp":
            return glyphs.lamp()
        case "led":
            return glyphs.led()
        case "motor" | "pump":
            return glyphs.machine("M", "=")
        case "horn":
            return glyphs.horn()
        case "solenoid":
            return glyphs.solenoid()
        case "heater":
            return glyphs.heater()
        case "ignition":
            return glyphs.ignition_coil() if element.ohms is not None else glyphs.ignition_box()
        case "electronics":
            return glyphs.electronics()
        case _:
            assert_never(element.what)


def _rating(element: Element) -> str:
    own = (with_unit(element.watts, "W"), with_unit(element.amps, "A"), ohms(element.ohms))
    made_for = f" at {number(element.rated_volts)} V" if element.rated_volts is not None else ""
    return next((text + made_for for text in own if text), "")


def load(part: Load, around: Around) -> Iterator[Drawn]:
    if part.stop_lead:
        yield _stopped_box(part, part.stop_lead, around)
        return
    bulbs = [element for element in part.elements if element.what == "lamp"]
    if len(part.elements) == len(bulbs) == 2:
        shared = {bulbs[0].plus, bulbs[0].minus} & {bulbs[1].plus, bulbs[1].minus}
        common = next((t for t in (bulbs[0].minus, bulbs[0].plus) if t in shared), None)
        if common is not None and (bulbs[0].minus == common) == (bulbs[1].minus == common):
            yield _two_filaments(part, bulbs, common, around)
            return
    beside: dict[frozenset[str], list[Element]] = {}
    for element in part.elements:
        beside.setdefault(frozenset((element.plus, element.minus)), []).append(element)
    for elements in beside.values():  # those on the same two terminals stand side by side
        branches = [inside(part.name, element.name) for element in elements]
        words = [f"{element.name} {_rating(element)}".strip() for element in elements]
        body = [
            upright(part, _element_glyph(element), element.plus, element.minus, around, branch=branch)
            for element, branch in zip(elements, branches, strict=True)
        ]
        noted = [note for branch in branches for note in around.note(branch)]
        lines = [*label(part), *words, *noted]
        what = elements[0].what
        if what in ("pump", "solenoid", "electronics", "heater") and [what] != [e.name for e in elements]:
            lines.append(what)
        symbol = columns(what, part.name, lines, body, sides=sides_of(body))
        about = f"{what} {' and '.join(words)}"
        yield drawn(part, symbol, about, "" if len(beside) == 1 else branches[0])


def _free_end(bulb: Element, common: str) -> str:
    return bulb.plus if bulb.minus == common else bulb.minus


def _two_filaments(part: Load, bulbs: Sequence[Element], common: str, around: Around) -> Drawn:
    bulbs = sorted(bulbs, key=lambda bulb: around.across.get(f"{part.name}.{_free_end(bulb, common)}", 0.0))
    ends = [_free_end(bulb, common) for bulb in bulbs]
    left, right = ((("branch", inside(part.name, bulb.name)),) for bulb in bulbs)
    below = all(first_up(part, end, common, around) for end in ends)
    if below:
        body = [Column(glyphs.two_lamps("bottom", left, right), tuple(ends), (common,))]
    else:
        body = [Column(glyphs.two_lamps("top", left, right), (common,), tuple(ends))]
    rated = [f"{bulb.name} {_rating(bulb)}".strip() for bulb in bulbs]
    noted = [f"{bulb.name} {note}" for bulb in bulbs for note in around.note(inside(part.name, bulb.name))]
    lines = [*label(part), *rated, *noted]
    symbol = columns("two-filament lamp", part.name, lines, body, sides=sides_of(body))
    return drawn(part, symbol, "lamp with two filaments, " + ", ".join(rated))


def _stopped_box(part: Load, stop_lead: Pair, around: Around) -> Drawn:
    words: dict[str, list[str]] = {}
    branches: dict[str, list[str]] = {}
    lines = label(part)
    for element in part.elements:
        branches.setdefault(element.plus, []).append(inside(part.name, element.name))
        words.setdefault(element.plus, []).append("+")
        words.setdefault(element.minus, []).append("-")
        lines += stated(f"{element.name} {_rating(element)}".strip())
    words.setdefault(stop_lead[0], []).append("stop")
    words.setdefault(stop_lead[1], [])
    pins = by_side(part, words, around, branches)
    symbol = pin_box(part.what or "load", part.name, [part.what or "box", *lines], pins)
    return drawn(part, symbol, "box with a kill wire")


def unit_box(part: Unit, around: Around) -> Drawn:
    words: dict[str, list[str]] = {}
    branches: dict[str, list[str]] = {}
    for supply in part.supplies:
        branches.setdefault(supply.plus, []).append(unit_supply(part, supply))
        words.setdefault(supply.plus, []).extend(stated(f"{supply.name} +".strip()))
        words.setdefault(supply.minus, []).extend(stated(f"{supply.name} -".strip()))
    for given in part.inputs:
        words.setdefault(given.terminal, []).extend([given.name, given.mode])
        if given.back:
            words.setdefault(given.back, []).append("return")
    for output in part.outputs:
        limit = f"trips {number(output.trips)} A" if output.trips is not None else with_unit(output.amps, "A")
        how = "flashing" if output.flashing else "grounds" if output.grounded else ""
        words.setdefault(output.terminal, []).extend(stated(output.name, limit, how))
        branches.setdefault(output.terminal, []).append(inside(part.name, output.name, Role.OUTPUT))
    for common in part.commons:
        words.setdefault(common, []).append("common")
    if part.stop_lead:
        words.setdefault(part.stop_lead[0], []).append("stop")
        words.setdefault(part.stop_lead[1], [])
    shown = around.pins.get(part.name, frozenset(words))
    pins = _unit_sides(part, {t: text for t, text in words.items() if t in shown}, around, branches)
    hidden = len(words) - len(shown)
    some = [f"{hidden} {'terminal' if hidden == 1 else 'terminals'} elsewhere"] if hidden else []
    lines = [*label(part), *some]
    decides = tuple(f"{name} {when}" for name, when in logic(part, shown))
    symbol = pin_box("control unit", part.name, lines, pins, outline="dash-dot", logic=decides)
    return drawn(part, symbol, "control unit")


def _unit_sides(
    part: Unit, words: Mapping[str, Sequence[str]], around: Around, branches: Mapping[str, Sequence[str]]
) -> list[Pin]:
    """Supplies, fed inputs and outputs that ground are at the head of a unit; all else at its foot."""
    heads = {given.terminal for given in part.inputs if given.mode == "fed"}
    heads |= {output.terminal for output in part.outputs if output.grounded}
    for supply in part.supplies:
        fed, other = supply.plus, supply.minus
        if not first_up(part, fed, other, around):  # a positive ground
            fed, other = other, fed
        heads.add(fed)
        heads.discard(other)
    return [
        Pin(t, "top" if t in heads else "bottom", tuple(words[t]), "|".join(branches.get(t, ())))
        for t in around.in_order(part, words)
    ]
