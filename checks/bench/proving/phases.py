"""The phases of one stator: every pair of them reads alike, and what that is the text does not say."""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING

from ....lang.circuit.ids import End
from ....lang.model.parts import Source
from ...tables.meter import meter_figures
from ...tables.proving import proving
from .rows import Expected

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from ....lang.circuit.circuit import Circuit
    from .rows import Row


def stators(circuit: Circuit) -> dict[frozenset[int], str]:
    """The nets of any two phases of a machine that has three or more, and its name."""
    nets = circuit.nets.of
    found = {}
    for part in circuit.harness.parts.values():
        if isinstance(part, Source) and len(part.phases) > 2:
            phases = [nets[end] for phase in part.phases if (end := End(part.name, phase)) in nets]
            found.update({frozenset(pair): part.name for pair in combinations(phases, 2)})
    return found


def more_rows(circuit: Circuit) -> int:
    """How many rows it takes at most to measure every pair, beyond those that find each phase open."""
    pairs = list(stators(circuit).values())
    return sum(pairs.count(name) - 2 for name in set(pairs))


def alike(name: str) -> Expected:
    """What a pair of phases of a stator shows: no more than two phases in a row, as in a star; all pairs the same."""
    most = 2.0 * meter_figures().winding_most * meter_figures().coil_spread + proving("slip")
    return Expected(way="ohms", most=math.ceil(most), alike=name)


def unlike(readings: Mapping[str, tuple[Row, float]]) -> frozenset[str]:
    """The rows, by number, whose figures (ohm) differ more than those of one stator in one setting may."""
    groups: dict[tuple[str, str], list[str]] = {}
    for number, (row, value) in readings.items():
        if row.expected.alike and math.isfinite(value):
            groups.setdefault((row.sheet, row.expected.alike), []).append(number)

    def spread(numbers: Sequence[str]) -> float:
        values = [readings[number][1] for number in numbers]
        return max(values) - min(values)

    return frozenset(n for group in groups.values() if spread(group) > proving("alike") + 1e-9 for n in group)
