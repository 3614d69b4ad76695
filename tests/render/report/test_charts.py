"""Charts: what they say of a harness, on a terminal, on paper and in a page."""

from __future__ import annotations

from dataclasses import replace
from html import unescape
from pathlib import Path
from re import findall

import pytest
from click.testing import CliRunner, Result
from sheets import faults
from spec_files import harnesses

from loomwright.checks.operation.load_drops import load_drops
from loomwright.checks.operation.operating_points import FuseRow, SourceRow, StateTable, state_tables
from loomwright.checks.operation.operation import Operation
from loomwright.checks.tables.profiles import profile_named
from loomwright.cli import main
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.render.bench.chart_sheet import chart_leaves
from loomwright.render.drawing.charts import Bar, BarChart, Chart, Grid, drawn
from loomwright.render.drawing.primitives import Stroke, Text, extent
from loomwright.render.page.charts import charts_html
from loomwright.render.report.charts import MOST, balance, charts_text, fuse_loads, state_charts

SPECS = Path(__file__).parents[3] / "specs"
PROFILE = profile_named("boat-law")


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [*map(str, arguments)])


def table(name: str, fuses: dict[str, float], amps: float = 0.0, seconds: float | None = None) -> StateTable:
    rows = tuple(FuseRow(fuse, 10.0, share * 10.0, share) for fuse, share in fuses.items())
    return StateTable(name, sources=(SourceRow("BAT", 12.0, amps, 12.0 * amps, None),), fuses=rows, seconds=seconds)


# --- what they say
def test_a_fuse_stands_in_the_state_that_is_nearest_to_its_limit() -> None:
    tables = [
        table("on", {"F": 0.5, "G": 0.81}),
        table("held", {"F": 0.6, "G": 0.9}, seconds=10.0),
        table("off", {"F": 0.1}),
    ]
    chart = fuse_loads(tables, PROFILE)
    assert (PROFILE.continuous_share, PROFILE.held_share) == (0.8, 1.0)
    assert [(bar.name, bar.words, bar.over) for bar in chart.bars] == [
        ("G", "81 %: 8.1 A of 10 A, on", True),
        ("F", "50 %: 5 A of 10 A, on", False),
    ]
    assert chart.limit == pytest.approx(80.0)
    assert chart.note == "Short-time, 100 % is allowed."


def test_the_balance_leaves_out_what_is_only_held() -> None:
    tables = [
        table("parked", {}, 0.05),
        table("riding", {}, -2.0),
        table("cranking", {}, 90.0, seconds=10.0),
        table("off", {}),
    ]
    chart = balance(tables)
    assert [(bar.name, bar.value, bar.words) for bar in chart.bars] == [
        ("parked", -0.05, "50 mA discharging"),
        ("riding", 2.0, "2 A charging"),
        ("off", 0.0, "no current"),
    ]
    assert chart.note == "Not drawn, since it is short-time: cranking 90 A discharging."


def test_many_bars_say_how_many_are_left_out() -> None:
    chart = fuse_loads([table("on", {f"F{n}": n / 100 for n in range(1, MOST + 8)})], PROFILE)
    assert len(chart.bars) == MOST
    assert chart.bars[0].name == f"F{MOST + 7}"
    assert chart.note.endswith("7 more fuses are below these.")


def test_the_drop_of_a_load_is_what_the_battery_has_and_it_has_not() -> None:
    """By hand: 20 m of 1 mm2 copper have 0.37 ohm (18.5 mohm/m, ISO 6722-1, from memory) beside a load of 2 ohm."""
    bike = """loom "b"
place tray
source BAT battery at tray { voltage 12.6 V; resistance 10 mohm }
switch S 9 A at tray { off: ; on: 1 2 }
load L heater at tray { heater 2 ohm: 1 2 }
wire 1 BAT.+ to S.1 red 50 mm2 0.001 m
wire 2 S.2 to L.1 red 1 mm2 10 m
wire 3 L.2 to BAT.- black 1 mm2 10 m
state on { S on }
state off { S off }
"""
    operation = Operation(build_circuit(read_text(bike, "b.loom").harness))
    (drop,) = load_drops(operation, ("on", "off"))
    assert (drop.load, drop.state) == ("L.heater", "on")
    assert drop.share == pytest.approx(0.37 / 2.37, abs=0.02)
    assert load_drops(operation, ("off",)) == ()


def test_the_map_counts_every_fault_of_the_list_once() -> None:
    import json

    listed = json.loads(run("faults", SPECS / "rebuild.loom", "--format", "json").stdout)["failure_modes"]
    severities = ("catastrophic", "critical", "marginal", "minor")
    wanted = [sum(len(each["faults"]) for each in listed if each["severity"] == severity) for severity in severities]
    shown = run("faults", SPECS / "rebuild.loom", "--map").stdout
    assert shown.startswith("Single faults by place and severity\n")
    rows = findall(r"^  (\S+(?: to \S+)?|place not stated)((?: +[\d.]+){4})$", shown, 8)
    counted = [[int(count) if count != "." else 0 for count in counts.split()] for _, counts in rows]
    assert [sum(column) for column in zip(*counted, strict=True)] == wanted
    assert "engine to tray" not in dict(rows), "a stretch has one name, whichever way its wires are written"
    assert "  I: fire, or an engine that cannot be stopped\n" in shown


# --- on a terminal
CHART = BarChart(
    title="Load",
    unit="%",
    bars=(Bar(name="A", value=40.0, words="40 %"), Bar(name="LONG", value=100.0, words="100 %", over=True)),
    limit=80.0,
    limit_words="limit 80 %",
)
BOTH = BarChart(
    title="Battery, A",
    unit="A",
    bars=(
        Bar(name="off", value=-3.0, words="3 A"),
        Bar(name="on", value=1.0, words="1 A"),
        Bar(name="x", value=0.0, words="0 A"),
    ),
    left="discharging",
    right="charging",
)
GRID = Grid(
    title="Faults", columns=(("I", "fire"), ("II", "")), rows=(("tray", (1, 16)), ("bars", (0, 4))), note="Two."
)


def test_bars_of_letters_are_as_long_as_their_values() -> None:
    assert charts_text([CHART, BOTH, GRID]).splitlines() == [
        "Load (limit 80 %: |)",
        f"  A     {'#' * 16}{' ' * 16}|{' ' * 8}  40 %",
        f"  LONG  {'#' * 32}|{'#' * 7}   100 %, over the limit",
        "",
        "Battery, A",
        f"  off  {'=' * 30}|{' ' * 10}  3 A",
        f"  on   {' ' * 30}{'#' * 10}   1 A",
        f"  x    {' ' * 30}|{' ' * 10}  0 A",
        "",
        "Faults",
        "          I   II",
        "  tray    1   16",
        "  bars    .    4",
        "  I: fire",
        "  Two.",
    ]


def test_commands_show_bars_and_maps_where_they_are_asked_for() -> None:
    plain = run("states", SPECS / "rebuild.loom").stdout
    assert "Load of the fuses" not in plain
    bars = run("states", SPECS / "rebuild.loom", "--bars", "--state", "idling").stdout
    assert "F-KEY   #####" in bars
    assert "43 %: 4.3 A of 10 A, idling\n" in bars
    assert "0.698 A charging" in bars
    assert "cranking" not in bars


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("states", "--bars", "--format", "json"), "--bars and -o show bars: leave --format out"),
        (("states", "-o", "x.svg", "--format", "csv"), "--bars and -o show bars: leave --format out"),
        (("faults", "--map", "--format", "json"), "--map and -o show a map: leave --format out"),
        (("states", "-o", "x.jpg"), "expected one of pdf, svg, png"),
        (("faults", "-o", "x.loom"), "expected one of pdf, svg, png"),
    ],
)
def test_what_belongs_to_tables_is_refused_with_bars(tmp_path: Path, arguments: tuple[str, ...], said: str) -> None:
    command, *rest = arguments
    done = run(command, SPECS / "rebuild.loom", *rest)
    assert done.exit_code == 2
    assert said in done.stderr
    assert not Path("x.svg").exists()


def test_charts_are_written_as_files(tmp_path: Path) -> None:
    for command in ("states", "faults"):
        for ending, magic in (("pdf", b"%PDF-"), ("svg", b"<svg "), ("png", b"\x89PNG")):
            target = tmp_path / f"{command}.{ending}"
            done = run(command, SPECS / "small" / "points-single.loom", "-o", target)
            assert (done.exit_code, done.stdout) == (0, f"{target}\n")
            assert target.read_bytes().startswith(magic)


def test_a_harness_with_nothing_to_show_says_so(tmp_path: Path) -> None:
    bike = tmp_path / "x.loom"
    bike.write_text('loom "x"\nplace tray\nsource ALT dynamo at tray { output 60 W: + - }\nstate on { engine off }\n')
    done = run("states", bike, "--bars")
    assert (done.exit_code, done.stdout) == (
        0,
        "nothing to show as bars: no fuse with a rating, no load that is on, no battery\n",
    )
    drawn_file = run("states", bike, "-o", tmp_path / "x.pdf")
    assert drawn_file.exit_code == 2
    assert "there is nothing to draw" in drawn_file.stderr
    assert not (tmp_path / "x.pdf").exists()


# --- drawn
def of_demonstration(name: str) -> tuple[Chart, ...]:
    harness = read_file(str(SPECS / f"{name}.loom")).harness
    operation = Operation(build_circuit(harness))
    return state_charts(list(state_tables(operation, PROFILE)), load_drops(operation, harness.states), PROFILE)


def rectangles(chart: Chart) -> list[tuple[float, float, str]]:
    """Left and right of each bar or square, and its fill."""
    found = [shape for shape in drawn(chart, 180.0).shapes if isinstance(shape, Stroke) and shape.closed]
    return [(min(x for x, _ in s.points), max(x for x, _ in s.points), s.fill) for s in found]


def test_bars_are_as_long_as_their_values_and_do_not_tell_by_shade_alone() -> None:
    short, long_ = rectangles(CHART)
    assert (short[1] - short[0]) / (long_[1] - long_[0]) == pytest.approx(0.4)
    texts = [shape.words for shape in drawn(CHART, 180.0).shapes if isinstance(shape, Text)]
    assert "100 %, OVER" in texts
    assert short[2] != long_[2]
    off, on, none = rectangles(BOTH)
    assert off[1] == pytest.approx(on[0])
    assert (off[1] - off[0]) / (on[1] - on[0]) == pytest.approx(3.0)
    assert none[1] - none[0] < 0.2
    assert {"discharging", "charging"} <= {s.words for s in drawn(BOTH, 180.0).shapes if isinstance(s, Text)}


def test_squares_are_as_large_as_their_counts_and_say_them() -> None:
    one, sixteen, four = rectangles(GRID)
    assert [(right - left) for left, right, _ in (one, sixteen, four)] == pytest.approx([1.25, 5.0, 2.5])
    assert {"1", "16", "4"} <= {shape.words for shape in drawn(GRID, 180.0).shapes if isinstance(shape, Text)}


@pytest.mark.parametrize("chart", [CHART, BOTH, GRID], ids=lambda chart: chart.title)
def test_a_chart_stays_in_its_width_and_height(chart: Chart) -> None:
    strange = "W" * 90
    if isinstance(chart, BarChart):
        chart = replace(
            chart, bars=(*chart.bars, Bar(name=strange, value=1.0, words=strange * 2)), note=strange + " " + strange
        )
    else:
        chart = replace(chart, rows=(*chart.rows, (strange, (1, 2))), note="word " * 90)
    for width in (120.0, 192.0):
        made = drawn(chart, width)
        box = extent(shape for shape in made.shapes if not (isinstance(shape, Text) and strange in shape.words))
        assert box.left >= -0.01
        assert box.right <= width + 0.01
        assert box.bottom <= made.height + 1.0


@pytest.mark.parametrize("name", ["stock", "rebuild"])
def test_leaves_of_a_demonstration_can_be_read(name: str) -> None:
    leaves = chart_leaves(of_demonstration(name), name, "states", revision="0123456789")
    assert len(leaves) == 1
    assert faults(leaves[0]) == []


@pytest.mark.parametrize("file", harnesses((SPECS / "small").glob("*.loom")), ids=lambda file: file.stem)
def test_leaves_of_any_harness_can_be_read(file: Path) -> None:
    reading = read_file(str(file))
    if reading.mistakes or not reading.harness.states:
        return
    operation = Operation(build_circuit(reading.harness))
    tables = list(state_tables(operation, PROFILE))
    charts = state_charts(tables, load_drops(operation, reading.harness.states), PROFILE)
    assert all(faults(leaf) == [] for leaf in chart_leaves(charts, "x", "states"))
    charts_text(charts)


def test_charts_that_do_not_fit_go_to_the_next_leaf() -> None:
    tall = replace(CHART, bars=tuple(Bar(name=f"F{n}", value=n, words=f"{n} %") for n in range(MOST)))
    leaves = chart_leaves([tall] * 3, "bike", "states")
    assert len(leaves) in (2, 3)
    assert all(faults(leaf) == [] for leaf in leaves)
    assert sum(leaf.about.count("Load: ") for leaf in leaves) == 3


# --- in a page
def test_a_picture_in_a_page_says_all_that_it_shows() -> None:
    html = charts_html([replace(CHART, title='<b>"Load"</b>'), GRID])
    words = [unescape(alt) for alt in findall(r'alt="([^"]*)"', html)]
    assert words == ['<b>"Load"</b>: A 40 %; LONG 100 %, over the limit', "Faults: tray I 1, II 16; bars II 4"]
    assert "<b>" not in html
    assert findall(r'src="([^;]*);', html) == ["data:image/svg+xml"] * 2
