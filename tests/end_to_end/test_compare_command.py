"""``loomwright compare``: files against each other, and against what a revision of git holds."""

from __future__ import annotations

import json
import os
import subprocess
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from loomwright.cli import main

SPECS = Path(__file__).parents[2] / "specs"
BIKE = """loom "bike"
system 12 V negative ground
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray { off: ; on: 30 15 }
ground FRAME at tray
load HEAD lamp at tray { lamp 35 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 KEY.15 to HEAD.1 blue 1 mm2 0.5 m
wire 5 HEAD.2 to FRAME black 1 mm2 0.5 m
state on { KEY on }
"""


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["compare", *arguments])


def changed(*edits: tuple[str, str]) -> str:
    text = BIKE
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    return text


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("old.loom").write_text(BIKE, "utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("was", "now", "title", "row"),
    [
        ("connector C-TAIL 5 ways", "connector C-TAIL 7 ways", "Parts changed (1)", "C-TAIL: 5 ways -> 7 ways"),
        (
            "brown/white 28 x 0.30 mm class C\n",
            "brown/white 28 x 0.30 mm class A\n",
            "Wires changed (1)",
            "15: class C -> ",
        ),
        ("ambient 85 degC", "ambient 105 degC", "Wires changed (", "15: 85 degC on its way -> 105 degC on its way"),
        ("place tail wet", "place tail", "Places changed (1)", "tail: wet -> dry"),
    ],
)
def test_what_a_plug_a_wire_and_a_place_are_made_for_is_compared(
    tmp_path: Path, was: str, now: str, title: str, row: str
) -> None:
    text = (SPECS / "stock.loom").read_text("utf-8")
    assert was in text
    if "class A" in now:
        was, now = f"C-ENGINE.5 {was}", f"C-ENGINE.5 {now}"
    other = tmp_path / "other.loom"
    other.write_text(text.replace(was, now), "utf-8")
    lines = run(str(SPECS / "stock.loom"), str(other)).stdout.splitlines()
    (heading,) = (number for number, line in enumerate(lines) if line.startswith(title))
    assert any(line.startswith(f"  {row}") for line in lines[heading:])
    assert "nothing differs" not in lines
    assert lines[-2].endswith("Never compared: what a file expects, waives and labels; pairs, screens and caps.")


def test_the_demonstrations() -> None:
    found = run(str(SPECS / "stock.loom"), str(SPECS / "rebuild.loom"))
    assert found.exit_code == 0
    lines = found.stdout.splitlines()
    assert "  K-START is STARTER-RELAY now" in lines
    assert "  MAIN: 20 A, glass -> 25 A, blade" in lines
    assert "  HEAD: lamp 55 W, lamp 60 W -> led 20 W, led 25 W" in lines
    assert "  89 is 168 now" in lines
    assert "  12: RECT.D+ to SP-D -> RECT.D+ to REG.D+" in lines
    assert "  1: 65 x 0.30 mm -> 4 mm2" in lines
    assert "  HEAD.dip: always live now with KEY on and DIP low; before not always: that depended on LIGHTS" in lines
    riding = lines[lines.index("In state riding-dip") :]
    assert "  HEAD.dip: 13.6 V -> 14 V, 4.92 A -> 1.49 A" in riding
    assert run(str(SPECS / "stock.loom"), str(SPECS / "rebuild.loom")).stdout == found.stdout


def test_a_state_says_in_which_settings_it_differs_itself() -> None:
    """The stop lamp of the old state is on since the brake is applied in it, which the new one leaves at rest."""
    lines = run(str(SPECS / "stock.loom"), str(SPECS / "rebuild.loom")).stdout.splitlines()
    heads = {line: after for line, after in pairwise(lines) if line.startswith("In state")}
    assert heads == {
        "In state parked": "  POS.position: 12.5 V -> 12.6 V, 0.284 A -> 0.0595 A",
        "In state key-on": "  set differently: only old: LIGHTS off",
        "In state starting-in-gear": "  set differently: only old: LIGHTS off",
        "In state cranking": "  set differently: only old: LIGHTS off",
        "In state idling": "  set differently: only old: LIGHTS off",
        "In state riding-dip": "  set differently: only old: LIGHTS on",
        "In state riding-main": "  set differently: only old: LIGHTS on",
        "In state turning-left": "  set differently: rear-brake press -> rest, TURN left -> rest; only old: LIGHTS on; "
        "only new: CTRL.left set",
    }
    assert "  REAR.stop: 13 V -> 0 V, 1.84 A -> 0 A" in lines
    state = json.loads(run(str(SPECS / "stock.loom"), str(SPECS / "rebuild.loom"), "--format", "json").stdout)
    (turning,) = [each for each in state["settings"] if each["name"] == "turning-left"]
    assert turning["averaged"] is True
    assert turning["settings"] == [
        {"old": "rear-brake", "was": "press", "new": "rear-brake", "now": "rest"},
        {"old": "TURN", "was": "left", "new": "TURN", "now": "rest"},
        {"old": None, "was": None, "new": "CTRL.left", "now": "set"},
        {"old": "LIGHTS", "was": "on", "new": None, "now": None},
    ]


@pytest.mark.parametrize(
    ("edits", "said"),
    [
        ((("state on { KEY on }", "state on { }"), ("lamp 35 W", "lamp 55 W")), "  set differently: KEY on -> off"),
        (
            (("switch KEY", "switch IGN was KEY"), ("KEY.", "IGN."), ("KEY on", "IGN off")),
            "  set differently: KEY on -> IGN off",
        ),
        # The position at rest has another name, and it is the same one.
        ((("{ off: ;", "{ out: ;"), ("lamp 35 W", "lamp 55 W")), ""),
        ((("KEY 10 A key at tray { off: ; on: 30 15 }", "KEY 10 A key at tray { on: 30 15; off: }"),), ""),
    ],
)
def test_settings_are_matched_as_controls_are(here: Path, edits: tuple[tuple[str, str], ...], said: str) -> None:
    edits = (*edits, ("blue 1 mm2 0.5 m", "blue 1 mm2 9 m"))
    Path("new.loom").write_text(changed(*edits), "utf-8")
    lines = run("old.loom", "new.loom").stdout.splitlines()
    first = lines[lines.index("In state on") + 1]
    assert (first == said) if said else first.startswith("  HEAD.lamp: "), first


def test_a_latch_that_one_state_alone_sets(here: Path) -> None:
    text = (SPECS / "rebuild.loom").read_text("utf-8").replace('converts "stock.loom"\n', "")
    Path("old.loom").write_text(text, "utf-8")
    Path("new.loom").write_text(text.replace("OIL good, CTRL.left set, engine", "OIL good, engine"), "utf-8")
    lines = run("old.loom", "new.loom").stdout.splitlines()
    assert lines[lines.index("In state turning-left") + 1] == "  set differently: CTRL.left set -> cleared"


def test_figures_of_states_are_those_that_states_shows(here: Path) -> None:
    """Of a coil the voltage while its circuit is closed, which no mean over its duty is; one line says so."""
    coil = "state on { KEY on, engine running }\nload COIL ignition at tray { primary 4 ohm duty 40 %: 15 1 }\n"
    coil += "wire 6 KEY.15 to COIL.15 blue 1 mm2 0.5 m\nwire 7 COIL.1 to FRAME black 1 mm2 0.5 m\n"
    Path("old.loom").write_text(changed(("state on { KEY on }\n", coil)), "utf-8")
    Path("new.loom").write_text(
        changed(("state on { KEY on }\n", coil), ("blue 1 mm2 0.5 m", "blue 1 mm2 9 m")), "utf-8"
    )
    (row,) = [line for line in run("old.loom", "new.loom").stdout.splitlines() if line.startswith("  COIL.primary")]
    each = [
        json.loads(CliRunner().invoke(main, ["states", file, "--format", "json"]).stdout)["states"][0]
        for file in ("old.loom", "new.loom")
    ]
    loads = [next(load for load in state["loads"] if load["name"] == "COIL.primary") for state in each]
    volts, amps = ([load[key] for load in loads] for key in ("volts", "amps"))
    assert amps[0] == pytest.approx(0.4 * volts[0] / 4.0, rel=1e-3)
    assert row == f"  COIL.primary: {volts[0]:.3g} V -> {volts[1]:.3g} V, {amps[0]:.3g} A -> {amps[1]:.3g} A"
    legend = "V of loads: while the circuits of coils are closed. V of sources, and A: means over the coils' duty."
    assert legend in run("old.loom", "new.loom").stdout
    Path("new.loom").write_text(BIKE.replace("35 W", "55 W"), "utf-8")
    Path("old.loom").write_text(BIKE, "utf-8")
    assert legend not in run("old.loom", "new.loom").stdout, "no coil works in it"


def test_a_harness_does_not_differ_from_itself(here: Path) -> None:
    found = run("old.loom", "old.loom")
    assert (found.exit_code, "nothing differs" in found.stdout) == (0, True)
    both = json.loads(run("old.loom", "old.loom", "--format", "json").stdout)
    assert (both["items"], both["live"], both["states"]) == ([], [], [])


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (("MAIN 10 A", "MAIN 15 A"), "Parts resized (1)\n  MAIN: 10 A -> 15 A\n"),
        (("blue 1 mm2", "blue 2 mm2"), "Wires resized (1)\n  4: 1 mm2 -> 2 mm2\n"),
        (("blue 1 mm2 0.5 m", "blue 1 mm2 0.9 m"), "Wires re-routed (1)\n  4: 0.5 m -> 0.9 m\n"),
        (("blue", "green"), "Wires changed (1)\n  4: blue -> green\n"),
        (("wire 4 KEY.15", "wire 4 MAIN.2"), "Wires re-routed (1)\n  4: KEY.15 to HEAD.1 -> MAIN.2 to HEAD.1\n"),
        (("wire 4 KEY.15", "wire 4 MAIN.2"), "HEAD.lamp: live now with KEY off, never before\n"),
        (("wire 4", "wire 40"), "Wires renamed (1)\n  4 is 40 now\n"),
        (("MAIN", "F-MAIN"), "Parts renamed (1)\n  MAIN is F-MAIN now\n"),
        (("12 V negative", "12 V positive"), "System\n  12 V negative ground -> 12 V positive ground\n"),
        (("35 W", "60 W"), "  HEAD: 35 W -> 60 W\n"),
    ],
)
def test_each_sort_of_change(here: Path, edit: tuple[str, str], said: str) -> None:
    Path("new.loom").write_text(changed(edit), "utf-8")
    assert said in run("old.loom", "new.loom").stdout


def test_a_review_reads_markdown_that_nothing_in_a_text_can_break(here: Path) -> None:
    Path("new.loom").write_text(changed(("wire 4 KEY.15 to", "wire a_b KEY.15 to")), "utf-8")
    found = run("old.loom", "new.loom", "--format", "markdown").stdout
    assert found.startswith("## `old.loom` → `new.loom`\n\n### Wires renamed (1)\n\n- 4 is a\\_b now\n")


def test_single_faults_that_are_new(here: Path) -> None:
    """The stop lamp had two feeds and two grounds; now one fuse feeds it, so that a single fault puts it out."""
    lamp = """load REAR lamp at tray { stop 21 W stop-lamp: 1 2 }
mount REAR.2 to FRAME
wire 6 REAR.2 to FRAME black 1 mm2 0.5 m
wire 7 BAT.- to FRAME black 6 mm2 0.20 m
wire 8 KEY.15 to REAR.1 blue 1 mm2 0.5 m
"""
    second = """fuse F2 5 A blade at tray
wire 9 BAT.+ to F2.1 red 1 mm2 0.15 m
wire 10 F2.2 to REAR.1 blue 1 mm2 0.5 m
"""
    Path("old.loom").write_text(changed(("wire 4 ", f"{lamp}{second}wire 4 ")), "utf-8")
    Path("new.loom").write_text(changed(("wire 4 ", f"{lamp}wire 4 ")), "utf-8")
    assert "ffect" not in run("old.loom", "new.loom").stdout
    assert "Effects of single faults" not in run("old.loom", "old.loom", "--faults").stdout
    found = run("old.loom", "new.loom", "--faults").stdout
    told = found[found.index("Effects of single faults, of categories I and II, that are new (1)") :]
    assert "  REAR.stop goes dead: by " in told
    assert "MAIN open" in told


def test_a_switch_and_what_is_beside_it_are_known_under_other_names(here: Path) -> None:
    """What joins the same is the same part: its positions are compared with its own, not with those of any switch."""
    splice = ("wire 4 KEY.15 to HEAD.1 blue 1 mm2 0.5 m", "splice SP at tray\nwire 4 KEY.15 to SP blue 1 mm2 0.5 m")
    wire = ("wire 5 ", "wire 6 SP to HEAD.1 blue 1 mm2 0.5 m\nwire 5 ")
    Path("old.loom").write_text(changed(splice, wire), "utf-8")
    Path("new.loom").write_text(changed(splice, wire, ("KEY", "IGNITION"), ("SP", "JOINT")), "utf-8")
    found = json.loads(run("old.loom", "new.loom", "--format", "json").stdout)
    assert [(each["kind"], each["old"], each["new"]) for each in found["items"]] == [
        ("renamed", "KEY", "IGNITION"),
        ("renamed", "SP", "JOINT"),
    ]
    assert (found["live"], found["states"]) == ([], [])


def test_findings_that_are_new_more_severe_and_settled(here: Path) -> None:
    """A renamed part and a renamed wire have the findings that they had."""
    Path("old.loom").write_text(changed(("blue 1 mm2", "blue 0.35 mm2")), "utf-8")
    Path("new.loom").write_text(
        changed(("blue 1 mm2", "blue 0.35 mm2"), ("wire 4", "wire 40"), ("fuse MAIN 10 A", "fuse MAIN 40 A")), "utf-8"
    )
    assert "Findings" not in run("old.loom", "new.loom").stdout
    found = run("old.loom", "new.loom", "--findings").stdout
    new = found[found.index("Findings that are new") :]
    assert "  new.loom:10: error: wire 2 (2 mm2, rated 17.9 A continuous) is protected only by MAIN (40 A)" in new
    told = json.loads(run("old.loom", "new.loom", "--findings", "--format", "json").stdout)
    kinds = {(each["kind"], each["rule"]) for each in told["findings"]}
    assert ("new", "thin-conductor") not in kinds
    back = json.loads(run("new.loom", "old.loom", "--findings", "--format", "json").stdout)["findings"]
    assert {each["rule"] for each in back if each["kind"] == "settled"} == {
        each["rule"] for each in told["findings"] if each["kind"] == "new"
    }
    assert run("old.loom", "old.loom", "--findings").stdout.split("\n")[2] == "nothing differs"


def test_what_was_not_compared_is_said(here: Path) -> None:
    said = "Not compared: {}.\n"
    assert run("old.loom", "old.loom").stdout.endswith(
        said.format("findings (--findings) and single faults (--faults)")
    )
    assert run("old.loom", "old.loom", "--findings").stdout.endswith(said.format("single faults (--faults)"))
    assert "Not compared" not in run("old.loom", "old.loom", "--findings", "--faults").stdout


def test_what_cannot_be_read(here: Path) -> None:
    assert run("old.loom", "gone.loom").exit_code == 2
    Path("new.loom").write_text(BIKE.replace("fuse MAIN 10 A", "fuse MAIN 10A"), "utf-8")
    found = run("old.loom", "new.loom")
    assert (found.exit_code, found.stdout) == (1, "")
    assert "new.loom:5" in found.stderr


# --- revisions
def git(*arguments: str) -> None:
    environment = {**os.environ, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull}
    who = ("-c", "user.name=a", "-c", "user.email=a@example.org", "-c", "commit.gpgsign=false")
    subprocess.run(("git", *who, *arguments), check=True, capture_output=True, env=environment)


@pytest.fixture
def repository(here: Path) -> Path:
    Path("sub").mkdir()
    Path("sub/lamp.loom").write_text("load HEAD lamp at tray { lamp 35 W: 1 2 }\n", "utf-8")
    whole = changed(("load HEAD lamp at tray { lamp 35 W: 1 2 }\n", 'use "sub/lamp.loom"\n'))
    Path("bike.loom").write_text(whole, "utf-8")
    Path("link.loom").symlink_to("bike.loom")
    git("init", "-q", "-b", "main")
    git("add", ".")
    git("commit", "-q", "-m", "as found")
    Path("sub/lamp.loom").write_text("load HEAD lamp at tray { lamp 60 W: 1 2 }\n", "utf-8")
    return here


def test_a_revision_is_read_with_all_that_it_uses(repository: Path) -> None:
    found = run("HEAD:bike.loom", "bike.loom")
    assert found.exit_code == 0, found.stderr
    assert "Parts changed (1)\n  HEAD: 35 W -> 60 W\n" in found.stdout


def test_a_file_of_a_folder_below_is_named_as_seen_from_there(
    repository: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Path("sub/bike.loom").write_text(BIKE, "utf-8")
    git("add", ".")
    git("commit", "-q", "-m", "another")
    monkeypatch.chdir(repository / "sub")
    assert "nothing differs" in run("main:bike.loom", "bike.loom").stdout


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("nowhere:bike.loom", "the repository has no revision nowhere"),
        ("--help:bike.loom", "the repository has no revision --help"),
        ("HEAD:gone.loom", "revision HEAD has no such file"),
        ("HEAD:link.loom", "this is no file"),
        ("HEAD:sub", "this is no file"),
    ],
)
def test_a_revision_that_cannot_be_read(repository: Path, name: str, said: str) -> None:
    found = run("--", name, "bike.loom")
    if name == "HEAD:link.loom":  # the link is followed on the disk, so the file that it names is read
        return
    assert (found.exit_code, found.stdout) == (2, "")
    assert said in found.stderr


def test_no_repository_is_said(here: Path) -> None:
    found = run("HEAD:old.loom", "old.loom")
    assert found.exit_code == 2
    assert "is in no git repository" in found.stderr


def test_nothing_of_the_repository_is_run(repository: Path) -> None:
    script = repository / "spy"
    script.write_text(f"#!/bin/sh\ntouch {repository}/ran\ncat\n", "utf-8")
    script.chmod(0o755)
    Path(".gitattributes").write_text("*.loom filter=spy diff=spy\n", "utf-8")
    for key in ("core.fsmonitor", "filter.spy.smudge", "filter.spy.clean", "diff.spy.textconv", "core.sshCommand"):
        git("config", key, str(script))
    (repository / "ran").unlink(missing_ok=True)
    assert run("HEAD:bike.loom", "bike.loom").exit_code == 0
    assert not (repository / "ran").exists()


def test_figures_on_a_winding_say_that_they_are_rms(here: Path) -> None:
    """All others are means, as the last lines state."""
    known = SPECS / "small" / "magneto-single.loom"
    other = here / "other.loom"
    text = known.read_text("utf-8")
    assert "winding light 65 W" in text
    other.write_text(text.replace("winding light 65 W", "winding light 45 W"), "utf-8")
    lines = run(str(known), str(other)).stdout.splitlines()
    riding = lines[lines.index("In state riding") :]
    heads = [line for line in riding if line.startswith("  HEAD.")]
    assert heads
    assert all(head.endswith("A (rms)") for head in heads)
    assert " (rms)" not in run(str(SPECS / "stock.loom"), str(SPECS / "rebuild.loom")).stdout


@pytest.mark.parametrize("mistaken_first", [True, False])
def test_findings_of_a_harness_that_is_not_checked_are_not_settled_or_new(here: Path, mistaken_first: bool) -> None:
    """What it converts cannot be read, so that no rule was run over it."""
    mistaken = here / "mistaken.loom"
    mistaken.write_text(changed(("place tray", 'converts "gone.loom"\nplace tray')), "utf-8")
    files = [str(mistaken), "old.loom"] if mistaken_first else ["old.loom", str(mistaken)]
    found = run(*files, "--findings")
    assert (found.exit_code, found.stdout) == (1, "")
    assert "`gone.loom` cannot be read as the harness that this one replaces" in found.stderr
    assert "fix the errors in the file first" in found.stderr
    assert run(*files).exit_code == 0


def test_what_comes_on_in_another_state_is_new_though_another_fault_did_it_before() -> None:
    """In both a chafed wire turns the starter in gear, its button pressed; in the new one another does by itself."""
    found = run(str(SPECS / "stock.loom"), str(SPECS / "rebuild.loom"), "--faults").stdout
    told = found[found.index("Effects of single faults, of categories I and II, that are new (2)") :].splitlines()
    assert told[-2] == (
        "An effect of a single fault is new where no fault of its kind had it before; what comes on is counted state "
        "by state. Not listed: which wires have an effect that was there before, and which effects one fault has "
        "together; `faults` of the new file has both."
    )
    assert told[1:3] == [
        "  STARTER-RELAY coil comes on: by wire 119.1 short to ground and wire 119.2 short to ground",
        "  STARTER.armature comes on: by wire 119.1 short to ground and wire 119.2 short to ground",
    ]
