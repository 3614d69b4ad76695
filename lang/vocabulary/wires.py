"""Wires, routes and what the bench needs: what their lines may say."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from .words import WIRE_CLASSES, Words, flags, yes

WIRE_WORDS: Final = Words(
    ratings={"area": "size", "length": "length"},
    choices={"class": ("wire_class", tuple(WIRE_CLASSES))},
    flags={**yes("solid", "kept"), "site-cut": ("site_cut", True)},
    named={"past": "past"},
    many=("past",),
    colour=True,
)


WIRE_TRAITS: Final = (
    "via", "past", "colour", "size", "length", "wire_class", "solid", "for", "kept", "site_cut", "was", "label"
)  # fmt: skip
"""What may follow the ends of a wire, in the order in which it is best written."""


COVERS: Final = {
    "braid": "a braided sleeve around this stretch",
    "tape": "this stretch is taped",
    "tube": "a tube around this stretch",
    "loose": "no cover around this stretch: its wires are tied",
}


ROUTE_WORDS: Final = Words(
    ratings={"length": "length"},
    keyed={"ambient": ("ambient", "temperature"), "slack": ("slack", "share")},
    flags={**yes("flexing"), **flags("cover", *COVERS)},
)


WIRES_WORDS: Final = Words(choices={"class": ("wire_class", tuple(WIRE_CLASSES))}, keyed={"slack": ("slack", "share")})
"""What `wires` says of every wire that does not say its own."""


OFFERED: Final = {
    "stud": "a stud that takes a ring: `stud M8`",
    "tab": "a flat tab that takes a push-on receptacle, by its width: `tab 6.3 mm`",
    "bullet": "a round socket or pin, by its diameter: `bullet 3.9 mm`",
    "pin": "a pin in a housing, by its width or diameter: `pin 1.5 mm`",
    "screw": "a screw that clamps: `screw M4` takes a ring, `screw` alone the bare strands",
    "bare": "strands without a crimp, as a solder joint or a lead that comes out of a part has",
}
"""What a terminal offers a wire."""


THREADS: Final = (3, 4, 5, 6, 8, 10, 12)
"""Coarse threads of the first choice by ISO 262 that electrical studs have, in mm (from memory, confidence high)."""


ENDS_WORDS: Final = Words(
    ratings={"length": "size"},
    flags={**flags("what", *OFFERED), **{f"M{size}": ("thread", size) for size in THREADS}},
)


HOUSING_WORDS: Final = Words(ratings={"count": "ways"}, flags=yes("sealed"))


SPARE_WIRE_WORDS: Final = Words(
    ratings={"area": "size"}, choices={"class": ("wire_class", tuple(WIRE_CLASSES))}, colour=True
)


SPARE_WIRE_TRAITS: Final = ("colour", "size", "wire_class")


THROUGH: Final = ("bearings", "paint", "rubber", "hinge")
"""Joints in a mounting that nobody should rely on."""


SAID_WORDS: Final[Mapping[str, Words]] = MappingProxyType(
    {"wire": WIRE_WORDS, "route": ROUTE_WORDS, "wires": WIRES_WORDS, "ends": ENDS_WORDS, "housing": HOUSING_WORDS,
     "spare-wire": SPARE_WIRE_WORDS}
)  # fmt: skip
"""First word -> the words that its line may have, for statements that describe no part."""
