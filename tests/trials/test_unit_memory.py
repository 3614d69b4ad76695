"""What a unit remembers and times: a toggled latch may be either way after a press, a timer counts on both sides."""

from __future__ import annotations

import pytest
from checked_text import about, findings

from loomwright.checks.logic import SwitchingLogic
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

TEXT = """loom "Unit"
place tray
source BAT battery at tray for supply {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply {{ off: ; on: 30 15 }}
ground FRAME at tray
switch BTN 0.1 A momentary at tray {{ rest: ; press: 1 2 }}
unit CTRL at tray {{
    supply 10 mA asleep 1 mA: 30 31
    input btn grounded: IN
    input key fed: K
    {lines}
}}
load HORN horn at tray for signals {{ coil 3 A: 1 2 }}
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to CTRL.30 red/white 2 mm2 0.30 m
wire 2b MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to CTRL.K orange 1 mm2 0.30 m
wire 5 CTRL.31 to FRAME black 2 mm2 0.30 m
wire 6 BTN.1 to CTRL.IN white 0.5 mm2 0.30 m
wire 7 BTN.2 to FRAME black 0.5 mm2 0.30 m
wire 8 CTRL.OUT to HORN.1 pink 2 mm2 0.30 m
wire 9 HORN.2 to FRAME black 2 mm2 0.30 m
state ride {{ KEY on }}
state hooting {{ KEY on, CTRL.on set }}
"""
SET = "latch on: set when btn, cleared when not key; output horn 5 A trips 7 A: OUT when on"
TOGGLED = "latch on: toggled when btn, cleared when not key; output horn 5 A trips 7 A: OUT when on"
TIMED = "latch on: set when btn, cleared when not key; output horn 5 A trips 7 A {timer}: OUT when key"


def unmet(lines: str, *expects: str) -> list[bool]:
    """Of each expectation, whether it is not met."""
    text = TEXT.format(lines=lines) + "".join(f"expect {expect}\n" for expect in expects)
    lost = {finding.span.line for finding in findings("unmet-expectation", text, bench=False)}
    first = text.count("\n") - len(expects) + 1
    return [first + number in lost for number in range(len(expects))]


def test_a_latch_that_is_set_is_on_while_it_is_pressed() -> None:
    assert unmet(SET, "whenever KEY on and BTN press: HORN live", "whenever KEY off: HORN dead") == [False, False]


def test_after_a_press_a_toggled_latch_may_stand_either_way() -> None:
    # A second press takes it back, so that neither `live` nor `dead` can be promised with the button down or released.
    wanted = {
        "whenever KEY on and BTN press: HORN live": True,
        "whenever KEY on and BTN press: HORN dead": True,
        "whenever KEY on and BTN rest: HORN live": True,
        "whenever KEY on and BTN rest: HORN dead": True,
        "whenever KEY off: HORN dead": False,
        "whenever CTRL.on set: HORN live": False,
        "whenever KEY on and CTRL.on cleared: HORN dead": False,
        "in hooting: HORN live": False,
    }
    assert dict(zip(wanted, unmet(TOGGLED, *wanted), strict=True)) == wanted


def test_a_toggled_latch_that_nothing_presses_stays_cleared() -> None:
    never = TOGGLED.replace("toggled when btn", "toggled when btn and not key")
    assert unmet(never, "whenever KEY on: HORN dead") == [False]


@pytest.mark.parametrize(
    ("timer", "on_live", "off_dead"),
    [("", False, False), ("after 2 s", True, False), ("holds 5 s", False, True), ("after 2 s holds 5 s", True, True)],
)
def test_before_and_after_a_timer_both_count(timer: str, on_live: bool, off_dead: bool) -> None:
    # `after`: the first seconds with the key on are still without; `holds`: the first seconds with it off still with.
    lines = TIMED.format(timer=timer)
    assert unmet(lines, "whenever KEY on: HORN live", "whenever KEY off: HORN dead") == [on_live, off_dead]
    # A named state lasts: what is timed is over in it.
    assert unmet(lines, "in ride: HORN live") == [False]


def test_what_a_timer_has_never_begun_it_does_not_hold() -> None:
    lines = TIMED.format(timer="holds 5 s").replace("when key", "when btn and not btn")
    assert unmet(lines, "whenever KEY on: HORN dead") == [False]


def test_what_a_timer_holds_is_no_load_left_on() -> None:
    # It ends by itself, so it is no drain with the ignition off.
    keyed = TEXT.format(lines=TIMED.format(timer="holds 5 s"))
    assert about("live-with-key-out", keyed, bench=False) == []
    # A latch that nothing clears stays on for good.
    left = TEXT.format(lines=SET.replace("cleared when not key", "cleared when btn and key"))
    assert about("live-with-key-out", left, bench=False) == ["HORN"]


def test_what_settles_is_what_is_after_the_timers() -> None:
    logic = SwitchingLogic(
        build_circuit(read_text(TEXT.format(lines=TIMED.format(timer="after 2 s holds 5 s"))).harness)
    )
    on = logic.settle({"KEY": "on"})
    assert on.conditions["CTRL.horn on"]
    assert not on.chattering
    off = logic.settle({"KEY": "off"}, before=on.conditions)
    assert not off.conditions["CTRL.horn on"]
    assert not off.chattering


# --- pulses and references --------------------------------------------------------------------------------------------
BALANCE = """loom "Balance"
place tray
source BAT battery at tray for supply {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
source ALT alternator at tray {{ output 100 W: B+ B-; regulated 14.2 V }}
fuse MAIN 30 A blade at tray
ground FRAME at tray
unit CTRL at tray {{
    supply 10 mA: 30 31
    output heat 15 A{pulsing}: OUT
    output ref 50 mA{volts}: VREF
}}
load GRIPS heater at tray {{ pads 160 W: 1 2 }}
wire 1 BAT.+ to MAIN.1 red 6 mm2 0.15 m
wire 2 MAIN.2 to CTRL.30 red/white 6 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 ALT.B+ to MAIN.1 brown 6 mm2 0.30 m
wire 5 ALT.B- to FRAME black 6 mm2 0.30 m
wire 6 CTRL.31 to FRAME black 6 mm2 0.30 m
wire 7 CTRL.OUT to GRIPS.1 pink 4 mm2 0.30 m
wire 8 GRIPS.2 to FRAME black 4 mm2 0.30 m
capped CTRL.VREF
state riding {{ engine running }}
expect in riding: GRIPS at least {amps} A
"""


@pytest.mark.parametrize(("pulsing", "told"), [("", ["BAT"]), (" pulsing 90 %", ["BAT"]), (" pulsing 30 %", [])])
def test_a_pulsing_output_counts_its_mean_in_the_balance_and_its_peak_in_the_wires(
    pulsing: str, told: list[str]
) -> None:
    text = BALANCE.format(pulsing=pulsing, volts="", amps=11)
    assert about("charge-deficit", text, bench=False) == told
    assert about("unmet-expectation", text, bench=False) == []  # its peak flows through the wires whatever the share


def test_what_pulses_drains_a_parked_battery_by_its_mean() -> None:
    def drain(pulsing: str) -> float:
        (found,) = findings("key-off-drain", BALANCE.format(pulsing=pulsing, volts="", amps=1), bench=False)
        return found.figures[0].value

    whole, half = drain(""), drain(" pulsing 50 %")
    assert half == pytest.approx(whole / 2, rel=0.02)


def test_volts_of_a_reference_that_its_unit_cannot_always_hold_are_said_not_to_be_worked_out() -> None:
    """The unit works from 60 % of 12 V on, 7.2 V: a reference of 8 V has less then than it says."""
    (found,) = findings("not-judged", BALANCE.format(pulsing="", volts=" 8 V", amps=1), bench=False)
    what = "voltage of reference output CTRL.ref, which depends on more than its unit: supply voltage assumed"
    assert any(note.text.startswith(what) for note in found.notes)
    (held,) = findings("not-judged", BALANCE.format(pulsing="", volts=" 5 V", amps=1), bench=False)
    assert not any("reference" in note.text for note in held.notes)
    (plain,) = findings("not-judged", BALANCE.format(pulsing="", volts="", amps=1), bench=False)
    assert not any("reference" in note.text for note in plain.notes)


@pytest.mark.parametrize(
    ("line", "kind", "nearest"),
    [
        ("latch on: toggled when btn", "unexpected-word", None),
        ("latch on: toggeld when btn, cleared when not key", "unexpected-word", "toggled"),
        ("latch on: toggled when btn, clear when key", "unexpected-word", "cleared"),
        ("output o 5 A after 2: OUT when btn", "missing-unit", None),
        ("output o 5 A after: OUT when btn", "unexpected-end", None),
        ("output o 5 A pulsing 130 %: OUT when btn", "out-of-range", None),
        ("output o 5 A pulsing 30 A: OUT when btn", "wrong-dimension", None),
        ("output o 5 A pulsin 30 %: OUT when btn", "unknown-word", "pulsing"),
        ("output o 5 A after 2 s after 3 s: OUT when btn", "repeated", None),
    ],
)
def test_what_is_said_wrongly_of_a_unit(line: str, kind: str, nearest: str | None) -> None:
    found = read_text(TEXT.format(lines=line)).mistakes
    assert (found[0].kind, found[0].nearest) == (kind, nearest)
