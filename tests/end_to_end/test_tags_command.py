"""``loomwright tags``: every end of the old wires, in the order of the work, for a terminal, as CSV and on paper."""

from __future__ import annotations

import csv
import io
import json
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from outside import require_tool
from random_bikes import bike

from loomwright.cli import main
from loomwright.lang.files.reading import read_file
from loomwright.lang.model.parts import Splice

SPECS = Path(__file__).parents[2] / "specs"
STOCK = SPECS / "stock.loom"
REBUILD = SPECS / "rebuild.loom"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["tags", *map(str, arguments)])


@cache
def told(*arguments: object) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(run(*arguments, "--format", "json").stdout)["tags"]
    return found


@pytest.fixture(scope="module")
def proposed() -> dict[tuple[str, str], dict[str, Any]]:
    return {(each["end"], each["wire"]): each for each in told(STOCK)}


@pytest.fixture(scope="module")
def decided() -> dict[tuple[str, str], dict[str, Any]]:
    return {(each["end"], each["wire"]): each for each in told(STOCK, "--new", REBUILD)}


def test_every_end_has_its_tag_in_the_order_of_the_work(proposed: dict[tuple[str, str], dict[str, Any]]) -> None:
    tags = list(proposed.values())
    places = list(dict.fromkeys(each["place"] for each in tags))
    assert places == ["bars", "headstock", "panel", "headlamp", "tray", "engine", "tail"]
    assert [each["number"] for each in tags] == list(range(1, len(tags) + 1))
    assert not [each for each in tags if each["end"].startswith("SP-")]
    assert {("KILL.1", "25"), ("BAT.+", "2"), ("C-HEAD.3p", "67"), ("FRAME", "70")} <= proposed.keys()
    posts = [each["end"] for each in tags if each["end"].startswith("BAT.")]
    assert posts == ["BAT.-", "BAT.-", "BAT.+", "BAT.+"]  # the grounded lead comes off first


def test_what_comes_through_loads_is_the_most_that_a_contact_may_have_to_carry(
    proposed: dict[tuple[str, str], dict[str, Any]],
) -> None:
    """In neutral the switch passes the relay's coil too, while START is pressed: not the lamp's current alone."""
    pressed = "with KEY on, KILL run, START press, clutch out, gearbox in-gear, LIGHTS off, engine idling"
    assert proposed["NEUTRAL.1", "44"]["got"] == [
        "grounded when gearbox neutral",
        "fed through WARN.neutral, 73.7 ohm, 0.17 A with KEY on, gearbox in-gear",
        f"fed through K-START coil, WARN.neutral, 11.2 ohm, 1.26 A or more {pressed}",
    ]


@pytest.mark.parametrize(
    ("end", "wire", "action", "got"),
    [
        ("BAT.+", "2", "keep", []),
        ("K-START.30", "2", "take off", []),
        ("BAT.+", "1", "cut", ["supplies the harness, always live: take the battery's grounded lead off first"]),
        ("KILL.1", "25", "cut", ["fed 12 V when KEY on"]),
        ("KILL.2", "26", "keep", []),
        ("START.1", "37", "cut", []),
        ("FRAME", "70", "cut", []),
    ],
)
def test_what_becomes_of_an_end_is_what_sort_proposes(
    proposed: dict[tuple[str, str], dict[str, Any]], end: str, wire: str, action: str, got: list[str]
) -> None:
    tag = proposed[end, wire]
    assert (tag["action"], tag["got"], tag["new"]) == (action, got, "")


@pytest.mark.parametrize(
    ("end", "wire", "action", "new"),
    [
        ("K-START.30", "2", "keep", "STARTER-RELAY.30, wire 2"),
        ("KILL.2", "26", "cut", "KILL.2, wire 114"),
        ("SPEEDO.58", "59", "cut", "CLOCK.58, wire 134"),
        ("LIGHTS.15", "61", "cut", "LIGHTS is removed"),
        ("DIP.56b", "66", "cut", "DIP has no terminal 56b"),
        ("OIL.1", "90", "keep", "OIL.1, wire 90"),
        ("FRAME", "70", "cut", ""),
    ],
)
def test_the_rebuild_decides_and_has_the_new_ends(
    decided: dict[tuple[str, str], dict[str, Any]], end: str, wire: str, action: str, new: str
) -> None:
    assert (decided[end, wire]["action"], decided[end, wire]["new"]) == (action, new)


def test_an_end_that_is_capped_or_has_no_wire(tmp_path: Path) -> None:
    (tmp_path / "stock.loom").write_text(STOCK.read_text("utf-8"), "utf-8")
    text = REBUILD.read_text("utf-8")
    assert "wire 90 " in text
    rows = [row for row in text.split("\n") if not row.startswith(("wire 90 ", "wire 131 "))]
    new = tmp_path / "rebuild.loom"
    new.write_text("\n".join([*rows, "capped OIL.1", ""]), "utf-8")
    tags = {(each["end"], each["wire"]): each["new"] for each in told(tmp_path / "stock.loom", "--new", new)}
    assert tags["OIL.1", "90"] == "OIL.1 is not used: insulate it"
    assert tags["HORN.1", "50"] == "HORN.1 has no wire"


def test_words_of_the_old_file_go_before(tmp_path: Path) -> None:
    bike = tmp_path / "bike.loom"
    text = STOCK.read_text("utf-8")
    row = next(row for row in text.split("\n") if row.startswith("wire 51 "))
    bike.write_text(text.replace(row, f"{row} kept"), "utf-8")
    tags = {(each["end"], each["wire"]): each["action"] for each in told(bike)}
    assert tags["HORN.2", "51"] == "take off"


def test_the_terminal_says_where_a_wire_goes_and_what_came_through_it() -> None:
    lines = run(STOCK, "--new", REBUILD).stdout.split("\n")
    at = next(i for i, line in enumerate(lines) if " KILL.1 " in line)
    assert lines[0] == "bars"
    first, *below = (" ".join(line.split()) for line in lines[at : at + 3])
    assert first == (
        "1 cut KILL.1 wire 25 orange/black 28 x 0.30 mm, to SP-IGN at headstock via C-RIGHT.1 "
        "(leads to F-IGN.2, D-CHG.A, WARN.15)"
    )
    assert below == ["carried: fed 12 V when KEY on", "new: KILL.1, wire 113"]
    assert lines[-2].startswith("Disconnect the battery before anything is cut.")


def test_csv_is_utf8_with_a_byte_order_mark_and_one_header_row(tmp_path: Path) -> None:
    target = tmp_path / "tags.csv"
    assert run(STOCK, "-o", target).exit_code == 0
    raw = target.read_bytes()
    assert raw.startswith(b"\xef\xbb\xbfnumber,place,end,wire,")
    rows = list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"))))
    assert len(rows) == len(told(STOCK))
    assert rows[0]["reaches"] == "F-IGN.2; D-CHG.A; WARN.15"


def words_of(file: Path) -> str:
    found = subprocess.run([require_tool("pdftotext"), "-raw", file, "-"], capture_output=True, text=True, check=True)
    return " ".join(found.stdout.split())


def test_on_paper_each_tag_is_there_once_and_what_does_not_fit_is_named(tmp_path: Path) -> None:
    target = tmp_path / "tags.pdf"
    found = run(STOCK, "-o", target)
    assert found.exit_code == 0
    shown = words_of(target)
    for tag in told(STOCK):
        assert f" {tag['number']}, {tag['place']}: wire {tag['wire']} " in shown
    assert found.stderr.split("\n")[:3] == [
        "tag 6 (CLUTCH.1, wire 40) does not fit: see the last page",
        "tag 120 (NEUTRAL.1, wire 44) does not fit: see the last page",
        "tag 123 (OIL.1, wire 90) does not fit: see the last page",
    ]
    last = shown.partition("In full: what did not fit its tag")[2]
    assert "at most 0.181 A with KEY on, oil-pressure good, engine idling" in last
    assert "Disconnect the battery before anything is cut." in shown
    first = target.read_bytes()
    run(STOCK, "-o", target)
    assert target.read_bytes() == first


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((STOCK, "--tag", "62"), "expected width x height in mm, such as 62x28"),
        ((STOCK, "--tag", "400x3"), "expected 45x24 or more"),
        ((STOCK, "--tag", "nanxnan"), "expected 45x24 or more"),
        ((STOCK, "--tag", "infx30"), "is larger than a sheet of A4"),
        ((STOCK, "-o", "tags.txt"), "expected one of pdf, csv, json"),
        ((STOCK, "--new", STOCK), 'converts no harness: write in it: converts "stock.loom"'),
        ((SPECS / "small" / "electric-start.loom", "--new", REBUILD), "name the old harness that it converts"),
        ((STOCK, "--new", "nowhere.loom"), "cannot read nowhere.loom: there is no such file"),
    ],
)
def test_what_cannot_be_done_is_said(arguments: tuple[object, ...], said: str) -> None:
    found = run(*arguments)
    assert found.exit_code == 2
    assert said in found.stderr


def test_a_random_motorcycle_goes_all_the_way(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Sorted, begun again, tagged and compared: every wire that is cut has its two tags, splices left out."""
    monkeypatch.chdir(tmp_path)
    Path("old.loom").write_text(bike(104), "utf-8")
    runner = CliRunner()
    assert runner.invoke(main, ["sort", "old.loom", "--write", "new.loom"]).exit_code == 0
    harness = read_file("old.loom").harness
    ends = [end for wire in harness.wires.values() for end in (wire.a, wire.b)]
    tagged = told("old.loom", "--new", "new.loom")
    assert len(tagged) == sum(not isinstance(harness.parts[end.part], Splice) for end in ends)
    assert {each["action"] for each in tagged} == {"keep", "cut"}
    new = read_file("new.loom").harness
    kept = {each["end"] for each in tagged if each["action"] == "keep"}
    assert kept >= {end.node for wire in new.wires.values() for end in (wire.a, wire.b)} - set(new.parts)
    compared = json.loads(runner.invoke(main, ["compare", "old.loom", "new.loom", "--format", "json"]).stdout)
    removed = {each["old"] for each in compared["items"] if each["kind"] == "removed" and each["what"] == "wire"}
    assert removed == set(harness.wires) - set(new.wires)
