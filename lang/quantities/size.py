"""The size of a conductor, as it is written and as it is meant."""

from __future__ import annotations

from typing import Literal

from ..records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A conductor's cross-section. ``area`` in mm2; ``text`` as the first form of the language writes it."""

    area: float
    text: str
    standard: Literal["metric", "AWG", "strands"]
    gauge: int | None = None
    strands: int | None = None
    strand_diameter: float | None = None
