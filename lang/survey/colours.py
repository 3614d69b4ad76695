"""Colours as somebody saw them: `og/rd`, `?/wh`, `vt?`, `bk+bk`, in letters or words."""

from __future__ import annotations

from typing import Final

from ..vocabulary.colours import ALSO_COLOURS, COLOURS, IEC_60757, colour_of
from .record import SeenColour

UNSEEN: Final = "?"
EMPTY: Final = "-"
TOGETHER: Final = "+"

_CODES: Final = {colour: code.lower() for code, colour in IEC_60757.items()}
KNOWN: Final = (*_CODES.values(), *sorted(COLOURS), *ALSO_COLOURS)
"""Every way to write a colour, for the nearest one of a word that is none."""


def seen_colours(written: str) -> tuple[SeenColour, ...] | str:
    """What a word says of a way: its colours, none for an empty way; a part that is no colour as text."""
    if written == EMPTY:
        return ()
    found = []
    for each in written.split(TOGETHER):
        colour = _seen(each)
        if isinstance(colour, str):
            return colour
        found.append(colour)
    return tuple(found)


def _seen(written: str) -> SeenColour | str:
    if written == UNSEEN:
        return SeenColour(None, None)
    sure = not (written.endswith(UNSEEN) and not written.endswith(f"/{UNSEEN}"))
    base, mark, stripe = written.removesuffix("" if sure else UNSEEN).partition("/")
    named_base = None if base == UNSEEN else colour_of(base)
    if base != UNSEEN and named_base is None:
        return base or written
    if not mark:
        return SeenColour(named_base, "", sure)
    named_stripe = None if stripe == UNSEEN else colour_of(stripe)
    if stripe != UNSEEN and named_stripe is None:
        return stripe or written
    return SeenColour(named_base, named_stripe, sure)


def short(colour: SeenColour) -> str:
    """The first form of a colour in a survey: letters of IEC 60757 in lower case where it has some."""
    if colour.base is None and colour.stripe is None:
        return UNSEEN
    base = UNSEEN if colour.base is None else _CODES.get(colour.base, colour.base)
    stripe = "" if colour.stripe == "" else f"/{UNSEEN if colour.stripe is None else _code(colour.stripe)}"
    return f"{base}{stripe}{'' if colour.sure else UNSEEN}"


def _code(colour: str) -> str:
    return _CODES.get(colour, colour)


def short_way(colours: tuple[SeenColour, ...]) -> str:
    """A way of a half in its first form."""
    return TOGETHER.join(map(short, colours)) or EMPTY


def in_words(colour: SeenColour) -> str:
    """A colour as a sentence says it."""
    base = colour.base or "unseen"
    stripe = "" if colour.stripe == "" else f"/{colour.stripe or 'unseen'}"
    return f"{base}{stripe}{'' if colour.sure else ' (not sure)'}"
