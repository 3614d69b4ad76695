"""What the language could not say: grounds bolted together, what is meant for one position or state, old colours."""

from __future__ import annotations

from pathlib import Path

import pytest
from checked_text import BENCH, TODAY, about, findings
from spec_files import harnesses

from loomwright.checks.behaviour.keys import key_out, keys, stop_controls
from loomwright.checks.fmea.failure_modes import opens
from loomwright.checks.runner.run import check
from loomwright.checks.study import Study
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.diagnostics.diagnostic import Diagnostic
from loomwright.lang.editing.formatter import tidy
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.parts import Switch
from loomwright.lang.resolve.conditions import A_CONTROL
from loomwright.lang.vocabulary.colours import IEC_60757
from loomwright.lang.vocabulary.statements import RESERVED, STATEMENTS

HERE = Path(__file__).parent
ROOT = HERE.parent.parent


def mistakes(text: str) -> tuple[Diagnostic, ...]:
    return read_text(BENCH + text, "bench.loom").mistakes


def only(text: str) -> Diagnostic:
    (mistake,) = mistakes(text)
    return mistake


# --- grounds joined body to body --------------------------------------------------------------------------------------
ENGINE = """
ground ENGINE at bars
load STARTER motor at bars for starting { armature 40 A: 30 31 }
load HORN horn at bars { horn 3 A: 1 2 }
switch BTN 60 A momentary at bars { rest: ; on: 1 2 }
wire 1 BAT.+ to BTN.1 red 16 mm2 0.5 m
wire 2 BTN.2 to STARTER.30 red 16 mm2 0.5 m
wire 3 KEY.2 to HORN.1 red 1 mm2 0.5 m
wire 4 HORN.2 to ENGINE black 1 mm2 0.5 m
mount STARTER.31 to ENGINE
"""


def test_two_bodies_of_ground_are_one_return_when_one_is_bolted_to_the_other() -> None:
    assert {f.about[0] for f in findings("floating-ground", ENGINE)} == {"STARTER", "HORN"}
    assert findings("floating-ground", ENGINE + "mount ENGINE to FRAME\n") == ()
    assert findings("unreliable-ground", ENGINE + "mount ENGINE to FRAME\n") == ()


def test_a_joint_between_bodies_that_nobody_should_rely_on_is_said() -> None:
    (found,) = findings("unreliable-ground", ENGINE + "mount ENGINE to FRAME through paint\n")
    assert found.about == ("ENGINE", "STARTER", "HORN")
    assert "paint" in found.message
    assert "from ENGINE to FRAME" in found.to_do
    # Near miss: a strap beside it.
    beside = ENGINE + "mount ENGINE to FRAME through paint\nwire S ENGINE to FRAME black 16 mm2 0.3 m\n"
    assert findings("unreliable-ground", beside) == ()


def test_the_joint_is_a_branch_that_can_fail_by_a_name_of_its_own() -> None:
    text = BENCH + ENGINE + "ground RACK at tray\nmount ENGINE to FRAME\nmount ENGINE to RACK through rubber\n"
    circuit = build_circuit(read_text(text).harness)
    joints = [b for b in circuit.branches if b.key.startswith("mount ENGINE")]
    assert [(b.key, b.a, b.b, b.part, b.reliable) for b in joints] == [
        ("mount ENGINE to FRAME", "ENGINE", "FRAME", "ENGINE", True),
        ("mount ENGINE to RACK through rubber", "ENGINE", "RACK", "ENGINE", False),
    ]
    assert {b.key for b in joints} <= {b.key for b in opens(circuit)}


def test_what_cannot_be_bolted_is_said() -> None:
    assert only("splice SP at tray\nmount SP to FRAME\n").kind == "not-a-ground"
    assert only("mount FRAME to FRAME\n").kind == "same-ends"
    assert only("mount FRAME to BAT\n").kind == "not-a-ground"
    wrong = only("mount FRAMES to FRAME\n")
    assert (wrong.kind, wrong.nearest) == ("unknown-part", "FRAME")


# --- always in one position -------------------------------------------------------------------------------------------
PARK = """
switch KEY2 10 A key at tray {{ off: {off}; on: 1 2; park: 1 2 }}
load TAIL lamp at tail{always} {{ tail 5 W tail-lamp: 1 2 }}
wire 1 KEY.1 to KEY2.1 red 2 mm2 0.2 m
wire 2 KEY2.2 to TAIL.1 grey 1 mm2 0.5 m
wire 3 TAIL.2 to FRAME black 1 mm2 0.2 m
"""


@pytest.mark.parametrize(
    ("always", "off", "told"),
    [
        ("", "", ["TAIL"]),  # live in park, and nobody said so
        (" always in KEY2 park", "", []),
        (" always in KEY2 park", "1 2", ["TAIL"]),  # fed before the key is found: `park` excuses no other position
        (" always", "1 2", ["TAIL"]),  # so it is where a lamp with a `park` to be lit in says `always`
    ],
)
def test_what_is_meant_for_park_is_not_excused_in_off(always: str, off: str, told: list[str]) -> None:
    assert about("live-with-key-out", PARK.format(always=always, off=off)) == told


def test_where_it_can_be_said_it_is_proposed() -> None:
    (found,) = findings("live-with-key-out", PARK.format(always="", off=""))
    assert "`always in KEY2 park`" in found.to_do


@pytest.mark.parametrize(
    ("said", "kind", "expected"),
    [
        ("always in KEY parc", "unknown-position", "`off` or `on`"),
        ("always in KEY on", "unknown-position", "`off`"),
        ("always in BTN press", "unknown-control", "`KEY`"),
        ("always in KEYS off", "unknown-control", A_CONTROL),
        ("always in", "unexpected-end", "such as `always in KEY park`"),
        ("always in KEY off always", "repeated", "one of the two"),
    ],
)
def test_a_position_that_cannot_be_meant_is_a_mistake(said: str, kind: str, expected: str) -> None:
    text = f"switch BTN at tray {{ rest: ; press: 1 2 }}\nload L lamp at tray {said} {{ l 5 W: 1 2 }}\n"
    found = only(text)
    assert (found.kind, found.expected) == (kind, expected)


def test_a_pattern_may_say_it() -> None:
    text = BENCH + "pattern load p lamp always in KEY off { l 5 W: 1 2 }\nload L at tray as p\n"
    reading = read_text(text)
    assert reading.mistakes == ()
    assert reading.harness.parts["L"].always_in == ("KEY", "off")
    assert not reading.harness.parts["L"].always


# --- a waiver in one state --------------------------------------------------------------------------------------------
THIN = """
load A heater at tail { pad 40 A: 1 2 }
wire 1 KEY.2 to A.1 red 1 mm2 3 m
wire 2 A.2 to FRAME black 1 mm2 3 m
state night { KEY on }
state day { KEY on }
"""


def waived(rule: str, line: str) -> tuple[int, int]:
    """How many findings of a rule count, and how many are waived."""
    reading = read_text(BENCH + THIN + line, "bench.loom")
    assert reading.mistakes == ()
    report = check(reading, today=TODAY)
    return tuple(sum(f.rule == rule for f in found) for found in (report.findings, report.waived))  # type: ignore[return-value]


def test_a_waiver_for_a_state_covers_only_what_names_it() -> None:
    states = {f.state for f in findings("voltage-drop", THIN)}
    assert len(states) == 1
    (state,) = states
    other = "night" if state == "day" else "day"
    counted, none = waived("voltage-drop", "")
    assert counted
    assert none == 0
    assert waived("voltage-drop", f'waive voltage-drop for A in {state} because "short"\n')[0] == 0
    assert waived("voltage-drop", f'waive voltage-drop for A in {other} because "short"\n') == (counted, 0)


def test_a_waiver_for_a_state_that_covers_nothing_says_which() -> None:
    (found,) = findings("idle-waiver", THIN + 'waive unsealed for A in night because "dry"\n')
    assert found.message == "the waiver of unsealed for A in night covers no finding"


def test_a_state_that_there_is_not_is_a_mistake_of_the_waiver() -> None:
    found = only(THIN + 'waive unsealed for A in nigth because "dry"\n')
    assert (found.kind, found.nearest) == ("unknown-state", "night")
    found = only(THIN + 'waive unsealed for A on night because "dry"\n')
    assert (found.kind, found.expected) == ("unexpected-word", "`in` and a state, or `because` and the reason")


# --- colours of old looms ---------------------------------------------------------------------------------------------
def test_the_colours_of_old_looms_are_read() -> None:
    reading = read_file(HERE / "colours-of-old-looms.loom")
    assert reading.mistakes == ()
    colours = [str(wire.colour) for wire in reading.harness.wires.values()]
    assert colours == ["light-brown", "light-green", "violet", "light-brown", "grey", "grey", "light-blue"]


@pytest.mark.parametrize(
    ("written", "first"),
    [
        ("natural", "white"),
        ("clear", "white"),
        ("dark-gray/purple", "dark-grey/violet"),
        ("tan/sky-blue", "light-brown/light-blue"),
        *((code.lower(), name) for code, name in IEC_60757.items()),
        ("Gy/wH", "grey/white"),
    ],
)
def test_other_names_and_codes_have_one_first_form(written: str, first: str) -> None:
    line = f"wire 1 KEY.2 to FRAME {written} 1 mm2\n"
    assert tidy(BENCH + line, "bench.loom").endswith(f"wire 1 KEY.2 to FRAME {first} 1 mm2\n")


@pytest.mark.parametrize(
    ("written", "nearest"),
    [("light-lilac", "light-violet"), ("amber", "orange"), ("red/sky-bleu", "sky-blue"), ("dark-tan", "light-brown")],
)
def test_a_colour_that_is_none_is_sent_to_one_that_is_read(written: str, nearest: str) -> None:
    found = only(f"wire 1 KEY.2 to FRAME {written} 1 mm2\n")
    assert (found.kind, found.nearest) == ("unknown-colour", nearest)


# --- pairs and screens ------------------------------------------------------------------------------------------------
PAIR = """
sensor PICK at tray { signal 210 ohm: 1 2 }
wire A KEY.2 to PICK.1 red 1 mm2
wire B PICK.2 to FRAME black 1 mm2
"""


def test_pairs_and_screens_are_told_of_their_wires() -> None:
    harness = read_text(BENCH + PAIR + "twisted A, B\nshielded A, B\nshielded m\n").harness
    assert [(b.how, b.wires) for b in harness.bundles_of("A")] == [("twisted", ("A", "B")), ("shielded", ("A", "B"))]
    assert [b.how for b in harness.bundles_of("m")] == ["shielded"]
    assert harness.bundles_of("b") == ()


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("twisted A, X9", "unknown-name"),
        ("twisted A", "terminal-count"),
        ("twisted A, PICK", "unknown-name"),
        ("twisted A, B; twisted A, m", "repeated"),
        ("shielded A, A", "repeated"),
        ("twisted A B", "unexpected-word"),
        ("twisted", "unexpected-end"),
    ],
)
def test_what_cannot_be_a_pair_is_a_mistake(line: str, kind: str) -> None:
    assert [found.kind for found in mistakes(PAIR + line + "\n")] == [kind]


def test_the_nearest_wire_is_named() -> None:
    text = PAIR.replace("wire B ", "wire PICK-UP ") + "twisted A, PICK-PU\n"
    assert only(text).nearest == "PICK-UP"


# --- language 1 stays -------------------------------------------------------------------------------------------------
FREE = sorted(set(STATEMENTS) - RESERVED)


def test_new_first_words_are_known() -> None:
    assert FREE == ["ends", "housing", "shielded", "spare-wire", "together", "twisted"]


@pytest.mark.parametrize("word", [*FREE, "leg", "past", "site-cut", "face", "slack", "tape"])
def test_a_new_first_word_reserves_nothing(word: str) -> None:
    text = f"""loom "names"
place {word}
source BAT battery at {word} {{ voltage 12 V }}
switch {word} 10 A at {word} {{
    off:
    {word}: 1 2
}}
pattern load {word} lamp {{
    {word} 5 W: {word}+ 2
}}
load L as {word}
wire {word}-1 BAT.+ to {word}.1
wire w2 {word}.2 to L.{word}+
state {word} {{
    {word} off
}}
state other {{
    {word} {word}, engine running
}}
expect in {word}: L.{word} dead
expect whenever {word} {word}: L live
capped {word}.2
waive unused-part for {word} in {word} because "x"
ends {word} tab 6.3 mm: 1 2
housing {word} 2 ways
"""
    reading = read_text(text)
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    assert reading.harness.states["other"].settings == ((word, word), ("engine", "running"))
    assert tidy(text, "names.loom") == text


@pytest.mark.parametrize("path", harnesses((ROOT / "specs").rglob("*.loom")), ids=lambda path: path.stem)
def test_what_was_legal_stays_legal(path: Path) -> None:
    assert [f"{m.span}: {m.message}" for m in read_file(path).mistakes] == []


# --- stops and keys ---------------------------------------------------------------------------------------------------
def test_each_end_of_an_off_run_off_switch_is_a_stop_control() -> None:
    text = BENCH + "switch CUT 6 A at bars for ignition { left stop: ; run: 1 2; right stop: 2 3 }\n"
    study = Study(read_text(text).harness, today=TODAY)
    stops = [(stop.switch, stop.position) for stop in stop_controls(study.logic.network)]
    assert stops == [("KEY", "off"), ("CUT", "left"), ("CUT", "right")]
    assert mistakes("switch CUT 6 A at bars for ignition { left: ; run: 1 2 }\n")[0].kind == "no-stop-position"
    part = read_text(text).harness.parts["CUT"]
    assert isinstance(part, Switch)
    assert [p.stops for p in part.positions] == [True, False, True]


@pytest.mark.parametrize(("rest", "told"), [("out", ["K2"]), ("off", []), ("lock", []), ("park", [])])
def test_a_key_that_is_never_out_is_said(rest: str, told: list[str]) -> None:
    text = f"switch K2 10 A key at tray {{ {rest}: ; on: 1 2 }}\n"
    found = findings("key-without-off", text)
    assert [f.about[0] for f in found] == told
    for each in found:
        assert "without a position `off`, `lock` or `park`" in each.message
        assert "(its positions: out and on)" in each.to_do
        network = Study(read_text(BENCH + text).harness, today=TODAY).logic.network
        assert len(keys(network)) == 2
        assert key_out(network).questions[1].positions == ()  # type: ignore[union-attr]


# --- limits -----------------------------------------------------------------------------------------------------------
def test_a_pattern_bomb_is_refused_with_its_place_and_count() -> None:
    reading = read_file(HERE / "pattern-bomb.loom")
    (found,) = reading.mistakes
    assert found.kind == "too-large"
    assert "20,105" in found.message
    assert "20,000" in found.message
    assert len(reading.harness.parts) == 67  # a battery and 66 loads of 300 are within the limit


def test_contacts_multiplied_by_a_pattern_count_too() -> None:
    pairs = ", ".join(f"{n} {n + 1}" for n in range(0, 900, 2))
    text = f"pattern switch p {{ a: {pairs}; b: {pairs} }}\n" + "".join(f"switch S{n} as p\n" for n in range(40))
    assert [m.kind for m in read_text(text).mistakes] == ["too-large"]


def test_mistakes_inside_blocks_count_toward_the_limit() -> None:
    line = "e{n} 5 W {word}: 1 2\n"
    text = "load L lamp {\n" + "".join(line.format(n=n, word="bright") for n in range(5000)) + "}\n"
    found = read_text(text).mistakes
    assert len(found) == 2002
    assert [m.kind for m in found].count("too-many") == 1
    assert "more than 2000 mistakes" in next(m for m in found if m.kind == "too-many").message
