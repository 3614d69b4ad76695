"""The commands that show numbers: states, faults and suspect."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from loomwright.cli import main

SPECS = Path(__file__).parents[2] / "specs"
STOCK = str(SPECS / "stock.loom")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, arguments, catch_exceptions=False)


def test_states_shows_the_states_asked_for() -> None:
    found = run("states", STOCK, "--state", "cranking")
    assert found.exit_code == 0
    assert found.stdout.startswith("cranking\n")
    assert "STARTER.armature" in found.stdout
    assert "riding" not in found.stdout


@pytest.mark.parametrize("format_", ["json", "csv"])
def test_states_for_machines_is_the_same_every_time(format_: str) -> None:
    first, second = run("states", STOCK, "--format", format_), run("states", STOCK, "--format", format_)
    assert first.exit_code == 0
    assert first.stdout == second.stdout
    if format_ == "json":
        assert len(json.loads(first.stdout)["states"]) == 10


def test_faults_of_one_state() -> None:
    found = run("faults", STOCK, "--state", "riding-dip")
    assert found.exit_code == 0
    assert "Category II critical" in found.stdout
    assert run("faults", STOCK, "--state", "riding-dip").stdout == found.stdout


def test_suspect_names_the_next_reading_and_takes_it() -> None:
    asked = ("suspect", STOCK, "--state", "turning-left", "--seen", "FL dead, RL live")
    found = run(*asked)
    assert found.exit_code == 0
    assert "  red    FL.31 (load at headlamp)\n  black  BAT.- (source at tray)\n" in found.stdout
    assert '--seen "X V at FL.31"' in found.stdout
    again = run(*asked, "--seen", "0.0 V from FL.L to FL.31", "--seen", "FL 13.2 V at L")
    assert again.exit_code == 0
    assert " 1  wire 84: open\n" in again.stdout
    assert "wire 78" not in again.stdout


def test_suspect_for_machines() -> None:
    found = run("suspect", STOCK, "--state", "riding-dip", "--seen", "HEAD.dip dead", "--format", "json")
    told = json.loads(found.stdout)
    assert told["seen"] == ["HEAD.dip dead"]
    assert told["measure"]["setting"] == "DC volts, range 20 V"
    whys = [chain["reasons"][0]["why"] for chain in told["chains"]]
    assert "it is HEAD.dip itself" in whys
    assert "open circuit between MAIN and HEAD.56b" in whys


def test_the_shell_is_offered_states_and_what_can_be_seen() -> None:
    from click.shell_completion import ShellComplete

    offered = ShellComplete(main, {}, "loomwright", "_LOOMWRIGHT_COMPLETE").get_completions
    assert [c.value for c in offered(["suspect", STOCK, "--state"], "rid")] == ["riding-dip", "riding-main"]
    seen = [c.value for c in offered(["suspect", STOCK, "--state", "riding-dip", "--seen"], "HEAD")]
    assert "HEAD.dip dead" in seen
    assert "HEAD live" in seen
    assert offered(["suspect", "nowhere.loom", "--state"], "") == []
    assert offered(["suspect", "nowhere.loom", "--seen"], "") == []


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("states", STOCK, "--state", "ridding-dip"), "no state is named 'ridding-dip'; near it: riding-dip"),
        (("faults", STOCK, "--state", "x"), "no state is named 'x'"),
        (
            ("suspect", STOCK, "--state", "riding-dip", "--seen", "HORN broken"),
            "'HORN broken' is no observation; one looks like 'HORN dead', 'HEAD.dip 9.1 V at 56b'",
        ),
        (
            ("suspect", STOCK, "--state", "riding-dip", "--seen", "48 V at HEAD.56b"),
            "more than there is in riding-dip, 18.3 V at most",
        ),
        (
            ("suspect", STOCK, "--state", "riding-dip", "--seen", "9.1 V at HEAD.56c"),
            "is named 'HEAD.56c'; there is HEAD.31, HEAD.56a, HEAD.56b",
        ),
        (("suspect", STOCK, "--state", "riding-dip", "--seen", "HORNN dead"), "near it: HORN"),
        (("states", STOCK, "--profile", "none"), "no profile is named 'none'"),
        (("states", "nowhere.loom"), "cannot read nowhere.loom"),
    ],
)
def test_a_wrong_question_exits_with_2_and_says_what_is_right(arguments: tuple[str, ...], said: str) -> None:
    found = run(*arguments)
    assert found.exit_code == 2
    assert said in found.stderr


def test_a_harness_without_states_says_what_to_write(tmp_path: Path) -> None:
    file = tmp_path / "bare.loom"
    file.write_text('loom "bare"\nplace tray\nsource BAT battery at tray { voltage 12.6 V }\n')
    found = run("states", str(file))
    assert found.exit_code == 2
    assert "names no state: write one, such as: state riding { KEY on, engine running }" in found.stderr


@pytest.mark.parametrize("command", [("states",), ("faults",), ("suspect", "--state", "on", "--seen", "L dead")])
def test_a_harness_without_a_source_says_what_to_write(tmp_path: Path, command: tuple[str, ...]) -> None:
    file = tmp_path / "bare.loom"
    file.write_text('loom "bare"\nplace tray\nload L lamp at tray { x 5 W: 1 2 }\nstate on { }\n')
    found = run(command[0], str(file), *command[1:])
    assert found.exit_code == 2
    assert "has no source, so nothing in it is live: write one, such as: source BAT battery at TRAY" in found.stderr


def test_alternating_current_that_is_left_out_is_said_to_be(tmp_path: Path) -> None:
    text = (SPECS / "small" / "magneto-single.loom").read_text("utf-8")
    assert run("faults", str(SPECS / "small" / "magneto-single.loom")).stderr == ""
    file = tmp_path / "magneto.loom"
    file.write_text(text.replace("winding light 65 W", "winding light"))
    found = run("faults", str(file))
    assert (
        "alternating current of MAG.light is left out in riding: the file does not state open-circuit voltage and "
        "short-circuit current of MAG.light"
    ) in found.stderr
