"""The schematic: what is drawn is what the harness says, and the sheet can be read."""

from __future__ import annotations

import itertools
import os
import shutil
import sysconfig
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from geometry import connections, faults
from golden import same_as_golden
from hypothesis import given, settings
from outside import require_tool, some_of
from random_harness import harnesses

from loomwright.checks.proof import strategies
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Connector, Ground, Splice
from loomwright.render.drawing.layout_engine import EngineName, NoEngine, find_engine
from loomwright.render.drawing.primitives import Drawing, Rect, Run, Text
from loomwright.render.drawing.svg import svg_text
from loomwright.render.schematic.crossings import with_gaps
from loomwright.render.schematic.schematic import UnknownSystem, draw
from loomwright.render.schematic.selection import systems_of

SPECS = Path(__file__).resolve().parents[3] / "specs"
SMALL = sorted((SPECS / "small").glob("*.loom"))
FILES = [SPECS / "stock.loom", SPECS / "rebuild.loom", *SMALL]
ENGINES: tuple[EngineName, ...] = ("dot", "graphviz-pure")
LAMPS = """\
loom "Two lamps & a <stop> switch"
system 12 V negative ground
place tray, tail
route tray tail 1 m
ground FRAME at tray, tail
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah }
fuse MAIN 10 A blade at tray
switch KEY 5 A key at tray { off: ; on: 30 15 }
switch BRAKE 3 A momentary senses rear-brake at tray { rest: ; press: 1 2 }
relay K 20 A at tray { coil 85 ohm: 85 86; released: ; pulled: 30 87 }
load REAR lamp at tail for lighting { tail 5 W tail-lamp: 58 31; stop 21 W stop-lamp: 54 31 }
load HORN horn at tray for signals { horn 4 A: 1 2 }
connector C1 3 ways at tail
splice SP at tray
wire 1 BAT.+ to MAIN.1 red 2.5 mm2
wire 2 MAIN.2 to KEY.30 red/white 2.5 mm2
wire 3 KEY.15 to SP brown 1 mm2
wire 4 SP to REAR.58 via C1.1 grey 0.75 mm2
wire 5 SP to BRAKE.1 brown 1 mm2
wire 6 BRAKE.2 to REAR.54 via C1.2 black/red 0.75 mm2
wire 7 REAR.31 to FRAME via C1.3 black 1 mm2
wire 8 BAT.- to FRAME black 6 mm2
wire 9 MAIN.2 to K.30 red 2.5 mm2
wire 10 K.87 to HORN.1 violet 1 mm2
wire 11 HORN.2 to FRAME black 1 mm2
wire 12 SP to K.85 brown 0.75 mm2
wire 13 K.86 to FRAME black 0.75 mm2
"""


@cache
def read(path: Path) -> Harness:
    reading = read_file(path)
    assert reading.mistakes == ()
    return reading.harness


@cache
def drawn(path: Path, system: str | None = None, engine: EngineName | None = None) -> Drawing:
    if engine == "dot":
        require_tool("dot")
    return draw(read(path), system=system, engine=engine)


@cache
def lamps() -> Harness:
    reading = read_text(LAMPS)
    assert reading.mistakes == ()
    return reading.harness


def sheets(harness: Harness) -> list[str | None]:
    return [None, *systems_of(harness)]


ALL_SHEETS = [
    pytest.param(path, system, id=f"{path.stem}, {system or 'whole'}")
    for path in FILES
    for system in sheets(read_file(path).harness)
]


# --- it can be read --------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("path", "system"), some_of(ALL_SHEETS, 2))
def test_nothing_overlaps_and_no_line_runs_through_anything(path: Path, system: str | None) -> None:
    assert faults(drawn(path, system)) == []


@settings(max_examples=16)
@given(harnesses() | strategies.bikes(most_accessories=2).map(lambda bike: strategies.read(bike).harness))
def test_any_harness_makes_a_sheet_that_can_be_read(harness: Harness) -> None:
    drawing = draw(harness)
    assert faults(drawing) == []
    assert_shows_what_the_harness_says(harness, drawing)


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda d: replace(d, runs=(shifted(d.runs[0], -8, 0), *d.runs[1:])), "runs over the text"),
        (lambda d: replace(d, elements=(replace(d.elements[0], box=d.elements[1].box), *d.elements[1:])), "overlap"),
        (lambda d: replace(d, runs=(*d.runs, Run("x", "", None, (through(d.elements[1].box),), ()))), "runs through"),
        (lambda d: replace(d, runs=(*d.runs, replace(d.runs[0], name="x", texts=()))), "lie on each other"),
        (lambda d: replace(d, width=d.width / 2), "leaves the sheet"),
        (lambda d: replace(d, runs=(*d.runs, Run("x", "", None, (((50.0, 50.0), (90.0, 80.0)),), ()))), "slanted"),
    ],
)
def test_the_judge_of_sheets_sees_what_is_wrong(spoil: object, said: str) -> None:
    drawing = draw(lamps())
    assert faults(drawing) == []
    assert any(said in fault for fault in faults(spoil(drawing))), faults(spoil(drawing))  # type: ignore[operator]


def shifted(run: Run, dx: float, dy: float) -> Run:
    """A run whose lettering has slipped on its line."""
    return replace(run, texts=tuple(replace(t, at=(t.at[0] + dx, t.at[1] + dy)) for t in run.texts))


def through(box: Rect) -> tuple[tuple[float, float], tuple[float, float]]:
    middle = (box.top + box.bottom) / 2
    return ((box.left - 5, middle), (box.right + 5, middle))


# --- it is true ------------------------------------------------------------------------------------------------------
def referred(drawing: Drawing) -> list[list[tuple[float, float]]]:
    """What a flag such as ``WARN.31 in 12`` joins: the line at it, and that terminal in the track named."""
    found = []
    for flag in drawing.elements:
        if flag.symbol == "elsewhere" and " in " in flag.texts[0].words:
            (node, point), track = flag.ports[0], int(flag.texts[0].words.split(" in ")[1])
            there = [at for e in drawing.elements if e.part and e.track == track for own, at in e.ports if own == node]
            assert there, f"{flag.texts[0].words}: it is not there"
            found.append([(round(x, 1), round(y, 1)) for x, y in (point, *there)])
    return found


def assert_shows_what_the_harness_says(harness: Harness, drawing: Drawing) -> None:
    """Read the lines of the sheet as a reader does, and compare with the wires of the text."""
    joined: dict[str, str] = {}

    def find(node: str) -> str:
        joined.setdefault(node, node)
        while joined[node] != node:
            node = joined[node]
        return node

    for segment in harness.segments:
        ends = [end.node for end in (segment.a, segment.b)]
        if not any(isinstance(harness.parts.get(end), Ground) for end in ends):  # each ground is drawn by itself
            joined[find(ends[0])] = find(ends[1])
    splices = [
        [(round(x, 1), round(y, 1)) for _, (x, y) in element.ports]
        for element in drawing.elements
        if element.symbol in ("splice", "bar")  # joins what is above it and below
    ]
    groups = connections(drawing, [*splices, *referred(drawing)])
    seen: dict[int, set[str]] = {}
    for element in drawing.elements:
        for node, (x, y) in element.ports if element.part else ():
            point = (round(x, 1), round(y, 1))
            if isinstance(harness.parts.get(node), Ground) or point not in groups:
                continue
            seen.setdefault(groups[point], set()).add(find(node))
    for group in seen.values():
        assert len(group) == 1, f"the sheet joins {sorted(group)}, the harness does not"
    where: dict[str, int] = {}
    for number, group in seen.items():
        for node in group:
            assert where.setdefault(node, number) == number, f"the sheet shows {node} in two pieces"


@pytest.mark.parametrize("path", some_of(FILES, 4), ids=lambda path: path.stem)
@pytest.mark.parametrize("engine", ENGINES)
def test_the_lines_join_what_the_wires_join(path: Path, engine: EngineName) -> None:
    harness = read(path)
    assert_shows_what_the_harness_says(harness, drawn(path, engine=engine))


@pytest.mark.parametrize("path", some_of(FILES[::-1], 2), ids=lambda path: path.stem)
def test_every_part_and_every_stretch_of_wire_is_there_once(path: Path) -> None:
    harness = read(path)
    drawing = drawn(path)
    assert sorted(run.name for run in drawing.runs) == sorted(segment.name for segment in harness.segments)
    shown = {element.part for element in drawing.elements}
    assert shown >= {n for n, part in harness.parts.items() if not isinstance(part, Connector | Ground)}
    assert len({element.key for element in drawing.elements}) == len(drawing.elements)
    for run in drawing.runs:
        words = " ".join(text.words for text in run.texts)
        segment = next(p for p in harness.segments if p.name == run.name)
        assert run.name in words
        assert not segment.colour or str(segment.colour) in words
        assert not segment.size or segment.size.text.replace("mm2", "mm²") in words


def test_supply_stands_at_the_head_and_ground_at_the_foot() -> None:
    drawing = draw(lamps())
    battery = next(e for e in drawing.elements if e.key == "BAT")
    assert battery.box.top == min(e.box.top for e in drawing.elements if e.symbol != "frame")
    grounds = [e for e in drawing.elements if e.symbol == "frame"]
    assert len(grounds) == 4
    assert len({e.box.top for e in grounds}) == 1
    assert all(e.box.top >= other.box.bottom for e in grounds for other in drawing.elements if other.symbol != "frame")
    order = [ports(drawing, key) for key in ("MAIN", "KEY", "BRAKE", "REAR")]
    for upper, lower in itertools.pairwise(order):
        assert max(upper) < min(lower), "current runs downwards"


def ports(drawing: Drawing, key: str) -> list[float]:
    return [y for _, (_, y) in next(e for e in drawing.elements if e.key == key).ports]


def test_tracks_are_numbered_along_the_foot_and_parts_refer_to_them() -> None:
    drawing = draw(lamps())
    assert [track.number for track in drawing.tracks] == list(range(1, len(drawing.tracks) + 1))
    assert all(a.x < b.x for a, b in zip(drawing.tracks, drawing.tracks[1:], strict=False))
    coil, contact = (next(e for e in drawing.elements if e.key == f"K {what}") for what in ("coil", "contact"))
    assert f"contact in {contact.track}" in [text.words for text in coil.texts]
    assert f"coil in {coil.track}" in [text.words for text in contact.texts]


@pytest.mark.parametrize("path", some_of(FILES, 2), ids=lambda path: path.stem)
def test_each_wire_is_one_line_from_its_terminal_to_its_terminal(path: Path) -> None:
    """No thin line stands for several wires: each keeps its colour up to the terminal, or up to the bar on it."""
    drawing = drawn(path)
    at: dict[str, list[tuple[float, float]]] = {}
    for element in drawing.elements:
        for node, point in element.ports:
            at.setdefault(node, []).append(point)
    bars = {joint.bar: joint.node for joint in drawing.joints if joint.bar}
    for run in drawing.runs:
        (line,) = run.lines
        keys = dict(run.keys)
        reached = set()
        for x, y in (line[0], line[-1]):
            on = {node for ((left, _), (right, height)), node in bars.items() if left < x < right and y == height}
            reached |= on or {node for node in (keys["from"], keys["to"]) if (x, y) in at[node]}
        assert reached == {keys["from"], keys["to"]}, run.name


def test_wires_on_one_terminal_lie_side_by_side_in_the_order_in_which_they_part() -> None:
    drawing = draw(lamps())
    bar = next(joint.bar for joint in drawing.joints if joint.node == "SP" and joint.bar)
    lines = [run.lines[0] for run in drawing.runs]
    starts = sorted((line[0], line[min(2, len(line) - 1)][0]) for line in lines if line[0][1] == bar[0][1])
    assert len(starts) == 3
    assert [round(b[0][0] - a[0][0], 1) for a, b in itertools.pairwise(starts)] == [4.8, 4.8]
    assert [goal for _, goal in starts] == sorted(goal for _, goal in starts)
    assert bar[0][0] < starts[0][0][0] < starts[-1][0][0] < bar[1][0]


def test_more_wires_than_a_terminal_has_room_for_end_on_a_bar_with_its_name() -> None:
    lamps = "".join(f"load L{n} lamp {{ x 5 W: 1 2 }}\nwire {n} F.2 to L{n}.1 red 1 mm2 1 m\n" for n in range(1, 6))
    five = draw(read_text(f"fuse F 10 A\n{lamps}").harness)
    four = draw(read_text(f"fuse F 10 A\n{lamps}".replace("wire 5 F.2", "wire 5 F.1")).harness)
    assert faults(five) == []
    assert [e.texts[0].words for e in five.elements if e.symbol == "bar"] == ["F.2"]
    assert not [e for e in four.elements if e.symbol == "bar"]


def test_a_terminal_in_several_symbols_has_its_wires_at_one_and_the_others_say_where() -> None:
    text = """load WARN { left lamp 2 W: 49 31; right lamp 2 W: 50 31; main lamp 2 W: 51 31 }
ground FRAME
wire 1 WARN.31 to FRAME black 1 mm2 1 m
"""
    drawing = draw(read_text(text).harness)
    first = next(e for e in drawing.elements if e.key == "WARN.left")
    flags = [e.texts[0].words for e in drawing.elements if e.symbol == "elsewhere"]
    assert flags == [f"WARN.31 in {first.track}"] * 2
    lengths = [
        abs(b[1] - a[1]) for joint in drawing.joints for line in joint.lines for a, b in itertools.pairwise(line)
    ]
    assert max(lengths) < 60, "no long line that is no wire"


@pytest.mark.parametrize("path", some_of(FILES[::-1], 2), ids=lambda path: path.stem)
def test_what_is_no_wire_is_short(path: Path) -> None:
    for joint in drawn(path).joints:
        for line in joint.lines:
            assert sum(abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in itertools.pairwise(line)) < 120, joint.node


def test_thickness_goes_by_size_in_three_steps() -> None:
    assert {run.name: run.step for run in draw(lamps()).runs if run.name in {"1", "3", "8"}} == {"1": 1, "3": 0, "8": 2}


def test_what_passes_over_a_wire_leaves_a_gap() -> None:
    def run(name: str, *line: tuple[float, float]) -> Run:
        return Run(name, "", None, (line,), ())

    under, over, beside = with_gaps(
        [run("under", (0, 10), (50, 10)), run("over", (20, 0), (20, 30)), run("beside", (60, 0), (60, 30))]
    )
    assert (under.over, beside.over) == ((), ())
    ((a, b),) = over.over
    assert a[0] == b[0] == 20
    assert a[1] < 10 < b[1]


@pytest.mark.parametrize("path", SMALL, ids=lambda path: path.stem)
def test_both_engines_draw_the_same_elements_and_symbols(path: Path) -> None:
    dot, pure = (drawn(path, engine=engine) for engine in ENGINES)

    def content(drawing: Drawing) -> list[object]:
        elements = sorted(
            (e.key, e.symbol, round(e.box.height, 3), sorted(net for net, _ in e.ports)) for e in drawing.elements
        )
        wires = sorted((run.name, str(run.colour or ""), sorted(t.words for t in run.texts)) for run in drawing.runs)
        return [elements, wires, drawing.title, drawing.sheet]

    assert content(dot) == content(pure)
    assert faults(pure) == []


# --- one system ------------------------------------------------------------------------------------------------------
def keys(drawing: Drawing) -> set[str]:
    return {element.key for element in drawing.elements}


def test_a_sheet_of_one_system_holds_its_parts_their_feed_and_their_return() -> None:
    drawing = draw(lamps(), system="lighting")
    assert drawing.sheet == "lighting"
    assert {"REAR", "BRAKE", "KEY", "MAIN", "BAT", "SP", "C1.1", "C1.2", "C1.3"} <= keys(drawing)
    assert not {"HORN", "K coil", "K contact"} & keys(drawing)


def test_a_wire_that_leaves_the_sheet_says_where_it_goes() -> None:
    drawing = draw(lamps(), system="lighting")
    boxes = {e.texts[0].words for e in drawing.elements if e.symbol == "elsewhere"}
    assert boxes == {"→ K.30", "→ K.85"}
    assert {"9", "12"} <= {run.name for run in drawing.runs}


def test_a_relay_contact_brings_its_coil_and_what_works_it() -> None:
    drawing = draw(lamps(), system="signals")
    assert {"HORN", "K coil", "K contact", "KEY", "SP"} <= keys(drawing)
    assert "REAR" not in keys(drawing)
    assert "13" in {run.name for run in drawing.runs}, "the way of the coil to ground"


def test_an_output_of_a_unit_brings_the_inputs_that_turn_it_on() -> None:
    drawing = drawn(SPECS / "rebuild.loom", "signals")
    unit = next(e for e in drawing.elements if e.key == "CTRL")
    assert {"HORN-BUTTON", "TURN"} <= keys(drawing)
    assert "CTRL.PARK" not in {node for node, _ in unit.ports}, "terminals that do not matter here are left out"
    assert any("elsewhere" in text.words for text in unit.texts)


@pytest.mark.parametrize(("path", "system"), [p for p in ALL_SHEETS if p.values[1]])
def test_no_terminal_on_a_sheet_looks_free_that_is_not(path: Path, system: str) -> None:
    harness = read(path)
    drawing = drawn(path, system)
    runs = {run.name for run in drawing.runs}
    on_sheet = {node for element in drawing.elements if element.part for node, _ in element.ports}
    for segment in harness.segments:
        for end in (segment.a, segment.b):
            if end.node in on_sheet and not isinstance(harness.parts.get(end.part), Ground):
                assert segment.name in runs, f"{segment.name} is wired to {end.node}"


@pytest.mark.parametrize("path", some_of(FILES, 2), ids=lambda path: path.stem)
def test_every_part_with_a_system_is_on_that_sheet(path: Path) -> None:
    harness = read(path)
    for system in systems_of(harness):
        shown = {element.part for element in drawn(path, system).elements}
        wanted = {
            name
            for name, part in harness.parts.items()
            if part.system == system and not isinstance(part, Ground | Splice | Connector)
        }
        assert wanted <= shown


def test_an_unknown_system_is_named_with_the_nearest_and_with_those_there_are() -> None:
    with pytest.raises(UnknownSystem, match=r"no system `lightning`\. Did you mean `lighting`") as told:
        draw(lamps(), system="lightning")
    assert "supply" in str(told.value)
    with pytest.raises(UnknownSystem, match="No part of this harness is for `starting`"):
        draw(lamps(), system="starting")


# --- whatever comes --------------------------------------------------------------------------------------------------
def test_the_same_harness_gives_the_same_bytes() -> None:
    require_tool("dot")
    for engine in ENGINES:
        first, second = (svg_text(draw(lamps(), engine=engine)) for _ in range(2))
        assert first == second


@pytest.mark.parametrize(
    "text",
    [
        "",
        'loom "Nothing"\n',
        "ground FRAME\nplace tray\n",
        "fuse F 10 A\n",
        "splice SP\n",
        "connector C 2 ways { spare: 1 2 }\n",
        "fuse F 10 A\nfuse G 10 A\nwire 1 F.2 to G.1 red 1 mm2\n",
        "splice SP\nfuse F 10 A\nwire 1 SP to F.1\n",
        "ground FRAME\nground ENGINE\nwire 1 FRAME to ENGINE black 6 mm2 0.3 m\n",
        "fuse F 10 A\nwire 1 F.1 to F.2\n",
        "connector C 2 ways\nfuse F 10 A\nwire 1 F.2 to C.1s red 1 mm2\ncapped C.1s\n",
        "switch S { off: ; on: 1 2, 2 3, 3 1 }\nfuse F 1 A\nwire 1 F.1 to S.1\nwire 2 F.2 to S.3\n",
        "relay K { coil 85 ohm: 85 86; released: 30 87a; pulled: 30 87 }\nfuse F 1 A\nwire 1 F.1 to K.30\n",
        "unit U { supply 1 A: 15 31; input hot fed: H }\nsplice A\nsplice B\nwire 1 U.H to A\nwire 2 U.H to B\n",
    ],
)
def test_fragments_of_a_harness_are_drawn_too(text: str) -> None:
    harness = read_text(text).harness
    drawing = draw(harness)
    assert faults(drawing) == []
    assert len(drawing.runs) == len(harness.segments)
    assert svg_text(drawing).startswith("<svg ")


def test_two_batteries_in_series_and_a_positive_ground_have_a_head() -> None:
    text = (
        "system 12 V positive ground\nground FRAME\n"
        "source A battery { voltage 6 V }\nsource B battery { voltage 6 V }\n"
        "load L lamp { lamp 5 W: 1 2 }\nwire 1 A.+ to FRAME red 6 mm2 1 m\nwire 2 A.- to B.+ red 6 mm2 1 m\n"
        "wire 3 B.- to L.1 blue 1 mm2 1 m\nwire 4 L.2 to FRAME red 1 mm2 1 m\n"
    )
    drawing = draw(read_text(text).harness)
    assert faults(drawing) == []
    first = next(e for e in drawing.elements if e.key == "A")
    by_net = dict(first.ports)
    assert by_net["A.-"][1] < by_net["A.+"][1], "the feed pole is the upper one"


# --- engines ---------------------------------------------------------------------------------------------------------
def path_with_only(folder: Path, program: str | None) -> dict[str, str]:
    if program:
        found = shutil.which(program) or shutil.which(program, path=sysconfig.get_path("scripts"))
        assert found, f"the tests need {program}"
        (folder / program).symlink_to(found)
    return {"PATH": str(folder)}


def test_dot_on_the_path_is_taken_first(tmp_path: Path) -> None:
    require_tool("dot")
    assert find_engine(environment=path_with_only(tmp_path, "dot")).name == "dot"


def test_without_dot_the_packaged_engine_is_found_though_it_is_not_on_the_path(tmp_path: Path) -> None:
    engine = find_engine(environment=path_with_only(tmp_path, None))
    assert engine.name == "graphviz-pure"
    assert Path(engine.path).parent == Path(sysconfig.get_path("scripts"))


def test_without_any_engine_the_message_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sysconfig, "get_path", lambda name: str(tmp_path))
    with pytest.raises(NoEngine, match="install Graphviz"):
        find_engine(environment=path_with_only(tmp_path, None))
    with pytest.raises(NoEngine, match="dot was not found"):
        find_engine("dot", environment=path_with_only(tmp_path, None))


def test_an_engine_that_fails_is_said_to_have_failed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = tmp_path / "dot"
    broken.write_text("#!/bin/sh\necho 'no memory left' >&2\nexit 3\n")
    broken.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    with pytest.raises(NoEngine, match="no memory left"):
        draw(lamps())


# --- golden files ----------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("system", [None, "lighting"])
def test_a_small_sheet_is_as_it_was_looked_at(system: str | None) -> None:
    drawing = draw(lamps(), system=system, engine="graphviz-pure")  # the engine whose version is pinned
    same_as_golden(f"lamps{f'-{system}' if system else ''}.svg", svg_text(drawing))


def test_texts_of_the_frame_name_the_harness_and_the_sheet() -> None:
    words = [shape.words for shape in draw(lamps(), system="lighting").frame if isinstance(shape, Text)]
    assert {"Two lamps & a <stop> switch", "lighting", "12 V, negative ground"} <= set(words)


@pytest.mark.parametrize("path", SMALL[:3], ids=lambda path: path.stem)
def test_every_sheet_says_to_measure_and_has_room_for_it(path: Path) -> None:
    harness = read_file(path).harness
    for system in (None, *systems_of(harness)):
        frame = draw(harness, system=system, engine="graphviz-pure").frame
        (caution,) = [shape for shape in frame if isinstance(shape, Text) and "easure before" in shape.words]
        (title,) = [shape for shape in frame if isinstance(shape, Text) and shape.words == harness.title]
        assert caution.at[0] + caution.width < title.at[0]


def test_parts_by_the_hundred_that_no_wire_reaches_stand_in_rows_beside_the_rest() -> None:
    """They are kept from the engine, whose time grows with the square of what is free to move: 6,000 took minutes."""
    lamps = "".join(f"load L{number} lamp at tray {{ x 5 W: 1 2 }}\n" for number in range(100))
    wired = "fuse MAIN 10 A at tray\nfuse NEXT 10 A at tray\nwire 1 MAIN.2 to NEXT.1 red 1 mm2 0.2 m\n"
    drawing = draw(read_text(f"place tray\n{wired}{lamps}", "many.loom").harness)
    assert {f"L{number}" for number in range(100)} <= {text.words for text in drawing.texts}
    assert faults(drawing) == []
    assert drawing.width < 40 * 100
