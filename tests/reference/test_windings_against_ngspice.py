"""Settled transients of ngspice judge the solvers of windings: lamps and coils within 1 %, charge within 2.5 %.

A few here; all 54 cases and 200 random networks by ``tests/bench/windings.py``, which the night runs.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import ac_spice
import numpy as np
import pytest
from measured_stators import SINGLE_PHASE, THREE_PHASES
from outside import require_tool

from loomwright.checks.ac.coils import Coil, coils, impedance, star_phase
from loomwright.checks.ac.equations import WoundEquations
from loomwright.checks.ac.rectified import lead_amps
from loomwright.checks.ac.time_steps import time_steps
from loomwright.checks.ac.wound import Wound
from loomwright.checks.ac.wound_flow import WoundFlow
from loomwright.checks.dc import device_models as laws
from loomwright.checks.dc.kron_reduction import stamp
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.ids import End
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).parents[2] / "specs" / "small"


@pytest.mark.parametrize(
    ("kind", "speed"),
    [("lamps", 1.8), ("led", 1.0), ("half wave beside lamps", 1.0), ("tap", 1.8), ("bridge", 1.0)],
)
def test_usual_circuits(kind: str, speed: float) -> None:
    wound = ac_spice.case(kind, speed, 1.0)
    theirs = ac_spice.run(require_tool("ngspice"), wound)
    assert ac_spice.differences(wound, time_steps(wound), theirs) == []


@pytest.mark.parametrize(
    ("name", "state"), [("six-volt-magneto", "riding"), ("six-volt-magneto", "by-day"), ("trail-bike", "braking")]
)
def test_whole_motorcycles(name: str, state: str) -> None:
    """Wires, plugs, contacts, lamps, diodes and battery as the harness has them; a limiter as what it came to."""
    operation = Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness))
    flow = operation.state(state).flow
    assert isinstance(flow, WoundFlow)
    wound, lamps = flow.periodic.wound, flow.periodic.wound.slow.lamp_volts.size
    siemens = wound.siemens.copy()
    stamp(
        siemens,
        [(w.top, w.bottom, float(g)) for w, g in zip(wound.limiters, flow.periodic.siemens[lamps:], strict=True)],
    )
    bare = replace(wound, siemens=siemens, limiters=())
    theirs = ac_spice.run(require_tool("ngspice"), bare)
    assert ac_spice.differences(bare, flow.periodic, theirs) == []


@pytest.mark.parametrize("seed", range(4))
def test_random_networks(seed: int) -> None:
    wound = ac_spice.random_network(seed)
    theirs = ac_spice.run(require_tool("ngspice"), wound)
    assert ac_spice.differences(wound, time_steps(wound), theirs) == []


RECTIFIERS = {
    "whole": (frozenset(), "", None),
    "wire 1 open": (frozenset({"wire 1"}), "", None),
    "wire 1 short to ground": (frozenset(), "REC.U", None),
    "wires 1 and 2 joined": (frozenset(), "", ("REC.U", "REC.V")),
    "REC U-B+ open": (frozenset({"REC U-B+"}), "", None),
    "REC B--V short": (frozenset(), "", ("REC.B-", "REC.V")),
}
"""What is open, on ground, and joined."""


@pytest.mark.parametrize("phases", [3, 2])
@pytest.mark.parametrize("fault", RECTIFIERS)
def test_rectifiers_with_one_thing_wrong(fault: str, phases: int) -> None:
    """What the tables say that a measured stator gives at its regulated volts: within 5 % or 0.1 A of the simulator."""
    text = THREE_PHASES if phases == 3 else SINGLE_PHASE
    opened, grounded, pair = RECTIFIERS[fault]
    circuit = build_circuit(read_text(text).harness)
    joined = tuple((End(*a.split(".")), End(*b.split("."))) for a, b in (pair,)) if pair else ()
    ground = End(*grounded.split(".")) if grounded else ""
    hurt = Operation(circuit).damaged(opened, ground, joined=joined)
    for state, speed in (("idling", 0.3), ("riding", 1.0)):
        theirs = ac_spice.run(require_tool("ngspice"), _rectifier(phases, fault, speed, 14.4))
        machines = hurt.state(state).flow.situation.machines
        ours = machines[0].lasting if machines else 0.0
        expected = float(theirs.law_amps[-1])
        assert abs(ours - expected) <= max(0.05 * abs(expected), 0.1), f"{ours:.4g} A, ngspice {expected:.4g} A"
        (supply,) = (s for s in hurt.circuit.supplies if s.phases)
        network = hurt.network
        assert isinstance(network, WoundEquations)
        stator = network.stator(supply, frozenset())
        if stator is not None and stator.kind in ("three", "three-shorted", "single-shorted", "three-open"):
            lead = lead_amps(stator.kind, stator.line, 14.4, speed)  # type: ignore[arg-type]
            assert lead == pytest.approx(float(theirs.coil_amps.max()), rel=0.05, abs=0.1)


def _rectifier(phases: int, fault: str, speed: float, volts: float) -> Wound:
    """The stator of the text between its leads 1 to 3, its rectifier with ground as node 0 and B+ as 4, a battery."""
    diode, least = laws.diode(0.7, 0.05), 1e9
    leads = [1, 2, 3][:phases]
    things = [(lead, 4, diode) for lead in leads] + [(0, lead, diode) for lead in leads]
    resistors = [(5, 0, least), (3, 0, least)]
    ends = {"wire 1 open": 6}.get(fault, 1)
    if phases == 3:
        phase = star_phase(impedance(50.0, 18.0, 0.2))
        made = [Coil(lead if lead != 1 else ends, 5, phase, 2.0 * math.pi * i / 3) for i, lead in enumerate(leads)]
    else:
        made = [Coil(ends, 2, impedance(30.0, 20.0, 0.2))]
    if ends == 6:
        resistors += [(6, 0, least), (1, 0, least)]
    if fault == "wire 1 short to ground":
        resistors.append((1, 0, 1e-4))
        things.remove((0, 1, diode))
    elif fault == "wires 1 and 2 joined":
        resistors.append((1, 2, 1e-4))
    elif fault == "REC U-B+ open":
        things.remove((1, 4, diode))
    elif fault == "REC B--V short":
        resistors.append((2, 0, 1e-4))
        things.remove((0, 2, diode))
    things.append((4, 0, laws.Curve(slope=1e3, offset=-1e3 * volts)))
    return Wound(
        ac_spice.resistances(7 if ends == 6 else 6, resistors),
        np.array([a for a, _, _ in things]),
        np.array([b for _, b, _ in things]),
        tuple(curve for _, _, curve in things),
        coils(made, (), speed),
    )
