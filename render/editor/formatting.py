"""A text in its one layout, as the few stretches of lines that change: an editor keeps its cursor and its marks."""

from __future__ import annotations

from difflib import SequenceMatcher

from ...lang.editing.formatter import tidy
from ...lang.named_tuples import NamedTuple


class RowEdit(NamedTuple):
    """The rows from ``first`` up to, but without, ``last`` (from 1) become ``text``, which has its line ends."""

    first: int
    last: int
    text: str


def tidied(text: str, file: str) -> tuple[RowEdit, ...]:
    """What tidying changes. Raises ``TidyError`` where the text is better left alone: nothing is changed then."""
    before, after = _rows(text), _rows(tidy(text, file))
    matcher = SequenceMatcher(None, before, after, autojunk=False)
    return tuple(
        RowEdit(start + 1, end + 1, "".join(after[new_start:new_end]))
        for tag, start, end, new_start, new_end in matcher.get_opcodes()
        if tag != "equal"
    )


def _rows(text: str) -> list[str]:
    """The lines of a text with their ends, parted by line feeds alone, as the language counts them."""
    return [row + "\n" for row in text.split("\n")[:-1]] + [text.rsplit("\n", maxsplit=1)[-1]]
