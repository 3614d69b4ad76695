"""The board: true lengths, legs that keep apart, loops opened at their least used stretch; judged by networkx."""

from __future__ import annotations

import math
import re
from collections import Counter
from itertools import combinations, pairwise
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given
from looms_of_any_shape import LOOMS

from loomwright.checks.bench.board import PITCH, Board, board
from loomwright.checks.bench.looms import looms
from loomwright.checks.bench.pegs import pegs
from loomwright.checks.bench.pieces import pieces
from loomwright.checks.bench.tree import CannotLayError, Leg, Limb, LoomTree, loom_trees
from loomwright.checks.tables.bench import bench_figure
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness

SPECS = Path(__file__).parents[3] / "specs"
FILES = [SPECS / "stock.loom", SPECS / "rebuild.loom", *sorted(SPECS.glob("small/*.loom"))]


def harness(text: str) -> Harness:
    reading = read_text(text, "bike.loom")
    assert reading.mistakes == ()
    return reading.harness


def trees(made: Harness) -> tuple[LoomTree, ...]:
    found = pieces(made)
    return loom_trees(made, looms(made, found), found)


def at(laid: Board) -> dict[tuple[str, str, str], tuple[float, float]]:
    """Where the peg list has each thing, as it is printed: to a tenth of a mm."""
    return {(p.sort, p.name, p.place): (round(p.at[0], 1), round(p.at[1], 1)) for p in pegs(laid)}


def check_lengths(made: Harness, laid: Board) -> None:
    """Every stretch, leg and gap between splices of the peg list is within 1 mm of the text's."""
    where = at(laid)
    lengths = {frozenset((route.a, route.b)): route.length * 1000 for route in made.routes}
    for each in laid.frame.courses:
        a, b = (where["place", place, place] for place in each.places)
        assert math.dist(a, b) == pytest.approx(lengths[frozenset(each.places)], abs=1.0)
    for tooth in laid.teeth:
        of = tooth.wanted.of
        if isinstance(of, Leg):
            peg, tip = where["place", tooth.place, tooth.place], where["leg end", of.name, tooth.place]
            way = laid.frame.along[tooth.place]
            dx, dy = tip[0] - peg[0], tip[1] - peg[1]
            run = abs(dx * way[0] + dy * way[1]) + abs(dx * way[1] - dy * way[0])  # along the loom, then off it
            assert run == pytest.approx(of.length * 1000 + tooth.over, abs=1.0)
            assert tooth.over >= -1e-6
            assert bool(tooth.over > 0.5) == any(
                p.note for p in pegs(laid) if (p.name, p.place) == (of.name, tooth.place)
            )
    for one, other in combinations(laid.teeth, 2):
        alike = abs(one.direction[0] * other.direction[0] + one.direction[1] * other.direction[1]) > 0.999
        if one.place == other.place and alike and math.dist(one.foot, other.foot) > 0.1:
            assert math.dist(one.foot, other.foot) >= PITCH - 0.1


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_peg_list_has_the_lengths_of_the_text(path: Path) -> None:
    made = read_file(path).harness
    for tree in trees(made):
        laid = board(tree)
        check_lengths(made, laid)
        assert all(0 <= p.at[0] <= laid.width and 0 <= p.at[1] <= laid.height for p in pegs(laid))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_piece_is_in_one_loom_with_both_its_ends(path: Path) -> None:
    made = read_file(path).harness
    found = pieces(made)
    ends: Counter[str] = Counter()
    passed: Counter[str] = Counter()
    for tree in trees(made):
        for spot in tree.spots.values():
            ends.update(piece.name for leg in spot.legs for piece in leg.pieces)
            for piece in spot.inside:
                assert set(piece.route) == {spot.place}
        for course in (*tree.courses, *tree.opened):
            passed.update(course.new.pieces if course.new is not None else ())
            passed.update(course.kept)
    splices = Counter(
        piece.name for piece in found for end in piece.ends if end.end and made.parts[end.end.part].kind == "splice"
    )
    assert {p.name: ends[p.name] + splices[p.name] for p in found} == {p.name: 2 for p in found}
    assert passed == Counter({p.name: len(p.route) - 1 for p in found if len(p.route) > 1})


def test_kept_wires_are_in_no_diameter() -> None:
    made = read_file(SPECS / "rebuild.loom").harness
    kept = {piece.name for piece in pieces(made) if piece.kept}
    courses = [course for tree in trees(made) for course in tree.courses]
    assert all(course.new is None or not kept & set(course.new.pieces) for course in courses)
    assert {name for course in courses for name in course.kept} <= kept
    engine = next(course for course in trees(made)[0].courses if course.b == "engine")
    assert (engine.new, engine.kept) == (None, ("3", "4"))


# --- trees -----------------------------------------------------------------------------------------------------------
LOOP = """loom "loop"
place a, b, c, d
route a b 0.40 m
route b c 0.30 m
route a c 0.50 m
route c d 0.20 m
ground G at d
splice A at a
splice B at b
splice C at c
wire 1 A to B red 1 mm2
wire 2 A to B red 1 mm2
wire 3 B to C red 1 mm2
wire 4 B to C red 1 mm2
wire 5 A to C red 1 mm2
wire 6 C to G black 1 mm2
"""


def test_a_loop_is_opened_at_its_least_used_stretch_and_both_ends_say_so() -> None:
    (tree,) = trees(harness(LOOP))
    assert [(course.a, course.b) for course in tree.opened] == [("a", "c")]
    assert tree.trunks == (Limb(("a", "b", "c", "d")),)
    laid = board(tree)
    ends = [(p.place, p.name, p.note) for p in pegs(laid) if p.sort == "loop end"]
    assert ends == [
        ("a", "a - c", "500 mm to c in all, opened here"),
        ("c", "a - c", "500 mm to a in all, opened here"),
    ]


def test_splices_of_a_place_lie_on_both_sides_of_its_peg_and_at_an_end_on_one() -> None:
    text = 'loom "x"\nplace a, b, c\nroute a b 1 m\nroute b c 1 m\n'
    text += "".join(f"splice {place.upper()}{i} at {place}\n" for place in "abc" for i in range(3))
    text += "".join(f"wire {i} A{i} to B{i} red 1 mm2\nwire {i + 3} B{i} to C{i} red 1 mm2\n" for i in range(3))
    laid = at(board(trees(harness(text))[0]))
    apart = bench_figure("between_splices").value * 1000.0
    pegs_at = {place: laid["place", place, place] for place in "abc"}
    (ax, ay), (bx, by), (cx, _) = (pegs_at[place] for place in "abc")
    assert (ay, bx - ax, cx - bx) == (by, 1000.0, 1000.0)
    off = {
        place: [round(laid["splice", f"{place.upper()}{i}", place][0] - pegs_at[place][0], 1) for i in range(3)]
        for place in "abc"
    }
    quarter = apart / 4.0
    assert off["b"] == [quarter, -3.0 * quarter, 5.0 * quarter]
    assert off["a"] == [quarter, 5.0 * quarter, 9.0 * quarter]
    assert off["c"] == [-quarter, -5.0 * quarter, -9.0 * quarter]


def limbs(limb: Limb) -> list[Limb]:
    return [limb, *(each for branch in limb.branches for each in limbs(branch))]


@given(LOOMS)
def test_any_tree_of_places_lies_in_its_true_lengths(text: str) -> None:
    """The trunk is the longest way of all, told by networkx; what is laid joins every place once."""
    made = harness(text)
    for tree in trees(made):
        whole = nx.Graph()
        whole.add_weighted_edges_from((course.a, course.b, course.length) for course in tree.courses)
        assert nx.is_forest(whole)
        uses = {frozenset((c.a, c.b)): len(c.new.pieces) for c in (*tree.courses, *tree.opened) if c.new is not None}
        for course in tree.opened:
            on_the_loop = pairwise(nx.shortest_path(whole, course.a, course.b))
            assert uses[frozenset((course.a, course.b))] <= min(uses[frozenset(pair)] for pair in on_the_loop)
        laid = board(tree)
        check_lengths(made, laid)
        assert set(laid.frame.pegs) == set(tree.spots)
        for trunk in tree.trunks:
            found = dict(
                nx.all_pairs_dijkstra_path_length(whole.subgraph(nx.node_connected_component(whole, trunk.way[0])))
            )
            longest = max(length for lengths in found.values() for length in lengths.values())
            assert nx.path_weight(whole, trunk.way, "weight") == pytest.approx(longest)
            edges = [frozenset(pair) for limb in limbs(trunk) for pair in pairwise(limb.way)]
            assert len(edges) == len(set(edges)) == len(found) - 1


def test_a_place_with_scores_of_legs_is_a_comb_all_the_same() -> None:
    """Legs for which there is no room within their length say so, and keep apart like the others."""
    text = 'loom "many"\nplace a, b\nroute a b 0.5 m\nsplice S at a\n'
    text += "".join(f"switch T{n} at a {{ x: 1 2 }}\nwire W{n} S to T{n}.1 red 1 mm2\n" for n in range(90))
    text += "splice E at b\nwire WE S to E red 1 mm2\n"
    made = harness(text)
    laid = board(trees(made)[0])
    assert len(laid.teeth) == 90
    check_lengths(made, laid)
    noted = [peg for peg in pegs(laid) if peg.note]
    assert "measure 75 mm from the peg of a" in noted[0].note
    assert len([peg for peg in pegs(laid) if peg.sort == "leg end"]) - len(noted) == 18  # nine to each side, 60 mm off


def test_branches_leave_to_alternate_sides() -> None:
    text = 'loom "fish"\nplace a, b, c, d, e, f\nroute a b 0.5 m\nroute b c 0.5 m\nroute c d 0.5 m\nroute b e 0.3 m\n'
    text += "route c f 0.3 m\nsplice A at a\n" + "".join(
        f"splice {place.upper()} at {place}\nwire {n} A to {place.upper()} red 1 mm2\n"
        for n, place in enumerate("bcdef")
    )
    laid = board(trees(harness(text))[0]).frame
    level = laid.pegs["a"][1]
    assert {laid.pegs[place][1] for place in "abcd"} == {level}
    assert [laid.pegs[place][1] - level for place in "ef"] == [pytest.approx(300), pytest.approx(-300)]


# --- what cannot be laid ---------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("where", "wire", "said"),
    [
        ("", "1 m", "1: F has no place: write `at PLACE` on its line"),
        ("at b", "1 m", "1: no routes lead from a to b: write `route a b LENGTH`"),
        ("at a", "kept", "no loom to lay: every wire is kept"),
    ],
)
def test_what_cannot_be_laid_is_said_with_the_remedy(where: str, wire: str, said: str) -> None:
    lines = f"place a, b\nfuse F 5 A blade {where}\nsplice S at a\nwire 1 S to F.1 red 1 mm2 {wire}\n"
    with pytest.raises(CannotLayError, match=re.escape(said)):
        trees(harness(f'loom "lost"\n{lines}'))


def test_without_a_wire_there_is_nothing_to_lay() -> None:
    with pytest.raises(CannotLayError, match="no loom to lay: the harness has no wire"):
        trees(harness('loom "empty"\nplace a\nsplice S at a\n'))
