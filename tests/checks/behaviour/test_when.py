"""When something holds, in words: the words mean just the combinations of the truth table."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.checks.behaviour import Behaviour, Question
from loomwright.checks.behaviour.when import When, when
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text

ROOT = Path(__file__).parents[3]
STOCK = Behaviour.of(build_circuit(read_file(ROOT / "specs" / "stock.loom").harness))
REBUILD = Behaviour.of(build_circuit(read_file(ROOT / "specs" / "rebuild.loom").harness))


def means(setting: str, positions: dict[str, str]) -> bool:
    """Whether words such as ``KEY on or park, engine not off`` hold with the controls so."""
    for words in setting.split(", ") if setting else ():
        control, _, rest = words.partition(" ")
        if rest.startswith("not "):
            if positions[control] == rest.removeprefix("not "):
                return False
        elif positions[control] not in rest.split(" or "):
            return False
    return True


QUESTIONS = [
    (behaviour, question)
    for behaviour in (STOCK, REBUILD)
    for question in (
        *(asked(node) for node in behaviour.circuit.at for asked in (behaviour.fed, behaviour.grounded)),
        *(behaviour.connected(branch.key) for branch in behaviour.consumers),
    )
]


@settings(max_examples=60)
@given(st.sampled_from(QUESTIONS))
def test_words_mean_what_the_table_says(asked: tuple[Behaviour, Question]) -> None:
    """In each combination that counts: where a setting of ``always`` fits it holds, where none fits never."""
    behaviour, question = asked
    said = when(behaviour, question)
    assert not said.undecided
    scope = behaviour.space(question).scope
    holds = question.table(scope)
    if said.more:
        return
    for index in scope.members(scope.counted):
        positions = dict(scope.positions(index))
        always = any(means(setting, positions) for setting in said.always)
        at_times = any(means(setting, positions) for setting in said.at_times)
        if (holds >> index) & 1:
            assert always or at_times
        else:
            assert not always


@pytest.mark.parametrize(
    ("node", "feed", "words"),
    [
        ("MAIN.2", True, "always"),
        ("FRAME", True, "never"),
        ("FRAME", False, "always"),
        ("KEY.15", True, "when KEY on"),
        ("F-TAIL.2", True, "when KEY on or park"),
        ("KILL.2", True, "when KEY on, KILL run"),
        ("REAR.54", True, "when KEY on, front-brake press; or KEY on, rear-brake press"),
    ],
)
def test_as_the_diagram_of_the_stock_machine_reads(node: str, feed: bool, words: str) -> None:
    assert when(STOCK, STOCK.fed(node) if feed else STOCK.grounded(node)).words() == words


def test_what_a_relay_remembers_is_said() -> None:
    """A relay that holds itself in: fed while the button is pressed, and at times while it is not."""
    harness = read_text(
        """
place tray
source BAT battery at tray { voltage 12.6 V }
ground FRAME at tray
switch KEY key at tray { off: ; on: 1 2 }
switch B momentary at tray { rest: ; press: 1 2 }
relay K at tray { coil 85 ohm: 85 86; released: ; pulled: 30 87 }
wire 1 BAT.+ to KEY.1
wire 2 KEY.2 to K.30
wire 3 KEY.2 to B.1
wire 4 B.2 to K.85
wire 5 K.87 to K.85
wire 6 K.86 to FRAME
wire 7 BAT.- to FRAME
"""
    ).harness
    said = when(Behaviour.of(build_circuit(harness)), Behaviour.fed("K.87"))
    assert said.always == ("KEY on, B press",)
    assert said.at_times == ("KEY on",)


def test_words() -> None:
    assert When().words() == "never"
    assert When(always=("",)).words() == "always"
    assert When(at_times=("",)).words() == "at times"
    assert When(always=("KEY on",), at_times=("KEY park",), more=True).words() == (
        "when KEY on; and at times when KEY park; and in other settings"
    )
    assert "more than can be worked through" in When(undecided="depends on 40 things").words()
