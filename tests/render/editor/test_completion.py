"""What can be at the cursor."""

from __future__ import annotations

from pathlib import Path

import pytest
from marked_text import LAMP, cut, understood
from spec_files import harnesses

from loomwright.lang.files.reading import library_names
from loomwright.lang.quantities.units import is_number
from loomwright.lang.vocabulary.colours import COLOURS
from loomwright.render.editor.completion import completion

SPECS = harnesses((Path(__file__).parents[3] / "specs").glob("*.loom"))


def offers(marked: str) -> list[str]:
    """What is offered at the cursor of some lines behind the sound harness."""
    text, line, column = cut(LAMP + marked)
    known, file = understood(text)
    return [offer.text for offer in completion(known, file, line, column).offers]


@pytest.mark.parametrize("spec", SPECS, ids=lambda path: path.stem)
def test_all_that_was_written_was_offered(spec: Path) -> None:
    """At the beginning of each word of a harness that word is among the offers, names that it gives itself aside."""
    known, file = understood(spec.read_text(encoding="utf-8"), spec.name, spec.parent)
    given = {m.span for m in known.mentions[file] if m.defines} | {
        m.span for m in known.mentions[file] if m.sort == "old"
    }
    asked, missing = 0, []
    for number, line in enumerate(known.syntaxes[file].lines, 1):
        for piece in line.pieces:
            for token in piece.tokens:
                column = token.column or 1
                if token.type not in ("WORD", "END", "STRIPED") or is_number(token.value):
                    continue
                if any(span.line == number and span.column == column for span in given):
                    continue
                if token.value.startswith(("dark-", "light-")):
                    continue  # shades are offered once their first letter is there
                behind = max(token.value.find(mark) for mark in "./") + 1
                found = completion(known, file, number, column + behind)
                asked += 1
                if all(offer.text.split(" ")[0] != token.value for offer in found.offers) or found.column != column:
                    missing.append((number, token.value))
    assert asked > 900
    assert missing == []


@pytest.mark.parametrize(
    ("marked", "expected"),
    [
        ("fuse F 20 |", ["A", "mA"]),
        ("fuse F 20 A blows 35 |", ["A", "mA"]),
        ("route tray tail 0.5 m ambient 60 |", ["degC"]),
        ("load X { a 20 |", ["W", "A", "mA", "ohm", "mohm", "kohm", "mH"]),
        ("load X { a 21 W lamp duty 40 |", ["%"]),
        ("load X { a 21 W lamp at 6 |", ["V", "mV"]),
        ("relay X { coil 20 ohm at 6 |", ["V", "mV"]),
        ("source B battery { capacity 14 |", ["Ah"]),
        ("wire 9 KEY.3 to LAMP.1 red 28 x 0.30 |", ["mm"]),
        ("fuse F 20 A at |", ["tray", "tail"]),
        ("ground G at tray, |", ["tray", "tail"]),
        ("mount LAMP.2 to |", ["FRAME"]),
        ("mount LAMP.2 to FRAME through |", ["bearings", "paint", "rubber", "hinge"]),
        ("wire 9 KEY.| ", ["KEY.1", "KEY.2", "KEY.3"]),
        ("wire 9 C1.| ", ["C1.1s", "C1.1p", "C1.2s", "C1.2p"]),
        ("wire 9 KEY.3 to LAMP.1 via C1.|", ["C1.1", "C1.2"]),
        ("wire 9 KEY.3 to LAMP.1 class |", ["A", "B", "C", "D", "E", "F", "G", "H"]),
        ("wire |", ["6"]),
        ("expect in |", ["lit"]),
        ("expect in lit: LAMP |", ["live", "dead", "at least", "at most"]),
        ("expect whenever KEY off: LAMP |", ["live", "dead"]),
        ("expect whenever KEY |", ["off", "on", "park"]),
        ("expect whenever not |", ["KEY", "engine"]),
        ("state parked { KEY |", ["off", "on", "park"]),
        ("state parked { engine |", ["off", "cranking", "idling", "running", "fast"]),
        ("switch S senses clutch at tray { |", ["rests", "out", "in"]),
        ("switch KEY2 { rests |", []),
        ("judge unsealed |", ["error", "warning", "note", "off"]),
        ("fuse |", []),
        ("fuse F 20 A # at |", []),
        ('load X "at |', []),
    ],
)
def test_offers(marked: str, expected: list[str]) -> None:
    assert offers(marked) == expected


def test_only_patterns_of_the_kind() -> None:
    patterns = "pattern load turn-lamp { turn 21 W lamp: L 31 }\npattern fuse small 5 A\n"
    assert offers(patterns + "load FL at tail as |") == ["turn-lamp"]
    assert offers(patterns + "fuse F at tail as |") == ["small"]


def test_words_are_said_once() -> None:
    assert "blade" in offers("fuse F 20 A |")
    assert not {"blade", "glass"} & {*offers("fuse F 20 A blade |")}
    assert "tail-lamp" in offers("load X lamp dip-beam |")  # of roles there may be several
    assert not {*COLOURS} & {*offers("wire 9 KEY.3 to LAMP.1 red |")}


def test_only_the_words_of_the_kind() -> None:
    assert "senses" in offers("switch S |")
    assert "senses" not in offers("fuse S |")
    assert "sealed" in offers("connector C9 2 ways |")
    assert "sealed" not in offers("meter M |")


def test_a_battery_has_no_lines_of_a_machine() -> None:
    assert offers("source B battery {\n    |") == ["voltage", "capacity", "resistance"]
    assert "output" in offers("source B dynamo {\n    |")


def test_stripes() -> None:
    found = offers("wire 9 KEY.3 to LAMP.1 red/|")
    assert "red/white" in found
    assert all(offer.startswith("red/") and offer != "red/red" for offer in found)
    assert "dark-green" in offers("wire 9 KEY.3 to LAMP.1 d|")


def test_inputs_of_a_unit() -> None:
    unit = "unit U at tray {\n    supply: 1 2\n    input horn fed: 3\n    latch l: set when horn, cleared when horn\n"
    assert offers(f"{unit}    output o 5 A: 4 when |\n}}\n") == ["horn", "l", "not"]


def test_what_a_state_can_name_of_a_unit() -> None:
    unit = (
        "unit U at tray {\n    supply: 1 2\n    input horn fed: 3\n    input pick signal: 4 5\n"
        "    latch l: set when horn, cleared when horn\n}\n"
    )
    assert [each for each in offers(f"{unit}state s {{ |") if each.startswith("U.")] == ["U.l", "U.pick"]
    assert offers(f"{unit}state s {{ U.pick |") == ["idle", "active"]
    assert offers(f"{unit}state s {{ U.l |") == ["cleared", "set"]
    assert offers(f"{unit}state s {{ U.horn |") == []


def test_patterns_that_come_along() -> None:
    assert offers("use |") == [*library_names()]


def test_rules_with_what_they_catch() -> None:
    text, line, column = cut(f"{LAMP}waive |")
    known, file = understood(text)
    found = {offer.text: offer.detail for offer in completion(known, file, line, column).offers}
    assert "water" in found["unsealed"]


def test_files_to_use(tmp_path: Path) -> None:
    (tmp_path / "parts").mkdir()
    (tmp_path / ".hidden").mkdir()
    for name in ("heated.loom", "parts/more.loom", ".hidden/no.loom", "notes.txt"):
        (tmp_path / name).write_text("")
    text, line, column = cut(f'{LAMP}use "|')
    known, file = understood(text, folder=tmp_path)
    found = completion(known, file, line, column)
    assert [offer.text for offer in found.offers] == ["heated.loom", "parts/more.loom"]
    assert found.column == column


def test_what_is_being_written_is_replaced() -> None:
    text, line, column = cut(f"{LAMP}wire 9 KEY.3 to LA|")
    known, file = understood(text)
    assert completion(known, file, line, column).column == column - len("LA")


def test_a_block_that_nobody_closed_ends_at_the_next_statement() -> None:
    assert offers("switch S {\n    off:\nfuse F 20 |") == ["A", "mA"]


@pytest.mark.parametrize(
    ("marked", "wanted"),
    [
        ("tw|", "twisted"),
        ("twisted |", "1"),
        ("twisted 1, |", "2"),
        ("load X lamp always |", "in"),
        ("load X lamp always in |", "KEY"),
        ("load X lamp always in KEY |", "off"),
        ("waive unsealed for C1 |", "in"),
        ("waive unsealed for C1 in |", "lit"),
        ("waive unsealed for C1 in lit |", "because"),
        ("ends |", "KEY"),
        ("ends KEY |", "stud"),
        ("ends KEY stud |", "M8"),
        ("ends KEY tab 6.3 |", "mm"),
        ("ends KEY tab 6.3 mm: |", "2"),
        ("housing |", "KEY"),
        ("housing KEY 2 |", "ways"),
        ("together 1 |", "at"),
        ("together |", "1"),
        ("spare-wire S1 |", "from"),
        ("spare-wire S1 from |", "tray"),
        ("spare-wire S1 from tray to bars |", "black"),
        ("wire 9 KEY.15 to FRAME past |", "tray"),
        ("wire 9 KEY.15 to FRAME |", "site-cut"),
        ("wires |", "slack"),
        ("wires class |", "B"),
        ("route tray bars 1 m |", "braid"),
        ("load X lamp |", "leg"),
        ("mount FRAME to |", "FRAME"),
        ("unit U at tray {\n    latch x: |", "toggled"),
        ("unit U at tray {\n    latch x: toggled |", "when"),
        ("unit U at tray {\n    output x 1 A |", "after"),
        ("unit U at tray {\n    output x 1 A pulsing 30 |", "%"),
    ],
)
def test_new_words_are_offered_where_they_can_stand(marked: str, wanted: str) -> None:
    assert wanted in offers(marked)


def test_a_pair_is_offered_no_wire_twice() -> None:
    assert "1" not in offers("twisted 1, |")
    assert "on" not in offers("load X lamp always in KEY |")


TWO = "source M alternator {\n    winding light 45 W: 59 31\n    winding charge 30 W: 61 59 31\n}\n"


@pytest.mark.parametrize(
    ("marked", "wanted"),
    [
        (TWO.replace("30 W:", "30 W |:"), {"open", "short", "of", "floating"}),
        (TWO.replace("30 W:", "30 W of |:"), {"light"}),
        (TWO.replace("    winding charge", "    |winding charge"), {"winding", "phases", "speeds"}),
        (TWO.replace("45 W:", "open 22 |:"), {"V", "mV"}),
        ("load X ignition { stop-lead |: 2 31 }", {"half"}),
        ("load X ignition { p 3 ohm |: 15 1 }", {"points", "exciter", "dwell"}),
        ("rectifier R |{ phases: U V W }", {"series", "shunt"}),
        ("source S alternator { phases |: U V W }", {"open", "short"}),
        ("state flat-out { engine |}", {"fast"}),
    ],
)
def test_words_of_windings_are_offered(marked: str, wanted: set[str]) -> None:
    assert wanted <= set(offers(marked))
