"""Colours of insulation: the codes of IEC 60757, and what else colours are called."""

from __future__ import annotations

from typing import Final

from ..records import dataclass

IEC_60757: Final = {
    "BK": "black",
    "BN": "brown",
    "RD": "red",
    "OG": "orange",
    "YE": "yellow",
    "GN": "green",
    "BU": "blue",
    "VT": "violet",
    "GY": "grey",
    "WH": "white",
    "PK": "pink",
    "TQ": "turquoise",
}
"""Letter codes of IEC 60757 for the colours of the language (from memory, confidence high)."""


BASE_COLOURS: Final = tuple(IEC_60757.values())


COLOURS: Final = frozenset(shade + colour for colour in BASE_COLOURS for shade in ("", "light-", "dark-"))


ALSO_COLOURS: Final = {
    "gray": "grey",
    "light-gray": "light-grey",
    "dark-gray": "dark-grey",
    "slate": "grey",
    "purple": "violet",
    "light-purple": "light-violet",
    "dark-purple": "dark-violet",
    "tan": "light-brown",
    "beige": "light-brown",
    "sky-blue": "light-blue",
    "natural": "white",
    "clear": "white",
}
"""What old diagrams print -> the first form of that colour (common practice, no source). Read, as letter codes are."""


OTHER_COLOURS: Final = {"lilac": "light-violet", "amber": "orange", "cyan": "turquoise"}
"""What some call a colour -> what the language calls it (common practice, no source): for messages only."""


@dataclass(frozen=True, slots=True)
class Colour:
    """The colour of a wire's insulation: its ``base``, and a ``stripe`` where it has one, each one of ``COLOURS``."""

    base: str
    stripe: str = ""

    def __str__(self) -> str:
        return f"{self.base}/{self.stripe}" if self.stripe else self.base

    def __lt__(self, other: Colour) -> bool:
        return str(self) < str(other)


def colour_of(written: str) -> str | None:
    """The colour that a word, one of old diagrams, or a letter code of IEC 60757 in either case names."""
    return written if written in COLOURS else ALSO_COLOURS.get(written) or IEC_60757.get(written.upper())


def called_otherwise(written: str) -> str | None:
    """The colour of the language that somebody else's word for one means, such as `dark-lilac`."""
    shade, _, colour = written.casefold().rpartition("-")
    meant = OTHER_COLOURS.get(colour) or ALSO_COLOURS.get(colour)
    if meant is None or shade not in ("", "light", "dark"):
        return None
    full = f"{shade}-{meant}" if shade else meant
    return full if full in COLOURS else meant
