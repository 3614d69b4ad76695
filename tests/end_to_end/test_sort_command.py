"""``loomwright sort``: systems and proposals, the boundary in words and numbers, and the first rebuild file."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from loomwright.cli import main
from loomwright.lang.editing.formatter import tidy
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).parents[2] / "specs"
STOCK = SPECS / "stock.loom"


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


@pytest.fixture(scope="module")
def told() -> dict[str, dict[str, object]]:
    found = json.loads(run("sort", str(STOCK), "--format", "json").stdout)
    return {kind: {each.get("name", each.get("node")): each for each in found[kind]} for kind in SECTIONS}


SECTIONS = ("parts", "wires", "boundary")


@pytest.mark.parametrize(
    ("system", "keep", "names"),
    [
        ("charging", True, "BAT ALT RECT REG C-ALT"),
        ("ignition", True, "KILL IGN PICK-LEFT PICK-RIGHT COIL-LEFT COIL-RIGHT SP-KILL C-PICK"),
        ("starting", True, "STARTER"),
        ("starting", False, "K-START START"),
        ("sensing", True, "CLUTCH NEUTRAL BRAKE-FRONT BRAKE-REAR OIL"),
        ("the rest", True, "ENGINE FRAME"),
        ("the rest", False, "KEY MAIN F-IGN HORN HEAD LIGHTS DIP WARN FLASH TURN D-CHG D-NEUT SPEEDO"),
    ],
)
def test_parts_by_what_they_are_joined_to(
    told: dict[str, dict[str, dict[str, object]]], system: str, keep: bool, names: str
) -> None:
    for name in names.split():
        part = told["parts"][name]
        assert (part["system"], part["keep"]) == (system, keep), name


def test_names_labels_and_words_for_a_system_decide_nothing(tmp_path: Path) -> None:
    """The same harness with other names for its parts is sorted alike."""
    text = STOCK.read_text("utf-8")
    for old, new in (("COIL-LEFT", "HEATER"), ("REG", "LAMP"), ("PICK-LEFT", "OIL2"), ("NEUTRAL", "IGNITION")):
        text = text.replace(old, new)
    for system in ("charging", "starting", "sensing", "lighting", "signals", "supply", "instruments"):
        text = text.replace(f" for {system}", "")
    other = tmp_path / "other.loom"
    other.write_text(text, "utf-8")
    first, again = (
        {each["name"]: (each["system"], each["keep"]) for each in json.loads(found.stdout)["parts"]}
        for found in (run("sort", str(file), "--format", "json") for file in (STOCK, other))
    )
    assert list(first.values()) == list(again.values())


START = """loom "Horn on the ground side"
system 12 V negative ground
place here
source BAT battery at here { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 20 A blade at here
ground FRAME at here
switch START-BUTTON 5 A momentary at here { rest: ; press: 1 2 }
switch HORN-BUTTON 5 A momentary at here { rest: ; press: 1 2 }
load HORN horn at here { horn 2 A: 1 2 }
load STARTER motor at here { armature 100 A: 30 31 }
relay K 150 A at here { coil 12 ohm: 86 85; released: ; pulled: 30 87 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.2 m
wire 2 MAIN.2 to START-BUTTON.1 red 1 mm2 0.2 m
wire 3 START-BUTTON.2 to K.86 blue 1 mm2 0.2 m
wire 4 K.85 to FRAME black 1 mm2 0.2 m
wire 5 MAIN.2 to HORN.1 red 1 mm2 0.2 m
wire 6 HORN.2 to HORN-BUTTON.1 green 1 mm2 0.2 m
wire 7 HORN-BUTTON.2 to FRAME black 1 mm2 0.2 m
wire 8 BAT.+ to K.30 red 16 mm2 0.3 m
wire 9 K.87 to STARTER.30 red 16 mm2 0.3 m
wire 10 STARTER.31 to FRAME black 16 mm2 0.3 m
wire 11 BAT.- to FRAME black 16 mm2 0.3 m
"""


@pytest.mark.parametrize(
    "without",
    [
        pytest.param("", id="all of it"),
        pytest.param("wire 1 ", id="nothing feeds the coil yet: the button beside it"),
    ],
)
def test_a_button_that_shares_the_ground_with_a_relay_does_not_move_it(tmp_path: Path, without: str) -> None:
    file = tmp_path / "horn.loom"
    file.write_text("".join(f"{r}\n" for r in START.splitlines() if not without or not r.startswith(without)), "utf-8")
    found = {each["name"]: each for each in json.loads(run("sort", str(file), "--format", "json").stdout)["parts"]}
    assert (found["START-BUTTON"]["system"], found["START-BUTTON"]["why"]) == ("starting", "operates K")
    assert found["HORN-BUTTON"]["system"] == "the rest"


def test_a_button_that_a_unit_asks_moves_the_relay_behind_it() -> None:
    told = json.loads(run("sort", str(SPECS / "rebuild.loom"), "--format", "json").stdout)["parts"]
    assert [each["name"] for each in told if each["why"] == "operates STARTER-RELAY"] == ["START"]


def test_the_boundary_in_words_and_numbers(told: dict[str, dict[str, dict[str, object]]]) -> None:
    got = {node: each["got"] for node, each in told["boundary"].items()}
    assert got["KILL.1"] == ["fed 12 V when KEY on"]
    assert got["KILL.2"] == ["fed 12 V when KEY on, KILL run"]
    assert got["OIL.1"] == [
        "grounded when oil-pressure low",
        "fed through WARN.oil, 78.1 ohm, at most 0.181 A with KEY on, oil-pressure good, engine idling",
    ]
    assert got["REG.D+"] == [
        "connected to the charging output always",
        "fed through WARN.charge, 60.9 ohm, 0.206 A or more with KEY on",
    ]
    assert told["boundary"]["STARTER.30"]["others"] == ["K-START"]


def test_a_kept_lead_of_a_kept_part_is_taken_off_not_cut() -> None:
    """The starter's cables stay: their far ends come off the relay that goes."""
    said = run("sort", str(STOCK)).stdout
    assert "  BAT.+ (wires 1 and 2, to MAIN, K-START)\n      wire 2 is kept: take off at the far end, not cut\n" in said
    assert "  STARTER.30 (wire 3, to K-START)\n      wire 3 is kept: take off at the far end, not cut\n" in said
    assert said.count("not cut") == 2


def test_the_first_rebuild_parses_and_its_check_lists_the_work(tmp_path: Path) -> None:
    shutil.copy(STOCK, tmp_path)
    new = tmp_path / "rebuild.loom"
    assert run("sort", str(tmp_path / "stock.loom"), "--write", str(new)).exit_code == 0
    text = new.read_text("utf-8")
    assert tidy(text, str(new)) == text
    reading = read_file(str(new))
    assert reading.mistakes == ()
    harness = reading.harness
    assert harness.conversion.converts == "stock.loom"
    assert all(part.kept for part in harness.parts.values())
    assert all(wire.kept for wire in harness.wires.values())
    assert {c.end.node for c in harness.capped} >= {"BAT.+", "KILL.1", "RECT.D+", "STARTER.30", "OIL.1"}
    assert "capped KILL.1 # fed 12 V when KEY on\n" in text
    found = run("check", str(new)).stdout
    rules = {name for name in ("changed-feed", "cut-lead", "undecided", "lost-function") if f"[{name}]" in found}
    assert rules == {"changed-feed", "undecided", "lost-function"}


def test_nothing_is_written_over(tmp_path: Path) -> None:
    shutil.copy(STOCK, tmp_path)
    found = run("sort", str(tmp_path / "stock.loom"), "--write", str(tmp_path / "stock.loom"))
    assert found.exit_code == 2
    assert (tmp_path / "stock.loom").read_bytes() == STOCK.read_bytes()
    assert "is there already" in found.stderr


def test_words_of_the_file_go_before(tmp_path: Path) -> None:
    bike = tmp_path / "bike.loom"
    bike.write_text(
        STOCK.read_text("utf-8")
        .replace("load HORN horn at headstock for signals {", "load HORN horn at headstock for signals kept {")
        .replace("load COIL-LEFT ", "removed COIL-LEFT\nload COIL-LEFT "),
        "utf-8",
    )
    parts = {each["name"]: each for each in json.loads(run("sort", str(bike), "--format", "json").stdout)["parts"]}
    assert (parts["HORN"]["keep"], parts["HORN"]["stated"]) == (True, True)
    assert (parts["COIL-LEFT"]["keep"], parts["COIL-LEFT"]["stated"]) == (False, True)
