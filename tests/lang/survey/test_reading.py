"""Survey files: what each line says, what is wrong with it, and its one layout."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.diagnostics.diagnostic import Diagnostic
from loomwright.lang.editing.formatter import tidy
from loomwright.lang.files.reading import read_text
from loomwright.lang.survey.reading import read_survey, read_survey_file
from loomwright.lang.survey.record import Arrangement, SeenColour, Shows, SurveyReading
from loomwright.lang.survey.words import is_survey
from loomwright.lang.vocabulary.statements import RESERVED, STATEMENTS

DIAGRAM = """loom "Small"
place bars, headstock
route bars headstock 0.4 m
source BAT battery at headstock
ground FRAME at headstock
switch KEY 10 A key at headstock { off: ; on: 30 15 }
load HORN horn at bars { horn 2 A: 1 2 }
connector C1 2 ways at headstock
wire 1 BAT.+ to KEY.30 red 1 mm2 1 m
wire 2 KEY.15 to HORN.1 via C1.1 orange/red 1 mm2 1 m
wire 3 HORN.2 to FRAME via C1.2 black 1 mm2 1 m
wire 4 BAT.- to FRAME black 4 mm2 1 m
"""
HEAD = 'survey "At the headstock" of "bike.loom" at headstock\nhalf P1 og/rd bk\nhalf P2 rd? - bk+bk\n'


def read(text: str, head: str = HEAD) -> SurveyReading:
    return read_survey(head + text, "survey.loom", load=lambda _: DIAGRAM)


def only(text: str, head: str = HEAD) -> Diagnostic:
    found = read(text, head).mistakes
    assert len(found) == 1, found
    return found[0]


def test_a_whole_survey() -> None:
    reading = read(
        "setup parts in, C1 apart\nbeeper 50 Ω\nknob SW of P1 up down\nfound P2 not C1.p\nfound P1.1 is C1.1s\n"
        "beeps P1.1 P2.1 FRAME\nsilent P1.2 P2.1 C1.2p\ntouched P1.1 over P1 P2: P2.3\nP1.1 P1.2 2.1 kohm with KEY on\n"
        "P1.1 P1.2 open with SW up, KEY off\none-way P1.1 P1.2\nhalf P3 pin mates P1 at bars ?/wh ? bk/?\n"
    )
    assert reading.mistakes == ()
    survey = reading.survey
    assert (survey.title, survey.relation, survey.diagram, survey.place) == (
        "At the headstock",
        "of",
        "bike.loom",
        "headstock",
    )
    assert survey.arrangement == Arrangement(apart=frozenset({"C1"}), parts_in=True)
    assert survey.beeper == 50.0
    assert [lead.colours for lead in survey.halves["P2"].leads] == [
        (SeenColour("red", "", sure=False),),
        (),
        (SeenColour("black"), SeenColour("black")),
    ]
    third = survey.halves["P3"]
    assert (third.side, third.mates, third.place) == ("pin", "P1", "bars")
    assert [lead.colours[0] for lead in third.leads] == [
        SeenColour(None, "white"),
        SeenColour(None, None),
        SeenColour("black", None),
    ]
    assert survey.halves["P1"].place == "headstock"
    assert survey.knobs["SW"].positions == ("up", "down")
    shown = [(each.shows, each.a.text, each.b.text, each.ohms, each.setting) for each in survey.readings]
    assert shown == [
        (Shows.BEEP, "P1.1", "P2.1", None, ()),
        (Shows.BEEP, "P1.1", "FRAME", None, ()),
        (Shows.SILENCE, "P1.2", "P2.1", None, ()),
        (Shows.SILENCE, "P1.2", "C1.2p", None, ()),
        (Shows.SILENCE, "P2.1", "C1.2p", None, ()),
        (Shows.SILENCE, "P1.1", "P1.2", None, ()),
        (Shows.SILENCE, "P1.1", "P2.1", None, ()),
        (Shows.BEEP, "P1.1", "P2.3", None, ()),
        (Shows.OHMS, "P1.1", "P1.2", 2100.0, (("KEY", "on"),)),
        (Shows.OPEN, "P1.1", "P1.2", None, (("KEY", "off"), ("SW", "up"))),
        (Shows.ONE_WAY, "P1.1", "P1.2", None, ()),
    ]


def test_the_defaults() -> None:
    survey = read("").survey
    assert (survey.arrangement, survey.beeper) == (Arrangement(apart=None, parts_in=False), 30.0)


def test_plug_is_read_as_half() -> None:
    assert read("plug P9 socket rd bk\n").survey.halves["P9"].side == "socket"


def test_the_order_of_lines_means_nothing() -> None:
    lines = ["knob SW of P1 up down\n", "beeps P1.1 P3.1 with SW up\n", "half P3 rd\n", "beeper 50 ohm\n"]
    assert read("".join(lines)).mistakes == read("".join(reversed(lines))).mistakes == ()


MISTAKES = {
    "halv P3 rd": ("unknown-statement", "no line of a survey begins with `halv`", "half"),
    "ohm 210 P1.1 P1.2": ("unknown-statement", "no line of a survey begins with `ohm`", None),
    "half P1 rd": ("duplicate-name", "`P1` is named twice", None),
    "half KEY rd": ("duplicate-name", "`KEY` is on the diagram already", None),
    "half FRAME rd": ("duplicate-name", "`FRAME` is on the diagram already", None),
    "half socket rd": ("reserved-name", "`socket` is a word of survey files", None),
    "half 1P rd": ("bad-name", "`1P` cannot be the name of a half", None),
    "half P3 rde": ("unknown-colour", "`rde` is no colour of the list", "red"),
    "half P3 rd socket": ("misplaced", "`socket` comes after the leads", None),
    "half P3 socket pin rd": ("repeated", "the side is stated twice", None),
    "half P3": ("unexpected-end", "this line ends too early", None),
    "half P3 at nowhere rd": ("unknown-place", "the diagram names no place `nowhere`", None),
    "half P3 mates P9 rd": ("unknown-name", "no half is named `P9`", None),
    "half P3 mates P3 rd": ("same-ends", "`P3` mates itself", None),
    "beeps P1.3 P1.1": ("unknown-terminal", "`P1` has no lead `3`", None),
    "beeps P1 P2.1": ("unknown-terminal", "`P1` is a half, not a lead", None),
    "beeps P2.2 P1.1": ("misplaced", "way 2 of `P2` is empty by its line", None),
    "beeps P7.1 P1.1": ("unknown-name", "`P7.1` is no point of this survey", "P2.1"),
    "beeps C1.3p P1.1": ("unknown-name", "`C1.3p` is no point of this survey", "C1.2p"),
    "beeps P1.1 P1.1": ("same-ends", "`P1.1` is touched with itself", None),
    "beeps P1.1": ("unexpected-end", "this line ends too early", None),
    "one-way P1.1 P1.2 P2.1": ("unexpected-word", "`P2.1` does not fit here", None),
    "touched P1.1 over P2: P1.2": ("misplaced", "`P1.2` is no lead of `P2`", None),
    "touched P1.1 over P2:": ("unexpected-end", "this line ends too early", None),
    "touched P1.1 on P2: P2.1": ("unexpected-word", "`on` does not fit here", None),
    "beeps P1.1 P1.2 with KEY of": ("unknown-position", "`KEY` has no position `of`", "off"),
    "beeps P1.1 P1.2 with KYE on": (
        "unknown-control",
        "`KYE` is no control of the diagram and no knob of this survey",
        "KEY",
    ),
    "beeps P1.1 P1.2 with KEY": ("unexpected-word", "`KEY` does not fit here", None),
    "beeps P1.1 P1.2 with KEY on, KEY off": ("repeated", "`KEY` is in one position at a time", None),
    "P1.1 P1.2 210": ("missing-unit", "`210` has no unit", None),
    "P1.1 P1.2 210 V": ("wrong-dimension", "`V` is no unit of resistance", None),
    "P1.1 P1.2 210 ohms": ("unknown-unit", "`ohms` is no unit of resistance", None),
    "P1.1 P1.2 210ohm": ("glued-unit", "`210ohm` sticks to its unit", None),
    "P1.1 P1.2 -3 ohm": ("out-of-range", "-3 ohm is no resistance that a meter shows", None),
    "P1.1 P1.2 2,1 ohm": ("unknown-unit", "`,` is no unit of resistance", None),
    "beeper 0 ohm": ("out-of-range", "0 ohm is no resistance that a meter shows", None),
    "setup everything apart, parts in": ("unknown-part", "the diagram has no connector `everything`", None),
    "setup C1 apart": ("misplaced", "with the parts out, every connector is apart", None),
    "setup": ("unexpected-end", "this line ends too early", None),
    "knob SW of P1 up up": ("repeated", "`SW` has 2 positions, or one of them twice", None),
    "knob SW P1 up down": ("unexpected-word", "`P1` does not fit here", None),
    "found P1 is C2.p": ("unknown-part", "the diagram has no half or part `C2.p`", "C1.p"),
    "found P1.1 is C1.7p": ("unknown-terminal", "the diagram has no end `C1.7p`", "C1.2p"),
    "found P1 was C1.p": ("unexpected-word", "`was` does not fit here", None),
    'survey "Again"': ("repeated", "`survey` is stated twice", None),
    'half P3 "rd': ("unclosed-string", 'a text begins here and has no second `"`', None),
    "half P3 rd\x00": ("control-character", "the character U+0000, which no keyboard writes", None),
}


@pytest.mark.parametrize("line", MISTAKES)
def test_a_mistake_costs_its_own_line(line: str) -> None:
    kind, message, near = MISTAKES[line]
    found = only(f"{line}\n")
    assert (found.kind, found.message, found.nearest) == (kind, message, near)
    assert found.expected or found.remedy
    assert found.span.line == HEAD.count("\n") + 1
    assert read(f"{line}\n").survey.halves.keys() >= {"P1", "P2"}


def test_what_names_a_lost_half_is_not_reported_again() -> None:
    found = only("half P3 rde bk\nbeeps P3.1 P1.1\nknob SW of P3 up down\nbeeps P1.1 P1.2 with SW up\n")
    assert found.kind == "unknown-colour"


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        ('survey "T" of "gone.loom"\n', "unreadable-use"),
        ('survey "T" of "../bike.loom"\n', "outside-use"),
        ('survey "T" of bike\n', "unexpected-word"),
        ("survey\n", "unexpected-end"),
        ('loom "T"\n', "missing-word"),
        ("", "missing-word"),
    ],
)
def test_without_its_diagram_the_rest_is_still_read(head: str, kind: str) -> None:
    def gone(path: Path) -> str:
        raise FileNotFoundError(path)

    reading = read_survey(f"{head}half P1 rd bk\nbeeps P1.1 FRAME\n", "survey.loom", load=gone)
    assert kind in [mistake.kind for mistake in reading.mistakes]
    assert (len(reading.survey.readings), reading.survey.harness) == (1, None)


def test_a_harness_is_no_survey() -> None:
    found = [mistake for mistake in read_survey(DIAGRAM).mistakes if mistake.kind == "missing-word"]
    assert [mistake.message for mistake in found] == ["this is a harness and no survey"]


def test_a_survey_is_no_harness() -> None:
    (found,) = read_text(HEAD).mistakes
    assert (found.kind, found.message) == ("survey-file", "this is a survey, not a harness")


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        ('survey "T"', True),
        ('# c\n\n  survey "T"', True),
        ('\ufeffsurvey "T"', True),
        ("surveys", False),
        ('loom "T"\nsurvey', False),
        ("", False),
    ],
)
def test_a_survey_begins_with_its_word(text: str, is_one: bool) -> None:
    assert is_survey(text) is is_one


def test_the_words_of_surveys_reserve_nothing() -> None:
    assert not {"survey", "setup", "half", "knob", "found", "beeps", "silent", "touched", "beeper"} & {
        *STATEMENTS,
        *RESERVED,
    }
    assert not read_text(DIAGRAM.replace("HORN", "half").replace("KEY", "survey")).mistakes


UNTIDY = (
    'survey  "At the headstock"  of "bike.loom" # where\r\nplug P1  socket ORANGE/red   gray  - BK+bk vt? # five\r\n'
    "\r\n  half P2 rde\r\nP1.1  P1.2 210 Ω\r\ntouched P1.1 over P1 : P1.2\r\nbeeps P1.1 P1.2 with KEY on ,SW up"
)
TIDY = (
    'survey "At the headstock" of "bike.loom" # where\r\nhalf P1 socket ORANGE/red gray - BK+bk vt? # five\r\n'
    "\r\n  half P2 rde\r\nP1.1 P1.2 210 ohm\r\ntouched P1.1 over P1: P1.2\r\nbeeps P1.1 P1.2 with KEY on ,SW up\r\n"
)


def test_the_one_layout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bike.loom").write_text(DIAGRAM)
    untidy = UNTIDY.replace("ORANGE", "orange").replace(",SW up", ",  HORN  press")
    # A line with a mistake stays letter for letter: a colour and a control that are none.
    tidied = TIDY.replace("ORANGE/red gray - BK+bk", "og/rd gy - bk+bk").replace(",SW up", ",  HORN  press")
    assert tidy(untidy, "survey.loom") == tidied
    assert tidy(tidied, "survey.loom") == tidied


_SPOKEN = (
    'survey "T" of "bike.loom" half plug P1 P2 P1.1 P1.2 FRAME C1.1p og/rd ? - bk+bk vt? mates at bars socket knob SW '
    "up found is not C1.s beeps silent touched over : , with KEY on 210 ohm open one-way setup all apart parts in out "
    'beeper # none é \u200b "'
)
_WORDS = st.sampled_from(_SPOKEN.split())


@given(st.lists(st.lists(_WORDS, max_size=8).map(" ".join), max_size=12).map("\n".join))
def test_no_text_ends_in_a_traceback_and_tidying_keeps_what_it_says(text: str) -> None:
    reading = read_survey(text, "survey.loom", load=lambda _: DIAGRAM)
    rows = text.split("\n")
    for mistake in reading.mistakes:
        assert mistake.expected or mistake.remedy
        assert 1 <= mistake.span.line <= len(rows)
    if is_survey(text):
        assert tidy(tidy(text)) == tidy(text)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(OSError, match=r"gone\.loom: no such file"):
        read_survey_file(tmp_path / "gone.loom")


def test_the_survey_of_the_reference_page_is_read() -> None:
    root = Path(__file__).parents[3]
    page = (root / "lang" / "REFERENCE.md").read_text("utf-8")
    (example,) = [block for block in page.split("```text\n")[1:] if block.startswith("survey ")]
    text = example.partition("```")[0]
    stock = (root / "specs" / "stock.loom").read_text("utf-8")
    reading = read_survey(text, "survey.loom", load=lambda _: stock)
    assert reading.mistakes == ()
    assert len(reading.survey.halves) == 4
    assert len(reading.survey.readings) == 14  # of which the sweep is eight
