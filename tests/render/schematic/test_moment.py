"""A schematic at one moment: contacts as they are, what is live, volts and amps as the numbers have them."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner
from geometry import faults

from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file
from loomwright.lang.model.harness import Harness
from loomwright.render.commands.group import main
from loomwright.render.drawing.primitives import Drawing
from loomwright.render.drawing.svg import svg_text
from loomwright.render.schematic.moment import UnknownFault, moment
from loomwright.render.schematic.schematic import draw

SPECS = Path(__file__).resolve().parents[3] / "specs"
POINTS = SPECS / "small" / "points-single.loom"


@cache
def harness_of(path: Path) -> Harness:
    reading = read_file(path)
    assert reading.mistakes == ()
    return reading.harness


@cache
def riding(fault: str = "") -> Drawing:
    return draw(harness_of(POINTS), now=moment(harness_of(POINTS), "riding", fault))


def words_at(drawing: Drawing, wire: str) -> str:
    return " ".join(text.words for run in drawing.runs if run.name == wire for text in run.texts)


def blades(drawing: Drawing, branch: str) -> list[str]:
    """The positions whose blades of a contact are seen."""
    root = ElementTree.fromstring(svg_text(drawing))
    (contact,) = [e for e in root.iter() if e.get("class") == "contact" and e.get("data-branch") == branch]
    return [b.attrib["data-position"] for b in contact if b.get("class") == "blade" and b.get("display") != "none"]


def test_a_state_is_drawn_with_its_contacts_as_they_are() -> None:
    drawing = riding()
    assert blades(drawing, "KEY 30-15") == ["on"]
    assert blades(drawing, "LIGHTS 15-56b") == ["low"]
    assert blades(draw(harness_of(POINTS)), "KEY 30-15") == ["off"]
    assert blades(drawing, "POINTS 1-2") == ["closed"], "current flows through them"
    assert faults(drawing) == []


def test_wires_say_their_volts_and_amps_as_the_numbers_have_them() -> None:
    point = Operation(build_circuit(harness_of(POINTS))).state("riding")
    assert f"{point.volts('MAIN.1'):.1f} V" in words_at(riding(), "1")
    assert f"{abs(point.mean_amps('wire 1')):.2f} A" in words_at(riding(), "1")
    head = next(e for e in riding().elements if e.key == "HEAD")
    dip = abs(point.across("HEAD.dip"))
    assert any(f"dip {dip:.1f} V" in text.words for text in head.texts)
    assert any(text.words == "main 0 V" for text in head.texts)


def test_what_has_no_feed_and_no_current_is_pale_and_broken() -> None:
    quiet = {run.name: run.quiet for run in riding().runs}
    assert not quiet["10"], "fed"
    assert not quiet["6"], "the return of the battery carries current"
    assert quiet["17"], "the high beam is off"
    assert quiet["27"], "nobody presses the horn"
    root = ElementTree.fromstring(svg_text(riding()))
    for group in root.iter():
        if group.get("class") == "wire":
            lines = [path for path in group if path.get("stroke-dasharray") == "5 4"]
            assert bool(lines) == quiet[group.attrib["data-branch"].removeprefix("wire ")]
    assert not any(run.quiet for run in draw(harness_of(POINTS)).runs), "at rest nothing is said of that"


def test_leads_and_bars_of_no_wire_are_pale_where_their_node_is_dead() -> None:
    joints = {joint.node: joint.quiet for joint in riding().joints}
    assert joints == {
        "BAT.+": False,
        "SP-15": False,
        "SP-54": True,  # nobody brakes
        "SP-BARS": False,
        "POINTS.1": False,
        "POINTS.2": False,  # at ground, and the current of the coil passes it
        "COND.-": True,  # at ground, and no current passes a condenser
    }
    root = ElementTree.fromstring(svg_text(riding()))
    for group in root.iter():
        if group.get("class") == "joint":
            pale = {path.get("opacity") == "0.4" for path in group}
            assert pale == {joints[group.attrib["data-node"]]}, group.attrib
    lead = next(g for g in root.iter() if g.get("class") == "joint" and g.get("data-node") == "COND.-")
    assert lead[0].get("stroke-dasharray") == "5 4", "broken as a dead wire is, so that it shows in grey"
    assert not any(joint.quiet for joint in draw(harness_of(POINTS)).joints)


def test_a_fault_is_marked_and_what_it_takes_away_is_noted() -> None:
    drawing = riding("wire 14 open")
    assert "OPEN HERE" in words_at(drawing, "14")
    assert "was live" in words_at(drawing, "15")
    assert "was live" not in words_at(drawing, "10")
    assert {run.name: run.quiet for run in drawing.runs}["15"]
    words = [text.words for text in drawing.texts]
    assert "Drawn in state riding, wire 14 open: KEY on, LIGHTS low, engine running." in words
    assert "Drawn at rest, ignition off." not in words


def test_a_part_can_be_open_too() -> None:
    drawing = draw(harness_of(POINTS), now=moment(harness_of(POINTS), "key-on", "MAIN open"))
    main_fuse = next(e for e in drawing.elements if e.key == "MAIN")
    assert "OPEN HERE" in [text.words for text in main_fuse.texts]
    assert "was live" in words_at(drawing, "3")


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ("wire 14 short to ground", "write what is open, such as `wire 12 open`"),
        ("wire 14", "write what is open"),
        ("MIAN open", "Did you mean `MAIN open`"),
        ("", "write what is open"),
    ],
)
def test_other_words_are_refused(fault: str, said: str) -> None:
    with pytest.raises(UnknownFault, match=said):
        moment(harness_of(POINTS), "riding", fault or " ")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--fault", "MAIN open"), "--fault is drawn in a named state: give --state, too"),
        (("--state", "ridng"), "riding"),
        (("--state", "riding", "--sheet", "layout"), "--state is for the schematic"),
        (("--state", "riding", "--fault", "wire 999 open"), "nothing in this harness is called `wire 999`"),
    ],
)
def test_the_command_says_what_is_wrong(words: tuple[str, ...], said: str, tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["draw", str(POINTS), *words, "--into", str(tmp_path)])
    assert result.exit_code == 2
    assert said in result.output
    assert list(tmp_path.iterdir()) == []


def test_the_command_draws_a_state_on_a_sheet_and_on_paper(tmp_path: Path) -> None:
    for name, more in (("one.svg", []), ("set.pdf", ["--paper", "A4"])):
        target = tmp_path / name
        call = ["draw", str(POINTS), "--state", "riding", *more, "-o", str(target)]
        result = CliRunner().invoke(main, call)
        assert result.exit_code == 0, result.output
        assert target.stat().st_size > 10_000
