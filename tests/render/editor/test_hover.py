"""What a name or a word means, and what the harness does there."""

from __future__ import annotations

import pytest
from marked_text import LAMP, cut, understood

from loomwright.render.editor.hover import hover
from loomwright.render.editor.hover_wires import NOT_WORKED_OUT, settings_listed


def about(marked: str, text: str = LAMP) -> str:
    """What is stated of the place that is marked in a piece of the text."""
    whole, line, column = cut(text.replace(marked.replace("|", ""), marked, 1))
    assert whole == text
    known, file = understood(text)
    found = hover(known, file, line, column)
    return found.text if found is not None else ""


def test_a_wire() -> None:
    """5 W at 12 V are 0.417 A; a filament takes (12.6/12)^0.55 of that at 12.6 V: 0.428 A (arithmetic)."""
    said = about("wire |3 KEY")
    assert "`KEY.2` to `LAMP.1`, grey 1.5 mm2" in said
    assert "computed along the routes" in said
    assert "by tray - tail" in said
    assert "carries up to 0.42" in said
    assert "in state lit" in said
    assert "limited by `MAIN` (5 A): a fault draws up to 5 A continuous" in said
    assert "fed when KEY on" in said
    assert "by profile US boat law" in said


def shared_feed(circuits: int) -> str:
    """Lamps with a switch each on one fuse, all on in one state."""
    lines = ["source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }", "place tray"]
    lines += ["fuse MAIN 30 A blade at tray", "splice SP at tray", "wire A BAT.+ to MAIN.1 red 4 mm2 0.1 m"]
    lines.append("wire B MAIN.2 to SP red 4 mm2 0.2 m")
    for i in range(1, circuits + 1):
        lines.append(f"switch S{i} 5 A at tray {{ off: ; on: 1 2 }}")
        lines.append(f"load L{i} lamp at tray {{ glow 5 W: 1 2 }}")
        lines.append(f"wire {i}1 SP to S{i}.1 red 1 mm2 0.2 m")
        lines.append(f"wire {i}2 S{i}.2 to L{i}.1 grey 1 mm2 0.2 m")
        lines.append(f"wire {i}3 L{i}.2 to BAT.- black 1 mm2 0.2 m")
    settings = ", ".join(f"S{i} on" for i in range(1, circuits + 1))
    return 'loom "Shared"\n' + "\n".join(lines) + f"\nstate none {{ }}\nstate every {{ {settings} }}\n"


def test_of_many_controls_a_dozen_are_listed_and_first_those_that_decide() -> None:
    """15 times 5 W at 12 V are 6.25 A; 12.5 V are left behind 15 mohm and the feed, (12.5/12)^0.55 times that: 6.38
    A (arithmetic). Nobody reads hundreds of settings, and of one lamp's wire that of its switch says most.
    """
    text = shared_feed(15)
    first = ", ".join(f"S{i} on" for i in range(1, 13))
    assert f"**every**: {first} and 3 more controls moved\n" in about("state ever|y", text)
    assert settings_listed([(f"S{i}", "on") for i in range(1, 13)]) == first
    assert settings_listed([(f"S{i}", "on") for i in range(1, 14)]) == f"{first} and 1 more control moved"
    assert settings_listed([("S", "on")] * 1250).endswith(", S on and 1,238 more controls moved")
    unnamed = text.partition("state every")[0]
    assert f"carries up to 6.38 A with {first} and 3 more controls moved\n" in about("wire |B MAIN", unnamed)
    assert f"carries up to 6.38 A of 30 A, with {first} and 3 more controls moved" in about("fuse MA|IN", unnamed)
    own = "with S14 on, " + ", ".join(f"S{i} on" for i in range(1, 12)) + " and 3 more controls moved"
    assert f"carries up to 0.425 A {own}\n" in about("wire |142 S14", unnamed)


def test_a_wire_before_every_fuse() -> None:
    assert "no fuse protects it" in about("wire |1 BAT")


def test_a_return() -> None:
    said = about("wire |4 LAMP")
    assert "grounded always" in said
    assert "fed" not in said.partition("grounded")[0].rpartition("\n")[2]
    assert "no fuse has to protect it" in said


def test_a_terminal() -> None:
    assert "joined by wire 2 to `MAIN.2`" in about("to KEY.|1 red")
    assert "fed always" in about("to KEY.|1 red")
    assert "fed when KEY on" in about("to LAMP.|1 via")
    assert "`C1.2s`: no wire here" in about("capped C1.|2s", LAMP + "capped C1.2s\n")


def test_a_part_and_its_elements() -> None:
    said = about("switch K|EY")
    assert "- park: 1-3" in said
    assert "carries up to 0.42" in said
    assert "of 10 A" in said
    assert "`LAMP.lamp` live when KEY on" in about("load L|AMP")
    said = about("{ lam|p 5 W")
    assert "a filament lamp" in said
    assert "- lit: 12." in said
    assert "KEY on**: connects 1-2" in about("    o|n: 1 2")
    assert "wires here: `4`, `5`" in about("ground FRA|ME")


def test_a_label_is_shown_letter_for_letter() -> None:
    """A file that somebody sent can put no link, picture or markup into the editor."""
    text = LAMP.replace("ground FRAME at tray, tail", 'ground FRAME at tray, tail "![x](http://a.b) <b>*c*_d"')
    assert text != LAMP
    assert r"“\!\[x\]\(http\:\/\/a\.b\) \<b\>\*c\*\_d”" in about("ground FRA|ME", text)


def test_a_state() -> None:
    said = about("state li|t")
    assert "**lit**: KEY on" in said
    assert "live: `LAMP.lamp`" in said
    assert "`BAT` gives 0.42" in said


def test_a_place_and_a_rule() -> None:
    assert "here: `FRAME`, `C1`, `LAMP`" in about("place tai|l wet")
    assert "a place, wet" in about("place tai|l wet")
    said = about("waive un|sealed")
    assert "water" in said
    assert "By: " in said


@pytest.mark.parametrize(
    ("marked", "says"),
    [
        ("fu|se MAIN", "a fusible link"),
        ("5 A bla|de", "a blade fuse"),
        ("10 |A key", "a unit of current"),
        ("A ke|y at", "the ignition switch"),
        ("volt|age 12.6", "V at rest"),
        ("w|ire 1 BAT", "wire NAME END to END traits"),
        ("v|ia C1.1", "runs through this way"),
        ("expect whe|never", "in every position of everything else"),
    ],
)
def test_words(marked: str, says: str) -> None:
    assert says in about(marked)


def test_nothing_is_said_of_labels_and_comments() -> None:
    assert about('loom "A la|mp"') == ""
    assert about("# a fu|se", LAMP + "# a fuse\n") == ""


def test_figures_wait_for_a_sound_text() -> None:
    wrong = LAMP.replace("MAIN.2 to", "MAINE.2 to")
    said = about("wire |3 KEY", wrong)
    assert NOT_WORKED_OUT in said
    assert "carries" not in said
    assert " m, computed along the routes" in said


def test_everything_answers() -> None:
    """Whatever place of a sound harness is asked about, there is an answer or none, and never a fault."""
    known, file = understood(LAMP)
    spoken = sum(
        hover(known, file, number, column) is not None
        for number, row in enumerate(LAMP.split("\n"), 1)
        for column in range(1, len(row) + 2)
    )
    assert spoken > 400


NEW = LAMP + 'twisted 3, 4\nground RACK at tray\nmount RACK to FRAME\nwaive unsealed for C1 in lit because "dry"\n'
NEW += "ends KEY tab 6.3 mm\nhousing KEY 6 ways sealed\nspare-wire S1 from tray to tail black 1 mm2\n"


def test_what_a_wire_runs_with_and_what_a_ground_is_bolted_to() -> None:
    assert "twisted with `4`" in about("wire |3 KEY", NEW)
    assert "twisted" not in about("wire |1 BAT", NEW)
    assert "mounted on it: `RACK`" in about("ground |FRAME", NEW)


@pytest.mark.parametrize(
    ("marked", "said"),
    [
        ("|twisted 3", "twisted WIRE, WIRE"),
        ("C1 in |lit because", "**lit**: KEY on"),
        ("twisted |3, 4", "**wire 3**"),
        ("|ends KEY", "ends PART, …"),
        ("ends |KEY", "offers tab 6.3 mm"),
        ("ends KEY |tab", "push-on receptacle"),
        ("|housing KEY", "the loom has a housing for it"),
        ("housing |KEY", "plugs into a sealed housing of 6 ways"),
        ("spare-wire |S1", "spare-wire S1 from tray"),
    ],
)
def test_new_statements_are_told(marked: str, said: str) -> None:
    assert said in about(marked, NEW)


WINDINGS = (
    LAMP
    + """
source M alternator { winding light 45 W 0.6 ohm open 22 V short 6 A: 59 31; winding charge open 26 V of light: 61 59 31
    speeds 30 % 180 % }
rectifier R series { phases: U V W; output: B+ B- }
regulator L { shunts 13.5 V: 59 31 }
load B ignition for ignition { charge 5 W at 110 V exciter: X 31; stop-lead half: 2 31 }
load C ignition for ignition { primary 3.4 ohm 9 mH dwell 50 %: 15 1 }
load P ignition for ignition { pulse 0.8 ohm points: P 31; stop-lead: P 31 }
state flat-out { engine fast }
"""
)


@pytest.mark.parametrize(
    ("marked", "said"),
    [
        ("|winding light", "supplies alternating current; at running speed `open` V with no load"),
        ("|open 22 V", "with nothing connected: a meter on AC, the plug off"),
        ("|short 6 A", "into an ammeter across its ends"),
        ("|of light", "the winding that shares its core"),
        ("|speeds 30", "30 % and 180 % if left out"),
        ("R |series", "by disconnecting the phases"),
        ("|shunts 13.5", "limits an alternating winding to this voltage"),
        ("|exciter: X", "fed by an exciter winding"),
        ("stop-lead |half", "one half wave, from the lead to the return"),
        ("9 |mH", "a unit of inductance"),
        ("|dwell 50", "in which the points are closed"),
        ("ohm |points", "a magneto's primary with its points inside"),
        ("engine |fast", "most speed: counts as running"),
    ],
)
def test_words_of_windings_are_told(marked: str, said: str) -> None:
    assert said in about(marked, WINDINGS)
