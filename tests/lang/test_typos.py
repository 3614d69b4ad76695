"""One word mistyped is one mistake, on its line, with its correction; and hides no mistake elsewhere."""

from __future__ import annotations

from collections import Counter

import pytest
from typos import failing, typo

from loomwright.lang.diagnostics.diagnostic import Diagnostic
from loomwright.lang.diagnostics.spelling import nearest
from loomwright.lang.files.reading import read_text

SOUND = """\
place tray, bars
source BAT battery at tray { voltage 12.6 V }
fuse MAIN 20 A at tray
load HORN horn at bars { tone 40 W: + - }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.30 m
wire 2 MAIN.2 to HORN.+ red 2.5 mm2 0.30 m
"""


def mistakes(line: str) -> tuple[Diagnostic, ...]:
    return read_text(f"{SOUND}{line}\n").mistakes


def test_typos_are_told_where_they_are() -> None:
    """92 of 100 at least; `tests/nightly.py` asks the same of a thousand fresh ones."""
    told = Counter(failing(typo(seed)) for seed in range(60))
    assert told[""] >= 0.92 * 60, told


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("wire 9 BAT.- to MAIN..1 black 1 mm2 0.2 m", "`MAIN.1`"),
        ("wire 9 BAT-. to MAIN.1 black 1 mm2 0.2 m", "`BAT.-`"),
        ("wire 9 BAT. - to MAIN.1 black 1 mm2 0.2 m", "`BAT.-`"),
        ("wire 9 BAT- to MAIN.1 black 1 mm2 0.2 m", "`BAT.-`"),
        ("wire 9 BAT.- to MAIN:1 black 1 mm2 0.2 m", "`MAIN.1`"),
        ("wire 9 BAT.- to MAIN,1 black 1 mm2 0.2 m", "`MAIN.1`"),
        ("wire 9 BAT.- to .MAIN.1 black 1 mm2 0.2 m", "`MAIN.1`"),
        ("wire 9 BAT.- ot MAIN.1 black 1 mm2 0.2 m", "`to`"),
        ("wire 9 BAT.- to MAIN.1 black 1 mm 0.2 m", "`1 mm2`"),
        ("wire 9 BAT.- to MAIN.1 black 1 mm", "`1 mm2`"),
        ("wire 9 BAT.- to MAIN.1 black 28 x 0.30 m 0.2 m", "`28 x 0.30 mm`"),
        ("ground FRAME ta tray, bars", "`at`"),
        ("expect whenver (engine running): BAT live", "`whenever`"),
    ],
)
def test_the_correction_is_named(line: str, expected: str) -> None:
    (mistake,) = mistakes(line)
    assert (mistake.span.line, mistake.expected) == (7, expected)


@pytest.mark.parametrize(
    ("line", "meant"),
    [
        ("fuse F 5 A aat bars", "at"),
        ("fuse F 5 A at bars foor lighting", "for"),
        ("wire 9 BAT.- to MAIN.1 black 1 mm2 0.2 m cllass C", "class"),
        ("route tray bars 0.5 m ambent 60 degC", "ambient"),
    ],
)
def test_what_belongs_to_a_mistyped_word_is_no_second_mistake(line: str, meant: str) -> None:
    (mistake,) = mistakes(line)
    assert mistake.nearest == meant


def test_a_misspelt_declaration_is_told_at_the_declaration() -> None:
    text = SOUND.replace("place tray, bars", "place try, bars")
    (mistake,) = read_text(text).mistakes
    assert (mistake.kind, mistake.span.line, mistake.span.column) == ("misspelt-name", 1, 7)
    assert mistake.message == "`try` is named here, and 2 lines say `tray`"
    assert mistake.expected == "`tray` here, or `try` on those lines"
    assert (mistake.nearest, mistake.notes[0].span.line) == ("tray", 2)


def test_a_name_that_somebody_uses_is_no_misspelt_declaration() -> None:
    found = read_text(f"{SOUND}fuse A 5 A at try\nfuse B 5 A at try\n").mistakes
    assert [(m.kind, m.span.line, m.nearest) for m in found] == [
        ("unknown-place", 7, "tray"),
        ("unknown-place", 8, "tray"),
    ]


def test_one_use_and_one_declaration_are_told_at_the_use_and_shown_at_the_other() -> None:
    """Nothing tells which of two unlikely words is right."""
    found = read_text("place tray\nfuse FQX 5 A at tray\nmount FQY to FRAME\nground FRAME at tray\n").mistakes
    (mistake,) = found
    assert (mistake.kind, mistake.span.line, mistake.nearest) == ("unknown-part", 3, "FQX")
    assert [(note.text, note.span.line) for note in mistake.notes] == [("`FQX` is named here, and nothing uses it", 2)]


@pytest.mark.parametrize(
    "line",
    [
        "wire 9 HORNN.+ to MAIN.1 purpel 1 mm2 0.2 m",  # its name is plain, and it names no part HORNN
        "expect whenver engine running: HORNN live",
        "fsue HORN2 10 A at tray",
        "route tray HORNN 1 furlong",
    ],
)
def test_an_unreadable_line_hides_no_name_that_it_could_not_have_declared(line: str) -> None:
    found = mistakes(f"{line}\nwire 10 BAT.- to HORNN.- black 1 mm2 0.2 m")
    assert (8, "unknown-part", "HORN") in [(m.span.line, m.kind, m.nearest) for m in found]


@pytest.mark.parametrize("line", ["load HOR?NN horn at bars { tone 40 W: + - }", "lload HORNN horn at bars {", "load"])
def test_a_line_that_could_have_declared_a_name_is_the_only_one_told(line: str) -> None:
    found = mistakes(f"{line}\nwire 10 BAT.- to HORNN.- black 1 mm2 0.2 m")
    assert 8 not in {m.span.line for m in found}


@pytest.mark.parametrize(
    ("wrong", "known", "right"),
    [
        ("ar", ("at", "as"), "as"),  # as far from both: the first by name
        ("FRR", ("FR", "RR", "FL"), "FR"),  # a letter doubled is likelier than a wrong first one
        ("MIAN", ("MAIN", "MEAN"), "MAIN"),  # two letters exchanged, before one hit wrong
        ("P7", ("P1", "P2"), None),  # another digit is another thing
        ("x", ("m", "V"), None),
        ("Tray", ("tray", "trays"), "tray"),
        ("headstok", ("headstock", "headlamp"), "headstock"),
    ],
)
def test_the_nearest_name(wrong: str, known: tuple[str, ...], right: str | None) -> None:
    assert nearest(wrong, known) == right
