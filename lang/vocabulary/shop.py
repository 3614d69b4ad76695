"""What a shop states for all its harnesses."""

from __future__ import annotations

from typing import Final

from ..named_tuples import NamedTuple
from .kinds import ROLES, SYSTEMS
from .words import Words, yes


class HouseFact(NamedTuple):
    """What may follow `house` and its word. ``needs`` are facts of which one must be said; ``function``: after `for`.

    ``named``: a name, or the name of a file as a text, and nothing else. ``once``: one line of it a harness.
    """

    says: str
    words: Words = Words()
    needs: tuple[str, ...] = ()
    function: bool = False
    named: bool = False
    once: bool = True


HOUSE: Final[dict[str, HouseFact]] = {
    "profile": HouseFact(says='whose limits: `house profile NAME`, or `house profile "FILE.toml"`', named=True),
    "smallest": HouseFact(
        says="no conductor is thinner: `house smallest 0.75 mm2`",
        words=Words(ratings={"area": "size"}),
        needs=("size",),
    ),
    "drop": HouseFact(
        says="share of the battery's volts that may be lost on the way to a load and back: `house drop 5 %`",
        words=Words(ratings={"share": "share"}),
        needs=("share",),
    ),
    "colour": HouseFact(
        says="`house colour brown for ground`: the base colour of wires of a function; with a stripe, just that one",
        words=Words(colour=True),
        needs=("colour",),
        function=True,
        once=False,
    ),
    "connector": HouseFact(
        says="a family of connectors that it keeps: `house connector 10 A sealed`",
        words=Words(ratings={"count": "ways", "current": "amps"}, flags=yes("sealed")),
        needs=("ways", "amps"),
        once=False,
    ),
}
"""The words after `house`."""


GROUND_FUNCTION: Final = "ground"


FUNCTIONS: Final = (GROUND_FUNCTION, *ROLES, *SYSTEMS)
"""What a wire can be for, as far as its colour goes: the ground return, what an element is for, or a system."""


JUDGEMENTS: Final = ("error", "warning", "note", "off")
"""What `judge` can make of a rule's findings."""
