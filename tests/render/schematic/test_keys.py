"""Whatever a drawing shows can be found in it by the names of the circuit."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest

from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.circuit.ids import BranchId, Role
from loomwright.lang.files.reading import read_file
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Connector, Ground, Part, Relay, Source, Switch
from loomwright.render.drawing.svg import svg_text
from loomwright.render.schematic.schematic import draw

SPECS = Path(__file__).resolve().parents[3] / "specs"
FILES = [
    SPECS / "stock.loom",
    SPECS / "rebuild.loom",
    SPECS / "small" / "permanent-magnet-twin.loom",
    Path(__file__).parents[1] / "every_part.loom",
]
SVG = "{http://www.w3.org/2000/svg}"
UNDRAWN = {Role.MOUNT, Role.BODY, Role.COMMON, Role.LEG}
"""Branches that are no separate thing on the sheet: metal on metal, the inside of a unit, diodes of a rectifier."""


@cache
def harness_of(path: Path) -> Harness:
    reading = read_file(path)
    assert reading.mistakes == ()
    return reading.harness


@cache
def circuit_of(path: Path) -> Circuit:
    return build_circuit(harness_of(path))


@cache
def sheet_of(path: Path) -> ElementTree.Element:
    return ElementTree.fromstring(svg_text(draw(harness_of(path))))


def groups(root: ElementTree.Element, what: str) -> list[ElementTree.Element]:
    return [each for each in root.iter() if each.get("class") == what]


def values(root: ElementTree.Element, what: str, name: str) -> list[str]:
    return [each.attrib[f"data-{name}"] for each in groups(root, what)]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_branch_of_the_circuit_is_a_group(path: Path) -> None:
    root = sheet_of(path)
    found = [
        key
        for what in ("wire", "element", "contact")
        for each in values(root, what, "branch")
        for key in each.split("|")
    ]
    reached = {end for segment in harness_of(path).segments for end in (segment.a, segment.b)}
    wanted = [
        str(branch.key)
        for branch in circuit_of(path).branches
        if isinstance(branch.key, BranchId)
        and branch.key.role not in UNDRAWN
        and (branch.key.role is not Role.CAVITY or reached & {branch.a, branch.b})
    ]
    machines = {p.name for p in harness_of(path).parts.values() if isinstance(p, Source) or p.kind == "rectifier"}
    assert sorted(set(found) - machines) == sorted({key.split(" #")[0] for key in wanted})


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_contact_has_a_blade_for_each_position_of_its_switch(path: Path) -> None:
    root = sheet_of(path)
    parts = harness_of(path).parts

    def positions(part: Part | None) -> list[str]:
        if isinstance(part, Relay):
            return ["released", "pulled"]
        assert isinstance(part, Switch)
        return [position.name for position in part.positions]

    for symbol in groups(root, "part"):
        for contact in groups(symbol, "contact"):
            part = parts[symbol.attrib["data-part"]]
            assert values(contact, "blade", "position") == positions(part)
            shown = [b.attrib["data-position"] for b in groups(contact, "blade") if b.get("display") != "none"]
            assert shown == ["released" if isinstance(part, Relay) else part.rests]  # type: ignore[attr-defined]
            pair = contact.attrib["data-branch"].split("|")[0]
            for blade in groups(contact, "blade"):
                row = blade.attrib["data-position"]
                if isinstance(part, Relay):
                    pairs = part.pulled if row == "pulled" else part.released
                else:
                    assert isinstance(part, Switch)
                    pairs = next(each.pairs for each in part.positions if each.name == row)
                joined = {f"{part.name} {x}-{y}" for a, b in pairs for x, y in ((a, b), (b, a))}
                assert blade.attrib["data-closed"] == ("yes" if pair in joined else "no")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_node_that_a_wire_reaches_is_a_terminal(path: Path) -> None:
    root = sheet_of(path)
    terminals = set(values(root, "terminal", "node"))
    for segment in harness_of(path).segments:
        assert {str(segment.a), str(segment.b)} <= terminals
    wires = {
        (w.attrib["data-wire"], w.attrib["data-branch"], w.attrib["data-from"], w.attrib["data-to"])
        for w in groups(root, "wire")
    }
    assert wires == {
        (s.wire, f"wire {s.name}", str(s.a), str(s.b)) for s in harness_of(path).segments
    }  # fmt: skip
    assert set(values(root, "part", "part")) <= set(harness_of(path).parts)
    shown = set(values(root, "part", "part"))
    assert {n for n, p in harness_of(path).parts.items() if not isinstance(p, Ground | Connector)} <= shown


def test_tool_tips_speak_of_parts_and_not_of_how_the_drawing_is_made() -> None:
    titles = {title.text or "" for title in sheet_of(SPECS / "stock.loom").iter(f"{SVG}title")}
    assert "splice SP-15 at headstock" in titles
    assert "ground FRAME, headstock" in titles
    assert not [t for t in titles if " above" in t or " below" in t or "ground of" in t or "frame" in t.split()]


def test_two_drawings_can_stand_in_one_file() -> None:
    drawing = draw(harness_of(FILES[2]))
    ids = [
        {each.attrib["id"] for each in ElementTree.fromstring(svg_text(drawing, prefix)).iter() if "id" in each.attrib}
        for prefix in ("", "old-")
    ]
    assert ids[0]
    assert not ids[0] & ids[1]
    assert {f"old-{name}" for name in ids[0]} == ids[1]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_whatever_has_the_colour_of_a_wire_is_a_wire_with_its_key(path: Path) -> None:
    root = sheet_of(path)
    wires = [each for wire in groups(root, "wire") for each in wire.iter() if each.get("stroke")]
    assert all(wire.get("data-branch") for wire in groups(root, "wire"))
    coloured = [
        each
        for each in root.iter(f"{SVG}path")
        if each.get("stroke") not in (None, "none") or float(each.attrib["stroke-width"]) >= 3
    ]
    legend = [each for each in coloured if each.get("stroke") is None]
    assert all(each in wires for each in coloured if each not in legend)
    assert len(legend) == 8, "three steps of thickness, three strokes of a crossing and two lanes, in the legend"
