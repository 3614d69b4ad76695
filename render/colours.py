"""What a wire's colour looks like on a screen and on paper.

IEC 60757 names colours and says nothing of how to show them, so the values are the project's own (sRGB).
"""

from __future__ import annotations

_SHOWN = {
    "black": (0x1A, 0x1A, 0x1A),
    "brown": (0x7A, 0x4A, 0x21),
    "red": (0xD1, 0x1F, 0x1F),
    "orange": (0xF0, 0x80, 0x19),
    "yellow": (0xF2, 0xD2, 0x1B),
    "green": (0x1E, 0x8F, 0x3E),
    "blue": (0x1F, 0x5F, 0xBF),
    "violet": (0x7B, 0x3F, 0xA0),
    "grey": (0x8A, 0x8F, 0x94),
    "white": (0xF7, 0xF7, 0xF2),
    "pink": (0xF2, 0xA3, 0xB8),
    "turquoise": (0x2F, 0xB8, 0xAC),
}
UNKNOWN = "#5a5a5a"
"""A wire whose colour the text leaves out."""


def _mixed(colour: tuple[int, int, int], other: int, share: float) -> tuple[int, int, int]:
    red, green, blue = (round(part + (other - part) * share) for part in colour)
    return red, green, blue


def shown(colour: str) -> str:
    """A colour of the language (``red``, ``light-green``) as ``#rrggbb``; raises ``KeyError`` for any other."""
    plain = colour.removeprefix("light-").removeprefix("dark-")
    value = _SHOWN[plain]
    if colour.startswith("light-"):
        value = _mixed(value, 255, 0.45)
    elif colour.startswith("dark-"):
        value = _mixed(value, 0, 0.4)
    return "#{:02x}{:02x}{:02x}".format(*value)


def base_and_stripe(colour: str | None) -> tuple[str, str | None]:
    """The shown base colour of a wire and that of its stripe, ``None`` where it has none."""
    if colour is None:
        return UNKNOWN, None
    base, _, stripe = colour.partition("/")
    return shown(base), shown(stripe) if stripe else None
