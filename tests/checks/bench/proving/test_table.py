"""A loom on the table: every single open, join and swap that is put in changes a row, or is listed for the eye."""

from __future__ import annotations

import math
from pathlib import Path

import networkx as nx
import pytest
from random_plugs import loom as random_loom

from loomwright.checks.bench.looms import looms
from loomwright.checks.bench.pieces import pieces
from loomwright.checks.bench.proving.plan import Proof
from loomwright.checks.bench.proving.table import TableLoom, Wrong, table_looms
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness

SPECS = Path(__file__).resolve().parents[4] / "specs"
DEMONSTRATIONS = ("rebuild.loom", "stock.loom")
RANDOM = 40


def on_the_table(harness: Harness) -> tuple[TableLoom, ...]:
    return table_looms(harness, looms(harness, pieces(harness)))


def demonstration(name: str) -> tuple[TableLoom, ...]:
    return on_the_table(read_file(str(SPECS / name)).harness)


def random_looms(first: int, count: int) -> list[TableLoom]:
    found: list[TableLoom] = []
    for seed in range(first, first + count):
        reading = read_text(random_loom(seed), "random.loom")
        assert not reading.mistakes, (seed, reading.mistakes)
        found += on_the_table(reading.harness)
    return found


def copper(loom: TableLoom, wrong: Wrong | None = None) -> nx.MultiGraph:
    """The loom as a graph for networkx, with one thing wrong: the judge builds it by itself."""
    ends = {name: [loom.node(name, 0), loom.node(name, 1)] for name in loom.pieces}
    graph = nx.MultiGraph()
    graph.add_nodes_from(point.name for point in loom.points)
    if wrong is not None and wrong.sort == "swap":
        (a, side), (b, other) = wrong.pieces
        ends[a][side], ends[b][other] = ends[b][other], ends[a][side]
    for name, (a, b) in ends.items():
        if wrong is None or wrong.sort != "open" or wrong.pieces[0][0] != name:
            graph.add_edge(a, b)
    if wrong is not None and wrong.sort == "join":
        graph.add_edge(wrong.points[0].name, wrong.points[1].name)
    return graph


def partition(loom: TableLoom, wrong: Wrong | None = None) -> set[frozenset[str]]:
    """All that any meter could tell: which points are joined."""
    points = {point.name for point in loom.points}
    return {frozenset(group & points) for group in nx.connected_components(copper(loom, wrong))} - {frozenset()}


def wrongs(loom: TableLoom) -> list[Wrong]:
    return [*loom.opens(), *loom.pairs(), *loom.swaps()]


def judge(loom: TableLoom) -> int:
    """Every wrong put in by networkx: the rows differ from the sound ones exactly where any meter would tell."""
    sound = partition(loom)
    unseen = set(loom.unseen)
    assert {frozenset(point.name for point in net.points) for net in loom.nets} == sound
    for wrong in wrongs(loom):
        told = partition(loom, wrong) != sound
        assert (loom.shows(wrong) != loom.sound) == told, (wrong.words, told)
        assert (wrong in unseen) == (not told), wrong.words
    return len(wrongs(loom))


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_every_open_join_and_swap_of_a_demonstration_changes_a_row(name: str) -> None:
    assert sum(judge(loom) for loom in demonstration(name)) > 1000


def test_every_open_join_and_swap_of_random_looms_changes_a_row() -> None:
    found = random_looms(0, RANDOM)
    assert sum(judge(loom) for loom in found) > 3000
    assert any(loom.unseen for loom in found)
    assert any(loom.joins for loom in found)


@pytest.mark.parametrize("loom", [*demonstration("rebuild.loom"), *demonstration("stock.loom"), *random_looms(0, 20)])
def test_a_loom_takes_one_row_less_than_it_has_points(loom: TableLoom) -> None:
    assert len(loom.touches) == len(loom.points) - 1
    assert len({(touch.net, touch.point) for touch in loom.touches}) == len(loom.touches)


def test_the_demonstrations_take_the_rows_and_the_moves_that_were_aimed_at() -> None:
    rebuild, stock = (demonstration(name) for name in DEMONSTRATIONS)
    assert sum(len(loom.touches) for loom in rebuild) == 168
    assert sum(len(loom.touches) for loom in stock) == 211
    assert [loom.loom.name for loom in rebuild][:2] == ["main", "C-PANEL"]
    for looms_ in (rebuild, stock):
        assert sum(loom.moves for loom in looms_) <= 20


def test_a_wrong_loom_is_named_among_few() -> None:
    for loom in demonstration("rebuild.loom")[1:]:
        for wrong in wrongs(loom):
            if wrong in loom.unseen:
                continue
            named = loom.explains(loom.shows(wrong))
            assert wrong in named, wrong.words
            # A join is found on the bar: which earlier net it is, unclipping tells.
            others = {each.points[1].name if each.sort == "join" else each.words for each in named}
            assert len(others) <= 3, (wrong.words, [each.words for each in named])


# W. H. Kautz, "Testing for Faults in Wiring Networks", IEEE Transactions on Computers C-23 (1974): p - 1 + ceil(log2 q)
# multiprobe tests always suffice and fewer do not, p points in the largest net, q nets, single ends counted as nets.
NETS = """loom "Four nets"
place here
connector C 7 ways 10 A at here
ground G at here
load L lamp at here { a 5 W: 1 2; b 5 W: 3 4 }
splice S at here
wire 1 C.1s to S red 1 mm2 0.3 m
wire 2 S to L.1 red 1 mm2 0.3 m
wire 3 S to C.2s red 1 mm2 0.3 m
wire 4 C.3s to L.2 blue 1 mm2 0.3 m
wire 5 C.4s to L.3 blue 1 mm2 0.3 m
wire 6 C.5s to L.4 blue 1 mm2 0.3 m
wire 7 C.6s to G blue 1 mm2 0.3 m
"""


def test_the_bound_of_kautz_stands_beside_the_rows() -> None:
    (loom,) = on_the_table(read_text(NETS, "nets.loom").harness)
    assert (max(len(net.points) for net in loom.nets), len(loom.nets)) == (3, 5)
    assert loom.kautz == 3 - 1 + 3  # by hand: log2 5 = 2.32
    assert len(loom.touches) == 10


@pytest.mark.parametrize("loom", [*demonstration("stock.loom"), *random_looms(0, 20)])
def test_nobody_with_one_meter_is_faster_than_the_bound(loom: TableLoom) -> None:
    largest = max(len(net.points) for net in loom.nets)
    assert loom.kautz == largest - 1 + math.ceil(math.log2(len(loom.nets)))
    assert loom.kautz <= len(loom.touches)


def test_kept_wires_are_left_out_and_named_where_they_join() -> None:
    main = demonstration("rebuild.loom")[0]
    assert dict(main.joins)["SP-KILL"] == ("27", "28", "29")
    assert not {"27", "28", "29"} & set(main.pieces)


def test_two_rings_on_one_stud_are_two_points_and_two_wires_in_one_crimp_are_one() -> None:
    main, *_ = demonstration("rebuild.loom")
    names = {point.name for point in main.points}
    assert {"FRAME (171)", "FRAME (51)"} <= names
    shared = next(point for point in main.points if point.name == "CTRL.O3")
    assert [name for name, _ in shared.ends] == ["132", "135.1"]


def test_at_a_battery_post_each_wire_has_a_ring_terminal_of_its_own() -> None:
    """16 mm2 and 4.6 mm2 go into no crimp together: each is a point on the table, and the eye looks for two rings."""
    known = Proof(read_file(str(SPECS / "stock.loom")).harness)
    looks = [row.expected.words for row in known.by_eye]
    assert "BAT.+: wire 1 and wire 2, each in its own ring terminal, all strands in it" in looks
    assert "BAT.-: wire 4 and wire 5, each in its own ring terminal, all strands in it" in looks
    assert not any(words.startswith("BAT.") and "in one crimp" in words for words in looks)
    assert "REAR.31: wires 72.2 and 73 in one crimp, all strands in it" in looks
    assert {"BAT.+ (1)", "BAT.+ (2)"} <= {point.name for loom in known.looms for point in loom.points}


RINGS = """loom "Rings"
place here
ground G at here
source BAT battery at here { voltage 12.6 V }
wire 1 BAT.- to G black 6 mm2 0.3 m
wire 2 BAT.- to G black 1 mm2 0.3 m
wire 3 BAT.- to G black 1 mm2 0.3 m
ends G, BAT stud M6
"""


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("", "BAT.-: wire 1, wire 2 and wire 3, each in its own ring terminal, all strands in it"),
        ("together 2 3 at BAT.-\n", "BAT.-: wire 1 and wires 2 and 3, each in its own ring terminal"),
        ("together 2 3 at BAT.-\n", "BAT.- (2, 3): wires 2 and 3 in one crimp, all strands in it"),
    ],
)
def test_wires_on_a_stud_are_in_one_crimp_where_the_text_says_so(more: str, said: str) -> None:
    looks = [row.expected.words for row in Proof(read_text(RINGS + more, "rings.loom").harness).by_eye]
    assert any(words.startswith(said) for words in looks), looks


def test_what_no_meter_tells_is_among_the_looks() -> None:
    text = NETS + "wire 8 C.1s to S red 1 mm2 0.3 m\n"  # beside wire 1
    proof = Proof(read_text(text, "nets.loom").harness)
    (loom,) = proof.looms
    assert {wrong.pieces[0][0] for wrong in loom.unseen if wrong.sort == "open"} == {"1", "8"}
    looks = [row.expected.words for row in proof.by_eye]
    assert "wire 1 is open, or not in its crimp: a meter cannot show it, since another path is in parallel" in looks
    assert any(words.startswith("net of S: a meter cannot tell these ends apart") for words in looks)
