"""What the text says for the bench: read into the model, laid out, and told when it is wrong."""

from __future__ import annotations

import pytest

from loomwright.lang.editing.formatter import tidy
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Connector
from loomwright.lang.model.wires import End

BENCH = """
place tray, bars, tail
route tray bars 1 m
route tray tail 0.5 m
source BAT battery at tray
ground FRAME at tray
fuse F 10 A blade at tray
splice SP at tray
load L 21 W lamp at bars { lamp 21 W: 1 2 }
connector C 3 ways at bars
wire 1 BAT.+ to F.1 red 2 mm2
wire 2 F.2 to L.1 red 1 mm2
wire 3 L.2 to FRAME black 1 mm2
"""


def sound(text: str) -> Harness:
    reading = read_text(text, "bench.loom")
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    return reading.harness


def length(text: str, wire: str = "2") -> float | None:
    return sound(text).wires[wire].segments[0].length


# --- lengths ----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("change", "metres"),
    [
        ("", 1.0 * 1.05 + 0.15),
        ("wires slack 8 %\n", 1.0 * 1.08 + 0.15),
        ("wires class B slack 0 %\n", 1.0 + 0.15),
    ],
)
def test_slack_of_all_wires(change: str, metres: float) -> None:
    assert length(BENCH + change) == pytest.approx(metres)


def test_a_route_may_have_its_own_slack_and_a_part_its_own_leg() -> None:
    text = BENCH.replace("bars 1 m", "bars 1 m slack 12 %").replace("L 21 W lamp", "L 21 W lamp leg 20 cm")
    assert length(text + "wires slack 8 %\n") == pytest.approx(1.12 + 0.075 + 0.20)
    assert length(text, "1") == pytest.approx(0.15)  # no route, no leg stated


def test_a_wire_is_led_past_places() -> None:
    harness = sound(BENCH.replace("2 F.2 to L.1 red", "2 F.2 to L.1 past tail red"))
    piece = harness.wires["2"].segments[0]
    assert (harness.wires["2"].past, piece.route) == (("tail",), ("tray", "tail", "tray", "bars"))
    assert piece.length == pytest.approx(2.0 * 1.05 + 0.15)


def test_a_route_says_its_cover() -> None:
    covers = [
        route.cover
        for route in sound(BENCH.replace("0.5 m", "0.5 m flexing braid").replace("bars 1 m", "bars 1 m tape")).routes
    ]
    assert covers == ["tape", "braid"]


# --- what the bench gets ----------------------------------------------------------------------------------------------
def test_what_terminals_offer() -> None:
    fitting = sound(
        BENCH + "ends BAT stud M8: +\nends F, L tab 6.3 mm\nends FRAME stud M6\nends C pin 1.5 mm\n"
    ).fitting
    assert (offer := fitting.at(End("BAT", "+"))) is not None
    assert (offer.what, offer.thread, offer.size) == ("stud", 8, None)
    assert fitting.at(End("BAT", "-")) is None
    assert (offer := fitting.at(End("L", "2"))) is not None
    assert (offer.what, offer.thread, offer.size) == ("tab", None, pytest.approx(0.0063))
    assert fitting.at(End("FRAME")) is not None
    assert fitting.at(End("C", "3")) is not None


def test_housings_faces_crimps_and_spare_wires() -> None:
    text = BENCH.replace("C 3 ways at bars", "C 3 ways at bars { face: 1 -, 3 2 }")
    harness = sound(text + "housing L 2 ways sealed\ntogether 2 4 at L.1\nwire 4 F.2 to L.1 red 1 mm2 site-cut\n")
    assert isinstance(part := harness.parts["C"], Connector)
    assert part.face == (("1", "-"), ("3", "2"))
    assert (housing := harness.fitting.housing("L")) is not None
    assert (housing.ways, housing.sealed) == (2, True)
    assert harness.fitting.beside("4", End("L", "1")) == ("2",)
    assert harness.fitting.beside("4", End("F", "2")) == ()
    assert (harness.wires["4"].site_cut, harness.wires["2"].site_cut) == (True, False)
    spare = sound(BENCH + "spare-wire S1 from tray to tail black 1 mm2\n").fitting.spare_wires[0]
    assert (spare.name, spare.a, spare.b, str(spare.colour), spare.wire_class) == ("S1", "tray", "tail", "black", "A")


# --- mistakes ---------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("ends X stud M8", "unknown-part"),
        ("ends BAT stud M8: 3", "unknown-terminal"),
        ("ends BAT stud", "missing-word"),
        ("ends BAT M8", "missing-word"),
        ("ends BAT tab", "missing-word"),
        ("ends BAT stud M9", "unknown-word"),
        ("ends BAT tab 6.3 mm M8", "misplaced"),
        ("ends BAT bare 3 mm", "misplaced"),
        ("ends BAT tab 6.3 m", "out-of-range"),
        ("ends BAT stud M8; ends BAT stud M6: +", "repeated"),
        ("ends SP bare", "one-node"),
        ("ends FRAME stud M6: 1", "one-node"),
        ("ends C stud M6", "misplaced"),
        ("ends", "unexpected-end"),
        ("housing L 1 ways", "out-of-range"),
        ("housing L sealed", "missing-word"),
        ("housing C 3 ways", "misplaced"),
        ("housing L 2 ways; housing L 3 ways", "repeated"),
        ("together 2 at L.1", "terminal-count"),
        ("together 2 3 at L.1", "not-at-end"),
        ("together 2 X at L.1", "unknown-name"),
        ("together 2 2 at L.1", "repeated"),
        ("spare-wire S1 from tray to tray", "same-places"),
        ("spare-wire S1 from tray to attic", "unknown-place"),
        ("spare-wire 2 from tray to tail", "duplicate-name"),
        ("spare-wire S1 from tray to tail 3 m", "wrong-dimension"),
        ("splice S2 at tray leg 0.1 m", "misplaced"),
        ("wire 9 F.2 to L.1 past attic", "unknown-place"),
        ("wire 9 F.2 to L.1 past", "unexpected-end"),
        ("wire 9 F.2 to L.1 via C.1 past tail", "misplaced"),
        ("place attic; wire 9 F.2 to L.1 past attic", "unreached-place"),
        ("fuse G 5 A; wire 9 G.2 to L.1 past tail", "unreached-place"),
        ("connector D 2 ways { face: 1 3 }", "unknown-terminal"),
        ("connector D 2 ways { face: 1 1 }", "terminal-count"),
        ("connector D 2 ways { face: 1 }", "terminal-count"),
        ("wires", "missing-word"),
        ("wires slack -3 %", "out-of-range"),
        ("route bars tail 1 m tape braid", "repeated"),
    ],
)
def test_mistakes(line: str, kind: str) -> None:
    found = read_text(f"{BENCH}{line}\n", "bench.loom").mistakes
    assert [mistake.kind for mistake in found] == [kind]
    assert found[0].expected


def test_the_nearest_word_is_named() -> None:
    found = read_text(BENCH + "ends BAT studd M8\n", "bench.loom").mistakes
    assert found[0].nearest == "stud"


@pytest.mark.parametrize(
    ("written", "first"),
    [
        ("ends  BAT ,F  M8 stud :  +", "ends BAT, F stud M8: +"),
        ("ends F 6.3 mm tab", "ends F tab 6.3 mm"),
        ("housing L sealed 2 ways", "housing L 2 ways sealed"),
        ("spare-wire S1 from tray to tail 1 mm2 BK", "spare-wire S1 from tray to tail black 1 mm2"),
        ("wire 9 F.2 to L.1 site-cut 1 mm2 past tail red", "wire 9 F.2 to L.1 past tail red 1 mm2 site-cut"),
        ("route bars tail slack 8 % tape 1 m", "route bars tail 1 m tape slack 8 %"),
        ("fuse G leg 0.1 m 5 A at tray", "fuse G 5 A at tray leg 0.1 m"),
        ("together  2   3 at  L.1", "together 2 3 at L.1"),
    ],
)
def test_one_layout(written: str, first: str) -> None:
    assert tidy(f"{BENCH}{written}\n", "bench.loom").endswith(f"\n{first}\n")
