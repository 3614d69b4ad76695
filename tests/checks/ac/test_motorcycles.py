"""Magneto motorcycles with one thing changed: what was sound is found, and figures follow what was measured."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.ac.wound import NotPeriodicError
from loomwright.checks.operation.operation import Operation
from loomwright.checks.runner.run import check
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

SMALL = Path(__file__).parents[3] / "specs" / "small"


def changed(name: str, *changes: tuple[str, str]) -> str:
    text = (SMALL / f"{name}.loom").read_text("utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


def found(text: str) -> dict[str, list[str]]:
    """What is found, by rule, in the order of the report."""
    reading = read_text(text)
    assert [m.message for m in reading.mistakes] == []
    report = check(reading, today=date(2026, 6, 1))
    assert report.unchecked == ""
    said: dict[str, list[str]] = {}
    for each in report.findings:
        said.setdefault(each.rule, []).append(each.message)
    return said


def not_judged(text: str) -> list[str]:
    report = check(read_text(text), today=date(2026, 6, 1))
    return [note.text for each in report.findings if each.rule == "not-judged" for note in each.notes]


def operation(text: str) -> Operation:
    reading = read_text(text)
    assert [m.message for m in reading.mistakes] == []
    return Operation(build_circuit(reading.harness))


# --- the trail bike --------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("lead", ["wire 7 SP-59 to LIMIT.59 yellow 1.5 mm2 0.10 m", "wire 8 LIMIT.31 to FRAME"])
def test_without_either_lead_of_its_limiter_lamps_burn_out(lead: str) -> None:
    said = found(changed("trail-bike", (lead, f"# {lead}")))
    assert "limiter-off" in said
    assert any("HEAD.main gets" in each and "it burns out soon" in each for each in said["overvoltage"])


def test_more_combinations_than_are_looked_at_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    text = changed("trail-bike")
    sound = not_judged(text)
    monkeypatch.setattr("loomwright.checks.operation.lamp_volts.MOST_COMBINATIONS", 23)  # it has 2 * 3 * 2 * 2
    (gap,) = set(not_judged(text)) - set(sound)
    assert gap.startswith("voltages of the lamps on MAG: in the named states alone, since 24 combinations")


def test_a_lamp_without_which_nothing_steady_is_found_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def unsteady(*_: object) -> None:
        raise NotPeriodicError(1.0)

    text = changed("trail-bike")
    sound = not_judged(text)
    monkeypatch.setattr("loomwright.checks.ac.phasors.phasors", unsteady)  # the sound circuit has its own name for it
    gaps = set(not_judged(text)) - set(sound)
    assert len(gaps) == 1
    assert gaps.pop().startswith("voltages of the lamps beside HEAD.main, HEAD.dip, REAR.tail and REAR.stop once")


def test_its_exciter_and_lighting_leads_swapped() -> None:
    said = found(changed("trail-bike", ("MAG.X to", "MAG.? to"), ("MAG.59 to", "MAG.X to"), ("MAG.? to", "MAG.59 to")))
    (message,) = said["exchanged-windings"]
    assert message == (
        "MAG.light and MAG.exciter are swapped: BOX.charge is connected to MAG.light (24 V open), and HEAD.main to "
        "MAG.exciter (150 V)"
    )


def test_a_diode_in_the_kill_wire_of_its_full_wave_box_stops_nothing() -> None:
    diode = ("wire 3 BOX.2 to STOP.1", "diode D 1 A at saddle\nwire 3a BOX.2 to D.A white 1 mm2\nwire 3 D.K to STOP.1")
    assert "run-on" in found(changed("trail-bike", diode))
    assert "run-on" not in found(changed("trail-bike", diode, ("as box-exciter {", "as box-exciter-half {")))


def test_a_lower_voltage_is_what_a_winding_of_more_impedance_gives() -> None:
    """At idling speed no limiter works: lamps of half the short-circuit current are dimmer."""
    strong, weak = (
        operation(changed("trail-bike", ("short 6 A", f"short {amps} A"))).state("idling").across("HEAD.dip")
        for amps in (6, 3)
    )
    assert weak < 0.9 * strong


def test_speeds_are_what_its_line_says() -> None:
    slow, fast = (
        operation(changed("trail-bike", ("speeds 30 % 180 %", f"speeds {idle} % 180 %"))).state("idling")
        for idle in (30, 45)
    )
    # The exciter is loaded so lightly that its volts go with the speed.
    assert fast.across("BOX.charge") / slow.across("BOX.charge") == pytest.approx(1.5, rel=0.02)


def test_most_speed_counts_as_running_in_logic() -> None:
    text = changed(
        "trail-bike", ("whenever STOP run and engine running: BOX", "whenever STOP run and engine fast: BOX")
    )
    assert found(text) == {}


def test_how_much_cannot_be_told_while_it_is_kicked_over() -> None:
    text = changed("trail-bike", ("state idling", "state kicked { engine cranking }\nstate idling"))
    said = found(text + "expect in kicked: BOX at least 20 V\n")
    assert "the speed at which the engine is kicked over is not known" in said["unmet-expectation"][0]


# --- the six-volt single ---------------------------------------------------------------------------------------------
def test_its_battery_boils_where_it_is_small() -> None:
    said = found(changed("six-volt-magneto", ("capacity 12 Ah", "capacity 2 Ah")))
    assert any("is charged with" in each and "by MAG.charge" in each for each in said["overcharge"])


def test_its_diode_the_wrong_way_round_charges_nothing() -> None:
    swapped = (("to D1.A", "to D1.?"), ("D1.K to", "D1.A to"), ("to D1.?", "to D1.K"))
    point = operation(changed("six-volt-magneto", *swapped)).state("riding")
    assert point.mean_amps("BAT") >= 0.0
    assert operation(changed("six-volt-magneto")).state("riding").mean_amps("BAT") < -0.3


def test_its_horn_button_rests_on_a_battery_that_is_charged() -> None:
    """A mean for the battery, rms for the lamps, and more than the mean for wires and fuse of a half wave."""
    point = operation(changed("six-volt-magneto")).state("riding")
    assert point.across("HEAD.dip") == pytest.approx(6.7, abs=0.1)
    assert 1.3 < point.heating_amps("MAIN") / -point.mean_amps("BAT") < 2.0


def test_its_tap_without_a_figure_says_which() -> None:
    said = found(changed("six-volt-magneto", ("winding charge 0.6 ohm open 12.5 V", "winding charge 0.6 ohm")))
    assert "not-judged" in said
    said = operation(changed("six-volt-magneto", ("winding charge 0.6 ohm open 12.5 V", "winding charge 0.6 ohm")))
    left = said.state("riding").flow.left_out
    assert ("MAG.charge", "the file does not state open-circuit voltage of MAG.charge", True) in left


@pytest.mark.parametrize(
    ("limit", "text"),
    [
        ("time_steps.MOST_PERIODS", changed("six-volt-magneto")),
        # Of its winding only W are written: open-circuit voltage and short-circuit current are wanted, and are not why.
        ("phasors.MOST_ROUNDS", changed("magneto-single")),
    ],
)
def test_what_finds_no_steady_period_is_said_to(limit: str, text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("loomwright.checks.ac.phasors.NEWTON_ROUNDS", 0)
    monkeypatch.setattr(f"loomwright.checks.ac.{limit}", 1)
    left = operation(text).state("riding").flow.left_out
    assert left
    assert {(each.why, each.measurable) for each in left} == {("no steady period was found", False)}
    assert any("in state riding: no steady period was found" in each for each in not_judged(text))


# --- a measured stator -----------------------------------------------------------------------------------------------
STATOR = """
loom "A stator that was measured"
system 12 V negative ground
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source STATOR alternator { phases 0.2 ohm open 50 V short 18 A: U V W; speeds 20 % 150 % }
rectifier REC 35 A shunt { phases: U V W; output 250 W: B+ B-; regulated 14.4 V }
load HEAD lamp { dip 55 W: 1 2 }
ground FRAME
wire 1 STATOR.U to REC.U yellow 2.5 mm2 0.5 m
wire 2 STATOR.V to REC.V yellow 2.5 mm2 0.5 m
wire 3 STATOR.W to REC.W yellow 2.5 mm2 0.5 m
wire 4 REC.B+ to BAT.+ red 4 mm2 0.1 m
wire 5 REC.B- to FRAME black 4 mm2 0.3 m
wire 6 BAT.- to FRAME black 4 mm2 0.3 m
wire 7 BAT.+ to HEAD.1 red 2.5 mm2 0.1 m
wire 8 HEAD.2 to FRAME black 2.5 mm2 0.3 m
state idling { engine idling }
state riding { engine running }
"""


def test_a_measured_stator_charges_by_its_speed() -> None:
    """10 V between leads at idling speed rectify to 14 V of peak at most, less two diodes: nothing for the battery."""
    solved = operation(STATOR)
    assert solved.state("riding").mean_amps("REC") > 4.0
    assert solved.state("riding").across("BAT") == pytest.approx(14.35, abs=0.1)
    assert 0.0 <= solved.state("idling").mean_amps("REC") < 1.0
    assert solved.state("idling").mean_amps("BAT") > 3.0


def test_two_phases_of_three_give_less() -> None:
    whole, lame = operation(STATOR), operation(STATOR.replace("wire 3 STATOR", "# wire 3 STATOR"))
    network = lame.state("riding").flow.network
    machine = lame.state("riding").flow.situation.machines[0]
    all_of_it = whole.state("riding").flow.situation.machines[0]
    assert network.can_give(machine, lame.state("riding").flow.situation, 14.4) < 0.7 * all_of_it.amps


# --- words -----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("line", "kind", "message"),
    [
        ("source M alternator { winding a of b: 1 2 }", "unknown-name", "`M` has no other winding `b`"),
        (
            "source M alternator { speeds 120 % 180 % }",
            "out-of-range",
            "`120 %` is not possible",
        ),
        ("source M alternator { speeds 30 % }", "unexpected-end", "`speeds` has two quantities"),
        (
            "source M alternator { speeds 30 % 90 % }",
            "out-of-range",
            "these are shares of running speed: idling is no faster, and most speed no slower",
        ),
        (
            "load L lamp { a 5 W exciter: 1 2 }",
            "misplaced",
            "`exciter` belongs to an ignition coil or box, and `a` is a filament lamp",
        ),
        (
            "load L ignition { a 3 ohm points dwell 50 %: 1 2 }",
            "misplaced",
            "a primary with its own points is itself a source: nothing else feeds it",
        ),
        (
            "load L ignition { a 3 ohm dwell 50 % duty 40 %: 1 2 }",
            "repeated",
            "the share of time in which it draws its current is stated twice",
        ),
        ("rectifier R shunt series { phases: U V }", "repeated", "how it limits the voltage is stated twice"),
        (
            "source M alternator { winding a open 22 V open 23 V: 1 2 }",
            "repeated",
            "the open-circuit voltage is stated twice",
        ),
        (
            "source M alternator { winding a open 22 V short 6 A 4.1 ohm: 1 2 }",
            "out-of-range",
            "4.1 ohm are too much: open-circuit voltage over short-circuit current is 3.67 ohm",
        ),
        (
            "source M alternator { phases open 50 V short 18 A 3.6 ohm: U V W }",
            "out-of-range",
            "3.6 ohm are too much: open-circuit voltage over short-circuit current is 3.21 ohm",
        ),
    ],
)
def test_mistakes_in_the_new_words(line: str, kind: str, message: str) -> None:
    mistakes = read_text(f'loom "T"\nplace tray\n{line}\n').mistakes
    assert (mistakes[0].kind, mistakes[0].message) == (kind, message)
