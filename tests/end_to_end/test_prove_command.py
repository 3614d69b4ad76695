"""``prove`` and ``record``: for a terminal, as the CSV that is filled in and read back, and on paper."""

from __future__ import annotations

import csv
import io
import re
import subprocess
from pathlib import Path

import pytest
from bench_bike import BENCH_BIKE
from click.testing import CliRunner, Result
from outside import require_tool

from loomwright.cli import main

SPECS = Path(__file__).parents[2] / "specs"
REBUILD = SPECS / "rebuild.loom"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [*map(str, arguments)])


@pytest.fixture
def bike(tmp_path: Path) -> Path:
    file = tmp_path / "bike.loom"
    file.write_text(BENCH_BIKE, encoding="utf-8")
    return file


@pytest.fixture
def sheet(bike: Path) -> Path:
    file = bike.with_name("proof.csv")
    assert run("prove", bike, "-o", file).exit_code == 0
    return file


def table(file: Path) -> list[dict[str, str]]:
    raw = file.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")
    return list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize(
    ("closed", "held"), [(False, "POINTS open: slip clean card"), (True, "POINTS closed: turn the")]
)
def test_what_points_must_be_for_the_figures_to_hold_is_said(tmp_path: Path, closed: bool, held: str) -> None:
    text = (SPECS / "small" / "points-single.loom").read_text("utf-8")
    file = tmp_path / "points.loom"
    file.write_text(text.replace("{ open: ; closed: 1 2 }", "{ closed: 1 2; open: }") if closed else text, "utf-8")
    still, powered = (run("prove", file, "--stage", stage).output for stage in ("rest", "power"))
    assert f"The figures hold with {held}" in still
    assert f"The figures hold with {held}" in powered
    assert "overheats" not in still
    assert "A coil that is left on through closed points overheats" in powered
    assert ("leave it there until the engine is to run" in powered) != closed
    assert "The figures hold" not in run("prove", SPECS / "stock.loom", "--stage", "power").output


def row_of(file: Path, red: str, black: str, stage: str) -> dict[str, str]:
    return next(r for r in table(file) if (r["red"], r["black"], r["stage"]) == (red, black, stage))


def filled(sheet: Path, readings: dict[str, str], *, rest: str = "", **changed: str) -> Path:
    """The sheet with readings by row, ``rest`` in all others, and cells of each row that has a reading changed."""
    lines = table(sheet)
    for line in lines:
        line["reading"] = readings.get(line["row"], rest)
        if line["row"] in readings:
            line.update(changed)
    target = sheet.with_name("filled.csv")
    with target.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, list(lines[0]))
        writer.writeheader()
        writer.writerows(lines)
    return target


def pages_of(file: Path) -> list[str]:
    """The words of each page."""
    found = subprocess.run(
        [require_tool("pdftotext"), "-layout", file, "-"], capture_output=True, text=True, check=True
    )
    return [" ".join(page.split()) for page in found.stdout.split("\f")[:-1]]


# --- prove
def test_a_small_loom_is_proved_in_rows_that_can_be_counted_by_hand(bike: Path) -> None:
    """BAT.+ F.1, F.2 C.1s, C.1p S.1, S.2 L.1, L.2 C.2s, C.2p FRAME, BAT.- FRAME: 14 points in 7 nets, so 13 rows."""
    said = run("prove", bike, "--stage", "table").output
    assert (
        "13 rows with the beeper in 1 loom, points less one, some 2 min; a tester that joins any points at once" in said
    )
    assert "needs 4 at least (Kautz 1974)" in said  # 2 - 1 + 3, since log2 7 = 2.8
    assert re.search(r"1\.\d+ +ring M6 on 4 mm2: a sample made .* holds 312 N", said)  # 12 AWG: 70 lbf
    # 2 A x 4.71 mohm/m (ISO 6722-1, 4 mm2) x 0.2 m x 1.3 are 2.45 mV, and 0.5 mV for each of two crimps
    assert re.search(r"1\.\d+ +2 A from red to black F\.1 +BAT\.\+ +under 3\.5 mV", said)
    assert "send 2 A from a current-limited supply, never from a battery, its clips on the bare terminals" in said
    assert "read mV on the terminals themselves, inside its clips, in steps of 0.1 mV" in said


def test_each_stage_says_its_cautions_and_none_that_anything_is_safe(bike: Path) -> None:
    said = run("prove", bike).output
    for words in (
        "stage 0: by eye",
        "No battery is connected to the loom",
        "Never measure resistance on a live circuit",
        "Eye protection on",
        "A lamp at full brightness is a short: no fuse goes in until it is found.",
    ):
        assert words in said
    assert said.count("not that the harness is safe") == 4
    assert not re.search(r"\bis safe\b", said.replace("not that the harness is safe", ""))
    assert said.count("local codes and licensed practice come first") == 4


def test_stages_are_chosen_and_csv_has_one_header(bike: Path) -> None:
    found = run("prove", bike, "--stage", "eye", "--stage", "power", "--format", "csv").stdout
    lines = list(csv.reader(io.StringIO(found.removeprefix("\ufeff"), newline="")))
    assert lines[0][:3] == ["row", "stage", "sheet"]
    assert {line[1] for line in lines[1:]} == {"0", "3"}


def test_the_paper_has_boxes_titles_pages_and_the_caution_on_each_page(tmp_path: Path) -> None:
    target = tmp_path / "proof.pdf"
    assert run("prove", REBUILD, "-o", target).exit_code == 0
    pages = pages_of(target)
    assert len(pages) >= 8
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert "not that the harness is safe" in page, number
    seen = " ".join(pages)
    for words in ("stage 0: by eye", "stage 1: on the table", "stage 2: on the motorcycle", "stage 3: first power"):
        assert f"Fennmoor 480 twin, rebuild: {words}" in seen
    assert run("prove", REBUILD, "-o", tmp_path / "again.pdf").exit_code == 0
    assert target.read_bytes() == (tmp_path / "again.pdf").read_bytes()


def test_what_is_owed_is_said_once(tmp_path: Path) -> None:
    file = tmp_path / "bare.loom"
    file.write_text(BENCH_BIKE.partition("ends ")[0], encoding="utf-8")
    said = run("prove", file, "--stage", "table").output
    assert said.count("missing: the crimp or the size of wire at ") == 1
    assert "pull" not in said.partition("missing:")[0].partition("loom")[2].replace("a pull at a sample", "")


def test_a_harness_without_wires_is_told_so(tmp_path: Path) -> None:
    file = tmp_path / "empty.loom"
    file.write_text('loom "empty"\n', encoding="utf-8")
    result = run("prove", file)
    assert result.exit_code == 0
    assert "no row" in result.output


# --- record
def test_a_sheet_without_readings_is_not_done_yet(bike: Path, sheet: Path) -> None:
    result = run("record", bike, sheet)
    assert result.exit_code == 0
    assert "no reading yet: fill in the column `reading`" in result.output


def test_all_as_expected(bike: Path, sheet: Path) -> None:
    result = run("record", bike, filled(sheet, {}, rest="ok"))
    assert result.exit_code == 0
    assert ": all as expected\n" in result.output
    assert "not that the harness is safe" in result.output


def test_an_open_and_a_join_on_the_table_are_named(bike: Path, sheet: Path) -> None:
    one = row_of(sheet, "F.1", "BAT.+", "1")["row"]
    result = run("record", bike, filled(sheet, {one: "silent"}, rest="ok"))
    assert result.exit_code == 1
    assert "loom main: this explains it:\n  wire 1 is open, or not in its crimp\n" in result.output
    bar = next(r["row"] for r in table(sheet) if r["red"] == "the bar")
    said = run("record", bike, filled(sheet, {bar: "beep"}, rest="ok")).output
    assert re.search(r"loom main: this explains it:\n  \S+.* is connected to ", said)


def test_battery_off_the_fault_that_shows_just_so_is_named(bike: Path, sheet: Path) -> None:
    ground = row_of(sheet, "L.2", "BAT.-", "2")
    assert ground["expected"] == "under 0.5 ohm"
    result = run("record", bike, filled(sheet, {ground["row"]: "3.4 ohm"}, rest="ok"))
    assert result.exit_code == 1
    assert "gives what was read:\n  high resistance: " in result.output
    assert "wire 4.1" in result.output.partition("high resistance: ")[2].partition("\n")[0]
    result = run("record", bike, filled(sheet, {ground["row"]: "open"}, rest="ok"))
    assert "wire 4.1" in result.output.partition("\n  open: ")[2].partition("\n")[0]


def test_first_power_goes_on_to_suspect_without_what_other_rows_rule_out(bike: Path, sheet: Path) -> None:
    lit = next(r for r in table(sheet) if r["expected"] == "on: L")
    alone = run("record", bike, filled(sheet, {lit["row"]: "L dead"})).output
    assert "wire 4.1, C.2, wire 4.2" in " ".join(alone.split())
    loaded = next(r for r in table(sheet) if r["red"] == "F.1" and float(r["least"] or 0) > 0)  # S on
    result = run("record", bike, filled(sheet, {lit["row"]: "L dead", loaded["row"]: ""}, rest="ok"))
    assert result.exit_code == 1
    said = " ".join(result.output.split())
    assert "L dead in row" in said
    assert "explains L dead: it is L.lamp itself" in said
    assert "wire 4.1, C.2, wire 4.2: open" not in said  # its row with the battery off was as expected
    assert "--seen" not in said
    drew = " ".join(run("record", bike, filled(sheet, {lit["row"]: "L dead"}, rest="ok")).output.split())
    assert "1 suspect. 1 F: open" in drew  # L drew its current through the test lamp that was in its place


def test_volts_are_read_in_the_rows_unit_or_another_of_its_kind(bike: Path, sheet: Path) -> None:
    lamp = next(r for r in table(sheet) if r["unit"] == "V" and r["most"] and float(r["least"]) > 0)
    middle = (float(lamp["least"]) + float(lamp["most"])) / 2
    for text in (f"{middle:g}", f"{middle:g} V", f"{1000 * middle:g} mV", f"{middle:g}V"):
        assert run("record", bike, filled(sheet, {lamp["row"]: text})).exit_code == 0, text
    assert run("record", bike, filled(sheet, {lamp["row"]: "12.6 V"})).exit_code == 1


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ("3,4", "the column `reading` has `3,4` in row {row}: expected a number in ohm, with a point"),
        ("3.4 V", "unknown unit `V`: expected ohm, mohm or kohm"),
        ("some", "the column `reading` has `some` in row {row}: expected a number in ohm"),
    ],
)
def test_a_reading_that_says_nothing_is_told_with_its_line(bike: Path, sheet: Path, reading: str, said: str) -> None:
    number = row_of(sheet, "L.2", "BAT.-", "2")["row"]
    line = 2 + [r["row"] for r in table(sheet)].index(number)
    result = run("record", bike, filled(sheet, {number: reading}))
    assert result.exit_code == 2
    assert f"filled.csv:{line}: " in result.output
    assert said.format(row=number) in result.output


def test_readings_of_another_harness_are_refused(bike: Path, sheet: Path) -> None:
    number = row_of(sheet, "L.2", "BAT.-", "2")["row"]
    result = run("record", bike, filled(sheet, {number: "0.1"}, red="L.9"))
    assert result.exit_code == 2
    assert f"the column `red` has `L.9`, and row {number} measures at `L.2`" in result.output
    result = run("record", bike, filled(sheet, {number: "0.1"}, row="2.99"))
    assert "the column `row` has `2.99`, which is no row of this proof" in result.output


def test_columns_that_nobody_knows_or_that_lack_are_named(bike: Path, sheet: Path) -> None:
    text = sheet.read_text(encoding="utf-8-sig")
    sheet.write_text(text.replace("remarks", "weather", 1), encoding="utf-8")
    assert "proof.csv:1: unknown column `weather`" in run("record", bike, sheet).output
    sheet.write_text(text.replace("reading", "remarks", 1).replace("remarks,remarks", "remarks", 1), encoding="utf-8")
    assert "proof.csv:1: the column `reading` is not there" in run("record", bike, sheet).output


def test_a_row_that_is_there_twice_and_a_sheet_that_is_none(bike: Path, sheet: Path) -> None:
    target = filled(sheet, {}, rest="ok")
    lines = target.read_text(encoding="utf-8").splitlines()
    target.write_text("\n".join([*lines, lines[1]]) + "\n", encoding="utf-8")
    assert "row 0.1 is there twice: keep the reading that holds" in run("record", bike, target).output
    target.write_bytes(b"\xff\xfe")
    assert "this is not UTF-8" in run("record", bike, target).output
    assert "cannot read" in run("record", bike, sheet.with_name("none.csv")).output
