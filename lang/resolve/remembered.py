"""Harnesses as they were made out before, for whoever reads some of the same texts again after each edit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ..diagnostics.messages import Diagnostics
from ..model.harness import Harness
from ..syntax.tree import Syntax
from .amended import amended
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
        self._known: dict[_Texts, tuple[Sequence[Syntax], Harness]] = {}

    def resolve(self, texts: Sequence[Syntax], mistakes: Diagnostics, *, unread: bool = False) -> Harness:
        """As ``lang.resolve.resolve``."""
        key = (unread, tuple((text.file, text.text) for text in texts))
        found = None if len(mistakes) else self._known_or_amended(key, texts)
        if found is None:
            found = resolve(texts, mistakes, unread=unread)
        if not len(mistakes):
            self._known[key] = (tuple(texts), found)
            self._forget()
        return found

    def _known_or_amended(self, key: _Texts, texts: Sequence[Syntax]) -> Harness | None:
        """The harness of equal texts, else what the latest one of these files becomes by what differs in its wires."""
        if key in self._known:
            return self._known.pop(key)[1]
        files = [file for file, _ in key[1]]
        for (unread, others), (before, harness) in reversed(self._known.items()):
            if unread == key[0] and [file for file, _ in others] == files:
                return amended(harness, before, texts)
        return None

    def _forget(self) -> None:
        """Leaves no more than there is room for, the latest first."""
        sizes = {key: sum(len(text) for _, text in key[1]) for key in self._known}
        while len(sizes) > MOST or (len(sizes) > 1 and sum(sizes.values()) > MOST_TEXT):
            oldest = next(iter(sizes))
            del sizes[oldest], self._known[oldest]
