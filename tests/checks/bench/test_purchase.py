"""What to buy, the shelf, and the plan of spools beside its bound."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.checks.bench.looms import looms
from loomwright.checks.bench.pieces import pieces
from loomwright.checks.bench.purchase import Item, purchase, restripes, with_shelf
from loomwright.checks.bench.shelf import Shelf, read_shelf, unknown
from loomwright.checks.bench.spools import BOUGHT, Cut, Plan, Unplanned, plan
from loomwright.checks.bench.spreadsheet import SheetError
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).parents[3] / "specs"
BIKE = """
place tray, bars
route tray bars 1 m loose
source BAT battery at tray kept
ground FRAME at tray kept
fuse F 10 A blade at tray
fuse G 10 A blade at tray kept
splice SP at tray
load L 21 W lamp at bars { lamp 21 W: 1 2 }
relay K 30 A at tray { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
connector C 3 ways 10 A sealed at bars
wire 1 BAT.+ to F.1 red 2 mm2
wire 2 F.2 to SP red 1 mm2
wire 3 SP to L.1 via C.1 red/blue 1 mm2
wire 4 FRAME to L.2 via C.2 black 1 mm2
wire 5 FRAME to L.2 via C.2 black 1 mm2 kept
wire 6 SP to K.86 red 1 mm2
ends BAT stud M8
ends F, K tab 6.3 mm
ends L bullet 3.9 mm
ends C pin 1.5 mm
ends FRAME stud M6
housing K 6 ways sealed
"""


def bought(text: str = BIKE) -> dict[str, Item]:
    reading = read_text(text, "bike.loom")
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    harness = reading.harness
    return {item.name: item for item in purchase(harness, looms(harness, pieces(harness)))}


def test_everything_that_is_new_is_bought() -> None:
    found = bought()
    amounts = {name: item.need for name, item in found.items() if item.kind != "wire"}
    assert amounts == {
        "bullet 3.9 mm for 1 mm2": 1,
        "bullet 3.9 mm for 2 mm2": 1,
        "crimp splice for 3 mm2 in all": 1,
        "pin contact 1.5 mm for 1 mm2": 1,
        "pin contact 1.5 mm for 2 mm2": 1,
        "push-on 6.3 mm for 1 mm2": 2,
        "push-on 6.3 mm for 2 mm2": 1,
        "ring M6 for 1 mm2": 1,
        "ring M8 for 2 mm2": 1,
        "socket contact 1.5 mm for 1 mm2": 1,
        "socket contact 1.5 mm for 2 mm2": 1,
        "seal for a core of 2.1 mm": 5,
        "housing for K, 6 ways, sealed": 1,
        "pin housing, 3 ways, 10 A, sealed": 1,
        "socket housing, 3 ways, 10 A, sealed": 1,
        "blanking plug for a way of a 10 A connector": 2,
        "blanking plug for the housing of K": 5,
        "tie": 8,
        "adhesive-lined heat-shrink for a splice": 1,
        "blade fuse 10 A": 2,
        "lamp 12 V 21 W for L": 1,
        "relay 30 A for K": 1,
    }
    assert found["black 1 mm2 class A"].need == pytest.approx(1.265 + 0.165)
    assert found["blade fuse 10 A"].spare == 1


def test_a_kind_with_one_short_piece_could_have_another_stripe() -> None:
    text = BIKE + "sensor Q at tray { signal 1 ohm: 1 2 }\nload M 1 W led at tray { lamp 1 W: 1 2 }\n"
    text += "wire 8 Q.1 to M.1 red/green 1 mm2\nwire 9 SP to K.85 red 1 mm2\n"
    harness = read_text(text, "bike.loom").harness
    new = [piece for loom in looms(harness, pieces(harness)) for piece in loom.pieces]
    assert [(each.kind, each.piece, each.instead) for each in restripes(new)] == [
        ("red/green 1 mm2 class A", "8", ("red 1 mm2 class A", "red/blue 1 mm2 class A"))
    ]


def test_a_spare_piece_asks_for_no_other_stripe() -> None:
    text = BIKE + "place near\nroute tray near 0.3 m\nwire 9 SP to K.85 red 1 mm2\n"
    text += "spare-wire S1 from tray to near red/green 1 mm2\n"
    harness = read_text(text, "bike.loom").harness
    new = [piece for loom in looms(harness, pieces(harness)) for piece in loom.pieces]
    assert [piece.name for piece in new if piece.spare] == ["S1"]
    assert restripes([piece for piece in new if piece.name != "3"]) == ()


# --- the shelf --------------------------------------------------------------------------------------------------------
ITEMS = (Item(kind="wire", name="red 1 mm2 class A", need=3.2), Item(kind="tie", name="tie", need=12))


def shelf(text: str) -> Shelf:
    return read_shelf(text.encode(), "shelf.csv", ITEMS)


def test_a_shelf_is_read_with_its_spools_apart() -> None:
    found = shelf("item,have,unit,pack\nred 1 mm2 class A,1.5,m,10\nred 1 mm2 class A,0.5,m,10\nties,20,pieces,\n")
    assert found.have == {"red 1 mm2 class A": (1.5, 0.5), "ties": (20.0,)}
    assert found.packs == {"red 1 mm2 class A": 10.0}
    assert unknown(found, ITEMS) == (("ties", "tie"),)


def test_a_spreadsheet_may_part_by_semicolons_and_begin_with_a_mark() -> None:
    assert read_shelf("\ufeffItem;Have;Unit\r\ntie;3;pieces\r\n".encode(), "shelf.csv", ITEMS).have == {"tie": (3.0,)}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "shelf.csv: this is empty"),
        ("item,have\n", "shelf.csv:1: the column `unit` is not there"),
        ("item,have,unit,colour\n", "shelf.csv:1: unknown column `colour`: expected some of item, have"),
        ("item,have,unit,have\n", "shelf.csv:1: the column `have` is there twice"),
        ("item,have,unit\ntie,3,kg\n", "shelf.csv:2: unknown unit `kg`: expected m or pieces"),
        ("item,have,unit\ntie,3,m\n", "shelf.csv:2: `tie` is needed in pieces, found m"),
        ("item,have,unit\ntie,many,pieces\n", "shelf.csv:2: `many` in the column `have` is no amount"),
        ("item,have,unit\ntie,-1,pieces\n", "shelf.csv:2: `-1` in the column `have` is no amount"),
        ("item,have,unit\ntie,nan,pieces\n", "is no amount"),
        ("item,have,unit\ntie,1e9,pieces\n", "is no amount"),
        ("item,have,unit,pack\ntie,1,pieces,0\n", "`0` in the column `pack` is no amount"),
        ("item,have,unit,pack\ntie,1,pieces,5\ntie,1,pieces,6\n", "shelf.csv:3: `tie` is sold in two packs"),
        ("item,have,unit\n,3,pieces\n", "shelf.csv:2: the column `item` is empty"),
        ("item,have,unit\ntie,3,pieces,4\n", "shelf.csv:2: this row has 4 cells, and the header 3"),
        ("item,have,unit\n\0\n", "is no CSV"),
    ],
)
def test_a_shelf_that_cannot_be_used_is_refused(text: str, said: str) -> None:
    with pytest.raises(SheetError) as error:
        shelf(text)
    assert said in str(error.value)


def test_a_shelf_that_is_no_text_is_refused() -> None:
    with pytest.raises(SheetError, match="not UTF-8"):
        read_shelf(b"item,have,unit\n\xff\xfe,1,m\n", "shelf.csv", ITEMS)


def test_what_is_missing_is_rounded_up_to_packs() -> None:
    wire, tie = with_shelf(ITEMS, {"red 1 mm2 class A": 2.0, "tie": 20.0}, {"red 1 mm2 class A": 5.0})
    assert (wire.buy, wire.left) == (5.0, pytest.approx(3.8))
    assert (tie.buy, tie.left) == (0.0, 8.0)
    assert [line.buy for line in with_shelf(ITEMS, {}, {})] == [4.0, 12.0]  # whole metres, whole pieces


# --- spools -----------------------------------------------------------------------------------------------------------
def cuts(*lengths: float) -> list[Cut]:
    return [Cut(piece=str(number), length=length) for number, length in enumerate(lengths)]


def least_by_trying(lengths: list[int], shelf: list[int], pack: int, new: int) -> float:
    """The least cost of all ways to cut whole decimetres."""
    spools = [*shelf, *([pack] * new)]
    best = float("inf")
    for chosen in itertools.product(range(len(spools)), repeat=len(lengths)):
        rests = [*spools]
        for length, spool in zip(lengths, chosen, strict=True):
            rests[spool] -= length
        if min(rests) >= 0:
            used = set(chosen)
            bought = sum(spools[spool] for spool in used if spool >= len(shelf))
            short = sum(rests[spool] for spool in used if 0 < rests[spool] < 3)
            best = min(best, BOUGHT * bought / 10 + short / 10)
    return best


def parts_of(name: str) -> set[str]:
    harness = read_file(SPECS / f"{name}.loom").harness
    return {item.name for item in purchase(harness, looms(harness, pieces(harness))) if item.kind == "part"}


def test_a_part_is_bought_by_its_figures() -> None:
    assert {
        "resistor R-FIELD, 62 ohm 5 W",
        "LED FL, 3 W",  # whose pattern says what its element is, not what it is
        "LED HEAD, 20 W and 25 W",
        "LED WARN, 6 x 0.25 W",
        "switch START, 1 A",
        "unit CTRL, Solid-state control unit",
    } <= parts_of("rebuild")
    assert {
        "flasher FLASH, 40 W to 50 W thermal",
        "horn HORN, 2.5 A",
        "ignition coil COIL-LEFT, 4.2 ohm",
        "regulator REG, 5 A 14.2 V, Field regulator",
        "diode D-NEUT, 3 A, Keeps the neutral lamp dark when only the clutch is in",
    } <= parts_of("stock")


@settings(max_examples=12, deadline=None)
@given(
    st.lists(st.integers(1, 9), min_size=1, max_size=5),
    st.lists(st.integers(3, 14), max_size=2),
    st.integers(9, 15),
)
def test_no_plan_is_better(lengths: list[int], shelf: list[int], pack: int) -> None:
    found = plan("red", cuts(*(length / 10 for length in lengths)), [each / 10 for each in shelf], pack / 10)
    assert isinstance(found, Plan)
    assert sorted(cut.piece for spool in found.spools for cut in spool.cuts) == [str(n) for n in range(len(lengths))]
    assert all(spool.rest >= -1e-9 for spool in found.spools)
    assert found.cost == pytest.approx(least_by_trying(lengths, shelf, pack, len(lengths)))
    assert found.bound <= found.cost + 1e-9
    assert found.gap <= 1e-6


def test_the_solver_is_asked_where_counting_does_not_do() -> None:
    found = plan("red", cuts(0.6, 0.5, 0.5, 0.4), [1.1, 1.0], 5.0)  # by rule 0.6 + 0.4 leave 0.1 m; 0.6 + 0.5 do not
    assert isinstance(found, Plan)
    assert sorted(spool.rest for spool in found.spools) in ([0.0, 0.1], [0.0, 0.0, 0.0])
    assert (found.bought, found.gap) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("lengths", "there", "pack", "why"),
    [
        ((6.2,), (), 5.0, "piece 0 is longer than every spool"),
        ((2.0,), (1.0,), 0.0, "the shelf has no spool that holds piece 0, and says no `pack`"),
        ((2.0, 2.0), (3.0,), 0.0, "the shelf has too little"),
        ((1.0,) * 250, (), 1.0, "more than 200 spools"),
    ],
)
def test_what_cannot_be_planned_says_why(
    lengths: tuple[float, ...], there: tuple[float, ...], pack: float, why: str
) -> None:
    found = plan("red", cuts(*lengths), there, pack)
    assert isinstance(found, Unplanned)
    assert why in found.why
