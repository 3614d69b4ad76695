"""How probable a colour is to be seen where another one is drawn."""

from __future__ import annotations

from functools import cache
from typing import Final

from ...lang.survey.record import SeenColour
from ...lang.vocabulary.colours import BASE_COLOURS, Colour
from ..tables.survey import neighbours, survey_figures

_COLOURS: Final = len(BASE_COLOURS)


def plain(colour: str) -> str:
    """A colour without its shade: nobody tells a faded dark green from a green."""
    return colour.removeprefix("light-").removeprefix("dark-")


@cache
def base_share(seen: str, drawn: str) -> float:
    """How often a base colour looks like another one; shares of a drawn colour sum to 1."""
    near = neighbours()[drawn]
    other = survey_figures().other_base
    if seen == drawn:
        return 1.0 - sum(near.values()) - other
    return near.get(seen, other / (_COLOURS - 1 - len(near)))


@cache
def colour_share(seen: SeenColour, drawn: Colour | None) -> float:
    """How probable it is to see this where the diagram draws that (``None``: no colour). What could not be seen says
    nothing, so that its share is 1.
    """
    if drawn is None:
        return anywhere(seen)
    exact = _base(seen, plain(drawn.base)) * _stripe(seen, plain(drawn.stripe))
    if seen.sure:
        return exact
    unsure = survey_figures().unsure
    return (1.0 - unsure) * exact + unsure * anywhere(seen)


def _base(seen: SeenColour, drawn: str) -> float:
    return 1.0 if seen.base is None else base_share(plain(seen.base), drawn)


def _stripe(seen: SeenColour, drawn: str) -> float:
    if seen.stripe is None:
        return 1.0
    known = survey_figures()
    if not drawn:
        return 1.0 - known.ghost if not seen.stripe else known.ghost / (_COLOURS - 1)
    if not seen.stripe:
        return known.stripe_lost
    if plain(seen.stripe) == drawn:
        return 1.0 - known.stripe_lost - known.stripe_other
    return known.stripe_other / (_COLOURS - 1)


@cache
def anywhere(seen: SeenColour) -> float:
    """How probable it is to see this on a wire of which nothing is known: every colour alike, half of them striped."""
    base = 1.0 if seen.base is None else 1.0 / _COLOURS
    stripe = 1.0 if seen.stripe is None else 0.5 if not seen.stripe else 0.5 / (_COLOURS - 1)
    return base * stripe


def fits(seen: SeenColour, drawn: Colour | None) -> bool:
    """Whether what was seen is what is drawn, shades apart."""
    if drawn is None or seen.base is None or not seen.sure:
        return False
    stripe = None if seen.stripe is None else plain(seen.stripe)
    return plain(seen.base) == plain(drawn.base) and stripe == plain(drawn.stripe)
