"""Colours of insulation: the codes of IEC 60757, and what else colours are called."""

from __future__ import annotations

from typing import Final

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
