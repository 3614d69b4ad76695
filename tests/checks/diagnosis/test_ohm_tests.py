"""What an ohm meter says with the battery out, and of what it says nothing."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from detectives import detective

from loomwright.checks.diagnosis.observations import observations
from loomwright.checks.diagnosis.ohm_tests import Ohms, ohms
from loomwright.checks.fmea.failure_modes import Fault
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.branch_types import BranchType
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file
from loomwright.render.report.diagnosis import inquiry_text

SPECS = Path(__file__).parents[3] / "specs"
FILES = (SPECS / "stock.loom", SPECS / "rebuild.loom", *sorted((SPECS / "small").glob("*.loom")))


def row(name: str, state: str, key: str) -> Ohms:
    (found,) = ohms(detective(name, state).point, [Fault(key)])
    return found


def text(name: str, state: str, *seen: str) -> str:
    found = detective(name, state)
    diagnosis = found.inquire([each for said in seen for each in observations(said, found.places)])
    return inquiry_text(diagnosis, found.point.circuit.harness, state, width=2000)


def test_an_output_is_no_ohm_test_and_a_pick_up_has_its_own_range() -> None:
    readings = ("13.9 V at COIL-LEFT.15", "13.9 V at COIL-LEFT.1")
    said = text("stock", "riding-dip", "COIL-LEFT dead, COIL-RIGHT live", *readings).splitlines()
    assert (
        "  PICK-LEFT: PICK-LEFT.1 to PICK-LEFT.2; range 2,000 ohm: some 210 ohm is sound, no reading is an open circuit"
        in said
    )
    assert (
        "  IGN.coil-left: no ohm meter judges it. IGN switches it by a transistor: see to what triggers it, PICK-LEFT "
        "at IGN.PL, and to the supply and the ground of IGN; try another IGN last." in said
    )
    assert not any("IGN.CL to IGN.31" in line for line in said)
    assert any("Measure resistance, range 200 ohm where no other is named. End to end" in line for line in said)


@pytest.mark.parametrize(
    ("name", "state", "key", "kind", "least", "most", "setting"),
    [
        ("stock", "riding-dip", "wire 33.1", "continuity", 0.0, 0.0, 200.0),
        ("stock", "cranking", "K-START coil", "resistance", 12.0, 12.0, 200.0),
        ("stock", "riding-dip", "ALT field", "resistance", 6.0, 6.0, 200.0),
        ("stock", "riding-dip", "COIL-LEFT.primary", "resistance", 4.2, 4.2, 200.0),
        ("rebuild", "riding-dip", "R-FIELD", "resistance", 62.0, 62.0, 200.0),
        # A bulb of 12 V and 21 W has 6.86 ohm, cold a tenth; 12 V / 110 A turning, a tenth of it at rest.
        ("stock", "turning-left", "FL.turn", "resistance", 0.686, 0.686, 200.0),
        ("stock", "cranking", "STARTER.armature", "resistance", 0.0109, 0.109, 200.0),
        ("stock", "riding-dip", "D-CHG", "diode", 0.0, math.inf, 200.0),
        ("stock", "riding-dip", "REG passes", "none", 0.0, math.inf, 200.0),
        ("stock", "turning-left", "FLASH", "none", 0.0, math.inf, 200.0),
        ("rebuild", "riding-dip", "HEAD.dip", "none", 0.0, math.inf, 200.0),
        ("rebuild", "riding-dip", "CTRL supply", "none", 0.0, math.inf, 200.0),
    ],
)
def test_each_is_judged_by_what_a_meter_can_tell_of_it(
    name: str, state: str, key: str, kind: str, least: float, most: float, setting: float
) -> None:
    point = detective(name, state).point
    key = next(b.key for b in point.circuit.branches if key in (b.key, b.part) or b.key == key)
    found = row(name, state, key)
    assert found.kind == kind
    assert found.least == pytest.approx(least, rel=0.01)
    assert found.most == pytest.approx(most, rel=0.01)
    assert (found.instead == "") is (kind != "none")
    if kind == "resistance":
        assert found.range == setting
        assert found.range > found.most


def test_a_contact_is_held_as_in_the_state_and_one_at_rest_is_not() -> None:
    assert row("stock", "riding-dip", "KEY 30-15").held == "with KEY on"
    assert row("stock", "riding-dip", "KILL 1-2").held == ""  # it runs at rest
    assert row("stock", "cranking", "K-START 30-87").held == "with the coil of K-START alone fed through a small fuse"


def test_nothing_that_conducts_by_a_semiconductor_is_tested_by_ohms() -> None:
    """On every demonstration, in every state: an ohm test is for copper, contacts and windings alone."""
    never = {
        BranchType.OUTPUT, BranchType.PASS, BranchType.CUT_OUT, BranchType.DIODE, BranchType.LEG, BranchType.LED,
        BranchType.ELECTRONICS, BranchType.SUPPLY, BranchType.FLASHER, BranchType.CAPACITOR,
    }  # fmt: skip
    met = set()
    for file in FILES:
        operation = Operation(build_circuit(read_file(file).harness))
        point = next(iter(operation.points.values()))
        branches = [b for b in point.circuit.branches if b.a != b.b]
        for branch, found in zip(branches, ohms(point, [Fault(b.key) for b in branches]), strict=True):
            box = branch.branch_type is BranchType.IGNITION and not getattr(branch.item, "ohms", None)
            assert (branch.branch_type in never or box) is (found.kind in ("diode", "none")), branch.key
            met.add(branch.branch_type)
    assert met >= {BranchType.OUTPUT, BranchType.PASS, BranchType.DIODE, BranchType.LED, BranchType.SUPPLY}
