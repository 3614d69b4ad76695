"""What is joined wrongly is stated first, and by its name: a battery, a ground, an input, a latch, a condenser."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_file, read_text

HERE = Path(__file__).parent
SPECS = HERE.parents[1] / "specs"
TODAY = date(2026, 6, 1)


def report_of(text: str, name: str = "bike.loom") -> tuple[Finding, ...]:
    reading = read_text(text, name)
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    report = check(reading, today=TODAY)
    assert report.unchecked == ""
    return report.findings


def trial(name: str, *changes: tuple[str, str]) -> tuple[Finding, ...]:
    text = (HERE / f"{name}.loom").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return report_of(text)


def said(found: tuple[Finding, ...], rule: str) -> list[str]:
    return [f"{finding.level.word}: {finding.message}" for finding in found if finding.rule == rule]


def test_a_reversed_battery_is_named_before_all_else() -> None:
    found = trial("battery-reversed")
    assert found[0].rule == "battery-reversed"
    assert found[0].message == (
        "BAT is the wrong way round: BAT.+ is connected to FRAME, and the system has a negative ground"
    )
    assert found[0].to_do.startswith("swap the wires at BAT.+ and BAT.-: BAT.- belongs on FRAME, BAT.+ on the feed")
    assert found[0].about == ("BAT", "FRAME")


def test_a_battery_is_reversed_by_the_ground_that_is_stated() -> None:
    """The same wires with a positive ground are right; with a fuse in the ground lead they are wrong as before."""
    assert said(trial("battery-reversed", ("negative ground", "positive ground")), "battery-reversed") == []
    fused = (
        "wire 3 BAT.+ to FRAME",
        "fuse F-G 30 A blade at tray\nwire 3b F-G.2 to FRAME black 6 mm2 0.1 m\nwire 3 BAT.+ to F-G.1",
    )
    assert len(said(trial("battery-reversed", fused), "battery-reversed")) == 1


def test_a_positive_ground_is_mirrored() -> None:
    text = (SPECS / "small" / "six-volt-dynamo.loom").read_text(encoding="utf-8")
    swapped = text.replace("BAT.+", "BAT.x").replace("BAT.-", "BAT.+").replace("BAT.x", "BAT.-")
    (line,) = said(report_of(swapped), "battery-reversed")
    assert line.startswith("error: BAT is the wrong way round: BAT.- is connected to")
    assert line.endswith("and the system has a positive ground")


def test_the_input_is_named_and_not_what_is_behind_it() -> None:
    found = trial("input-of-wrong-kind")
    assert said(found, "input-kind") == [
        (
            "warning: input btn of CTRL is active when connected to a feed, and its contacts connect CTRL.IN only to "
            "ground: output horn does not work as written"
        )
    ]
    assert said(trial("input-of-wrong-kind", ("input btn fed", "input btn grounded")), "input-kind") == []


def test_a_grounded_input_on_the_key_is_the_same_fault() -> None:
    (line,) = said(trial("input-of-wrong-kind", ("input key fed", "input key grounded")), "input-kind")[1:]
    assert line.startswith("warning: input key of CTRL is active when connected to ground, and its contacts connect")


def test_an_input_that_the_ignition_depends_on_is_an_error() -> None:
    box = ("unit CTRL at tray {", "unit CTRL at tray for ignition {")
    (line,) = said(trial("input-of-wrong-kind", box), "input-kind")
    assert line.startswith("error: input btn of CTRL")


SETS = "set when btn and not btn, cleared when not key"


def test_a_latch_that_contradicts_itself_is_named_before_what_it_leaves_dead() -> None:
    cause, *others = trial("latch-never-set")
    assert cause.rule == "latch-stuck"
    assert cause.level is Level.ERROR
    assert cause.message == (
        "latch CTRL.on can never be set: its `set` condition contradicts itself; HORN cannot work; 1 other finding "
        "follows from this"
    )
    assert [note.text for note in cause.notes] == ["HORN.coil never gets a feed in any switch position"]
    # A larger fuse for the horn that never sounds would be harmful advice.
    assert {finding.rule for finding in others} == {"crowded-ground"}


def test_a_latch_that_is_never_cleared_or_cleared_by_what_sets_it_is_named() -> None:
    never = (SETS, "set when btn, cleared when key and not key")
    assert said(trial("latch-never-set", never), "latch-stuck") == [
        "warning: latch CTRL.on can never be cleared: its `cleared` condition contradicts itself"
    ]
    same = (SETS, "set when btn and key, cleared when btn or not key")
    assert said(trial("latch-never-set", same), "latch-stuck") == [
        (
            "error: latch CTRL.on never stays set: its `cleared` condition is true whenever its `set` condition is; "
            "HORN cannot work; 1 other finding follows from this"
        )
    ]


def test_a_latch_that_waits_for_one_that_is_never_set_is_never_set_either() -> None:
    chain = (
        "output horn 5 A trips 7 A: OUT when on",
        "latch far: set when on, cleared when not key\n    output horn 5 A trips 7 A: OUT when far",
    )
    (line,) = said(trial("latch-never-set", chain), "latch-stuck")
    assert "latch CTRL.on can never be set" in line
    assert "HORN cannot work" in line
    assert said(trial("latch-never-set", chain), "overloaded-fuse") == []


def test_what_a_latch_turns_off_still_works_while_it_is_never_set() -> None:
    either = ("OUT when on", "OUT when on or key")
    assert said(trial("latch-never-set", either), "latch-stuck") == [
        "warning: latch CTRL.on can never be set: its `set` condition contradicts itself"
    ]
    (line,) = said(trial("latch-never-set", either), "overloaded-fuse")
    assert "MAIN (3 A) carries" in line


def test_only_what_must_work_follows_from_a_latch_that_is_never_set() -> None:
    text = (HERE / "latch-never-set.loom").read_text(encoding="utf-8") + (
        "expect whenever KEY on: HORN dead\n"
        "expect whenever KEY on and BTN press: HORN live, HORN.coil live\n"
        "expect whenever KEY on: LAMP dead\n"
    )
    found = report_of(text)
    assert [finding.message for finding in found if finding.rule == "unmet-expectation"] == [
        "LAMP is expected dead and is live (KEY on)"
    ]
    assert [note.text for note in found[0].notes] == [
        "HORN.coil never gets a feed in any switch position",
        "HORN is expected live and is not (KEY on and BTN press)",
        "HORN.coil is expected live and is not (KEY on and BTN press)",
    ]


def test_a_latch_that_can_be_set_is_passed() -> None:
    right = ("set when btn and not btn", "set when btn")
    assert said(trial("latch-never-set", right), "latch-stuck") == []


def test_points_without_a_condenser_are_named_with_their_coil() -> None:
    assert said(trial("points-without-condenser"), "missing-condenser") == [
        "warning: POINTS breaks the current of COIL and has no condenser across its contacts"
    ]


def test_a_condenser_on_the_feed_side_does_not_count_and_is_named() -> None:
    found = trial("condenser-on-wrong-side")
    assert said(found, "missing-condenser") == [
        (
            "warning: POINTS breaks the current of COIL and has no condenser across its contacts: COND is connected to "
            "COIL.15"
        )
    ]
    (finding,) = (f for f in found if f.rule == "missing-condenser")
    assert finding.to_do.startswith("move wire 7, the lead of COND, from COIL.15 to POINTS.1")
    assert said(trial("condenser-on-wrong-side", ("COND.+ to COIL.15", "COND.+ to COIL.1")), "missing-condenser") == []


def test_points_that_only_tell_a_unit_need_no_condenser() -> None:
    text = (HERE / "points-without-condenser.loom").read_text(encoding="utf-8")
    box = (
        "unit BOX at tray for ignition { supply 100 mA: 15 31; input p grounded: P; "
        "output coil 5 A grounded clamped: C when p }\n"
        "wire 5 COIL.1 to BOX.C black/white 1.5 mm2 0.2 m\nwire 5b BOX.P to POINTS.1 white 1 mm2 0.2 m\n"
        "wire 5c KEY.2 to BOX.15 orange 1 mm2 0.2 m\nwire 5d BOX.31 to FRAME black 1 mm2 0.2 m"
    )
    text = text.replace("wire 5 COIL.1 to POINTS.1 black/white 1.5 mm2 0.2 m", box)
    assert said(report_of(text), "missing-condenser") == []


def test_one_forgotten_ground_comes_first_and_tells_the_rest_as_one() -> None:
    text = (SPECS / "rebuild.loom").read_text(encoding="utf-8")
    line = "wire 108 CTRL.31 to SP-G0 black 2 mm2 0.20 m\n"
    assert line in text
    found = report_of(text.replace(line, "").replace('converts "stock.loom"\n', ""), "rebuild.loom")
    first, *others = found
    assert first.rule == "loose-end"
    assert first.level is Level.ERROR
    assert first.message.startswith("CTRL.31 (supply) is not connected: CTRL, STARTER,")
    assert len(first.members) > 20
    assert {finding.rule for finding in first.members[1:]} == {"never-live", "unmet-expectation"}
    assert said(found, "never-live") == []
    assert len(others) < 12


def test_what_another_feed_can_light_is_not_folded_away() -> None:
    """The horn has a separate fault besides: a unit's open ground explains it no more than the key does."""
    text = (SPECS / "rebuild.loom").read_text(encoding="utf-8").replace('converts "stock.loom"\n', "")
    text = text.replace("wire 108 CTRL.31 to SP-G0 black 2 mm2 0.20 m\n", "")
    text = text.replace("wire 167 SP-15 to WARN.15 via C-PANEL.1", "wire 167 CTRL.O4 to WARN.15 via C-PANEL.1")
    told = next(f for f in report_of(text, "rebuild.loom") if f.rule == "loose-end" and "CTRL.31" in f.message)
    assert "WARN.oil" in told.explains
    assert "WARN.charge" not in told.explains


@pytest.mark.parametrize("rule", ["split-ground", "battery-reversed"])
def test_nothing_is_told_before_the_grounds(rule: str) -> None:
    found = check(read_file(str(SPECS / "rules" / rule / "edge-found.loom")), today=TODAY).findings
    assert found[0].rule == rule


def test_a_strap_that_is_missing_names_what_hangs_on_it() -> None:
    text = (SPECS / "small" / "magneto-single.loom").read_text(encoding="utf-8")
    found = report_of(text.replace("wire 3 ENGINE to FRAME black 4 mm2 class C\n", ""))
    assert said(found, "split-ground") == []  # no battery, and no direct current: each winding has its own returns
    text = (SPECS / "small" / "capacitor-single.loom").read_text(encoding="utf-8")
    assert said(report_of(text), "split-ground") == []


def test_a_ballast_is_judged_by_its_heat() -> None:
    text = (SPECS / "rules" / "ballast-mismatch" / "edge-near.loom").read_text(encoding="utf-8")
    assert said(report_of(text), "ballast-mismatch") == []
    assert said(report_of(text.replace("1.5 ohm 25 W", "1.5 ohm 10 W")), "ballast-mismatch") == [
        "warning: ballast resistor BALLAST dissipates 21.1 W with the ignition on and POINTS closed, rated 10 W"
    ]
    assert said(report_of(text.replace("primary 1.7 ohm", "primary 4 ohm")), "ballast-mismatch") == [
        (
            "warning: COIL.primary has 4 ohm and is fed through ballast resistor BALLAST (1.5 ohm), where at most "
            "2.5 ohm is usual: it gets 8.73 V of 12 V"
        )
    ]


def test_a_phase_on_the_engine_is_grounded() -> None:
    text = (SPECS / "stock.loom").read_text(encoding="utf-8")
    found = report_of(text + "\nmount ALT.U to ENGINE\n")
    assert said(found, "grounded-winding") == [
        "error: phase ALT.U is connected to ENGINE, and a phase is connected only to its rectifier"
    ]


def test_a_lamp_that_is_lit_in_off_where_the_key_has_park() -> None:
    text = (SPECS / "stock.loom").read_text(encoding="utf-8")
    wrong = text.replace("wire 23 F-TAIL.1 to KEY.58", "wire 23 F-TAIL.1 to KEY.30")
    assert "warning: REAR.tail is live (KEY off)" in said(report_of(wrong), "live-with-key-out")
    assert said(report_of(text), "live-with-key-out") == []


def test_an_exchanged_field_of_a_positive_ground_is_found() -> None:
    text = (SPECS / "small" / "six-volt-dynamo.loom").read_text(encoding="utf-8")
    assert said(report_of(text), "exchanged-field") == []
    swapped = text.replace("REG.F", "REG.x").replace("REG.D", "REG.F").replace("REG.x", "REG.D")
    (line,) = said(report_of(swapped), "exchanged-field")
    assert line.startswith("error: the field of DYN is on the wrong side of REG")
