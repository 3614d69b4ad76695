"""Wire colours: letter codes of IEC 60757 and how a colour is shown. Figures are read from ``colours.toml``.

A colour is one of the language: a plain one, or ``light-`` or ``dark-`` and a plain one.
"""

from __future__ import annotations

from functools import cache
from typing import Final

from ...lang.vocabulary.colours import Colour
from .sourced import rows


@cache
def codes() -> dict[str, str]:
    """The IEC 60757 letters of each plain colour."""
    return {row["colour"]: row["code"] for row in rows("colours", "codes")}


SHORT: Final = {"light": "lt", "dark": "dk"}
"""Of shades, for which IEC 60757 has no letters (ours)."""


def letters(colour: Colour) -> str:
    """A wire's colour in letters: ``GN``, ``GN/WH``, ``dk GN``."""
    return "/".join(_letters(each) for each in (colour.base, colour.stripe) if each)


def _letters(colour: str) -> str:
    shade, _, plain = colour.rpartition("-")
    return f"{SHORT.get(shade, shade)} {codes()[plain]}".strip()


@cache
def shown(colour: str) -> str:
    """A colour as ``#rrggbb`` in sRGB, this project's own choice. Raises ``ValueError`` for an unknown colour."""
    plain = {row["colour"]: row["srgb"] for row in rows("colours", "shown")}
    shades = {f"{row['shade']}-": (row["towards"], row["share"]) for row in rows("colours", "mixed")}
    prefix = next((known for known in shades if colour.startswith(known)), "")
    name = colour.removeprefix(prefix)
    if name not in plain:
        raise ValueError(f"colour {colour!r} is none of {', '.join(plain)}, plain or with light- or dark- before")
    if not prefix:
        return str(plain[name])
    towards, share = shades[prefix]
    parts = (int(plain[name][place : place + 2], 16) for place in (1, 3, 5))
    return "#" + "".join(f"{round(part + (towards - part) * share):02x}" for part in parts)
