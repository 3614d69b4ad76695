"""How much of its volts an ignition part keeps while something leads its kill wire to its return: copper, a bad
joint, a cold lamp.

A part that lives on a winding, or is one, drives its volts through its own impedance; the path leaves it the share that
its resistance is of the whole. Speed, and with it the reactance, only lowers that share.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, Literal

from ...lang.circuit.branch_types import Direction
from ...lang.circuit.ids import End
from ...lang.model.parts import Load
from ...lang.records import dataclass
from ...lang.search.walks import closure
from ..dc.conducting import situation_of
from ..dc.connectivity import always
from ..dc.memory import AT_REST
from ..tables import device_constants as figures

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    from ..dc.device_models import Curve
    from ..dc.flow import Flow
    from ..dc.nodal_equations import NodalEquations
    from ..dc.situation import Situation
    from .operation import Operation

    Floats = NDArray[np.float64]

STOPPED: Final = 0.15
"""Of its volts, up to what an ignition part is surely stopped (ours)."""

RUNS_ON: Final = 0.40
"""From what on it runs on (ours); between the two nobody can tell."""

SHOWN: Final = 0.9
"""Above this share a path is not worth a word (ours)."""

NO_PATH: Final = 1e6
"""Ohm from which there is no path (ours)."""

LEAST: Final = 1e-10
"""S from every terminal to 0 V, so that nothing floats."""


@dataclass(frozen=True, slots=True)
class StopPath:
    """What leads the kill wire of ``part`` to its return: ``ohms``, and the ``share`` of its volts that they leave.

    ``at_most``: the reactance of its source is not known, and the share is no more than that. ``enough``: the ohms that
    stop it surely, where that was asked.
    """

    part: str
    ohms: float
    share: float
    at_most: bool
    enough: float = 0.0

    @property
    def word(self) -> Literal["stopped", "undecided", "runs on"]:
        if self.share < STOPPED:
            return "stopped"
        return "runs on" if self.share > RUNS_ON and not self.at_most else "undecided"


def stop_path(flow: Flow, part: object) -> StopPath | None:
    """The stop path of an ignition part as it is in a solved situation; ``None`` where nothing leads there, or the
    impedance of what drives the part is not known.
    """
    if not isinstance(part, Load) or part.stop_lead is None or not flow.situation.turning:
        return None
    source = _source(flow.network, flow.situation, part)
    if source is None:
        return None
    lead, back = (End(part.name, terminal) for terminal in part.stop_lead)
    ohms = ohms_between(flow, lead, back, without=part.name)
    if ohms > NO_PATH:
        return None
    resistance, reactance = source
    share = ohms / math.hypot(resistance + ohms, reactance or 0.0)
    return StopPath(part.name, ohms, share, reactance is None)


def copper_path(operation: Operation, part: object, positions: Mapping[str, str]) -> StopPath | None:
    """The stop path of an ignition part by wires and closed contacts alone, with the controls so and all that remembers
    at rest; ``None`` where these do not lead there, or the impedance of what drives the part is not known.
    """
    if not isinstance(part, Load) or part.stop_lead is None:
        return None
    network = operation.network
    situation = situation_of(network, positions, AT_REST, network.regulated)
    source = _source(network, situation, part)
    if source is None:
        return None
    lead, back = (End(part.name, terminal) for terminal in part.stop_lead)
    ohms = _copper_ohms(network, situation.conducting, lead, back)
    if ohms is None:
        return None
    resistance, reactance = source
    share = ohms / math.hypot(resistance + ohms, reactance or 0.0)
    return StopPath(part.name, ohms, share, reactance is None, _ohms_for(STOPPED, resistance, reactance or 0.0))


def _ohms_for(share: float, resistance: float, reactance: float) -> float:
    """Ohm of the path that leave a share of its volts to what has such a resistance and reactance."""
    square = share**2
    half = square * resistance / (1.0 - square)
    return half + math.sqrt(half**2 + square * (resistance**2 + reactance**2) / (1.0 - square))


def _copper_ohms(network: NodalEquations, conducting: frozenset[str], a: End, b: End) -> float | None:
    """Ohm between two terminals of wires and closed contacts; ``None`` where these do not join them."""
    import numpy as np

    near: dict[str, list[tuple[str, float]]] = {}
    for branch in network.circuit.branches:
        if branch.branch_type.joined is Direction.BOTH and (always(branch) or branch.key in conducting):
            siemens = network.siemens(branch)
            near.setdefault(branch.a, []).append((branch.b, siemens))
            near.setdefault(branch.b, []).append((branch.a, siemens))
    met = closure([str(a)], lambda node: (other for other, _ in near.get(node, ())))
    if b not in met:
        return None
    place = {node: i for i, node in enumerate(sorted(met - {b}))}
    matrix = np.zeros((len(place), len(place)))
    for node, i in place.items():
        for other, siemens in near[node]:
            matrix[i, i] += siemens
            if other in place:
                matrix[i, place[other]] -= siemens
    into = np.zeros(len(place))
    into[place[str(a)]] = 1.0
    return float(np.linalg.solve(matrix, into)[place[str(a)]])


def _source(network: NodalEquations, situation: Situation, part: Load) -> tuple[float, float | None] | None:
    """Ohm of what drives a part: its own primary, whose reactance no speed tells, or the winding that it lives on."""
    for element in part.elements:
        if element.points and element.ohms is not None:
            return element.ohms, None
        branch = network.circuit.element(part.name, element.name)
        if element.exciter and branch is not None and (found := network.winding_at(branch, situation)):
            return found
    return None


def ohms_between(flow: Flow, a: End, b: End, *, without: str = "") -> float:
    """Ohm between two terminals with every source at rest, lamps cold, and nothing inside a part (``without``)."""
    import numpy as np

    network = flow.network
    index = network.index
    if a not in index or b not in index:
        return math.inf
    if a == b:
        return 0.0
    count = len(network.nodes)
    rows, columns, values = network.conductances(flow.situation, ())
    matrix = np.zeros((count, count))
    off = rows != columns
    np.add.at(matrix, (rows[off], columns[off]), values[off])
    matrix[np.diag_indices(count)] = LEAST - matrix.sum(axis=1)
    kept, by_key = network.reduction.kept, network.circuit.by_key
    for key, top, bottom, curve in zip(
        flow.laws.keys, flow.laws.top_list, flow.laws.bottom_list, flow.laws.curves, strict=True
    ):
        branch = by_key.get(key)
        inside = branch is not None and branch.part == without
        siemens = 0.0 if inside else max(_at_rest(curve), 0.0)
        for i, j in ((kept[top], kept[bottom]), (kept[bottom], kept[top])):
            matrix[i, i] += siemens
            matrix[i, j] -= siemens
    into: Floats = np.zeros(count)
    into[index[a]], into[index[b]] = 1.0, -1.0
    volts = np.linalg.solve(matrix, into)
    return float(volts[index[a]] - volts[index[b]])


def _at_rest(curve: Curve) -> float:
    """S of a device with nothing on it: a lamp is cold, and a diode passes nothing."""
    if curve.filament is not None:
        return curve.filament.amps / curve.filament.volts * figures.laws().lamp_hot_over_cold
    slope = curve.slope
    for knee in curve.breakpoints:
        if (knee.volts < 0.0) is knee.up:
            slope += knee.slope
    return slope
