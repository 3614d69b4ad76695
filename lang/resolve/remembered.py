"""Harnesses as they were made out before, for whoever reads some of the same texts again after each edit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ..diagnostics.messages import Diagnostics
from ..model.harness import Harness
from ..syntax.tree import Syntax
from .resolve import resolve

MOST: Final = 6
"""Harnesses that are remembered (ours)."""

MOST_TEXT: Final = 300_000
"""Characters of all their texts together at the most (ours), but for the latest one."""


_Texts = tuple[bool, tuple[tuple[str, str], ...]]
"""Whether a used file could not be read, and each text by its file."""


class Remembered:
    """The latest harnesses without a mistake, each by all texts that it was made out of. For one thread at a time."""

    def __init__(self) -> None:
        self._known: dict[_Texts, Harness] = {}

    def resolve(self, texts: Sequence[Syntax], mistakes: Diagnostics, *, unread: bool = False) -> Harness:
        """As ``lang.resolve.resolve``."""
        key = (unread, tuple((text.file, text.text) for text in texts))
        found = self._known.pop(key, None) if not len(mistakes) else None
        if found is None:
            found = resolve(texts, mistakes, unread=unread)
        if not len(mistakes):
            self._known[key] = found
            self._forget()
        return found

    def _forget(self) -> None:
        """Leaves no more than there is room for, the latest first."""
        sizes = {key: sum(len(text) for _, text in key[1]) for key in self._known}
        while len(sizes) > MOST or (len(sizes) > 1 and sum(sizes.values()) > MOST_TEXT):
            oldest = next(iter(sizes))
            del sizes[oldest], self._known[oldest]
