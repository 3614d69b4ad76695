"""What a survey says: halves of plugs with the colours of their leads, readings of a meter, what is already known.

A survey is what somebody writes down in front of an unfamiliar harness. Everything here is frozen; names of leads,
ends and controls are resolved, and every record has its place in the text.
"""

from __future__ import annotations

from dataclasses import field
from enum import Enum, unique

from ..diagnostics.diagnostic import Diagnostic, Span
from ..model.harness import Harness, Reading
from ..records import dataclass

LeadName = tuple[str, int]
"""A half's name and the number of the lead in it, counted from 1."""


@dataclass(frozen=True, slots=True)
class SeenColour:
    """The colour of one wire as somebody saw it.

    ``base`` is ``None`` where it could not be seen. ``stripe`` is empty where there was none, ``None`` where it could
    not be seen whether there is one. ``sure`` is false where the line puts ``?`` behind it.
    """

    base: str | None
    stripe: str | None = ""
    sure: bool = True

    def __str__(self) -> str:
        stripe = f"/{self.stripe}" if self.stripe else ""
        return f"{self.base or '?'}{stripe}{'' if self.sure else '?'}"


@dataclass(frozen=True, slots=True)
class Lead:
    """What is in one way of a half; several colours where wires are crimped together, none in an empty way."""

    half: str
    number: int
    colours: tuple[SeenColour, ...]
    span: Span

    @property
    def name(self) -> LeadName:
        return self.half, self.number

    def __str__(self) -> str:
        return f"{self.half}.{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Half:
    """Half a plug, with its leads in order. ``side`` is ``socket``, ``pin`` or empty; ``mates`` the half it came off.

    ``place`` is where it is, the survey's own where its line names none.
    """

    name: str
    leads: tuple[Lead, ...]
    span: Span
    side: str = ""
    mates: str | None = None
    place: str | None = None

    @property
    def wired(self) -> tuple[Lead, ...]:
        """The leads, empty ways left out."""
        return tuple(lead for lead in self.leads if lead.colours)


@dataclass(frozen=True, slots=True)
class Knob:
    """A control that nobody knows yet, behind a half, with names for its positions."""

    name: str
    half: str
    positions: tuple[str, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Point:
    """Where a probe was: a lead of a half, or an end of the diagram (``node``)."""

    text: str
    span: Span
    lead: LeadName | None = None
    node: str | None = None


@unique
class Shows(Enum):
    """What the meter did."""

    BEEP = "beeps"
    SILENCE = "silent"
    OHMS = "ohm"
    OPEN = "open"
    ONE_WAY = "one-way"


Setting = tuple[tuple[str, str], ...]
"""Controls or knobs and their positions, sorted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterReading:
    """One touch of two probes, red on ``a`` where that matters. ``ohms`` is what it showed, for ``Shows.OHMS`` only."""

    shows: Shows
    a: Point
    b: Point
    span: Span
    ohms: float | None = None
    setting: Setting = ()

    @property
    def leads(self) -> tuple[LeadName, ...]:
        return tuple(point.lead for point in (self.a, self.b) if point.lead is not None)


@dataclass(frozen=True, slots=True)
class Found:
    """What somebody saw with his own eyes: a half, or a lead, ``right`` (``is``) or not (``not``) this of the diagram.

    ``target`` is ``C-LEFT.p`` or the name of a part for a half, an end for a lead.
    """

    half: str
    number: int | None
    target: str
    right: bool
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """How everything was when the readings were taken, the battery off and the fuses in.

    ``apart`` names connectors that were pulled, ``None`` stands for all of them. ``parts_in``: the parts were still
    plugged in.
    """

    apart: frozenset[str] | None = None
    parts_in: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """A survey as far as it was understood.

    ``relation`` says whose diagram ``harness`` is: ``of`` this motorcycle, ``like`` it, or empty without one.
    ``beeper`` is the resistance in ohm up to which the meter beeps.
    """

    file: str
    title: str = ""
    relation: str = ""
    diagram: str | None = None
    harness: Harness | None = None
    place: str | None = None
    arrangement: Arrangement = field(default_factory=Arrangement)
    beeper: float = 30.0
    halves: dict[str, Half] = field(default_factory=dict)
    knobs: dict[str, Knob] = field(default_factory=dict)
    readings: tuple[MeterReading, ...] = ()
    found: tuple[Found, ...] = ()

    def lead(self, name: LeadName) -> Lead:
        return self.halves[name[0]].leads[name[1] - 1]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyReading:
    """What reading a survey gave: as much as was understood, every mistake, and the texts by file name.

    ``diagram`` is the reading of the diagram, ``None`` without one: what of it was understood is used, whatever
    its mistakes.
    """

    survey: Survey
    mistakes: tuple[Diagnostic, ...]
    texts: dict[str, str]
    diagram: Reading | None = None
