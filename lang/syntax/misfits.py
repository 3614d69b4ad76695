"""A line that has not its shape by one slip of the finger: which word was meant."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from ..diagnostics.spelling import slipped
from ..named_tuples import NamedTuple
from ..vocabulary.words import KEPT_WORDS
from .grammar import grammar_tables
from .tokens import token

if TYPE_CHECKING:
    from .tokens import Token

MOST_TRIED: Final = 40
"""Words before the misfit that may be the wrong one (ours): no line has more up to there."""

_END: Final = re.compile(r"[^\W\d_][\w\-]*\.[\w+\-]+")


class Slip(NamedTuple):
    """What stands from one token to another, and what was meant."""

    first: Token
    last: Token
    written: str
    meant: str


def slip_at(tokens: tuple[Token, ...], misfit: Token | None, fits: Callable[[tuple[Token, ...]], bool]) -> Slip | None:
    """The one slip without which a line would fit its rule, if there is one.

    ``misfit`` is the token that cannot follow those before it, ``None`` for the end of the line: the slip is there or
    before. ``fits`` says whether tokens are of the rule.
    """
    end = len(tokens) if misfit is None else next(place for place, each in enumerate(tokens) if each is misfit) + 1
    for first, last, right in _tries(tokens, max(1, end - MOST_TRIED), end):
        if fits((*tokens[:first], right, *tokens[last + 1 :])):
            written = _written(tokens[first : last + 1])
            return Slip(tokens[first], tokens[last], written, right.value)
    return None


def _tries(tokens: tuple[Token, ...], start: int, end: int) -> Iterator[tuple[int, int, Token]]:
    """First and last token and what may be meant by them, the nearest to the misfit first."""
    kept = grammar_tables().kept_words["WORD"]
    for place in range(min(end, len(tokens)) - 1, start - 1, -1):
        here = tokens[place]
        if here.type == "WORD" and (meant := slipped(here.value, KEPT_WORDS)):
            yield place, place, token(kept[meant], meant, here.start_pos)
        if here.type in ("_COLON", "_COMMA") and place + 1 < len(tokens):
            around = tokens[place - 1 : place + 2]
            if all(a.end_pos == b.start_pos for a, b in pairwise(around)):
                end_of_wire = f"{around[0].value}.{around[-1].value}"
                if _END.fullmatch(end_of_wire):
                    yield place - 1, place + 1, token("END", end_of_wire, around[0].start_pos)


def _written(tokens: Sequence[Token]) -> str:
    return "".join(each.value for each in tokens)


def end_meant(before: Token | None, after: Token | None) -> str | None:
    """The end of a wire, such as ``MAIN.1``, that words around a stray point were meant to be: ``MAIN..1``, ``BAT+.``,
    ``BAT .+``; ``None`` where they make none. ``before`` and ``after`` are the words next to the point or points.
    """
    written = f"{before.value if before else ''}.{after.value if after else ''}"
    choices = (written, re.sub(r"([+\-])\.$", r".\1", written), written.strip("."))
    return next((text for text in choices if _END.fullmatch(text)), None)
