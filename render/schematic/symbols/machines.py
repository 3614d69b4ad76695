"""What makes and rectifies: sources, rectifiers and regulators."""

from __future__ import annotations

from ....lang.circuit.ids import BranchId, Role, field_of, inside
from ....lang.model.parts import Rectifier, Regulator, Source
from ...drawing.primitives import Dash
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
    upright,
    with_unit,
)
from .pin_box import pin_box


def source(part: Source, around: Around) -> Drawn:
    if part.what == "battery":
        lines = stated(with_unit(part.volts, "V"), with_unit(part.amp_hours, "Ah"), "lithium" if part.lithium else "")
        lines += around.note(part.name)
        body = [upright(part, glyphs.battery(), "+", "-", around)]
        symbol = columns("battery", part.name, [*label(part), *lines], body, sides=sides_of(body))
        return drawn(part, symbol, "battery")
    body = []
    lines = []
    if part.phases:
        phases = tuple(around.in_order(part, part.phases))
        body.append(Column(glyphs.phase_machine(len(phases)), phases, (), group=standing_for(part.name)))
    if part.output:
        positive = first_up(part, part.output.plus, part.output.minus, around)
        glyph = glyphs.machine("G", "=") if part.what == "dynamo" else glyphs.machine_with_diodes("~", positive)
        body.append(upright(part, glyph, part.output.plus, part.output.minus, around))
        lines += stated(with_unit(part.output.watts, "W"))
    if part.field_winding:
        own = part.field_winding
        caption = stated("field", ohms(own.ohms))
        body.append(upright(part, glyphs.winding(), own.plus, own.minus, around, caption, branch=field_of(part.name)))
    for winding in part.windings:
        caption = stated(
            f"{winding.name} {with_unit(winding.watts, 'W')}".rstrip(),
            f"open {number(winding.measured.volts)} V" if winding.measured.volts is not None else "",
            f"short {number(winding.measured.amps)} A" if winding.measured.amps is not None else "",
            f"on the core of {winding.core}" if winding.core else "",
            "floating" if winding.floating else "",
        )
        branch = inside(part.name, winding.name, Role.WINDING)
        if len(winding.terminals) == 2:
            body.append(upright(part, glyphs.winding(), *winding.terminals, around, caption, branch=branch))
        else:
            first, tap, last = winding.terminals
            glyph = glyphs.tapped_winding()
            body.append(Column(glyph, (first, tap), (last,), tuple(caption), standing_for(branch)))
    lines += [*stated(with_unit(part.regulated, "V")), *around.note(part.name)]
    outline: Dash | None = "" if len(body) > 1 else None
    symbol = columns(part.what, part.name, [*label(part), *lines], body, sides=sides_of(body), outline=outline)
    return drawn(part, symbol, part.what)


def rectifier(part: Rectifier, around: Around) -> Drawn:
    tops: list[str] = []
    bottoms = list(part.phases)
    positive = True
    if part.output:
        positive = first_up(part, part.output.plus, part.output.minus, around)
        tops.append(part.output.plus if positive else part.output.minus)
        bottoms.append(part.output.minus if positive else part.output.plus)
    if part.trio:
        tops.append(part.trio)
    tops, bottoms = around.in_order(part, tops), around.in_order(part, bottoms)
    glyph = glyphs.rectifier(len(tops), len(bottoms), positive)
    body = [Column(glyph, tuple(tops), tuple(bottoms), group=standing_for(part.name))]
    lines = stated(
        with_unit(part.output.watts, "W") if part.output else "",
        with_unit(part.amps, "A"),
        part.control or "",
        with_unit(part.regulated, "V"),
        *around.note(part.name),
    )
    symbol = columns("rectifier", part.name, [*label(part), *lines], body, sides=sides_of(body))
    return drawn(part, symbol, "rectifier")


def regulator(part: Regulator, around: Around) -> Drawn:
    words: dict[str, list[str]] = {}
    branches: dict[str, list[str]] = {}
    for pair, names, role in (
        (part.passes, ("field in", "field out"), Role.PASS),
        (part.cut_out, ("cut-out in", "cut-out out"), Role.CUT_OUT),
        (part.shunts, ("shunts", "return"), None),
        (part.sense, ("sense +", "sense -"), None),
    ):
        if pair and role:
            branches.setdefault(pair[0], []).append(BranchId(part.name, role))
        for terminal, name in zip(pair or (), names, strict=bool(pair)):
            words.setdefault(terminal, []).append(name)
    volts = part.regulated if part.regulated is not None else part.shunt_volts
    lines = stated(f"U = {number(volts)} V" if volts is not None else "U =")
    cut = f"cut-out {number(part.cut_out_volts)} V" if part.cut_out_volts is not None else ""
    pins = by_side(part, words, around, branches)
    symbol = pin_box("regulator", part.name, [*label(part), *lines, *stated(cut)], pins)
    return drawn(part, symbol, "regulator")
