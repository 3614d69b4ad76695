"""An offer: a word that can be at the cursor, and what it means."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Literal

from ...lang.records import dataclass
from ...lang.vocabulary.meanings import MEANINGS
from .line_start import LineStart

if TYPE_CHECKING:
    from ...lang.model.harness import Harness


OfferSort = Literal[
    "statement", "word", "part", "wire", "place", "state", "pattern", "terminal", "inner", "position", "unit", "colour",
    "size", "rule", "file", "system",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Offer:
    """A word to put in place of what is being written, and what it means."""

    text: str
    sort: OfferSort
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Offers:
    """What can be at the cursor, best first. It takes the place of what begins at ``column``."""

    offers: tuple[Offer, ...]
    column: int


@dataclass(frozen=True, slots=True)
class Cursor:
    """A place of one harness: what is before it on its line, and the patterns of the texts with their kinds."""

    harness: Harness
    patterns: Mapping[str, str]
    start: LineStart


def words_of(words: Iterable[str], sort: OfferSort = "word") -> Iterator[Offer]:
    for word in words:
        yield Offer(word, sort, MEANINGS.get(word, ""))
