"""What works a switch: a hand, a key, a pedal, a cam."""

from __future__ import annotations

from typing import Literal

from ...drawing.primitives import Circle, Shape
from .glyph import centred, polyline, rectangle

Actuator = Literal["hand", "push", "key", "pedal", "lever", "pressure", "heat", "cam", "coil", ""]


def actuator(how: Actuator, y: float, right: float) -> tuple[tuple[Shape, ...], float]:
    """What works a contact, and the dashed link that ends at ``right``; and how far left of ``right`` it reaches."""
    link = polyline((right - 12, y), (right, y), dash="dashed", weight=1.0)
    x = right - 12
    match how:
        case "hand":
            shapes: tuple[Shape, ...] = (link, polyline((x, y - 5), (x, y + 5)))
            reach = 14.0
        case "push":
            shapes = (link, polyline((x + 4, y - 5), (x, y - 5), (x, y + 5), (x + 4, y + 5)))
            reach = 14.0
        case "key":
            shapes = (
                link,
                Circle((x - 4, y), 4),
                polyline((x, y), (x + 9, y), weight=1.6),
                polyline((x + 5, y), (x + 5, y + 4)),
                polyline((x + 8, y), (x + 8, y + 4)),
            )
            reach = 22.0
        case "pedal":
            shapes = (link, polyline((x + 2, y - 6), (x - 4, y + 6), (x - 8, y + 6)))
            reach = 22.0
        case "lever":
            shapes = (link, polyline((x, y), (x - 6, y - 5)), Circle((x - 7.5, y - 6.3), 2))
            reach = 23.0
        case "cam":
            shapes = (link, Circle((x - 4, y), 4))
            reach = 21.0
        case "pressure" | "heat":
            letter = "p" if how == "pressure" else "ϑ"
            box = rectangle(x - 10, y - 5, x, y + 5)
            shapes = (link, box, centred(letter, y + 1, 8, bold=False, x=x - 5))
            reach = 24.0
        case _:
            return (), 0.0
    return shapes, reach
