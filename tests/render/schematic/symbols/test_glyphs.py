"""Symbols against what IEC 60617 says of their shape, and all of them on one sheet."""

from __future__ import annotations

import pytest
from golden import same_as_golden
from sheet_of_symbols import all_symbols, sheet

from loomwright.render.drawing.primitives import Keyed, Rect, Stroke, Text, extent, plain
from loomwright.render.drawing.svg import svg_text
from loomwright.render.schematic.symbols import glyphs
from loomwright.render.schematic.symbols.glyph import Glyph, upside_down
from loomwright.render.schematic.symbols.symbol import Symbol

SYMBOLS = all_symbols()


def rectangle(glyph: Glyph) -> Rect:
    return extent([next(s for s in glyph.shapes if isinstance(s, Stroke) and s.closed and not s.filled)])


def strokes(glyph: Glyph) -> list[Rect]:
    return [extent([s]) for s in glyph.shapes if isinstance(s, Stroke) and not s.closed]


# The proportions are those of IEC 60617 as handbooks describe them: resistor 04-01-01, fuse 07-21-01, coil 07-15-01,
# battery cell 06-15-01, capacitor 04-02-01, diode 05-03-01, make contact 07-02-01, break contact 07-02-03.
def test_a_resistor_is_three_times_as_long_as_wide_and_empty() -> None:
    box = rectangle(glyphs.resistor())
    assert box.height == pytest.approx(3 * box.width)
    assert len(glyphs.resistor().shapes) == 1


def test_the_line_passes_lengthwise_through_a_fuse() -> None:
    glyph = glyphs.fuse()
    box = rectangle(glyph)
    assert box.height == pytest.approx(3 * box.width)
    assert any(
        line.left == line.right == 0 and line.top <= box.top and line.bottom >= box.bottom for line in strokes(glyph)
    )


def test_the_leads_of_a_coil_are_at_the_middles_of_its_long_sides() -> None:
    box = rectangle(glyphs.coil())
    assert box.width == pytest.approx(2 * box.height)
    assert box.left == -box.right
    assert glyphs.coil().tops == glyphs.coil().bottoms == (0.0,)


def test_the_positive_plate_of_a_cell_is_long_and_thin_the_negative_short_and_thick() -> None:
    plates = [s for s in glyphs.battery().shapes if isinstance(s, Stroke) and s.points[0][1] == s.points[1][1]]
    lengths = [extent([plate]).width for plate in plates]
    assert lengths[0] == pytest.approx(2.2 * lengths[1])
    assert plates[0].weight < plates[1].weight
    assert lengths[2:] == lengths[:2], "every cell alike"


def test_the_plates_of_a_capacitor_are_alike_and_a_third_of_their_length_apart() -> None:
    upper, lower = strokes(glyphs.capacitor())
    assert upper.width == lower.width
    assert lower.top - upper.top == pytest.approx(upper.width / 3)


def test_a_diode_points_to_its_bar_and_down() -> None:
    triangle = next(s for s in glyphs.diode().shapes if isinstance(s, Stroke) and s.closed)
    bar = strokes(glyphs.diode())[0]
    tip = max(triangle.points, key=lambda p: p[1])
    assert tip == (0, bar.top)
    assert bar.width > 0 == bar.height


def test_a_make_contact_is_open_and_a_break_contact_touches_its_stub() -> None:
    def gap(glyph: Glyph) -> float:
        fixed, moving = (s for s in plain(glyph.shapes) if isinstance(s, Stroke))
        blade_from, blade_to = moving.points[-2:]
        x, y = fixed.points[-1]
        # Distance of the fixed contact's end from the line of the blade.
        dx, dy = blade_to[0] - blade_from[0], blade_to[1] - blade_from[1]
        return abs(dx * (y - blade_from[1]) - dy * (x - blade_from[0])) / (dx * dx + dy * dy) ** 0.5

    positions = {"rest": False, "press": True}
    assert gap(glyphs.contact("rest", positions)) > 5
    assert gap(glyphs.contact("press", positions)) < 1


@pytest.mark.parametrize("rests", ["off", "on"])
def test_a_contact_has_a_blade_for_each_position_and_shows_the_one_at_rest(rests: str) -> None:
    glyph = glyphs.contact(rests, {"off": False, "on": True, "park": True})
    blades = [shape for shape in glyph.shapes if isinstance(shape, Keyed)]
    assert [(dict(b.keys)["position"], dict(b.keys)["closed"]) for b in blades] == [
        ("off", "no"), ("on", "yes"), ("park", "yes"),
    ]  # fmt: skip
    assert [dict(b.keys)["position"] for b in blades if not b.hidden] == [rests]
    tips = {shape.points[-1] for b in blades for shape in b.shapes if isinstance(shape, Stroke)}
    assert len(tips) == 2, "a closed blade stands elsewhere than an open one"


def test_turning_over_twice_changes_nothing_and_once_swaps_the_ends() -> None:
    glyph = glyphs.rectifier(2, 4)
    turned = upside_down(glyph)
    assert (turned.tops, turned.bottoms) == (glyph.bottoms, glyph.tops)
    again = upside_down(turned)
    assert extent(again.shapes) == extent(glyph.shapes)


@pytest.mark.parametrize("key", SYMBOLS)
def test_everything_of_a_symbol_stays_in_its_box_with_ports_on_the_edge(key: str) -> None:
    symbol = SYMBOLS[key]
    room = Rect(-0.01, -0.01, symbol.width + 0.01, symbol.height + 0.01)
    assert room.contains(extent(symbol.shapes)), f"{extent(symbol.shapes)} leaves {room}"
    for port in symbol.ports:
        assert 0 < port.x < symbol.width
        assert port.x == round(port.x), "layout engines take whole pixels"
        if symbol.kind != "wire":  # a wire is drawn when its course is known
            edge = 0.0 if port.side == "top" else symbol.height
            assert (port.x, edge) in ends(symbol), f"no lead ends at {port}"


def ends(symbol: Symbol) -> set[tuple[float, float]]:
    lines = [s.points for s in plain(symbol.shapes) if isinstance(s, Stroke) and not s.closed]
    return {(x, round(y, 6)) for points in lines for x, y in (points[0], points[-1])}


@pytest.mark.parametrize("key", SYMBOLS)
def test_no_lettering_of_a_symbol_overlaps_or_is_struck_through(key: str) -> None:
    texts = [s for s in plain(SYMBOLS[key].shapes) if isinstance(s, Text)]
    for i, a in enumerate(texts):
        assert not any(a.box.overlaps(b.box, 0.2) for b in texts[i + 1 :]), f"{a.words} is written over"
        for shape in plain(SYMBOLS[key].shapes):
            if isinstance(shape, Stroke) and not shape.closed and shape.dash != "dotted":
                for (x1, y1), (x2, y2) in zip(shape.points, shape.points[1:], strict=False):
                    line = Rect(min(x1, x2) - 0.3, min(y1, y2) - 0.3, max(x1, x2) + 0.3, max(y1, y2) + 0.3)
                    if x1 == x2 or y1 == y2:
                        assert not line.overlaps(a.box, 0.4), f"{a.words} is struck through"


def test_a_switch_shows_all_its_positions() -> None:
    words = [s.words for s in plain(SYMBOLS["KEY"].shapes) if isinstance(s, Text)]
    assert {"off", "on", "park", "30", "15", "58"} <= set(words)
    crosses = [s for s in plain(SYMBOLS["KEY"].shapes) if isinstance(s, Stroke) and s.weight == 1.5]
    assert len(crosses) == 2 * 3, "two strokes for each contact closed in a position: two in on, one in park"


def test_poles_and_coils_stand_apart_and_refer_to_each_other() -> None:
    assert {"TWO pole 1", "TWO pole 2", "K2 coil", "K2 contact 1", "K2 contact 2"} <= SYMBOLS.keys()


def test_the_sheet_of_all_symbols_is_as_it_was_looked_at() -> None:
    same_as_golden("symbols.svg", svg_text(sheet()))
