"""What windings decide while the engine turns, calculated in advance: the page itself solves direct current alone."""

from __future__ import annotations

from itertools import islice, product
from math import prod
from typing import TYPE_CHECKING, Any, Final

from ...checks.dc.connectivity import Connectivity
from ...checks.dc.devices import UnsolvableError
from ...checks.operation.load_status import load_status
from ...lang.circuit.branch_types import BranchType
from ...lang.model.conditions import ENGINE_POSITIONS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...checks.operation.operation import OperatingPoint, Operation
    from ...checks.study import Study

Json = dict[str, Any]

MOST: Final = 300
"""Combinations of the controls (ours): some seconds for what is solved over a whole turn of the engine."""


def in_advance(study: Study) -> Json:
    """Every combination with the engine at a speed at which windings decide all voltages, from rest; of more than
    ``MOST`` those of the named states and what is one press from them (``whole``: false), or again the first ``MOST``
    of these (``near``: false). ``controls`` decide a combination, by their positions in this order; ``branches`` have
    voltages across them. Named states come by name, too, since one may hold what the engine moves.
    """
    operation, circuit = study.operation, study.circuit
    speeds = [engine for engine in ENGINE_POSITIONS if operation.network.turns(engine)]
    names = [name for name, control in circuit.controls.items() if not control.free]
    found: Json = {"whole": True, "near": True, "controls": names, "branches": [], "points": [], "states": {}}
    if not speeds:
        return found
    among = [speeds if name == "engine" else circuit.controls[name].positions for name in names]
    found["whole"] = prod(map(len, among)) <= MOST
    asked = list(product(*among) if found["whole"] else islice(_near_states(operation, names, among), MOST + 1))
    found["near"] = len(asked) <= MOST
    found["branches"] = [str(branch.key) for branch in circuit.branches if branch.branch_type is not BranchType.WIRE]
    for positions in asked[:MOST]:
        found["points"].append(
            {"positions": list(positions), **_solved(operation, dict(zip(names, positions, strict=True)))}
        )
    for name, point in operation.points.items():
        if point.engine in speeds:
            found["states"][name] = _told(operation, point)
    return found


def _near_states(operation: Operation, names: list[str], among: list[Any]) -> Iterator[tuple[str, ...]]:
    """The positions of the named states in which windings decide, then those that one press leads to; each once."""
    states = [tuple(operation.positions(name)[each] for each in names) for name in operation.circuit.harness.states]
    met = dict.fromkeys(state for state in states if all(at in some for at, some in zip(state, among, strict=True)))
    yield from met
    for state in states:
        for place, positions in enumerate(among):
            for position in positions:
                moved = (*state[:place], position, *state[place + 1 :])
                if moved not in met and all(at in some for at, some in zip(moved, among, strict=True)):
                    met[moved] = None
                    yield moved


def _solved(operation: Operation, positions: dict[str, str]) -> Json:
    try:
        return _told(operation, operation.at(positions))
    except UnsolvableError as error:
        return {"problem": str(error)}


def _told(operation: Operation, point: OperatingPoint) -> Json:
    """What the page shows of a point: volts of terminals as a meter reads them, all else as loads feel it."""
    flow, circuit = point.flow, point.circuit
    read, index = flow.readings, flow.network.index
    untold = frozenset(operation.on_windings.untold(point))
    why = "; ".join(dict.fromkeys(each.why for each in flow.left_out)) or "the watts of its winding alone do not tell"
    amps = {str(b.key): flow.amps.get(b.key, 0.0) for b in circuit.branches}
    amps |= {str(supply.key): point.mean_amps(supply.key) for supply in circuit.supplies if supply.kind != "winding"}
    amps |= {winding: flow.delivered_amps(winding) for winding in sorted(flow.windings)}
    loads = [branch for branch in circuit.branches if branch.branch_type.consumes and branch.key not in untold]
    words = {str(load.key): found.word for load in loads if (found := load_status(point, load.key)) is not None}
    giving = {machine.supply for machine in flow.situation.machines} | {
        s.name for s in circuit.supplies if s.kind == "winding"
    }
    joined = Connectivity(circuit, circuit.nets, giving, flow.situation.conducting, flow.at)
    memory = point.memory
    kinds = {"pulled": memory.pulled, "on": memory.on, "latched": memory.latched, "excited": memory.excited}
    return {
        "volts": [_rounded(read[index[end]], 3) if end in index else None for end in circuit.terminals],
        "across": [_rounded(point.across(b.key), 3) for b in circuit.branches if b.branch_type is not BranchType.WIRE],
        "amps": {key: size for key, each in amps.items() if (size := _rounded(each, 4))},
        "words": words,
        "live": sorted({circuit.nets.of[nodes[0]] for nodes in circuit.nets.nodes if joined.fed(nodes[0])}),
        "memory": {kind: sorted(map(str, names)) for kind, names in kinds.items()},
        "untold": {str(key): why for key in sorted(untold)},
        "windings": sorted(flow.windings),
        "rough": list(flow.by_watts),
        "shorted": point.shorted,
    }


def _rounded(value: float, digits: int) -> float:
    return round(float(value), digits) + 0.0
