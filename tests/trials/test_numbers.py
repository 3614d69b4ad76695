"""How numbers are shown: no power of ten, a limit apart from what breaks it, no temperature beyond melting copper."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.operation.operating_points import StateTable, WireRow, state_tables
from loomwright.checks.operation.operation import Operation
from loomwright.checks.runner.run import check
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.render.report.states import states_csv, states_text

HERE = Path(__file__).parent
TODAY = date(2026, 1, 1)


def trial(name: str) -> str:
    return (HERE / f"{name}.loom").read_text("utf-8")


def messages(text: str, rule: str) -> list[str]:
    return [f.message for f in check(read_text(text), today=TODAY).findings if f.rule == rule]


def test_what_a_wire_withstands_is_shown_whole_and_grouped() -> None:
    """It once read `1.32e+03 A2s`; rounded to 1,320 it would not be what the formula gives."""
    assert messages(trial("number-formats"), "short-not-cleared")[0] == (
        "wire 2 (0.35 mm2) withstands 1,315 A2s, and MAIN (20 A) may pass 1,440 A2s before it blows on a dead short"
    )


@pytest.mark.parametrize(
    ("rating", "words"),
    [("20 A", "MAIN (20 A)"), ("12.5 A", "MAIN (12.5 A)"), ("1500 A", "MAIN (1,500 A)")],
)
def test_a_rating_is_shown_as_people_write_it(rating: str, words: str) -> None:
    said = messages(trial("number-formats").replace("20 A blade", rating), "oversized-fuse")
    assert words in said[0]
    assert "e+" not in said[0]


CONTACT = """
loom "Just beyond"
source BAT battery {{ voltage 12 V; capacity 14 Ah; resistance 1 mohm }}
fuse MAIN 15 A blade
switch S {rating} A {{ off: ; on: 1 2 }}
load L heater {{ heater 140 W: 1 2 }}
wire 1 BAT.+ to MAIN.1 red 6 mm2 0.1 m
wire 2 MAIN.2 to S.1 red 6 mm2 0.1 m
wire 3 S.2 to L.1 red 6 mm2 0.1 m
wire 4 L.2 to BAT.- black 6 mm2 0.1 m
state heated {{ S on }}
"""


def test_a_rating_and_a_current_just_beyond_it_look_different() -> None:
    """With three digits both would read 11.9 A."""
    reading = read_text(CONTACT.format(rating="5"))
    (found,) = (f for f in check(reading, today=TODAY).findings if f.rule == "overloaded-contact")
    current = next(figure.value for figure in found.figures if figure.label == "current")
    rating = f"{current - 0.01:.2f}"
    (said,) = messages(CONTACT.format(rating=rating), "overloaded-contact")
    words = re.fullmatch(r"contact S 1-2 carries (\S+) A, rated (\S+) A", said)
    assert words is not None
    assert float(words[1]) > float(words[2])


def row(text: str, name: str) -> tuple[StateTable, WireRow]:
    (table,) = state_tables(Operation(build_circuit(read_text(text).harness)), profile_named("boat-law"))
    return table, next(wire for wire in table.wires if wire.name == name)


def test_no_wire_gets_hotter_than_copper_melts() -> None:
    """It once read 1438 degC, margin -1338 K."""
    table, wire = row(trial("strap-lost"), "4")
    assert (wire.celsius, wire.margin, wire.word) == (None, 0.0, "melts")
    line = next(line for line in states_text([table]).splitlines() if line.startswith("4 "))
    assert line.split() == ["4", "110.2", "453", "mV", "melts", "none"]
    assert ",melts" in next(line for line in states_csv([table]).splitlines() if ",wire,4," in line)
    hottest = [line.split()[0] for line in states_text([table]).splitlines() if " mV" in line]
    assert hottest[0] == "4"  # though its margin is not known


def test_a_wire_short_of_melting_has_its_temperature() -> None:
    table, wire = row(trial("strap-lost").replace("black 1.5 mm2", "black 2.5 mm2"), "4")
    assert wire.word == ""
    assert wire.celsius is not None
    assert 100.0 < wire.celsius < 1083.0
    assert "melts" not in states_text([table])
