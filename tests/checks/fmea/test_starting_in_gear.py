"""Which starters no state shows turning in gear by a fault, and what such a state shows."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.checks.fmea.effects import Category
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.report import fault_reports
from loomwright.checks.fmea.starting_in_gear import not_asked_in_gear
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.render.report.faults import faults_text

SPECS = Path(__file__).parents[3] / "specs"
STATE = "state starting-in-gear { KEY on, KILL run, START press }\n"


def sweep(text: str) -> Sweep:
    return Sweep(Operation(build_circuit(read_text(text, "bike.loom").harness)))


def stock(state: str = "") -> str:
    """The stock motorcycle with another state in place of the one that asks for the starter in gear."""
    text = (SPECS / "stock.loom").read_text(encoding="utf-8")
    assert STATE in text
    kept = [line for line in text.splitlines() if not line.startswith("expect in starting-in-gear")]
    return "\n".join(kept).replace(STATE.strip(), state) + "\n"


@pytest.mark.parametrize("name", ["stock", "rebuild"])
def test_the_demonstrations_show_what_turns_their_starters_in_gear(name: str) -> None:
    """Ground on either side of the diode of the neutral lamp, or at an input of the box: nothing holds it any more."""
    found = Sweep(Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness)))
    assert not_asked_in_gear(found, found.operation.points) == ()
    by_wire = {
        fault.where: {
            e.thing: (e.now, e.category) for states, es in r.effects for e in es if "starting-in-gear" in states
        }
        for r in fault_reports(found, ["starting-in-gear"], Protection(found.circuit))
        for fault in r.faults
        if fault.mode == "short to ground"
    }
    wires = ("wire 40.1", "wire 39", "wire 44.1") if name == "stock" else ("wire 120.1", "wire 122")
    for wire in wires:
        assert by_wire[wire]["STARTER.armature"] == ("live", Category.CRITICAL), wire


@pytest.mark.parametrize(
    ("state", "unasked"),
    [
        ("", ("STARTER",)),
        ("state pressed { KEY off, KILL run, START press }", ("STARTER",)),  # nothing turns it in neutral either
        ("state pressed { KEY on, KILL run, START press, NEUTRAL neutral }", ("STARTER",)),
        ("state pressed { KEY on, KILL run, START press, CLUTCH in }", ("STARTER",)),
        ("state pressed { KEY on, KILL run, START press, LIGHTS on }", ()),
    ],
)
def test_a_state_asks_in_gear_where_neutral_alone_would_turn_it(state: str, unasked: tuple[str, ...]) -> None:
    found = sweep(stock(state))
    assert not_asked_in_gear(found, found.operation.points) == unasked


def test_what_is_not_shown_is_stated_with_the_rule_that_judges_it() -> None:
    found = sweep(stock())
    harness, states = found.circuit.harness, found.all_states(found.circuit.harness.states)

    def text(unasked: tuple[str, ...], *chosen: str) -> str:
        return " ".join(faults_text((), harness, chosen or states, unasked=unasked).split())

    said = (
        "Not shown: faults that let STARTER turn in gear and with the clutch out, since no named state asks for that: "
        "name one, with the start button pressed. Without a fault starter-interlock judges it."
    )
    assert said in text(not_asked_in_gear(found, states))
    assert "Not shown" not in text(())
    assert "Not shown" not in text(("STARTER",), "idling"), "who asks for one state knows that there are others"


def test_a_starter_that_nothing_holds_in_gear_is_another_finding() -> None:
    """Nothing senses a gear or the clutch here: `starter-interlock` says so."""
    found = Sweep(Operation(build_circuit(read_file(SPECS / "small" / "points-single.loom").harness)))
    assert not_asked_in_gear(found, found.operation.points) == ()
