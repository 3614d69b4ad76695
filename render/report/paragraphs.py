"""Sentences of a report in lines."""

from __future__ import annotations

import textwrap


def wrapped(text: str, width: int, first: str = "", others: str = "") -> list[str]:
    """Lines of at most ``width`` letters, the first begun by ``first`` and the others by ``others``."""
    lines = textwrap.wrap(
        text.replace("wire ", "wire\N{NO-BREAK SPACE}"),  # a wire is on one line with its number
        width,
        initial_indent=first,
        subsequent_indent=others,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]
