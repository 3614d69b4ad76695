"""What a meter would show between two points of a motorcycle at rest: copper, ohms, one way, nothing, or nobody knows.

The battery is off. A ``Setup`` says what is apart, which parts are in, how the controls are. Copper is 0 ohm; what has
a resistance is solved by the pseudo-inverse of the conductance matrix; diodes show in the diode range only. Where
nobody can tell (inside a box, a doubtful mount), the resistance has a lowest and a highest value and the answer is
"unknown" wherever the two would show differently. Published: resistance distance, Klein and Randic (1993), from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Final, assert_never

from ...lang.circuit.branch import InPosition, Pulled
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.model.parts import (
    Flasher,
    Fuse,
    Ground,
    Load,
    Part,
    Rectifier,
    Regulator,
    Source,
    Splice,
    Switch,
    Unit,
)
from ...lang.search.disjoint_set import DisjointSet
from ..tables.meter import meter_figures
from .own_ohms import own_ohms, winding_ohms
from .resistances import Resistances, beep_shares, closed, resistances_between
from .setup import SHORT, MeterEdge, Prediction, Setup

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

_SOLID: Final = (BranchType.WIRE, BranchType.WAY, BranchType.LINK)


class Meter:
    """A meter at one harness in one setup. Nets are what copper joins for certain; positions never change them.

    ``piecewise``: copper is an edge of no ohms as well, so that each terminal is a net by itself.
    """

    def __init__(self, circuit: Circuit, setup: Setup, *, piecewise: bool = False) -> None:
        self.circuit = circuit
        self.setup = setup
        self._positions = dict(setup.positions)
        self._parts = self._plugged_in()
        merged: DisjointSet[str] = DisjointSet(circuit.terminals)
        loose: list[Branch] = []
        for branch in circuit.branches:
            if not self._is_there(branch):
                continue
            if branch.branch_type in _SOLID and not piecewise:
                merged.merge(branch.a, branch.b)
            else:
                loose.append(branch)
        for a, b in setup.clipped:
            merged.merge(a, b)
        numbers: dict[str, int] = {}
        self._net: dict[str, int] = {}
        for node in tuple(merged.leaders):
            self._net[node] = numbers.setdefault(merged.leader(node), len(numbers))
        self.count = len(numbers)
        self.edges = tuple(
            edge
            for edge in (*map(self._keyed, loose), *self._boxes(), *self._stop_leads(), *self._machines())
            if edge is not None and edge.a != edge.b
        )

    # --- points
    def net(self, node: str) -> int | None:
        """The net of a point, counted from 0; ``None`` where the harness has no such point."""
        return self._net.get(node)

    def between(self, a: str, b: str) -> Prediction:
        """What it shows with the red probe on ``a`` and the black one on ``b``. Raises ``KeyError`` for no point."""
        i, j = self._net[a], self._net[b]
        sound = self._sound
        return Prediction(float(sound.low[i, j]), float(sound.high[i, j]), self._way(i, j), self._way(j, i))

    def _way(self, i: int, j: int) -> bool | None:
        certain, possible = self._ways
        return True if certain[i, j] else (None if possible[i, j] else False)

    # --- probabilities, for each two nets
    def beeps(self, limit: float) -> Floats:
        """How probable a beep is, for a beeper of ``limit`` ohm: symmetric, shape (nets, nets)."""
        known = meter_figures()
        sound = beep_shares(self._sound, limit)
        result = sound.copy()
        for edges, share in ((self._without_lamps, known.dead_lamp), (self._without_joints, known.dead_joint)):
            if edges is not None:
                result -= share * (sound - beep_shares(edges, limit)).clip(0.0, None)
        return result

    def reads(self, ohms: float) -> Floats:
        """The likelihood density, per unit of the logarithm, that it shows ``ohms``: shape (nets, nets)."""
        import numpy as np

        known = meter_figures()
        sound = self._sound
        spread = np.full(sound.low.shape, math.log(known.coil_spread))
        if self._without_lamps is not None:
            spread[self._without_lamps.low > 1.001 * sound.low] = math.log(known.filament_spread)
        measured = math.log(ohms + known.probe_ohms)
        low = np.log(np.minimum(sound.low, _MOST) + known.probe_ohms)
        high = np.log(np.minimum(sound.high, _MOST) + known.probe_ohms)
        off = np.maximum(np.maximum(low - measured, measured - high), 0.0)
        fits = np.exp(-0.5 * (off / spread) ** 2) / (np.maximum(high - low, 0.0) + spread * math.sqrt(2.0 * math.pi))
        fits[np.isinf(sound.low)] = 0.0
        broad = 1.0 / math.log(_MOST / known.probe_ohms)
        result: Floats = (1.0 - known.wrong) * fits + known.wrong * broad
        if self._without_lamps is not None:  # with its bulb dead it would not have shown this
            dead = np.isinf(self._without_lamps.low) & ~np.isinf(sound.low)
            result = np.where(dead, (1.0 - known.dead_lamp) * result + known.dead_lamp * known.wrong * broad, result)
        return result

    def opens(self) -> Floats:
        """How probable it is that a resistance is beyond its range: shape (nets, nets)."""
        import numpy as np

        known = meter_figures()
        low, high = np.isinf(self._sound.low), np.isinf(self._sound.high)
        result = np.where(low, 1.0 - known.wrong, np.where(high, 1.0 - known.unknown_beeps, known.wrong))
        if self._without_lamps is not None:
            dead = np.isinf(self._without_lamps.low) & ~low
            result = np.where(dead, np.maximum(result, known.dead_lamp), result)
        return result

    def one_way(self) -> Floats:
        """How probable it is that the diode range shows a way from the first net to the second and none back."""
        import numpy as np

        known = meter_figures()
        certain, possible = self._ways
        result: Floats = np.full(certain.shape, known.unknown_beeps)
        result[certain & ~possible.T] = 1.0 - known.wrong
        result[~possible | certain.T] = known.wrong
        return result

    # --- what is there
    def _plugged_in(self) -> frozenset[str]:
        parts = self.circuit.harness.parts.values()
        moved = set(self._positions)
        return frozenset(
            part.name
            for part in parts
            if part.name not in self.setup.opened
            and (
                self.setup.parts_in
                or isinstance(part, (Splice, Ground))
                or (isinstance(part, Switch) and part.control in moved)
            )
            and not (isinstance(part, Fuse) and not self.setup.fuses_in)
        ) | frozenset(
            part.name
            for part in parts
            if isinstance(part, Fuse) and self.setup.fuses_in and part.name not in self.setup.opened
        )

    def _is_there(self, branch: Branch) -> bool:
        if branch.key in self.setup.opened:
            return False
        if branch.branch_type is BranchType.WIRE:
            return branch.owner not in self.setup.opened
        if branch.branch_type is BranchType.WAY:
            apart = self.setup.apart
            return apart is not None and branch.part not in apart and branch.part not in self.setup.opened
        if branch.branch_type is BranchType.CONTACT and not self._is_closed(branch):
            return False
        return branch.part in self._parts

    def _is_closed(self, branch: Branch) -> bool:
        match branch.guard:
            case InPosition(control, positions):
                control_of = self.circuit.controls[control]
                return self._positions.get(control, control_of.rest) in positions
            case Pulled(_, pulled):
                return not pulled
            case _:
                return True

    # --- what each thing shows
    def _keyed(self, branch: Branch) -> MeterEdge | None:
        edge = self._edge(branch)
        return None if edge is None else replace(edge, key=branch.key)

    def _edge(self, branch: Branch) -> MeterEdge | None:
        """A branch as the meter sees it; ``None`` for what it does not show, and for boxes, which come by their own."""
        a, b = self._net[branch.a], self._net[branch.b]
        part = self.circuit.harness.parts.get(branch.part)
        if _is_box(part) and branch.branch_type not in (*_SOLID, BranchType.MOUNT):  # its case is copper
            return None
        match branch.branch_type:
            case BranchType.CONTACT | BranchType.METER | BranchType.WIRE | BranchType.WAY | BranchType.LINK:
                return MeterEdge(a, b, 0.0, 0.0)
            case BranchType.FUSE:
                return MeterEdge(a, b, 0.0, 0.0, joint=True)
            case BranchType.MOUNT:
                return MeterEdge(a, b, 0.0, 0.0 if branch.reliable else math.inf, joint=True)
            case BranchType.DIODE | BranchType.LEG:
                return MeterEdge(a, b, math.inf, math.inf, diode=True)
            case BranchType.FLASHER:  # a thermal one: closed at rest, or not
                return MeterEdge(a, b, 0.0, math.inf)
            case BranchType.LED | BranchType.ELECTRONICS:
                return MeterEdge(a, b, meter_figures().box_least, math.inf)
            case BranchType.CAPACITOR:
                return None
            case BranchType.WINDING | BranchType.PRIMARY:
                measured = winding_ohms(branch)
                if measured is not None:
                    return MeterEdge(a, b, measured, measured)
                return MeterEdge(a, b, SHORT, self._winding_most(branch))
            case (
                BranchType.PASS
                | BranchType.CUT_OUT
                | BranchType.OUTPUT
                | BranchType.RESISTOR
                | BranchType.COIL
                | BranchType.FIELD
                | BranchType.SENSOR
                | BranchType.LAMP
                | BranchType.MOTOR
                | BranchType.HORN
                | BranchType.SOLENOID
                | BranchType.PUMP
                | BranchType.HEATER
                | BranchType.IGNITION
                | BranchType.SUPPLY
            ):
                low, high = own_ohms(branch, self.circuit)
                return MeterEdge(a, b, low, high, lamp=branch.branch_type is BranchType.LAMP)
            case _:
                assert_never(branch.branch_type)

    def _winding_most(self, branch: Branch) -> float:
        watts = getattr(branch.item, "watts", None)
        return meter_figures().winding_most if watts and watts >= _STRONG else math.inf

    def _boxes(self) -> Iterator[MeterEdge]:
        """Between every two terminals of a box: nobody knows what, but never less than ``box_least``."""
        for part in self.circuit.harness.parts.values():
            if not _is_box(part) or part.name not in self._parts:
                continue
            nets = list(dict.fromkeys(self._net[End(part.name, terminal)] for terminal in part.terminals))
            # Between two corners of a full graph of k corners and equal edges there are 2 / k of an edge.
            edge = meter_figures().box_least * len(nets) / 2.0
            for place, a in enumerate(nets):
                for b in nets[place + 1 :]:
                    yield MeterEdge(a, b, edge, math.inf)

    def _stop_leads(self) -> Iterator[MeterEdge]:
        """Behind a stop lead of which nothing else is known: the primary of a magneto and its points, or a box."""
        for part in self.circuit.harness.parts.values():
            if isinstance(part, Load) and part.stop_lead and not part.elements and part.name in self._parts:
                lead, back = (self._net[End(part.name, terminal)] for terminal in part.stop_lead)
                yield MeterEdge(lead, back, SHORT, math.inf)

    def _machines(self) -> Iterator[MeterEdge]:
        """Phases, which a star or a ring joins low, and a dynamo's armature."""
        most = meter_figures().winding_most
        for part in self.circuit.harness.parts.values():
            if not isinstance(part, Source) or part.name not in self._parts:
                continue
            nets = [self._net[End(part.name, phase)] for phase in part.phases]
            for a, b in pairwise(nets):
                yield MeterEdge(a, b, SHORT, most)
            if part.output is not None and part.what != "battery":
                plus, minus = (self._net[End(part.name, t)] for t in (part.output.plus, part.output.minus))
                if part.what == "dynamo":
                    yield MeterEdge(plus, minus, SHORT, most)
                elif not part.phases:  # its rectifier is inside
                    yield MeterEdge(minus, plus, math.inf, math.inf, diode=True)

    # --- solving
    @cached_property
    def _sound(self) -> Resistances:
        return self._solved(self.edges)

    @cached_property
    def _without_lamps(self) -> Resistances | None:
        """With every filament dead, to see which readings need one; ``None`` without one."""
        rest = tuple(edge for edge in self.edges if not edge.lamp)
        return self._solved(rest) if len(rest) < len(self.edges) else None

    @cached_property
    def _without_joints(self) -> Resistances | None:
        rest = tuple(edge for edge in self.edges if not edge.joint)
        return self._solved(rest) if len(rest) < len(self.edges) else None

    def _solved(self, edges: Iterable[MeterEdge]) -> Resistances:
        edges = tuple(edge for edge in edges if not edge.diode)
        low = resistances_between(self.count, [(edge.a, edge.b, edge.low) for edge in edges])
        if all(edge.low == edge.high for edge in edges):
            return Resistances(low, low)
        return Resistances(low, resistances_between(self.count, [(edge.a, edge.b, edge.high) for edge in edges]))

    @cached_property
    def _ways(self) -> tuple[Flags, Flags]:
        """Whether the diode range shows a way from net to net: for certain, and possibly."""
        import numpy as np

        most = meter_figures().diode_range
        certain = np.eye(self.count, dtype=bool)
        possible = certain.copy()
        for edge in self.edges:
            if edge.diode:
                certain[edge.a, edge.b] = possible[edge.a, edge.b] = True
                continue
            for i, j in ((edge.a, edge.b), (edge.b, edge.a)):
                certain[i, j] |= edge.high <= most
                possible[i, j] |= edge.low <= most
        return closed(certain), closed(possible)


_MOST: Final = 1e6
"""ohm: beyond this a reading counts as this (ours)."""

_STRONG: Final = 10.0
"""W: a stator winding of more feeds lamps and has few turns; a weaker one may feed the ignition, of many (ours)."""


def _is_box(part: Part | None) -> bool:
    """Electronics whose inside nobody knows."""
    match part:
        case Unit() | Regulator():
            return True
        case Flasher():
            return part.how == "electronic" or part.supply is not None
        case Rectifier():
            return part.shunt or part.regulated is not None
        case Load():
            return bool(part.elements) and all(
                e.what == "electronics" or (e.what == "ignition" and not e.ohms and not e.points) for e in part.elements
            )
        case _:
            return False
