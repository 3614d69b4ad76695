"""A box with the terminals of a control unit or a machine on its edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ....lang.records import dataclass
from ...drawing import lettering
from ...drawing.primitives import Dash, Keyed, Shape, Text
from .glyph import Side, polyline, rectangle
from .symbol import EDGE, INFO_SIZE, LINE, NAME_SIZE, PIN_SIZE, Port, Symbol

LOGIC = 220.0
"""As wide as a box becomes for what it decides."""


@dataclass(frozen=True, slots=True)
class Pin:
    terminal: str
    side: Side
    words: tuple[str, ...] = ()
    branch: str = ""
    """The branch of the circuit that is at home at this terminal, such as an output; several with ``|`` between."""


def pin_box(
    kind: str,
    name: str,
    lines: Sequence[str],
    pins: Sequence[Pin],
    *,
    outline: Dash = "",
    logic: Sequence[str] = (),
) -> Symbol:
    """A box with terminals along its upper and lower edge, each with what it does; for what has no symbol.

    ``logic`` says below its name what it decides, a line each, broken where the box is no wider.
    """

    def wide(pin: Pin) -> float:
        widths = [lettering.width(pin.terminal, PIN_SIZE, True), *(lettering.width(w, PIN_SIZE) for w in pin.words)]
        return max(*widths, 14.0) + 8

    edges = {side: [pin for pin in pins if pin.side == side] for side in ("top", "bottom")}
    inside = [Text(name, (0, 0), NAME_SIZE, bold=True), *(Text(words, (0, 0), INFO_SIZE) for words in lines)]
    room = max([sum(wide(pin) for pin in row) for row in edges.values()] + [text.width + 12 for text in inside])
    room = max(room, min(LOGIC, max((lettering.width(line, PIN_SIZE) + 12 for line in logic), default=0.0)))
    broken = [segment for line in logic for segment in lettering.wrapped(line, PIN_SIZE, room - 12)]
    depth = {side: max((1 + len(pin.words) for pin in row), default=0) for side, row in edges.items()}
    pin_line = PIN_SIZE + 1.5
    lead = 6.0
    top = lead + 4 + depth["top"] * pin_line
    below = top + 4 + LINE * len(inside) + (2 if broken else 0)
    height = below + pin_line * len(broken) + 4 + depth["bottom"] * pin_line + 4 + lead
    width = room + 2 * EDGE
    shapes: list[Shape] = [rectangle(EDGE, lead, width - EDGE, height - lead, outline)]
    ports = []
    for side, row in edges.items():
        spare = (room - sum(wide(pin) for pin in row)) / max(len(row), 1)
        x = EDGE
        for pin in row:
            own = wide(pin) + spare
            middle = float(round(x + own / 2))
            ports.append(Port(pin.terminal, "top" if side == "top" else "bottom", middle))
            words = [Text(text, (0, 0), PIN_SIZE, anchor="middle") for text in pin.words]
            # The terminal's name is next to the edge.
            words.insert(
                0 if side == "top" else len(words), Text(pin.terminal, (0, 0), PIN_SIZE, bold=True, anchor="middle")
            )
            if side == "top":
                shapes.append(polyline((middle, 0), (middle, lead)))
                first = lead + 4 + PIN_SIZE * 0.75
            else:
                shapes.append(polyline((middle, height), (middle, height - lead)))
                first = height - lead - 4 - pin_line * (len(words) - 1)
            written = tuple(replace(text, at=(middle, first + pin_line * index)) for index, text in enumerate(words))
            shapes.extend((Keyed("element", (("branch", pin.branch),), written),) if pin.branch else written)
            x += own
    for index, text in enumerate(inside):
        shapes.append(replace(text, at=(width / 2, top + 4 + LINE * (index + 0.78)), anchor="middle"))
    for index, line in enumerate(broken):
        at = (width / 2, below + pin_line * (index + 0.78))
        shapes.append(Text(line, at, PIN_SIZE, anchor="middle", tone="faint"))
    return Symbol(kind, width, height, tuple(shapes), tuple(ports))
