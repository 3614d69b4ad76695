"""The worst combination is never dropped: what does not settle counts by its moments, and is stated."""

from __future__ import annotations

import pytest
from checked_text import all_findings, trial

from loomwright.checks.findings.finding import Level
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text


def loud(of: str) -> set[tuple[str, tuple[str, ...]]]:
    return {(f.rule, f.about) for f in all_findings(of) if f.level is Level.ERROR}


def test_one_load_more_takes_no_error_away() -> None:
    """Both motors through thin copper starve the box that switches one of them, and eight errors were gone."""
    settled = trial("worst-settled")
    assert loud(settled) <= loud(trial("worst-not-settled")) | {
        ("oversized-fuse", found.about) for found in all_findings(settled) if found.rule == "oversized-fuse"
    }


def test_what_does_not_settle_is_said_with_what_moves_it() -> None:
    (found,) = (f for f in all_findings(trial("worst-not-settled")) if f.rule == "relay-chatter")
    assert found.level is Level.WARNING
    assert found.about == ("U2",)
    assert dict(found.combination) == {"KEY": "on", "S1": "on", "S2": "on"}
    assert found.message.startswith("U2.out chatters: the current while it is on drops the voltage below what holds it")
    assert not [f for f in all_findings(trial("worst-settled")) if f.rule == "relay-chatter"]


def test_the_largest_moment_counts() -> None:
    """Two motors of 30 A: more than one alone, less than both at full voltage."""
    operation = Operation(build_circuit(read_text(trial("worst-not-settled")).harness))
    assert 31.0 < operation.loading("KEY 1-2").continuous.amps < 60.0
    (case,) = operation.restless
    assert case.parts == ("U2.out",)
    assert len(case.moments) == 2


def test_a_named_state_that_does_not_settle_counts_too() -> None:
    named = trial("worst-not-settled") + "\nstate all { KEY on, S1 on, S2 on }\n"
    operation = Operation(build_circuit(read_text(named).harness))
    assert "all" in operation.unsolved
    assert operation.loading("KEY 1-2").continuous.amps > 31.0
    (found,) = (f for f in all_findings(named) if f.rule == "relay-chatter")
    assert found.state == "all"


def test_thick_wires_settle_it() -> None:
    thick = trial("worst-not-settled").replace("0.5 mm2", "10 mm2")
    assert not [f for f in all_findings(thick) if f.rule == "relay-chatter"]


@pytest.mark.parametrize("name", ["standstill-overload", "standstill-overload-hidden"])
def test_naming_a_state_hides_nothing(name: str) -> None:
    """At a standstill with the pick-up closed the coil takes 8 A; running, sqrt(19 %) of that."""
    assert ("overloaded-contact", ("MODULE",)) in loud(trial(name))
    loading = Operation(build_circuit(read_text(trial(name)).harness)).loading("MAIN")
    assert loading.continuous.amps == pytest.approx(8.0, rel=0.02)
    assert dict(loading.continuous.combination) == {"KEY": "on", "PICKUP": "spark"}


def test_beside_a_dead_short_the_next_worst_counts() -> None:
    """A switch that shorts the feed asks for most on paper; what flows with it open is judged all the same."""
    short = trial("worst-settled") + "\nswitch BAD 5 A { off: ; on: 1 2 }\nwire 90 L1.1 to BAD.1 red 10 mm2 0.1 m\n"
    short += (
        "wire 91 BAD.2 to FRAME black 10 mm2 0.1 m\nload L3 { x 1 A: 1 2 }\nwire 92 BAD.1 to L3.1 red 1 mm2 0.1 m\n"
    )
    short += "wire 93 L3.2 to FRAME black 1 mm2 0.1 m\n"
    operation = Operation(build_circuit(read_text(short).harness))
    assert operation.loading("KEY 1-2").continuous.amps == pytest.approx(30.0, rel=0.06)


def beside_shorts(switches: int) -> Operation:
    """A motor of 10 A whose switch shorts the feed as well, and smaller motors with a switch each."""
    lines = [
        trial("worst-settled"),
        "switch BAD 20 A { off: ; on: 1 2, 1 3 }",
        "load L3 motor { x 10 A: 1 2 }",
        "wire 90 KEY.2 to BAD.1 red 2 mm2 0.1 m",
        "wire 91 BAD.2 to L3.1 red 2 mm2 0.1 m",
        "wire 92 BAD.3 to FRAME black 2 mm2 0.1 m",
        "wire 93 L3.2 to FRAME black 2 mm2 0.1 m",
    ]
    for i in range(switches):
        lines += [
            f"switch T{i} 5 A {{ off: ; on: 1 2 }}",
            f"load M{i} motor {{ x 1 A: 1 2 }}",
            f"wire {100 + 3 * i} KEY.2 to T{i}.1 red 1 mm2 0.1 m",
            f"wire {101 + 3 * i} T{i}.2 to M{i}.1 red 1 mm2 0.1 m",
            f"wire {102 + 3 * i} M{i}.2 to FRAME black 1 mm2 0.1 m",
        ]
    reading = read_text("\n".join([*lines, ""]))
    assert not reading.mistakes
    return Operation(build_circuit(reading.harness))


def test_the_next_worst_beside_a_dead_short_is_found_however_many_combinations_have_that_short() -> None:
    """On paper 10 A more than all else: the 64 combinations with the short come first, more than are ever tried."""
    operation = beside_shorts(6)
    assert operation.loading("KEY 1-2").continuous.amps == pytest.approx(36.0, rel=0.1)
    assert dict(operation.loading("KEY 1-2").continuous.combination) == {
        "KEY": "on",
        "S1": "on",
        **{f"T{i}": "on" for i in range(6)},
    }


def test_of_a_dead_short_one_combination_is_solved() -> None:
    few, many = beside_shorts(2), beside_shorts(8)
    for operation in (few, many):
        assert operation.worst_points
        assert not operation.restless
    assert many.network.tally.situations - few.network.tally.situations <= 8
