"""Every symbol on one sheet, to be looked at; the same with every layout engine, since none is asked."""

from __future__ import annotations

from pathlib import Path

from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file
from loomwright.lang.vocabulary.colours import Colour
from loomwright.render.drawing.primitives import Drawing, Element, Rect, Run, moved
from loomwright.render.schematic.current_direction import currents_of
from loomwright.render.schematic.parts import symbols_of
from loomwright.render.schematic.symbols import nodes
from loomwright.render.schematic.symbols.drawn import Around
from loomwright.render.schematic.symbols.symbol import Symbol, over

PARTS = Path(__file__).parent / "render" / "every_part.loom"
COLOURS = (
    Colour("red", "white"), Colour("yellow"), Colour("black", "white"), Colour("white"),
    Colour("light-green", "dark-blue"), None,
)  # fmt: skip


def all_symbols() -> dict[str, Symbol]:
    """Every symbol by the key of what it stands for."""
    reading = read_file(PARTS)
    assert reading.mistakes == ()
    around = Around(currents_of(build_circuit(reading.harness)))
    found = {d.key: d.symbol for part in reading.harness.parts.values() for d in symbols_of(part, around)}
    return {
        **found,
        "ground": nodes.ground("FRAME", "headstock"),
        "ground above": over(nodes.ground("FRAME", "headstock")),
        "splice": nodes.splice("SP-15", above=True, below=True),
        "way": nodes.connector_way("C1.3", socket_above=True),
        "way, pin above": nodes.connector_way("C1.3", socket_above=False, capped="capped"),
        "wire": nodes.wire_label("12", "red/white", "2.5 mm²"),
        "elsewhere": nodes.elsewhere("F-TAIL.1", "top"),
        "bar": nodes.bar("F-TAIL.1", "top"),
        "terminal": nodes.terminal("KEY.58", "top"),
        "elsewhere above": nodes.elsewhere("F-TAIL.1", "bottom"),
    }


def sheet() -> Drawing:
    elements = []
    x, y, deepest = 20.0, 50.0, 0.0
    for key, symbol in all_symbols().items():
        if x + symbol.width > 1180:
            x, y, deepest = 20.0, y + deepest + 24, 0.0
        shapes = tuple(moved(shape, x, y) for shape in symbol.shapes)
        box = Rect(x, y, x + symbol.width, y + symbol.height)
        elements.append(Element(key, key, symbol.kind, key, box, (), shapes))
        x, deepest = x + symbol.width + 16, max(deepest, symbol.height)
    runs = tuple(
        Run(str(i), f"{colour}", colour, (((20.0 + 190 * i, 20.0), (190.0 + 190 * i, 20.0)),), ())
        for i, colour in enumerate(COLOURS)
    )
    return Drawing(1200, y + deepest + 30, "Symbols", "all", "Every symbol.", tuple(elements), runs, (), (), ())
