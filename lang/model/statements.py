"""What a harness says beside its parts and wires: states, expectations, waivers, conversion, a shop's own limits."""

from __future__ import annotations

from datetime import date
from typing import Literal

from ..diagnostics.diagnostic import Span
from ..quantities.size import Size
from ..records import dataclass
from ..vocabulary.colours import Colour
from .conditions import Condition


# --- states, expectations, waivers -----------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """``settings`` maps a control (switch, sensed quantity, ``UNIT.latch`` or ``engine``) to its position.

    Switch names of the text are turned into their control (``Switch.control``); what is not named is at rest.
    ``in_numbers`` are the same where the engine's most speed is distinguished from running, as numbers alone do.
    """

    name: str
    settings: tuple[tuple[str, str], ...]
    span: Span
    in_numbers: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """What is claimed of ``part`` (``element`` is ``None``: the part as a whole, or its only element).

    ``how`` is live, dead, at least or at most; ``unit`` V, A or W with ``value`` in it for the last two.
    """

    part: str
    element: str | None
    how: Literal["live", "dead", "at least", "at most"]
    span: Span
    value: float | None = None
    unit: Literal["V", "A", "W"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """Claims ``in`` a named state, or ``whenever`` a condition holds; ``without`` names parts or wires taken out."""

    claims: tuple[Claim, ...]
    span: Span
    state: str | None = None
    whenever: Condition | None = None
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiver:
    """Findings of a rule on things named that are known to be no fault; ``rule_span`` is where it names the rule.

    ``state``: only those that name this state; ``None``: whatever they name.
    """

    rule: str
    names: tuple[str, ...]
    because: str
    span: Span
    until: date | None = None
    rule_span: Span | None = None
    state: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """A rule judged otherwise than it comes: all its findings get ``level``, or are left out where that is ``off``."""

    rule: str
    level: Literal["error", "warning", "note", "off"]
    because: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared:
    """``changes X because`` or ``loses Y because``: a difference from the old harness that is meant."""

    how: Literal["changes", "loses"]
    names: tuple[str, ...]
    because: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Removed:
    names: tuple[str, ...]
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversion:
    """What this harness says of the one it replaces. ``converts`` is that file's name, as written."""

    converts: str | None = None
    span: Span | None = None
    removed: tuple[Removed, ...] = ()
    declared: tuple[Declared, ...] = ()


# --- the shop -------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class HouseProfile:
    """Whose limits the shop works by: a profile's name, or (``is_file``) a separate file, as seen from the one that
    says so (``span.file``)."""

    name: str
    is_file: bool
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseSize:
    size: Size
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseDrop:
    """``share`` of 1 of the battery's volts that may be lost."""

    share: float
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseColour:
    """A colour for ``function``: ``ground``, a role of an element or a system. Without a stripe, the base colour."""

    colour: Colour
    function: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseConnector:
    """A family of connectors that the shop keeps; what is ``None`` may be any."""

    span: Span
    ways: int | None = None
    amps: float | None = None
    sealed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """What a shop states for its harnesses; empty where it says nothing."""

    profile: HouseProfile | None = None
    smallest: HouseSize | None = None
    drop: HouseDrop | None = None
    colours: tuple[HouseColour, ...] = ()
    connectors: tuple[HouseConnector, ...] = ()
