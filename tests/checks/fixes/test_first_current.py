"""What `no-field-feed` advises for the found motorcycle starts its alternator, and below its limit the rule speaks."""

from __future__ import annotations

import pytest

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.examples import FOLDER
from loomwright.checks.runner.run import RuleStudy, check_examined
from loomwright.lang.circuit.ids import source_of
from loomwright.lang.files.reading import read_text
from tests.checks.fixes.test_no_harmful_fix import TODAY

GONE = ("wire 14 ", "wire 87 ", "wire 88 ", "diode D-CHG ", "    charge 3 W ")

STOCK = "".join(
    line.replace("WARN.charge live, ", "").replace(", WARN.charge dead", "")
    for line in (FOLDER.parent / "stock.loom").read_text("utf-8").splitlines(keepends=True)
    if not line.startswith(GONE)
)

DIODE = """
diode D-CHG 1 A at headstock
wire 87 SP-IGN to D-CHG.A orange/black 14 x 0.30 mm 0.10 m
wire 88 D-CHG.K to PILOT.1 brown/black 14 x 0.30 mm 0.10 m
wire 14 SP-D to PILOT.2 brown 28 x 0.30 mm
"""


def resistor(ohms: int) -> str:
    return f"{STOCK}{DIODE}resistor PILOT {ohms} ohm 5 W at headstock\n"


LAMP = f"{STOCK}{DIODE}load PILOT lamp at headstock for instruments {{ charge 2 W tell-tale: 1 2 }}\n"


def found(text: str) -> tuple[dict[str, str], frozenset[str]]:
    """What `check` warns of, by rule; and the states, engine on, in which RECT is not excited."""
    reading = read_text(text, "bench.loom")
    assert reading.harness is not None
    study = RuleStudy(reading.harness, today=TODAY)
    findings = check_examined(reading, study).findings
    points = study.operation.points.values()
    dead = {p.state for p in points if p.engine in ("idling", "running") and "RECT" not in p.memory.excited}
    return {f.rule: f"{f.message}; {f.to_do}" for f in findings if f.level is not Level.NOTE}, frozenset(dead)


def charging(text: str, state: str) -> float:
    """The A into the battery in a state."""
    harness = read_text(text, "bench.loom").harness
    assert harness is not None
    return -RuleStudy(harness, today=TODAY).operation.state(state).mean_amps(source_of("BAT"))


def test_without_its_lamp_the_alternator_is_never_excited() -> None:
    says, dead = found(STOCK)
    assert dead == {"idling", "riding-dip", "riding-main", "turning-left"}
    assert says["no-field-feed"] == (
        "ALT field never gets a feed with the engine off, so ALT is never excited and never charges; feed REG.D+ from "
        "behind the key, through a diode of 1 A that blocks current back to the key, and a charge lamp of 2 W or more, "
        "or a resistor of 68 ohm, 5 W or more, in place of the lamp"
    )
    assert charging(STOCK, "riding-main") < 0.0


@pytest.mark.parametrize("text", [LAMP, resistor(68)], ids=["lamp", "resistor"])
def test_what_is_advised_starts_it_and_nothing_else_is_found(text: str) -> None:
    assert found(text) == ({}, frozenset())
    assert charging(text, "riding-main") > 0.0


@pytest.mark.parametrize(("ohms", "dead"), [(82, 0), (91, 0), (92, 1), (93, 3), (94, 4), (95, 4), (100, 4), (110, 4)])
def test_the_rule_speaks_just_where_the_calculation_does_not_charge(ohms: int, dead: int) -> None:
    says, states = found(resistor(ohms))
    assert ("no-field-feed" in says) == bool(states)
    assert len(states) == dead, states


def test_a_first_current_that_the_loads_pull_down_is_told_with_its_state() -> None:
    says, states = found(resistor(92))
    assert states == {"turning-left"}
    assert says["no-field-feed"] == (
        "ALT field gets 0.115 A with the loads of turning-left; it needs 0.118 A to excite ALT; fit a filament charge "
        "lamp of 2 W or more in the feed to REG.D+, or a resistor of 68 ohm, 5 W or more, in parallel with what is "
        "there"
    )
