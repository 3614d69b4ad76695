"""What a meter is put to: how everything is while somebody measures, and what is shown between two points."""

from __future__ import annotations

import math
from enum import Enum, unique
from typing import Final

from ...lang.records import dataclass

SHORT: Final = 1e-3
"""ohm: what is less is copper (ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """How everything is while somebody measures.

    ``apart``: connectors that are pulled, ``None`` for all. ``parts_in``: the parts are plugged in; else only fuses
    (``fuses_in``) and the switches of the controls that ``positions`` names are. Controls that ``positions`` does not
    name are at rest. ``opened``: keys of branches, or names of parts, that are disconnected besides. ``clipped``:
    pairs of points that a lead joins.
    """

    apart: frozenset[str] | None = None
    parts_in: bool = False
    fuses_in: bool = True
    positions: tuple[tuple[str, str], ...] = ()
    opened: frozenset[str] = frozenset()
    clipped: tuple[tuple[str, str], ...] = ()


@unique
class Kind(Enum):
    COPPER = "copper"
    OHMS = "ohms"
    ONE_WAY = "one way"
    OPEN = "open"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Prediction:
    """What a meter shows between two points: ohm from ``low`` to ``high`` (``inf``: open).

    ``forward`` and ``backward``: whether the diode range shows a way from the first to the second and back; ``None``
    where nobody can tell.
    """

    low: float
    high: float
    forward: bool | None
    backward: bool | None

    @property
    def kind(self) -> Kind:
        if self.high <= SHORT:
            return Kind.COPPER
        if math.isinf(self.low) and self.forward is not None and self.backward is not None:
            return Kind.ONE_WAY if self.forward != self.backward else Kind.OPEN
        return Kind.OHMS if not math.isinf(self.high) else Kind.UNKNOWN


@dataclass(frozen=True, slots=True)
class MeterEdge:
    """A two-terminal thing of ``low`` to ``high`` ohm; ``diode``: it shows from ``a`` to ``b`` in the diode range.

    ``key`` is that of its branch; empty for what is no single one.
    """

    a: int
    b: int
    low: float
    high: float
    diode: bool = False
    lamp: bool = False
    joint: bool = False
    key: str = ""
