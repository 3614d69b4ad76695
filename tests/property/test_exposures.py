"""What a fault can draw, against brute force over every combination of change-overs; and thinner is never quieter."""

from __future__ import annotations

from datetime import date
from itertools import product

from hypothesis import example, given
from hypothesis import strategies as st

from loomwright.checks.protection.protection import Protection
from loomwright.checks.runner.run import check
from loomwright.lang.circuit.branch import InPosition
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.files.reading import read_text

TODAY = date(2026, 6, 1)
NODES = ("BAT.+", "F1.1", "F1.2", "F2.1", "F2.2", "C.1", "C.2", "C.3", "D.1", "D.2", "D.3", "SP", "LAMP.1")
HEAD = """loom "x"
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME
fuse F1 10 A blade
fuse F2 7.5 A blade
switch C 10 A { x: 1 2; y: 1 3 }
switch D 10 A { u: 1 2; v: 1 3; w: 2 3 }
splice SP
load LAMP lamp { e 5 W: 1 2 }
wire g BAT.- to FRAME black 6 mm2 0.1 m
wire r LAMP.2 to FRAME black 1 mm2 0.1 m
"""

pairs = st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)).filter(lambda ends: ends[0] != ends[1])


def circuit_of(wires: list[tuple[str, str]]) -> Circuit:
    lines = [f"wire {number} {a} to {b} red 1 mm2 0.1 m" for number, (a, b) in enumerate(wires, 1)]
    reading = read_text(HEAD + "\n".join(lines) + "\n", "x.loom")
    assert [m.message for m in reading.mistakes] == []
    return build_circuit(reading.harness)


def by_brute_force(circuit: Circuit) -> dict[str, float]:
    """The greatest exposure of each piece with C and D in each pair of positions, one circuit for each."""
    worst: dict[str, float] = {}
    for load_status in product("xy", "uvw"):
        at = dict(zip("CD", load_status, strict=True))
        opened = {
            branch.key
            for branch in circuit.branches
            if isinstance(branch.guard, InPosition) and at[branch.guard.control] not in branch.guard.positions
        }
        for segment, sustained_fault in Protection(circuit.damaged(opened)).sustained_faults.items():
            worst[segment] = max(worst.get(segment, 0.0), sustained_fault.amps)
    return worst


@example([("BAT.+", "F2.1"), ("BAT.+", "C.2"), ("F1.1", "F2.2"), ("F1.2", "C.3")])  # F1 through both throws of C
@given(st.lists(pairs, min_size=4, max_size=14, unique_by=frozenset))
def test_exposure_is_the_worst_of_all_positions(wires: list[tuple[str, str]]) -> None:
    circuit = circuit_of(wires)
    found = {segment: sustained_fault.amps for segment, sustained_fault in Protection(circuit).sustained_faults.items()}
    expected = by_brute_force(circuit)
    assert found == {segment: expected.get(segment, 0.0) for segment in found}
    assert expected.keys() <= found.keys()


AREAS = (6.0, 2.5, 1.0, 0.82, 0.75, 0.5, 0.35, 0.22, 0.2, 0.13, 0.1, 0.05, 0.02, 0.01)
FIRE = {"thin-conductor", "thin-return", "oversized-fuse", "short-not-cleared"}


@given(st.sampled_from(["5 W", "21 W", "55 W", "130 W"]), st.sampled_from(["5", "10", "30"]), st.sampled_from("ABC"))
def test_a_thinner_wire_never_has_fewer_findings(watts: str, fuse: str, letter: str) -> None:
    """Down to 0.01 mm2, whatever tables end on the way: the ampacity of a wire is asked of no rule in vain."""
    before: dict[str, int] = {}
    for area in AREAS:
        harness = f"""loom "x"
source BAT battery {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
ground FRAME
fuse MAIN {fuse} A blade
load PAD heater {{ pad {watts}: 1 2 }}
wire 1 BAT.+ to MAIN.1 red 6 mm2 0.1 m
wire 2 MAIN.2 to PAD.1 red {area} mm2 0.001 m class {letter}
wire 3 PAD.2 to FRAME black 6 mm2 0.1 m
wire 4 BAT.- to FRAME black 6 mm2 0.1 m
"""
        reading = read_text(harness, "x.loom")
        assert [m.message for m in reading.mistakes] == []
        said: dict[str, int] = {}
        for finding in check(reading, today=TODAY).findings:
            if finding.rule in FIRE and "2" in finding.about:
                said[finding.rule] = max(finding.level, said.get(finding.rule, 0))
        assert all(said.get(rule, -1) >= level for rule, level in before.items()), (area, before, said)
        before = said
