"""Traits that can be at the cursor: words, quantities with their units, colours and sizes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Final

from ...checks.tables.conductors import metric_sizes, stocked_gauges
from ...lang.quantities.units import UNITS_OF, is_number
from ...lang.vocabulary.colours import ALSO_COLOURS, BASE_COLOURS
from ...lang.vocabulary.meanings import MEANINGS
from ...lang.vocabulary.words import Words
from .offers import Cursor, Offer, words_of

_COLOUR: Final = re.compile(rf"(?:(?:(?:light|dark)-)?(?:{'|'.join(BASE_COLOURS)})|{'|'.join(ALSO_COLOURS)})(?:/.*)?")


def traits(
    at: Cursor, words: Words, said: tuple[str, ...], more: Iterable[str], *, before: str = ""
) -> Iterator[Offer]:
    """What can be on a line with these words after those that were ``said``."""
    last = said[-1] if said else before
    if is_number(last):
        yield from _units(words, said[-2] if len(said) > 1 else "")
        return
    if last in words.keyed or last in words.named:
        return  # a number comes, or a name
    if last in words.choices:
        yield from words_of(words.choices[last][1])
        return
    stated = {words.flags[word][0] for word in said if word in words.flags}
    for word, (fact, _) in words.flags.items():
        if word not in said and (fact not in stated or fact in words.many):
            yield Offer(word, "word", MEANINGS.get(word, ""))
    yield from (each for each in words_of((*words.keyed, *words.choices, *words.named, *more)) if each.text not in said)
    if words.colour and not any(_COLOUR.fullmatch(word) for word in said):
        yield from colours(at)


def colours(at: Cursor) -> Iterator[Offer]:
    """Colours: the base one, or behind a slash the stripe."""
    base, slash, _ = at.start.partial.partition("/")
    if slash:
        yield from (Offer(f"{base}/{stripe}", "colour") for stripe in BASE_COLOURS if stripe != base)
    else:
        yield from (Offer(colour, "colour") for colour in BASE_COLOURS)
        if at.start.partial[:1] in ("l", "d"):
            yield from (Offer(f"{shade}-{c}", "colour") for shade in ("light", "dark") for c in BASE_COLOURS)


def sizes(words: Words, said: tuple[str, ...]) -> Iterator[Offer]:
    """Sizes of conductors, where a line has none yet."""
    last = said[-1] if said else ""
    if not is_number(last) and last not in words.choices and not {"mm2", "AWG", "x"} & {*said}:
        yield from (Offer(f"{size.area:g} mm2", "size") for size in metric_sizes())
        yield from (Offer(f"{gauge} AWG", "size") for gauge in stocked_gauges() if gauge >= 0)


def _units(words: Words, before: str) -> Iterator[Offer]:
    """The units that can follow a number behind a word."""
    if before == "x":
        yield Offer("mm", "unit", "the thickness of a strand")
        return
    if before in words.keyed:
        dimensions: Iterable[str] = (words.keyed[before][1],)
    else:
        dimensions = words.ratings
    for dimension in dimensions:
        yield from (Offer(unit, "unit", dimension) for unit in UNITS_OF[dimension])
