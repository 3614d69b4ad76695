"""Walks of button presses, sound and with one fault, with what the engine says of each moment: the judge of the page.

A walk begins at rest; each press moves one control, and the next moment starts from what the one before left. What
keeps switching leaves things as they were.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date
from typing import Any

from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.memory import AT_REST, Memory
from loomwright.checks.dc.relay_fixed_point import UnsettledError
from loomwright.checks.export import exported
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.checks.study import Study
from loomwright.lang.circuit.branch_types import BranchType
from loomwright.lang.model.harness import Harness

FAULTS = ("", "wire", "fuse", "ground")
Json = dict[str, Any]


def walks(harness: Harness, chance: random.Random, faults: tuple[str, ...] = FAULTS, presses: int = 25) -> Json:
    """The circuit as it is exported, and a walk for each fault."""
    study = Study(harness, today=date.min)
    runs = []
    for kind in faults:
        fault = _fault(study, chance, kind)
        operation = study.operation
        if fault:
            operation = operation.damaged(frozenset(fault.get("open", ())), fault.get("grounded", ""))
        runs.append({"fault": fault, "steps": list(walk(operation, chance, presses))})
    return {"document": exported(study), "runs": runs}


def _fault(study: Study, chance: random.Random, kind: str) -> Json:
    """A wire cut, a fuse out, a terminal on ground; nothing without any of these."""
    wanted = {"wire": BranchType.WIRE, "fuse": BranchType.FUSE}.get(kind)
    branches = [str(b.key) for b in study.circuit.branches if b.branch_type is wanted]
    if branches:
        return {"open": [chance.choice(branches)]}
    return {"grounded": str(chance.choice(study.circuit.ends))} if kind == "ground" and study.circuit.ends else {}


def walk(operation: Operation, chance: random.Random, presses: int) -> Iterator[Json]:
    controls = [c for c in operation.circuit.controls.values() if not c.free]
    engine = [c for c in controls if c.name == "engine"]
    positions: dict[str, str] = {}
    memory = AT_REST
    for _ in range(presses):
        control = chance.choice(engine if chance.random() < 0.15 else controls)
        now = positions.get(control.name, control.rest)
        positions[control.name] = chance.choice([p for p in control.positions if p != now])
        try:
            point = operation.at(positions, memory)
        except UnsettledError as error:
            yield {"positions": dict(positions), "chatters": list(error.parts)}
        except UnsolvableError:
            yield {"positions": dict(positions), "unsolvable": True}
        else:
            memory = point.memory
            yield {"positions": dict(positions), **said(point)}


def said(point: OperatingPoint) -> Json:
    """What the engine says of a moment; volts of what is connected to a source."""
    network, joined = point.flow.network, point.connectivity
    supplies = [supply for supply in point.circuit.supplies if supply.kind != "winding"]
    return {
        "memory": _memory(point.memory),
        "shorted": point.shorted,
        "amps": {str(key): float(point.flow.amps[key]) for key in point.circuit.by_key if key in point.flow.amps},
        "mean": {str(supply.key): float(point.mean_amps(supply.key)) for supply in supplies},
        "volts": {str(e): float(point.volts(e)) for e in network.nodes if e.terminal and joined.reaches_pole(e)},
    }


def _memory(memory: Memory) -> Json:
    kinds = {"pulled": memory.pulled, "on": memory.on, "latched": memory.latched, "excited": memory.excited}
    return {kind: sorted(map(str, names)) for kind, names in kinds.items()}
