"""An independent circuit simulator judges every operating point: the specs in every state, and random harnesses."""

from __future__ import annotations

from pathlib import Path

import ngspice
import pytest
from hypothesis import given, settings
from outside import require_tool
from random_harness import harnesses

from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.fmea.failure_modes import Damage, opens
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.plain import struck
from loomwright.checks.fmea.shorts import Shorts
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file
from loomwright.lang.model.harness import Harness

SPECS = Path(__file__).parents[2] / "specs"
WHOLE = [SPECS / "stock.loom", SPECS / "rebuild.loom", *sorted((SPECS / "small").glob("*.loom"))]

UNMAPPED = {
    "magneto-single.loom": {"MAG.light"},
    "six-volt-magneto.loom": {"MAG.light", "MAG.charge", "SPARK.primary"},
    "trail-bike.loom": {"MAG.light", "MAG.exciter"},
}
"""What ngspice is not asked of here: alternating windings, which have tests of their own. All else must be mapped."""

FAULTS = [path for path in WHOLE if path.name != "six-volt-magneto.loom"]
"""Time steps make each fault of that one cost as much as all of another; the trail bike has windings, too."""


@settings(max_examples=60)
@given(harnesses())
def test_random_harnesses(harness: Harness) -> None:
    program = require_tool("ngspice")
    circuit = build_circuit(harness)
    operation = Operation(circuit)
    for name in harness.states:
        try:
            point = operation.state(name)
        except UnsolvableError:
            continue  # relays that never settle have no operating point to compare
        assert ngspice.compare(program, circuit, point.flow) == [], name


@pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.name)
def test_the_specs_in_every_state(path: Path) -> None:
    program = require_tool("ngspice")
    reading = read_file(path)
    assert reading.mistakes == ()
    circuit = build_circuit(reading.harness)
    operation = Operation(circuit)
    assert operation.unsolved == {}
    for name, point in operation.points.items():
        assert ngspice.compare(program, circuit, point.flow) == [], name
        unmapped = set(ngspice.netlist(circuit, point.flow.situation).unmapped)
        assert unmapped == UNMAPPED.get(path.name, set()), name


@pytest.mark.parametrize("path", FAULTS, ids=lambda path: path.name)
def test_a_sample_of_faults_in_every_state(path: Path) -> None:
    """Openings and shorts to ground, each as it is once all is at rest again."""
    program = require_tool("ngspice")
    operation = Operation(build_circuit(read_file(path).harness))
    protection = Protection(operation.circuit)
    sweep = Sweep(operation)
    compared = 0
    for number, name in enumerate(sweep.all_states(operation.points)):
        point = sweep.state(name).point
        opened = [Damage((b,)) for b in opens(operation.circuit) if not sweep.state(name).propagation.idle(b)]
        shorts = [short.damage for short in Shorts(point, protection).all() if short.damage is not None]
        for damage in (*opened[number::17], *shorts[number::11]):
            try:
                hurt = struck(operation, point, damage)
            except UnsolvableError:
                continue  # without that conductor a relay comes to no rest
            assert ngspice.compare(program, hurt.circuit, hurt.flow) == [], (name, damage)
            compared += 1
    assert compared > 10 or not protection.sources


@pytest.mark.parametrize("path", WHOLE[:2], ids=lambda path: path.name)
def test_the_worst_combinations(path: Path) -> None:
    program = require_tool("ngspice")
    circuit = build_circuit(read_file(path).harness)
    points = Operation(circuit).worst_points
    assert points
    for point in points:
        assert ngspice.compare(program, circuit, point.flow) == [], point.differing
