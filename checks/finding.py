"""A finding: what a rule says of a harness, with the evidence that proves it. Words and colours come later."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

from ..lang.mistake import Note, Span


class Level(IntEnum):
    """How grave. error: can burn, strand or hurt. warning: will fail or annoy. note: workmanship."""

    NOTE = 0
    WARNING = 1
    ERROR = 2

    @property
    def word(self) -> str:
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that decides: what it is, its value in the unit named (V, A, W, ohm, mm2, m, degC, s, %, A2s)."""

    label: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What a rule found at one place.

    ``message`` stands alone on one line, starts with no capital unless a name does, and ends without a period.
    ``about`` names the parts and wires concerned, as the user writes them (waivers match these). ``combination`` is one
    setting of the controls that shows it, nearest to rest, only controls that matter; ``state`` the named state
    instead. ``path`` is the way of the current through named wires and parts, in order. ``source`` names profile, table
    or law behind the figures. ``remedy`` says what would settle it. ``waived`` holds the reason where a waiver covers
    it.
    """

    rule: str
    level: Level
    message: str
    span: Span
    about: tuple[str, ...] = ()
    combination: tuple[tuple[str, str], ...] = ()
    state: str = ""
    path: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    source: str = ""
    remedy: str = ""
    implausible: bool = False
    notes: tuple[Note, ...] = ()
    waived: str = ""

    @property
    def order(self) -> tuple[Span, int, str, str]:
        """The order in which findings are shown: by place, then the graver first."""
        return (self.span, -self.level, self.rule, self.message)
