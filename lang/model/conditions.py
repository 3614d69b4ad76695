"""Conditions over controls, as units and expectations state them."""

from __future__ import annotations

from collections.abc import Iterator

from ..diagnostics.diagnostic import Span
from ..records import dataclass

Pair = tuple[str, str]
"""Two terminals of one part, by their names inside the part; the first is the + side wherever that matters."""

ENGINE_POSITIONS = ("off", "cranking", "idling", "running", "fast")
FAST = "fast"
RUNNING = "running"
TOLD_APART = ENGINE_POSITIONS[:-1]
"""The positions that anything but numbers tells apart: most speed is running to everything but a winding."""
BY_ITSELF = ("idling", RUNNING)
"""Of those, the ones in which the engine turns by itself, and whatever charges gives."""


def told_apart(position: str) -> str:
    """The position of the engine as all but numbers see it."""
    return RUNNING if position == FAST else position


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


def tests_of(condition: Condition | None) -> Iterator[Test]:
    """Every test in a condition, in the order of the text."""
    match condition:
        case Test():
            yield condition
        case Not(term):
            yield from tests_of(term)
        case All(terms) | AnyOf(terms):
            for term in terms:
                yield from tests_of(term)


def asked_by(condition: Condition | None) -> Iterator[str]:
    """The inputs, latches and controls that a condition asks for, as they come."""
    return (test.control for test in tests_of(condition))
