"""Text as a terminal may show it."""

from __future__ import annotations

import unicodedata


def visible(text: str) -> str:
    """``text`` without anything that a terminal would obey: control and format characters become U+FFFD; tabs stay."""
    return "".join(
        character if character == "\t" or unicodedata.category(character)[0] != "C" else "\ufffd" for character in text
    )


def visible_lines(text: str) -> str:
    """The same for a text of several lines, which stay lines."""
    return "\n".join(map(visible, text.split("\n")))
