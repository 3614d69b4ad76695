"""The words of survey files, as data: reading, messages, layout, completion and the reference are made from them."""

from __future__ import annotations

import re
from typing import Final

from ..named_tuples import NamedTuple


class SurveyForm(NamedTuple):
    """A line: how it is written, and what it says."""

    written: str
    says: str


SURVEY: Final = "survey"
"""The word that a survey file begins with, in place of ``loom``."""

LINES: Final[dict[str, SurveyForm]] = {
    SURVEY: SurveyForm(
        'survey "TITLE" [of|like "FILE.loom"] [at PLACE]',
        "`of` names the diagram of this motorcycle, `like` that of a similar one; without either there is no diagram",
    ),
    "setup": SurveyForm(
        "setup all apart|NAME NAME … apart, parts out|in",
        "how everything was: which connectors were pulled, and whether the parts were still plugged in; battery off, "
        "fuses in. `all apart, parts out` where the line is missing",
    ),
    "beeper": SurveyForm(
        "beeper RESISTANCE", "up to which resistance the meter beeps; 30 ohm where the line is missing"
    ),
    "half": SurveyForm(
        "half NAME [socket|pin] [mates NAME] [at PLACE] COLOUR …",
        "half a plug and the colours of its leads in order: `?` not seen, `bk+bk` two wires in one way, `-` an empty "
        "way, `vt?` not sure. Read too as `plug`",
    ),
    "knob": SurveyForm(
        "knob NAME of NAME POSITION POSITION …",
        "a control that is not known yet, connected behind that half, and names for its positions",
    ),
    "found": SurveyForm(
        "found NAME is|not NAME, or found LEAD is|not END",
        "what was seen by eye: a half, or a lead, that is or is not this of the diagram (`C-LEFT.p` is the pin half)",
    ),
    "beeps": SurveyForm("beeps POINT POINT … [with CONTROL POSITION, …]", "each of them beeps with each other"),
    "silent": SurveyForm("silent POINT POINT … [with …]", "none of them beeps with another; not the same as open"),
    "touched": SurveyForm(
        "touched POINT over NAME …: LEAD …|none [with …]",
        "one probe on the point, the other on every lead of these halves: those behind the colon beeped",
    ),
    "one-way": SurveyForm("one-way POINT POINT [with …]", "diode range: from the first to the second only"),
}
"""The lines of a survey by their first word; a line that begins with two points is a reading of a resistance."""

MEASURED: Final = SurveyForm("POINT POINT RESISTANCE|open [with …]", "what the meter showed; `open`: beyond its range")

ALSO_LINES: Final = {"plug": "half"}
"""Other first words that are read; the layout writes the first form."""

SIDES: Final = ("socket", "pin")
NOTHING: Final = "none"
OPEN: Final = "open"
WITH: Final = "with"
BODIES: Final = ("FRAME", "ENGINE")
"""Points that need no diagram: the frame and the engine block."""

NOT_NAMES: Final = frozenset(
    {*LINES, *ALSO_LINES, *SIDES, NOTHING, OPEN, WITH, "mates", "at", "of", "like", "over", "is", "not", "all", "apart"}
)
"""Words that cannot name a half or a knob, since they mean something on its lines. They reserve nothing elsewhere."""

_FIRST: Final = re.compile(r"\ufeff?(?:[ \t]*(?:#[^\n]*)?\r?\n)*[ \t]*survey(?![^\s\"])")


def is_survey(text: str) -> bool:
    """Whether the first line of a text that says something begins with ``survey``."""
    return _FIRST.match(text) is not None
