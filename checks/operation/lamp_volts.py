"""What lamps on windings get at most speed: in every combination of the controls, and with any one of them out."""

from __future__ import annotations

from functools import cached_property
from itertools import product
from math import prod
from typing import TYPE_CHECKING, Final

from ...lang.circuit.branch import InPosition
from ...lang.circuit.branch_types import BranchType
from ...lang.quantities.ranking import exceeds, ranked
from ...lang.records import dataclass
from ...lang.search.walks import closure
from ..ac.wound import STEADY
from ..dc.devices import UnsolvableError, tested_volts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.branch import Branch
    from .operating_point import OperatingPoint
    from .operation import Operation

MOST_COMBINATIONS: Final = 512
"""This many combinations of the controls near windings are looked at; beyond, the named states alone (ours)."""

LIT: Final = 0.3
"""Of its volts, from which a lamp takes what matters to the others (ours)."""


@dataclass(frozen=True, slots=True)
class LampVolts:
    """A lamp on a winding at a point: V rms across it, and the V that it is made for."""

    lamp: Branch
    volts: float
    made_for: float
    point: OperatingPoint

    @property
    def share(self) -> float:
        return self.volts / self.made_for

    @property
    def by_watts(self) -> bool:
        """Whether it is worked out from watts alone, and so a rough figure."""
        return bool(self.point.flow.by_watts)


@dataclass(frozen=True, slots=True)
class LampOut:
    """What other lamps get once one is out, those of them that get most first; ``untold``: not in every combination,
    since no steady period was found in some.
    """

    out: Branch
    others: tuple[LampVolts, ...]
    untold: bool = False


class WindingLamps:
    """The lamps on the windings of one harness."""

    def __init__(self, operation: Operation) -> None:
        self.operation = operation
        self._lamps = [
            b for b in operation.circuit.branches if b.branch_type is BranchType.LAMP and b.key in operation.alternating
        ]

    @cached_property
    def highest(self) -> dict[str, LampVolts]:
        """The most that each lamp gets, by key: at most speed, over all combinations and the named states."""
        found: dict[str, LampVolts] = {}
        for point in self.points:
            for each in self._at(point):
                if each.lamp.key not in found or exceeds(each.share, found[each.lamp.key].share, STEADY):
                    found[each.lamp.key] = each
        return found

    @cached_property
    def outs(self) -> tuple[LampOut, ...]:
        """For each lamp that can be out while others are lit, what these get then."""
        lit = self._most_for_each_set
        found = []
        for lamp in self._lamps:
            there = [(point, keys) for point, keys in lit if lamp.key in keys and len(keys) > 1]
            # Fewer beside it get more: what has others besides is no worse.
            least = [(point, keys) for point, keys in there if not any(other < keys for _, other in there)]
            best: dict[str, LampVolts] = {}
            untold = False
            for point, keys in least:
                across = _without(point, lamp)
                untold = untold or across is None
                for key, volts in (across or {}).items():
                    branch = point.circuit.by_key[key]
                    each = LampVolts(branch, volts, self._made_for(branch), point)
                    if key in keys and (key not in best or exceeds(each.share, best[key].share, STEADY)):
                        best[key] = each
            if best or untold:
                others = ranked(sorted(best.values(), key=lambda each: each.lamp.key), key=lambda each: each.share)
                found.append(LampOut(lamp, tuple(others), untold))
        return tuple(found)

    @property
    def _most_for_each_set(self) -> list[tuple[OperatingPoint, frozenset[str]]]:
        """For each set of lamps that are lit together, by key, the combination in which they get most: what else
        differs is on the other side of a diode, or the speed.
        """
        found: dict[frozenset[str], tuple[float, OperatingPoint]] = {}
        for point in self.points:
            shares = {each.lamp.key: each.share for each in self._at(point) if each.share > LIT}
            keys, most = frozenset(shares), sum(shares.values())
            if keys not in found or exceeds(most, found[keys][0], STEADY):
                found[keys] = most, point
        return [(point, keys) for keys, (_, point) in found.items()]

    def at_running(self, at: LampVolts) -> float | None:
        """V of the same lamp in the same combination at running speed."""
        try:
            point = self.operation.at({**at.point.positions, "engine": "running"}, at.point.memory)
        except UnsolvableError:
            return None
        return abs(point.across(at.lamp.key)) if point.flow.windings else None

    @cached_property
    def points(self) -> tuple[OperatingPoint, ...]:
        """The combinations at most speed that differ in what is on the windings, and the named states."""
        return tuple(point for point in self._solved() if point.flow.windings)

    @property
    def unlooked(self) -> int:
        """How many combinations there are, where these are too many and only named states are looked at; else 0."""
        count = prod(len(positions) for _, positions in self._controls) if self._lamps else 0
        return count if count > MOST_COMBINATIONS else 0

    def _solved(self) -> Iterator[OperatingPoint]:
        yield from (p for p in self.operation.points.values() if p.engine in ("running", "fast") and not p.shorted)
        if self.unlooked or not self._lamps:
            return
        controls = self._controls
        met: set[frozenset[str]] = set()
        for chosen in product(*(positions for _, positions in controls)):
            moved = dict[str, str]((name, at) for (name, _), at in zip(controls, chosen, strict=True))
            closed = frozenset(b.key for b in self._near if isinstance(b.guard, InPosition) and _closed(b.guard, moved))
            if closed in met:
                continue
            met.add(closed)
            try:
                point = self.operation.at({**moved, "engine": "fast"})
            except UnsolvableError:
                continue
            if not point.shorted:
                yield point

    @cached_property
    def _controls(self) -> list[tuple[str, tuple[str, ...]]]:
        """The controls that open or close something on a winding, with their positions."""
        circuit = self.operation.circuit
        names = dict.fromkeys(b.guard.control for b in self._near if isinstance(b.guard, InPosition))
        return [(name, circuit.controls[name].positions) for name in names]

    @cached_property
    def _near(self) -> list[Branch]:
        """The contacts between the windings and their loads. What a battery feeds past a diode hardly counts."""
        circuit = self.operation.circuit
        of = circuit.nets.of
        grounds = {of[s.minus] for s in circuit.supplies}
        near: dict[int, set[int]] = {}
        for edge in circuit.nets.switched:
            if edge.both:
                near.setdefault(edge.a, set()).add(edge.b)
                near.setdefault(edge.b, set()).add(edge.a)
        hot = {of[p] for s in circuit.supplies if s.kind == "winding" for p in s.plus} - grounds
        ends = {of[end] for lamp in self._lamps for end in (lamp.a, lamp.b)}
        met = closure(hot | ends, lambda net: near.get(net, ()) if net not in grounds else ())
        return [b for b in circuit.branches if b.guard is not None and (of[b.a] in met or of[b.b] in met)]

    def _at(self, point: OperatingPoint) -> Iterator[LampVolts]:
        for lamp in self._lamps:
            yield LampVolts(lamp, abs(point.across(lamp.key)), self._made_for(lamp), point)

    def _made_for(self, lamp: Branch) -> float:
        return tested_volts(lamp.made_for(self.operation.circuit.harness.volts))


def _closed(guard: InPosition, positions: dict[str, str]) -> bool:
    return positions.get(guard.control) in guard.positions


def _without(point: OperatingPoint, lamp: Branch) -> dict[str, float] | None:
    """V rms across every other lamp while one is out; ``None`` where no steady period is found."""
    from ..ac.wound_flow import WoundFlow

    return point.flow.lamps_without(lamp.key) if isinstance(point.flow, WoundFlow) else {}
