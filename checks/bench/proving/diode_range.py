"""What the diode range shows from one terminal to another with a fault: whether it may pass, whether it must.

Copper, closed contacts and loads of few ohms pass both ways, diodes from anode to cathode; what nobody knows, as inside
a box, may pass and need not.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.search.cheapest import distances
from ....lang.search.walks import reachable, shortest
from ...tables.meter import meter_figures

if TYPE_CHECKING:
    from ....lang.circuit.ids import End
    from ...meter import Meter, MeterEdge


class DiodeRange:
    """The diode range between two terminals of a meter with each of some faults, one at a time."""

    def __init__(self, meter: Meter, red: End, black: End, ground: End) -> None:
        self._meter = meter
        self._most = meter_figures().diode_range
        self._red, self._black = self._place(red), self._place(black)
        self._ground = self._place(ground)
        self._at: dict[int, list[tuple[int, MeterEdge]]] = {}
        for edge in meter.edges:
            self._at.setdefault(edge.a, []).append((edge.b, edge))
            if not edge.diode:
                self._at.setdefault(edge.b, []).append((edge.a, edge))
        self._to_ground = self._must(self._black, self._ground)
        self._from_ground = self._must(self._ground, self._red)

    def _place(self, end: End) -> int:
        place = self._meter.net(end)
        if place is None:
            raise KeyError(end)
        return place

    def _may(self, node: int, without: str) -> Iterator[tuple[int, MeterEdge]]:
        for other, edge in self._at.get(node, ()):
            if (edge.diode or edge.low <= self._most) and not (without and edge.key == without):
                yield other, edge

    def _must(self, start: int, goal: int) -> float:
        return self._ohms(start).get(goal, math.inf)

    def _ohms(self, start: int) -> dict[int, float]:
        """The fewest ohms, for certain, from a place to each; a diode counts none."""

        def step(node: int) -> Iterator[tuple[int, float]]:
            for other, edge in self._at.get(node, ()):
                yield other, 0.0 if edge.diode else edge.high

        return distances([start], step, lambda total, ohms: total + ohms)

    def opens(self) -> frozenset[str]:
        """The keys without which it cannot pass from red to black: of such a branch it passes what ohms it has."""
        path = shortest([self._red], lambda node: node == self._black, lambda node: self._may(node, ""))
        keys = {edge.key for edge in path or () if edge.key}
        return frozenset(
            key
            for key in keys
            if self._black not in reachable([self._red], lambda node, key=key: self._may(node, key))  # type: ignore[misc]
        )

    def passes_back(self, grounded: End) -> bool:
        """Whether it must pass from black to red where a terminal is shorted to ground."""
        place = self._place(grounded)
        there = self._must(self._black, place) + self._from_ground
        return min(there, self._to_ground + self._must(place, self._red)) <= self._most
