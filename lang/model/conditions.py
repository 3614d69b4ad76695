"""Conditions over controls, as units and expectations state them."""

from __future__ import annotations

from ..diagnostics.diagnostic import Span
from ..records import dataclass

Pair = tuple[str, str]
"""Two terminals of one part, by their names inside the part; the first is the + side wherever that matters."""

ENGINE_POSITIONS = ("off", "cranking", "idling", "running")
BY_ITSELF = ("idling", "running")
"""The positions in which the engine turns by itself, and whatever charges gives."""


# --- conditions ------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Test:
    """A control in a position (``KEY on``), or an input or latch of a unit by itself (``position`` is then empty)."""

    control: str
    position: str
    span: Span


@dataclass(frozen=True, slots=True)
class Not:
    term: Condition


@dataclass(frozen=True, slots=True)
class All:
    terms: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    terms: tuple[Condition, ...]


Condition = Test | Not | All | AnyOf
