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


class Remembered:
    """The latest harnesses without a mistake, each by all texts that it was made out of. For one thread at a time."""

    def __init__(self) -> None:
        self._known: dict[tuple[object, ...], Harness] = {}

    def resolve(self, texts: Sequence[Syntax], mistakes: Diagnostics, *, unread: bool = False) -> Harness:
        """As ``lang.resolve.resolve``."""
        key = (unread, *((text.file, text.text) for text in texts))
        found = self._known.pop(key, None) if not len(mistakes) else None
        if found is None:
            found = resolve(texts, mistakes, unread=unread)
        if not len(mistakes):
            self._known[key] = found
            for oldest in list(self._known)[:-MOST]:
                del self._known[oldest]
        return found
