"""A symbol ready to be placed: one or more glyphs with leads, terminal names, outline and lettering."""

from __future__ import annotations

from dataclasses import replace

from ....lang.records import dataclass
from ...drawing.primitives import Shape, turned_over
from .glyph import Side

NAME_SIZE = 9.0


INFO_SIZE = 8.0


PIN_SIZE = 8.0


LINE = 10.0
"""Height of one line of lettering."""


PIN_ZONE = 10.0
"""Length of the lead beside which a terminal's name stands."""


BAR_PITCH = 7.0


EDGE = 4.0
"""Air on each side of a symbol."""


LEFT = 7.0
"""What single lines (wires, splices, ways) keep free to the left of them, all alike, so that they line up."""


NO_TRACKS = "000"
"""Stands for a number of a track that is not known yet: as wide as one can get."""


@dataclass(frozen=True, slots=True)
class Port:
    terminal: str
    side: Side
    x: float


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol in a separate box: x up to ``width``, y up to ``height``; ports on its upper and lower edge."""

    kind: str
    width: float
    height: float
    shapes: tuple[Shape, ...]
    ports: tuple[Port, ...]


def over(symbol: Symbol) -> Symbol:
    """A symbol upside down: what hangs at the foot of the sheet, standing at the head of a line instead."""
    return replace(
        symbol,
        shapes=tuple(turned_over(shape, symbol.height) for shape in symbol.shapes),
        ports=tuple(replace(port, side="bottom" if port.side == "top" else "top") for port in symbol.ports),
    )
