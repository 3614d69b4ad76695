"""Faults beside windings are solved together, as each alone; what a fault makes the leads of windings carry."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from measured_stators import THREE_PHASES

from loomwright.checks.fmea.failure_modes import Damage, opens
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.propagation import Propagation
from loomwright.checks.fmea.report import fault_reports
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

SMALL = Path(__file__).parents[3] / "specs" / "small"
LIGHTING = """
source MAG alternator at engine for lighting { winding light 0.35 ohm open 22 V short 4 A: 59 31 }
load FOG lamp at headlamp for lighting { glow 27 W lamp: 1 2 }
ground FORK at headlamp
mount MAG.31 to ENGINE
mount FORK to FRAME
wire 901 MAG.59 to FOG.1 yellow 1.5 mm2 class C
wire 902 FOG.2 to FORK black 1.5 mm2 0.2 m
"""


def sweep(text: str) -> Sweep:
    reading = read_text(text)
    assert [m.message for m in reading.mistakes] == []
    return Sweep(Operation(build_circuit(reading.harness)))


def told(text: str) -> dict[str, set[str]]:
    """What each fault makes leads carry, by fault and states."""
    found = sweep(text)
    reports = fault_reports(found, found.circuit.harness.states, Protection(found.circuit))
    said: dict[str, set[str]] = {}
    for report in reports:
        for states, effects in report.effects:
            for fault in report.faults:
                words = {e.words() for e in effects if "rms" in e.words() or "heats" in e.words()}
                said.setdefault(f"{fault} in {states[0]}", set()).update(words)
    return said


def test_faults_beside_a_winding_are_solved_together_as_each_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    state = sweep((SMALL / "electric-start.loom").read_text("utf-8") + LIGHTING).state("riding")
    fall = state.propagation
    branches = [b for b in opens(state.point.circuit) if state.point.connectivity.conducts(b) and not fall.idle(b)]
    alone: list[str] = []
    plainly = Propagation.plainly
    monkeypatch.setattr(
        Propagation, "plainly", lambda self, damage, start: alone.extend(damage.keys) or plainly(self, damage, start)
    )
    together = state.solved({branch.key: Damage((branch,)) for branch in branches})
    # Those of the winding, and what its current and that of the battery return by.
    touching = {"wire 901", "wire 902", "mount MAG.31", "mount FORK"}
    assert touching & {b.key for b in branches} <= set(alone)
    assert len(alone) < len(branches) / 3
    monkeypatch.setattr(Propagation, "_beside_windings", lambda self, damages, start: {})
    for branch in (b for i, b in enumerate(branches) if b.key not in alone and i % 3 == 0):
        (after,) = state.solved({branch.key: Damage((branch,))}).values()
        fast = together[branch.key]
        assert fast.stopped == after.stopped
        assert [e.words() for e in fast.effects] == [e.words() for e in after.effects], branch.key
        kept = [i for i, node in enumerate(state.point.flow.network.nodes) if not node.endswith("inside")]
        assert fast.volts is not None
        assert after.volts is not None
        # To a thousandth of what returns by the frame, 20 mV of ground.
        assert np.abs(fast.volts - after.volts)[kept].max() < 0.02, branch.key


def test_leads_of_a_shorted_winding_carry_its_short_circuit_current() -> None:
    """By its line: 11 V open and 6 A short; half a metre of lead takes 1 % of the volts at most."""
    said = told((SMALL / "six-volt-magneto.loom").read_text("utf-8"))
    assert "MAG.light carries 5.99 A rms in a lead, not 3.37 A" in said["wire 5 short to ground in riding"]
    assert said["D1 diode short in idling"] == {"MAG.charge carries 10.9 A rms in a lead, not 0 A"}


def test_leads_of_a_stator_with_one_on_ground() -> None:
    """As `grounded-winding` says of one that is so in the file, judged by the simulator in tests/reference."""
    said = told(THREE_PHASES)
    more = "STATOR carries 31.2 A rms in a lead, not 16.9 A"
    assert said["wire 1 short to ground in riding"] == said["REC B--U diode short in riding"] == {more}
    assert said["REC U-B+ diode open in idling"] == set()


def test_a_thin_lead_of_a_stator_on_ground_overheats() -> None:
    thin = told(THREE_PHASES.replace("2.5 mm2", "1 mm2"))
    assert any(each.startswith("wire 1 carries 31.2 A: ") for each in thin["wire 1 short to ground in riding"])
    assert not any(each.startswith("wire 2 carries") for each in thin["wire 1 short to ground in riding"])


CENTRE_TAP = """
loom "A winding grounded at its tap, beside a battery"
system 12 V negative ground
source MAG alternator { winding light 0.6 ohm open 24 V short 6 A: A T B }
regulator LIMIT 8 A { shunts 13.5 V: 1 2 }
load HEAD lamp { dip 35 W dip-beam: 1 2 }
source BAT battery { voltage 12.6 V; capacity 5 Ah; resistance 20 mohm }
ground FRAME
splice SPA
splice SPB
wire 1 MAG.A to SPA yellow 1.5 mm2 0.5 m
wire 2 MAG.B to SPB white 1.5 mm2 0.5 m
wire 3 SPA to LIMIT.1 yellow 1.5 mm2 0.1 m
wire 4 SPB to LIMIT.2 white 1.5 mm2 0.1 m
wire 5 SPA to HEAD.1 blue 1.5 mm2 0.5 m
wire 6 HEAD.2 to SPB white 1.5 mm2 0.5 m
wire 7 MAG.T to FRAME black 1 mm2 0.1 m
wire 8 BAT.- to FRAME black 1.5 mm2 0.2 m
state riding { engine running }
"""


def test_a_lamp_between_two_live_ends_of_a_winding_is_no_dead_one() -> None:
    """Either end has half of the volts against ground, one against the other all of them. Without its limiter by hand:
    24 V behind 0.6 + 3.95j ohm on a filament of 5.2 ohm at 13.5 V and 6.0 ohm at 18.4 V.
    """
    found = sweep(CENTRE_TAP)
    state = found.state("riding")
    assert state.sound.shares is not None
    assert state.sound.shares[0] == pytest.approx(13.4 / 12.0, abs=0.02)
    reports = fault_reports(found, ["riding"], Protection(found.circuit))
    said = {f"{fault}": e.words() for r in reports for _, each in r.effects for e in each for fault in r.faults}
    assert {said[f"wire {n} open"] for n in (1, 2, 5, 6)} == {"HEAD.dip goes dead"}
    assert said["wire 3 open"].startswith("HEAD.dip gets 18.4 V")
    assert "wire 7 open" not in said
