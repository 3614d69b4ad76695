"""Pieces, looms and stretches: lengths by hand, and routes against networkx."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.checks.bench.looms import looms
from loomwright.checks.bench.pieces import Piece, owed, pieces, why_no_length
from loomwright.checks.bench.stretches import stretches
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness

SPECS = Path(__file__).parents[3] / "specs"

BENCH = """
place tray, bars, tail
route tray bars 1 m flexing braid
route tray tail 0.5 m tape
source BAT battery at tray leg 0.10 m
ground FRAME at tray
fuse F 10 A blade at tray
splice SP at tray
load L 21 W lamp at bars leg 0.20 m { lamp 21 W: 1 2 }
load T 5 W lamp at tail { lamp 5 W: 1 2 }
connector C 3 ways sealed at bars
wire 1 BAT.+ to F.1 red 2 mm2
wire 2 F.2 to SP red 1 mm2
wire 3 SP to L.1 via C.1 red/blue 1 mm2
wire 4 FRAME to L.2 via C.2 black 1 mm2 site-cut
wire 5 SP to T.1 red/blue 1 mm2
wire 6 T.2 to FRAME black 1 mm2
ends BAT stud M8
ends F tab 6.3 mm
ends L bullet 3.9 mm
ends C pin 1.5 mm
ends FRAME stud M6
"""


def sound(text: str) -> Harness:
    reading = read_text(text, "bench.loom")
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    return reading.harness


def made(text: str) -> dict[str, Piece]:
    return {piece.name: piece for piece in pieces(sound(text))}


@cache
def rebuild() -> Harness:
    return read_file(SPECS / "rebuild.loom").harness


# --- lengths ----------------------------------------------------------------------------------------------------------
def test_finished_and_cut_lengths_by_hand() -> None:
    found = made(BENCH)
    # legs 0.10 + 0.075; both ends crimped: strips 8 and 6 mm; shorter than 0.2 m: no second crimp
    assert found["1"].finished == pytest.approx(0.175)
    assert found["1"].cut == pytest.approx(0.190)
    # 1 m, 5 % slack, half of 0.15 m at the splice and at the plug; strips 12 and 5 mm; one end to crimp again
    assert found["3.1"].finished == pytest.approx(1.05 + 0.15)
    assert found["3.1"].cut == pytest.approx(1.245)
    # in one place: 0.075 + 0.20 m; 5 and 6 mm; two ends to crimp again
    assert found["3.2"].finished == pytest.approx(0.275)
    assert found["3.2"].cut == pytest.approx(0.340)
    # the same, and 0.2 m since it is cut on the motorcycle
    assert found["4.2"].cut == pytest.approx(0.540)


def test_a_twisted_wire_is_longer_and_a_written_length_holds() -> None:
    found = made(BENCH + "twisted 5, 6\n")
    assert found["5"].finished == pytest.approx((0.525 + 0.15) * 1.08)
    written = made(BENCH.replace("wire 5 SP to T.1 red/blue 1 mm2", "wire 5 SP to T.1 red/blue 1 mm2 0.9 m"))
    assert written["5"].finished == pytest.approx(0.9)


def test_a_part_that_comes_off_for_service_gets_a_loop_and_a_written_length_holds() -> None:
    """Common practice, from memory: 50 mm at a part that plugs in by itself."""
    found = made(BENCH + "housing T 4 ways\n")
    assert found["5"].finished == pytest.approx(0.525 + 0.15 + 0.05)
    text = BENCH.replace("wire 5 SP to T.1 red/blue 1 mm2", "wire 5 SP to T.1 red/blue 1 mm2 0.9 m")
    assert made(text + "housing T 4 ways\n")["5"].finished == pytest.approx(0.9)


def test_an_end_that_is_owed_is_reckoned_with_the_longest_strip() -> None:
    found = made(BENCH)
    assert found["5"].b.crimp is None
    assert found["5"].cut == pytest.approx(0.72)  # 0.675 + 12 mm + 8 mm + 25 mm for the one end


def test_what_goes_on_the_ends() -> None:
    found = made(BENCH + "wire 7 L.2 to FRAME black 1 mm2\ntogether 4 7 at FRAME\n")
    names = [
        end.crimp.name if end.crimp else "" for piece in ("1", "2", "3.1", "3.2", "4.2") for end in found[piece].ends
    ]
    assert names == [
        "ring M8", "push-on 6.3 mm",
        "push-on 6.3 mm", "crimp splice",
        "crimp splice", "socket contact 1.5 mm",
        "pin contact 1.5 mm", "bullet 3.9 mm",
        "pin contact 1.5 mm", "bullet 3.9 mm",
    ]  # fmt: skip
    assert (found["3.1"].b.sealed, found["3.1"].b.seal, found["1"].a.sealed) == (True, 2.1, False)
    assert found["4.1"].a.beside == ("7",)  # one crimp on the stud, since the text says so
    assert found["6"].b.beside == ()  # its own ring on the stud
    assert found["4.2"].b.beside == ("7",)  # one bullet: there is room for one


def test_what_is_owed_is_counted_once() -> None:
    more = "place attic\nfuse G 5 A at attic\nwire 8 SP to G.1 red 1 mm2\nfuse H 5 A\nwire 9 SP to H.1 red 1 mm2\n"
    harness = sound(BENCH.replace("wire 5 SP to T.1 red/blue 1 mm2", "wire 5 SP to T.1") + more)
    found = pieces(harness)
    said = {each.what: each.names for each in owed(harness, found)}
    assert said == {
        "length": ("8", "9"),
        "size": ("5",),
        "colour": ("5",),
        "ends": ("T.1", "T.2", "G.1", "H.1"),
        "face": ("C",),
    }
    reasons = [why_no_length(harness, piece) for piece in found if piece.finished is None]
    assert reasons[0].startswith("no routes lead from tray to attic: write `route tray attic LENGTH`")
    assert reasons[1].startswith("H has no place: write `at PLACE` on its line")


def test_the_demonstration_owes_nothing() -> None:
    assert owed(rebuild(), pieces(rebuild())) == ()


@st.composite
def networks(draw: st.DrawFn) -> list[tuple[int, int, int]]:
    count = draw(st.integers(2, 7))
    edges = {(draw(st.integers(0, n - 1)), n): draw(st.integers(1, 40)) for n in range(1, count)}
    for _ in range(draw(st.integers(0, 5))):
        a, b = sorted(draw(st.lists(st.integers(0, count - 1), min_size=2, max_size=2, unique=True)))
        edges.setdefault((a, b), draw(st.integers(1, 40)))
    return [(a, b, length) for (a, b), length in edges.items()]


@settings(max_examples=25)
@given(networks(), st.data())
def test_a_spare_wire_runs_as_networkx_finds_the_way(edges: list[tuple[int, int, int]], data: st.DataObject) -> None:
    graph = nx.Graph()
    graph.add_weighted_edges_from(edges)
    a, b = data.draw(st.lists(st.sampled_from(sorted(graph)), min_size=2, max_size=2, unique=True))
    slack = data.draw(st.integers(0, 20))
    text = f"wires slack {slack} %\nplace {', '.join(f'p{node}' for node in sorted(graph))}\n"
    text += "".join(f"route p{x} p{y} {length} cm\n" for x, y, length in edges)
    piece = pieces(sound(f"{text}spare-wire S from p{a} to p{b} red 1 mm2\n"))[0]
    ways = list(nx.all_shortest_paths(graph, a, b, weight="weight"))
    metres = nx.shortest_path_length(graph, a, b, weight="weight") / 100
    if len(ways) > 1:
        assert piece.finished is None
    else:
        assert piece.route == tuple(f"p{node}" for node in ways[0])
        assert piece.finished == pytest.approx(metres * (1 + slack / 100) + 0.15)


# --- looms ------------------------------------------------------------------------------------------------------------
def test_a_connector_parts_two_looms() -> None:
    harness = sound(BENCH)
    found = looms(harness, pieces(harness))
    assert [
        (loom.name, [piece.name for piece in loom.pieces], [half.name for half in loom.halves]) for loom in found
    ] == [
        ("main", ["1", "2", "3.1", "4.1", "5", "6"], ["C socket"]),
        ("C", ["3.2", "4.2"], ["C pin"]),
    ]


def test_the_rebuild_falls_into_eight_looms() -> None:
    found = looms(rebuild(), pieces(rebuild()))
    assert {loom.name for loom in found} == {
        "main", "C-PANEL", "C-LEFT", "C-TAIL", "C-RIGHT", "C-HEAD", "C-KEY", "C-ENGINE"
    }  # fmt: skip
    assert not [piece.name for loom in found for piece in loom.pieces if piece.kept]
    assert sum(len(loom.pieces) for loom in found) == len([p for p in pieces(rebuild()) if not p.kept])


def test_a_wire_that_no_plug_parts_is_of_the_loom_beside_it() -> None:
    more = "switch S 1 A at bars { off: ; on: 1 2 }\nsensor Q at tray { signal 10 ohm: 1 2 }\n"
    harness = sound(f"{BENCH}{more}wire 8 S.1 to Q.1 red 1 mm2\n")
    assert [len(loom.pieces) for loom in looms(harness, pieces(harness))] == [7, 2]


def test_a_harness_without_wires_has_no_loom() -> None:
    assert looms(sound("place tray\n"), ()) == ()


# --- stretches --------------------------------------------------------------------------------------------------------
def test_what_lies_in_a_stretch() -> None:
    harness = sound(BENCH)
    bars, tail = stretches(harness, pieces(harness))
    assert (bars.a, bars.b, bars.pieces, bars.cover, bars.flexing) == ("tray", "bars", ("3.1", "4.1"), "braid", True)
    assert bars.sizes == (("1 mm2", 2),)
    assert (bars.tight, bars.loose) == (4.2, 4.2)  # two cores of 2.1 mm side by side
    assert bars.bend == pytest.approx(42.0)
    assert bars.copper == pytest.approx(2 * 1.05 * 8.96e-3, rel=0.01)
    assert (tail.pieces, tail.length) == (("5", "6"), 0.5)


def test_kept_wires_are_in_no_stretch() -> None:
    harness = sound(BENCH.replace("wire 5 SP to T.1 red/blue 1 mm2", "wire 5 SP to T.1 red/blue 1 mm2 kept"))
    assert stretches(harness, pieces(harness))[1].pieces == ("6",)
