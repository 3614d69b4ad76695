"""What ``record`` names for readings of both motorcycles: everything that gives them, and nothing ruled out wrongly."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from loomwright.checks.bench.proving.plan import Proof
from loomwright.checks.bench.proving.record import read_record, verdict
from loomwright.cli import main
from loomwright.lang.files.reading import read_file
from loomwright.render.bench.record_text import record_text

SPECS = Path(__file__).parents[2] / "specs"

Said = Callable[[dict[str, str]], str]


def recorded(folder: Path, name: str) -> Said:
    """The words of ``record``, in one line, for some readings of a specification's proof: by the number of a row, or
    with the battery off by where its leads go, ``WARN.OIL to BAT.-``.
    """
    spec, sheet = SPECS / f"{name}.loom", folder / f"{name}.csv"
    assert CliRunner().invoke(main, ["prove", str(spec), "-o", str(sheet)]).exit_code == 0
    proof = Proof(read_file(spec).harness)  # worked out once for all readings of a harness
    lines = list(csv.DictReader(io.StringIO(sheet.read_text("utf-8-sig"), newline="")))

    places: dict[str, str] = {}
    for line in lines:
        if line["stage"] == "2":
            places.setdefault(f"{line['red']} to {line['black']}", line["row"])

    def said(readings: dict[str, str]) -> str:
        readings = {places.get(row, row): reading for row, reading in readings.items()}
        assert readings.keys() <= {line["row"] for line in lines}
        table = io.StringIO(newline="")
        writer = csv.DictWriter(table, list(lines[0]))
        writer.writeheader()
        writer.writerows({**line, "reading": readings.get(line["row"], "")} for line in lines)
        found = verdict(proof, read_record(table.getvalue().encode(), str(sheet), proof))
        assert found.off
        return " ".join(record_text(proof, found).split())

    return said


@pytest.fixture(scope="module")
def stock(tmp_path_factory: pytest.TempPathFactory) -> Said:
    return recorded(tmp_path_factory.mktemp("stock"), "stock")


@pytest.fixture(scope="module")
def rebuild(tmp_path_factory: pytest.TempPathFactory) -> Said:
    return recorded(tmp_path_factory.mktemp("rebuild"), "rebuild")


# --- first power: what a good row rules out
@pytest.mark.parametrize("good", [{}, {"3.24": "0.0 V"}, {"3.22": "ok", "3.23": "ok", "3.24": "0.0 V"}])
def test_a_good_row_that_is_no_look_at_a_lamp_clears_nothing_of_that_lamp(stock: Said, good: dict[str, str]) -> None:
    said = stock({"3.21": "POS dead", **good})
    assert "POS dead in row 3.21 (in gear, KEY on): 22 suspects in 10 groups, the likeliest first." in said
    assert "1 wire 58.1, C-HEAD.1, wire 58.2: open, one of these in series explains POS dead" in said
    assert "Only this is left" not in said


def test_a_voltage_where_none_is_due_speaks_of_what_sticks_closed(stock: Said) -> None:
    said = stock({"3.24": "12.3 V"})
    row = "row 3.24 (in gear: KILL to stop, and back)"
    assert (
        f"In {row} there is no voltage from IGN.15 to BAT.- without any fault: if it is read with every switch, the "
        f"key too, as in {row}, look for a contact that sticks closed and for a wire shorted to a live feed, which are "
        "not judged. If a switch is otherwise, set it so and read again." in said
    )
    assert "Only this is left" not in said
    assert "does not fit" not in said


def test_a_good_look_clears_what_would_have_changed_the_things_it_speaks_of(stock: Said) -> None:
    assert "REAR.stop dead in row 3.29 (in gear: hold BRAKE-FRONT at press, then release): 32 suspects" in stock(
        {"3.29": "REAR.stop dead"}
    )
    lever = "wire 47.1, C-RIGHT.4, wire 47.2, BRAKE-FRONT 1-2, wire 52.2, C-RIGHT.5, wire 52.1: open"
    same = stock({"3.29": "REAR.stop dead", "3.30": "ok"})  # the same lamp, by the other brake
    assert "7 suspects in 1 group." in same  # nor is it the bulb, which lit then
    assert lever in same
    other = stock({"3.29": "REAR.stop dead", "3.31": "ok", "3.32": "ok"})  # horn and headlamp
    assert "15 suspects in 5 groups" in other
    assert lever in other
    assert "wire 54.1, C-TAIL.1, wire 54.2: open" in other
    assert "wire 46" not in other  # the horn would have been silent as well


def test_a_good_volts_row_clears_what_its_own_volts_pass_alone(rebuild: Said) -> None:
    alone = rebuild({"3.12": "HEAD.dip dead"})
    assert "38 suspects in 20 groups" in alone
    assert "wire 106: open" in alone
    assert "KEY 30-15, wire 104.2, C-KEY.2, wire 104.1: open" in alone
    said = rebuild({"3.12": "HEAD.dip dead", "3.15": "0.0", "3.16": "0", "3.17": "12.3", "3.18": "12.3"})
    assert "23 suspects in 13 groups" in said
    assert "wire 108: high resistance" in said  # some ohms there pass the voltage that was read and dim the lamp
    assert "1 CTRL.dip, wire 141.1, C-HEAD.3, wire 141.2: open, one of these in series" in said
    assert "KEY 30-15" not in said  # without it the starter relay would not have had 12.3 V


# --- first power: the lamp across the clips of a fuse
NO_FUSE_GOES_IN = "is a short behind {}, in a wire or inside a part: no fuse goes in until it is found."
DARK = (
    "If the test lamp is dark, it is open or makes no contact, and the voltmeter reads through what is connected behind"
)


@pytest.mark.parametrize("good", [{}, {"BAT.+ to BAT.-": "200 kohm"}])
def test_battery_volts_across_the_lamp_are_a_short_first_and_a_dark_lamp_second(
    rebuild: Said, good: dict[str, str]
) -> None:
    """With the fuses out the pole of the battery is connected to wires 1 and 2 alone: that row clears none behind."""
    said = rebuild({"3.4": "12.3 V", **good})
    assert "4 suspects in 1 group" in said
    assert "1 wire 6, wire 101, wire 102, wire 8: one of these is shorted to ground explains 12.3 V" in said
    assert "would also: the test lamp in place of MAIN bright" in said
    assert NO_FUSE_GOES_IN.format("MAIN") in said
    assert said.index(NO_FUSE_GOES_IN.format("MAIN")) < said.index(f"{DARK} MAIN: try the lamp across the battery")
    assert "test lamp: open" not in said
    assert "Only this is left" not in said


def test_each_fuse_has_the_shorts_behind_it_and_a_dark_lamp_where_something_there_conducts(rebuild: Said) -> None:
    unit = rebuild({"3.9": "12.3 V", "BAT.+ to BAT.-": "ok"})
    assert "1 wire 107: this is shorted to ground" in unit
    assert "would also: the test lamp in place of F-CTRL bright and CTRL dead" in unit
    assert f"{DARK} F-CTRL" in unit
    off = rebuild({"3.6": "12.3 V"})
    assert "1 wire 103.1, wire 103.2: one of these is shorted to ground" in off
    assert NO_FUSE_GOES_IN.format("F-KEY") in off
    assert DARK not in off  # the key is off and nothing else is connected there: across a dark lamp nothing shows
    assert f"{DARK} F-KEY" in rebuild({"3.7": "12.3 V"})  # the key is on
    assert DARK not in rebuild({"3.7": "6 V"})  # an open lamp has all the volts across it


def test_a_short_that_battery_off_rows_clear_leaves_the_lamp_to_be_tried(rebuild: Said) -> None:
    said = rebuild({"3.9": "12.3 V", "F-CTRL.2 to BAT.-": "open"})
    assert (
        "row 3.9: no single fault of the harness explains it that the rows that are as expected leave possible: try "
        "the test lamp first, see below. By this row alone: 12.3 V" in said
    )
    assert "1 wire 107: this is shorted to ground" in said
    assert f"{DARK} F-CTRL" in said


# --- first power: what rows with the battery off rule out
def test_what_was_read_through_with_the_battery_off_is_not_called_open(rebuild: Said) -> None:
    alone = rebuild({"3.12": "WARN.charge dead"})
    assert "1 wire 109, D-CHG, wire 110.1, C-PANEL.2, wire 110.2: open, one of these in series" in alone
    assert "wire 111: open" in alone
    said = rebuild({"3.12": "WARN.charge dead", "WARN.D+ to WARN.CHG": "64 ohm", "KEY.15 to WARN.CHG": "ok"})
    assert "D-CHG" not in said
    assert "wire 109, wire 110.1, C-PANEL.2, wire 110.2: high resistance, one of these in series" in said
    assert "wire 111: open" not in said
    assert "wire 14.2, C-PANEL.6, wire 14.1: open, one of these in series" in said
    assert "WARN.charge: open" in said


def test_a_resistor_that_was_measured_is_not_called_open(rebuild: Said) -> None:
    assert "R-FIELD: open" in rebuild({"3.30": "12.4 V"})
    assert "R-FIELD" not in rebuild({"3.30": "12.4 V", "WARN.D+ to WARN.CHG": "64 ohm"})


# --- battery off: everything that gives what was read
EACH = "battery off: of opens, high resistances and pinches to ground each of these gives what was read:"


def test_an_open_in_a_path_is_any_element_in_series_that_no_other_row_passes(stock: Said, rebuild: Said) -> None:
    series = "wire 89.1, wire 89.2, wire 90, mount OIL.2, OIL 1-2, C-PANEL.4, C-ENGINE.2: one of these"
    assert f"{EACH} open: {series} 3 readings" in stock(
        {"WARN.OIL to BAT.-": "open", "K-START.87 to BAT.-": "0.1", "D-NEUT.K to BAT.-": "0.1"}
    )
    assert f"{EACH} open: wire 4, {series} 1 reading" in stock({"WARN.OIL to BAT.-": "open"})
    assert f"{EACH} open: mount NEUTRAL.2, NEUTRAL 1-2: one of these 2 readings" in rebuild(
        {"NEUTRAL.1 to BAT.-": "open", "WARN.OIL to WARN.31": "0.1"}
    )


def test_some_ohms_in_a_path_of_copper_are_a_high_resistance_and_no_open(stock: Said) -> None:
    series = "wire 89.1, wire 89.2, wire 90, mount OIL.2, OIL 1-2, C-PANEL.4, C-ENGINE.2: one of these"
    assert f"{EACH} high resistance: {series} 2 readings" in stock(
        {"WARN.OIL to BAT.-": "3.4", "K-START.87 to BAT.-": "0.1"}
    )


def test_no_ohms_are_a_pinch_of_what_was_measured_and_of_nothing_behind_a_coil(stock: Said) -> None:
    measured = "pinched to ground: the net of F-IGN.2 (wire 24, wire 25.1, wire 25.2, wire 86.1, wire 86.2, wire 87)"
    kill = "pinched to ground: the net of SP-KILL (wire 26.1, wire 26.2, wire 27, wire 28, wire 29, wire 37)"
    assert f"{EACH} {measured} {kill} A switch or button" in stock({"F-IGN.2 to BAT.-": "0.0 ohm"})
    behind = stock({"F-IGN.2 to BAT.-": "2.7 ohm"})
    coils = "pinched to ground: the net of IGN.CL (wire 30) pinched to ground: the net of IGN.CR (wire 31)"
    assert f"{EACH} {coils}" in behind
    assert measured not in behind


def test_one_fault_alone_is_named_as_such_and_where_none_gives_it_each_row_is_named(stock: Said) -> None:
    assert "to ground this alone gives what was read: open: wire 4 2 readings" in stock(
        {"K-START.87 to BAT.-": "open", "WARN.OIL to BAT.-": "open"}
    )
    said = stock({"WARN.OIL to BAT.-": "open", "F-IGN.2 to BAT.-": "0.0"})
    assert (
        "battery off: no single open, high resistance or pinch to ground is found that gives all that was read" in said
    )
    opens = "wire 4, wire 89.1, wire 89.2, wire 90, mount OIL.2, OIL 1-2, C-PANEL.4, C-ENGINE.2: one of these"
    assert f"row 2.18: open: {opens} row 2.33: pinched to ground: the net of F-IGN.2 (wire 24, wire 25.1" in said


@pytest.mark.parametrize(
    ("name", "readings", "said"),
    [
        (
            "rebuild",
            {"REG.DF to BAT.-": "open", "CTRL.O8 to BAT.-": "open"},
            (
                "row 2.18: open: wire 4, wire 15.1, wire 15.2, mount ALT.31, ALT field, C-ENGINE.5: one of these "
                "row 2.26: open: wire 5, wire 171, wire 117, wire 118, STARTER-RELAY coil: one of these"
            ),
        ),
        (
            "stock",
            {"DIP.56a to BAT.-": "open", "F-IGN.2 to BAT.-": "open"},
            "row 2.27: open: wire 5, wire 63.1, wire 63.2, wire 65.1, wire 65.2, WARN.main, C-LEFT.4, C-PANEL.6: one",
        ),
    ],
)
def test_of_two_faults_a_row_that_reads_open_is_no_pinch(
    name: str, readings: dict[str, str], said: str, stock: Said, rebuild: Said
) -> None:
    told = (stock if name == "stock" else rebuild)(readings)
    assert said in told
    assert "pinched to ground:" not in told
    assert "pinched to ground;" not in told


def test_a_diode_row_and_others_that_are_open_together_name_what_is_in_all(stock: Said) -> None:
    """The ignition's feed behind its fuse: it is read to ground, and through the diode of the charge lamp."""
    said = stock({"F-IGN.2 to BAT.-": "open", "2.37": "open"})
    assert "to ground this alone gives what was read: open: wire 24 2 readings" in said


def test_a_diode_that_reads_open_has_the_opens_of_its_row(stock: Said) -> None:
    said = stock({"K-START.85 to NEUTRAL.1": "open"})
    assert "open: wire 39, wire 42, wire 43, wire 44.1, wire 44.2, D-NEUT, C-ENGINE.1: one of these" in said
    assert "row 2.36: D-NEUT shorted or bridged" in stock({"K-START.85 to NEUTRAL.1": "both ways"})


def test_what_a_diode_row_shows_says_how_the_diode_fails(rebuild: Said) -> None:
    row = "KEY.15 to WARN.CHG"
    assert "row 2.51: D-CHG shorted or bridged" in rebuild({row: "both ways"})
    assert "row 2.51: D-CHG the wrong way round" in rebuild({row: "wrong way"})
    assert "row 2.51: D-CHG open, shorted or the wrong way round" in rebuild({row: "not ok"})
    series = "wire 104.1, wire 104.2, wire 109, wire 110.1, wire 110.2, C-KEY.2, D-CHG, C-PANEL.2: one of these"
    assert f"each of these gives what was read: open: {series}" in rebuild({row: "open"})


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        (
            "0.4 ohm",
            "row 2.50: R-FIELD shorted, with fewer ohms than is written, or bridged by wires that touch",
        ),
        ("200 ohm", "high resistance: wire 111, wire 112, R-FIELD: one of these"),
        ("open", "open: wire 111, wire 112, R-FIELD: one of these"),
    ],
)
def test_too_few_ohms_are_a_short_and_never_an_open(rebuild: Said, reading: str, said: str) -> None:
    assert said in (found := rebuild({"WARN.D+ to WARN.CHG": reading}))
    assert ("open: wire" in found or "wire 112 open" in found) is (reading == "open")


def test_a_switch_that_is_closed_reads_as_a_pinch_to_ground(rebuild: Said) -> None:
    """In neutral the sound motorcycle reads 0 ohm there."""
    said = rebuild({"WARN.N to BAT.-": "0.1 ohm"})
    assert "pinched to ground: the net of WARN.N (wire 121.1, wire 121.2, wire 122, wire 123.1, wire 123.2)" in said
    assert "A switch or button to ground that sticks closed shows as its wire shorted to ground does" in said


def test_an_engine_that_starts_clears_nothing_of_one_of_its_two_coils(rebuild: Said) -> None:
    """It starts on one cylinder: what feeds, drives and triggers the other coil alone stays suspected."""
    said = rebuild({"3.27": "ok", "3.28": "ok", "3.29": "COIL-LEFT dead"})
    for place in ("wire 33.1, wire 33.2, C-PICK.1", "wire 34.1, wire 34.2, C-PICK.2", "wire 30, IGN.coil-left"):
        assert f"{place}: open, one of these in series explains COIL-LEFT dead" in said
    for place in ("wire 27", "PICK-LEFT", "COIL-LEFT.primary"):
        assert f"{place}: open explains COIL-LEFT dead" in said


def test_a_charging_voltage_that_the_proof_calls_off_is_not_without_any_fault(rebuild: Said) -> None:
    said = rebuild({"3.30": "13.3 V", "3.31": "13.6 V"})
    assert "without any fault" not in said
    assert said.count("the battery is charged with 13.8 V at least here") == 2
    assert "wire 8: high resistance" in said


def test_a_battery_that_is_flat_is_seen_to_before_anything_is_suspected(rebuild: Said) -> None:
    flat = rebuild({"3.1": "10.6 V", "3.17": "10.6 V", "3.18": "10.6 V"})
    assert (
        "row 3.1: see to BAT before all else: charge it, let it rest for an hour and read again, or fit another. What "
        "other rows of first power read follows from it: rows 3.17 and 3.18 are not judged until it is as expected."
    ) in flat
    assert "suspect" not in flat
    assert "row 3.17 is not judged until" in rebuild({"3.1": "10.6 V", "3.17": "10.6 V"})
    assert "follows from it: they are not judged until" in rebuild({"3.1": "12.3 V"})


def test_where_only_a_chatter_would_give_a_reading_the_battery_comes_first(rebuild: Said) -> None:
    """Nothing flows in the starter's lead while its cable is off: a steady 10.6 V there is the battery's."""
    said = rebuild({"3.17": "10.6 V", **{f"3.{row}": "ok" for row in range(2, 12)}})
    assert "predicts no steady voltage from STARTER-RELAY.87 to BAT.-: CTRL and STARTER-RELAY chatter" in said
    assert (
        "A battery that is flat or worn, or an alternator without output, is not among them: see to those first."
    ) in said
