"""A set of sheets on paper: nothing is lost between sheets, every flag is answered, everything can be read."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from bench.grown import blocks, grown
from click.testing import CliRunner
from geometry import faults as drawing_faults
from outside import some_of

from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Connector, Ground
from loomwright.render.commands.group import main
from loomwright.render.drawing.layout_engine import Engine, laid_out
from loomwright.render.drawing.leaves import Leaf
from loomwright.render.drawing.primitives import Drawing, Element, Rect, Stroke, Text
from loomwright.render.paper.assignment import assigned
from loomwright.render.paper.fitting import TooLarge
from loomwright.render.paper.leaves import BINDING, EDGE, SCALE
from loomwright.render.paper.sheet_set import paper_sheets
from loomwright.render.report.tag_sheet import CAPITAL, PAPERS
from loomwright.render.schematic import placement
from loomwright.render.schematic.content import content_of
from loomwright.render.schematic.current_direction import currents_of
from loomwright.render.schematic.symbols.drawn import Around

if TYPE_CHECKING:
    from graphviz import Digraph

SPECS = Path(__file__).resolve().parents[3] / "specs"
SETS = [
    ("stock.loom", "A3"),
    ("rebuild.loom", "A3"),
    ("stock.loom", "A4"),
    ("rebuild.loom", "A4"),
    ("small/points-single.loom", "A4"),
    ("small/permanent-magnet-twin.loom", "A4"),
    ("blocks", "A3"),
    ("circuits", "A4"),
    ("many on a terminal", "A3"),
]
AT = re.compile(r"^([→←]) (\d+)/(\d+) (\S+)$")
REFERENCE = re.compile(r"^(\S+) in (\d+)/(\d+)$")


def many_on_a_terminal() -> str:
    """A battery terminal with 30 wires, and a unit that stands on several sheets, with 20 on one of its outputs."""
    lines = [
        'loom "Many"',
        "source BAT battery { voltage 12.6 V }",
        "ground FRAME",
        "unit BODY {",
        "    supply 10 mA: 30 31",
        *(f"    output o{i} 1 A: O{i}" for i in range(4)),
        "}",
        "wire G BAT.- to FRAME black 6 mm2",
        "wire U1 BAT.+ to BODY.30 red 4 mm2",
        "wire U2 BODY.31 to FRAME black 4 mm2",
    ]
    for i in range(30):
        lines += [f"load L{i} lamp for lighting {{ x 5 W: 1 2 }}", f"wire A{i} BAT.+ to L{i}.1 red 1 mm2"]
        lines += [f"wire B{i} L{i}.2 to FRAME black 1 mm2"]
    for i in range(26):
        system = ("lighting", "signals", "starting")[i % 3]
        lines += [f"load M{i} lamp for {system} {{ x 5 W: 1 2 }}"]
        lines += [f"wire C{i} BODY.O{0 if i < 20 else i % 4} to M{i}.1 blue 1 mm2", f"wire D{i} M{i}.2 to FRAME black"]
    return "\n".join(lines) + "\n"


TEXTS = {"blocks": lambda: blocks(150), "circuits": lambda: grown(150), "many on a terminal": many_on_a_terminal}


@cache
def harness_of(name: str) -> Harness:
    reading = read_text(TEXTS[name]()) if name in TEXTS else read_file(SPECS / name)
    assert reading.mistakes == ()
    return reading.harness


@cache
def leaves(name: str, paper: str) -> tuple[Leaf, ...]:
    return paper_sheets(harness_of(name), paper, "git 0123456789")


def drawings(name: str, paper: str) -> list[Drawing]:
    return [leaf.inset.drawing for leaf in leaves(name, paper) if leaf.inset is not None]


def flags(drawing: Drawing) -> list[tuple[Element, str]]:
    return [(e, e.texts[0].words) for e in drawing.elements if e.symbol == "elsewhere"]


def wire_at(drawing: Drawing, flag: Element) -> str:
    """The stretch of wire that ends in a flag."""
    ((_, point),) = flag.ports
    (found,) = [run.name for run in drawing.runs if point in (run.lines[0][0], run.lines[0][-1])]
    return found


@pytest.mark.parametrize(("name", "paper"), some_of(SETS[1:], 2))
def test_every_flag_has_a_partner_that_points_back(name: str, paper: str) -> None:
    sheets = drawings(name, paper)
    found = {}
    for number, drawing in enumerate(sheets, 1):
        for flag, words in flags(drawing):
            if match := AT.match(words):
                arrow, sheet, track, _ = match.groups()
                key = (wire_at(drawing, flag), arrow)
                assert key not in found
                found[key] = ((number, flag.track), (int(sheet), int(track)))
    for (wire, arrow), (here, there) in found.items():
        assert found[wire, "←" if arrow == "→" else "→"] == (there, here), wire
        assert here[0] != there[0]


@pytest.mark.parametrize(("name", "paper"), some_of(SETS[0:], 2))
def test_every_stretch_is_on_one_sheet_or_flagged_on_two(name: str, paper: str) -> None:
    sheets = drawings(name, paper)
    on: dict[str, list[int]] = {}
    flagged: dict[str, list[int]] = {}
    for number, drawing in enumerate(sheets, 1):
        for run in drawing.runs:
            on.setdefault(run.name, []).append(number)
        for flag, words in flags(drawing):
            if AT.match(words):
                flagged.setdefault(wire_at(drawing, flag), []).append(number)
    assert sorted(on) == sorted(segment.name for segment in harness_of(name).segments)
    for wire, numbers in on.items():
        assert flagged.get(wire, []) == (numbers if len(numbers) > 1 else []), wire
        assert len(numbers) <= 2


@pytest.mark.parametrize(("name", "paper"), some_of(SETS[1:], 2))
def test_a_flag_names_a_terminal_that_is_no_plug_and_stands_where_it_says(name: str, paper: str) -> None:
    parts = harness_of(name).parts
    sheets = drawings(name, paper)
    for drawing in sheets:
        for flag, words in flags(drawing):
            (node, _) = flag.ports[0]
            if match := REFERENCE.match(words):
                _, sheet, track = match.groups()
                there = [e for e in sheets[int(sheet) - 1].elements if e.track == int(track) and e.part]
                assert any(own == node for e in there for own, _ in e.ports), words
            else:
                match = AT.match(words)
                assert match
                assert match[4] == node
                assert not isinstance(parts.get(getattr(node, "part", node)), Connector), words


@pytest.mark.parametrize(("name", "paper"), some_of(SETS[0:], 2))
def test_every_symbol_is_on_one_sheet_but_a_unit_may_be_parted(name: str, paper: str) -> None:
    harness = harness_of(name)
    seen: dict[str, list[Element]] = {}
    for drawing in drawings(name, paper):
        for element in drawing.elements:
            if element.part:
                seen.setdefault(element.key, []).append(element)
    drawn = {n for n, part in harness.parts.items() if not isinstance(part, Ground | Connector)}
    assert {elements[0].part for elements in seen.values()} >= drawn
    for key, elements in seen.items():
        if len(elements) > 1:
            assert harness.parts[key].kind == "unit"
            assert len(elements) >= 2
            terminals = [node for element in elements for node, _ in element.ports]
            assert len(terminals) == len(set(terminals)), "each terminal is on one sheet"
            for element in elements:
                left = len(terminals) - len(element.ports)
                assert any(f"{left} terminal" in text.words for text in element.texts)


@pytest.mark.parametrize(("name", "paper"), some_of(SETS[1:], 2))
def test_everything_is_inside_its_border_and_high_enough_to_read(name: str, paper: str) -> None:
    for leaf in leaves(name, paper):
        assert {leaf.width, leaf.height} == set(PAPERS[paper])
        for text in leaf.texts:
            assert text.size * CAPITAL >= 1.8 - 0.001, text.words
        border = Rect(BINDING, EDGE, leaf.width - EDGE, leaf.height - EDGE)
        for text in leaf.texts:
            assert border.contains(text.box), f"{text.words} leaves the border at {text.at}"
        if leaf.inset is None:
            continue
        x, y = leaf.inset.at
        for element in leaf.inset.drawing.elements:
            box = element.box
            corners = (x + box.left * SCALE, y + box.top * SCALE, x + box.right * SCALE, y + box.bottom * SCALE)
            at = Rect(*(round(corner, 1) for corner in corners))
            assert border.contains(at), element.key


@pytest.mark.parametrize(("name", "paper"), some_of(SETS[0:], 2))
def test_nothing_on_a_sheet_overlaps(name: str, paper: str) -> None:
    for leaf in leaves(name, paper):
        boxes = [(text.words, text.box) for text in leaf.texts if text.words.strip()]
        for number, (words, box) in enumerate(boxes):
            assert not [other for other, b in boxes[number + 1 :] if box.overlaps(b, 0.25)], words
        if leaf.inset is not None:
            drawing = leaf.inset.drawing
            border = Stroke(((0, 0), (drawing.width, 0), (drawing.width, 9999), (0, 9999)), closed=True)
            whole = replace(drawing, height=9999, frame=(*drawing.frame, border))
            assert drawing_faults(whole) == []


@pytest.mark.parametrize("name", sorted({name for name, _ in SETS} - {"many on a terminal"}))
def test_splices_and_plugs_are_where_one_of_their_wires_leads(name: str) -> None:
    harness = harness_of(name)
    circuit = build_circuit(harness)
    wiring, homes = assigned(harness, content_of(harness, circuit, Around(currents_of(circuit))).items)
    around: dict[str, list[str]] = {}
    for link in wiring.links:
        if link.upper is not None and link.lower is not None:
            around.setdefault(link.upper, []).append(homes[link.lower])
            around.setdefault(link.lower, []).append(homes[link.upper])
    kinds = {item.key: item.symbol.kind for item in wiring.items}
    joints = [thing for thing in around if kinds.get(thing) in ("way", "splice")]
    assert joints
    for thing in joints:
        assert around[thing].count(homes[thing]) == max(map(around[thing].count, around[thing])), thing


def test_the_demonstration_fits_the_sheets_that_it_should() -> None:
    assert len(drawings("stock.loom", "A3")) <= 8
    assert len(drawings("rebuild.loom", "A3")) <= 7
    assert len(leaves("stock.loom", "A4")) <= 16
    assert len(leaves("rebuild.loom", "A4")) <= 16
    for name, most in (("stock.loom", 48), ("rebuild.loom", 48)):
        assert sum(bool(AT.match(words)) for drawing in drawings(name, "A3") for _, words in flags(drawing)) <= most


def test_the_first_sheet_has_the_battery_the_legend_and_where_each_feed_goes() -> None:
    first = leaves("stock.loom", "A3")[0]
    assert first.inset is not None
    drawing = first.inset.drawing
    assert "BAT" in {element.key for element in drawing.elements}
    words = [text.words for text in first.texts]
    assert {"Drawn at rest, ignition off.", "Where each feed goes", "crossing, not joined"} <= set(words)
    leaving = [match for _, text in flags(drawing) if (match := AT.match(text)) and match[1] == "→"]
    assert leaving
    for match in leaving:
        assert f"{match[2]}/{match[3]} {match[4]}" in words
    title = next(text.at[1] for text in first.texts if text.words == "Where each feed goes")
    assert title < min(text.at[1] for text in first.texts if text.words in {m[0].removeprefix("→ ") for m in leaving})


def test_the_index_finds_parts_wires_and_colours() -> None:
    name = "stock.loom"
    pages = [leaf for leaf in leaves(name, "A3") if leaf.inset is None]
    words = [text.words for leaf in pages for text in leaf.texts]
    harness = harness_of(name)
    assert set(harness.parts) <= set(words)
    assert {segment.wire for segment in harness.segments} <= set(words)
    assert {str(segment.colour) for segment in harness.segments} <= set(words)
    place = next(f"{n}/{e.track}" for n, d in enumerate(drawings(name, "A3"), 1) for e in d.elements if e.key == "HORN")
    row = next(text.at[1] for leaf in pages for text in leaf.texts if text.words == "HORN")
    assert place in [text.words for leaf in pages for text in leaf.texts if text.at[1] == row]


@pytest.mark.parametrize("paper", ["A3", "A4"])
def test_every_column_of_the_index_begins_with_its_heads(paper: str) -> None:
    colours = {str(segment.colour) for segment in harness_of("stock.loom").segments}
    for leaf in leaves("stock.loom", paper):
        if leaf.inset is None:
            highest: dict[float, Text] = {}
            for text in leaf.texts:
                if text.words not in colours | {"index and colours"}:
                    x = round(text.at[0], 3)
                    highest[x] = min(highest.get(x, text), text, key=lambda each: each.at[1])
            assert [text.words for text in highest.values() if not text.bold] == []


def test_the_title_block_says_which_sheet_of_which_harness_and_revision() -> None:
    found = leaves("stock.loom", "A3")
    for number, leaf in enumerate(found, 1):
        words = {text.words for text in leaf.texts}
        assert f"sheet {number} of {len(found)}, git 0123456789" in words
        assert {"Fennmoor 480 twin, as found", "12 V, negative ground"} <= words


@pytest.mark.parametrize("text", ["", "fuse F 10 A\n", "splice SP\nfuse F 10 A\nwire 1 SP to F.1\n"])
def test_a_fragment_has_sheets_too(text: str) -> None:
    found = paper_sheets(read_text(text).harness, "A4")
    assert "index and colours" in {text.words for text in found[-1].texts}
    shown = {e.part for leaf in found if leaf.inset for e in leaf.inset.drawing.elements if e.part}
    assert shown == set(read_text(text).harness.parts)


def test_a_symbol_that_no_sheet_can_hold_is_named_and_nothing_is_written(tmp_path: Path) -> None:
    inputs = "".join(f"    input number-{n:03} fed: IN{n:03}\n" for n in range(90))
    file = tmp_path / "bike.loom"
    file.write_text(f"unit CTRL {{\n    supply 10 mA: 30 31\n{inputs}}}\n", encoding="utf-8")
    result = CliRunner().invoke(main, ["draw", str(file), "--paper", "A4", "-o", str(tmp_path / "bike.pdf")])
    assert result.exit_code == 2, result.output
    assert "CTRL is larger than a sheet of A4" in result.output
    assert "give --paper A3" in result.output
    assert [path.name for path in tmp_path.iterdir()] == ["bike.loom"]


def asked_of_the_engine(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Of each layout that is asked of the engine from now on, how many nodes it had."""
    sizes: list[int] = []

    def counted(graph: Digraph, engine: Engine) -> list[dict[str, Any]]:
        found = laid_out(graph, engine)
        sizes.append(len(found))
        return found

    monkeypatch.setattr(placement, "laid_out", counted)
    return sizes


@pytest.mark.parametrize(("sort", "paper"), [(blocks, "A3"), (grown, "A4")])
def test_a_large_harness_takes_a_few_layouts_a_sheet(
    sort: Callable[[int], str], paper: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = asked_of_the_engine(monkeypatch)
    counts = []
    for wires in (150, 300):
        found = paper_sheets(read_text(sort(wires)).harness, paper)
        sheets = sum(leaf.inset is not None for leaf in found)
        counts.append((sheets, len(asked) / sheets))
        asked.clear()
    (small, few), (large, many) = counts
    assert 1.5 * small < large < 2.5 * small
    assert many < 1.2 * few, "each sheet takes as much as on a small harness"
    assert many < 32.0  # written at 24 and 27


def test_a_symbol_that_no_sheet_can_hold_is_refused_before_others_are_laid_out(monkeypatch: pytest.MonkeyPatch) -> None:
    inputs = "".join(f"    input number-{n:03} fed: IN{n:03}\n" for n in range(90))
    text = f"{blocks(300)}unit CTRL {{\n    supply 10 mA: 30 31\n{inputs}}}\n"
    asked = asked_of_the_engine(monkeypatch)
    with pytest.raises(TooLarge, match=r"^CTRL$"):
        paper_sheets(read_text(text).harness, "A4")
    assert len(asked) <= 2 * 3  # the unit and the two splices with many wires, each by itself


def shares(name: str, paper: str, node: str) -> list[tuple[int, Element, list[str]]]:
    """Where a node that is parted in shares stands: the sheet, the bar or the symbol, and its wires."""
    found = []
    for number, drawing in enumerate(drawings(name, paper), 1):
        for element in drawing.elements:
            ports = [point for own, point in element.ports if own == node and element.part]
            bar = next((joint.bar for joint in drawing.joints if joint.node == node and joint.bar), None)
            if ports and bar and any(bar[0][0] <= x <= bar[1][0] and y == bar[0][1] for x, y in ports):
                ends = [(run.name, {run.lines[0][0], run.lines[0][-1]}) for run in drawing.runs]
                on = [wire for wire, at in ends if any(y == bar[0][1] and bar[0][0] <= x <= bar[1][0] for x, y in at)]
                found.append((number, element, on))
    return found


@pytest.mark.parametrize(
    ("name", "paper", "node", "wires"),
    [
        ("circuits", "A4", "SP", [*(str(4 * i + 1) for i in range(37)), "M3"]),
        ("many on a terminal", "A3", "BAT.+", ["U1", *(f"A{i}" for i in range(30))]),
        ("many on a terminal", "A3", "BODY.O0", [*(f"C{i}" for i in range(20)), "C20", "C24"]),
    ],
)
def test_a_node_with_too_many_wires_stands_on_several_sheets_each_with_the_next_and_the_one_before(
    name: str, paper: str, node: str, wires: list[str]
) -> None:
    found = shares(name, paper, node)
    assert sorted(wire for _, _, on in found for wire in on) == sorted(wires), "each wire on one of them"
    assert len(found) > 1
    stands = [f"{number}/{element.track}" for number, element, _ in found]
    said = [
        [m[2] + "/" + m[3] for e, words in flags(drawing) if (m := REFERENCE.match(words)) and e.ports[0][0] == node]
        for drawing in drawings(name, paper)
    ]
    on_sheet = dict(zip((number for number, _, _ in found), stands, strict=True))
    assert len(on_sheet) == len(found)
    ends = [place for number, place in on_sheet.items() if len(said[number - 1]) == 1]
    assert len(ends) == 2, "a row has two ends"
    for number, place in on_sheet.items():
        for other in said[number - 1]:
            assert other in stands, f"{place} says {other}"
            assert place in said[int(other.partition("/")[0]) - 1], f"{other} does not say {place}"


def test_where_each_feed_goes_names_a_node_that_goes_on() -> None:
    words = [text.words for text in leaves("circuits", "A4")[0].texts]
    assert any(re.fullmatch(r"\d+/\d+ SP, more of its wires", each) for each in words)


def test_one_sheet_alone_lists_no_feeds() -> None:
    text = "source BAT battery { voltage 12 V }\nload L 5 W lamp { x 5 W: 1 2 }\nwire 1 BAT.+ to L.1 red 1 mm2\n"
    found = paper_sheets(read_text(text).harness, "A4")
    assert len(found) == 2
    assert "Where each feed goes" not in {text.words for leaf in found for text in leaf.texts}


def test_the_same_harness_gives_the_same_sheets() -> None:
    harness = harness_of("small/points-single.loom")
    assert paper_sheets(harness, "A4") == paper_sheets(harness, "A4")


def test_the_command_writes_one_pdf_and_refuses_what_does_not_go_together(tmp_path: Path) -> None:
    file = str(SPECS / "small" / "magneto-single.loom")
    target = tmp_path / "bike.pdf"
    result = CliRunner().invoke(main, ["draw", file, "--paper", "A4", "-o", str(target)])
    assert result.exit_code == 0, result.output
    assert target.read_bytes().startswith(b"%PDF")
    refused = CliRunner().invoke(main, ["draw", file, "--paper", "A4", "--system", "ignition"])
    assert refused.exit_code == 2
    assert "leave --system out" in refused.output
