"""Drafts without a diagram: what is joined and why, and that what is written is a harness."""

from __future__ import annotations

import random

import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.survey.draft import drafted
from loomwright.cli import main
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.editing.formatter import tidy
from loomwright.lang.files.reading import read_text
from loomwright.lang.survey.reading import read_survey
from loomwright.lang.survey.record import Survey
from loomwright.render.report.draft import draft_text

HALVES = """half P1 socket og/rd tq og/bu bu/wh bk
half P2 og/rd bk - bu/wh
half P3 at bars rd wh bk+bk tq pk
half P4 at engine wh bn
half P5 at tail gn gn
"""
WHOLE = f"""survey "An old twin" at headstock
{HALVES}knob SW of P3 up mid down
beeps P1.1 P2.1
beeps P1.5 P2.2 FRAME
silent P1.1 FRAME
touched P1.4 over P3: none
P4.1 P4.2 2.1 kohm
one-way P5.1 P5.2
beeps P3.1 P3.2 with SW up
beeps P3.1 P3.5 with SW down
silent P3.1 P3.2 with SW mid
"""


def survey(text: str) -> Survey:
    reading = read_survey(text, "old.loom")
    assert not reading.mistakes, reading.mistakes
    return reading.survey


def test_what_is_written() -> None:
    assert draft_text(drafted(survey(WHOLE))).split("\n") == [
        "# Drafted from old.loom: readings and colours only. Nothing here was judged safe.",
        "# Not known: the system's volts and ground, sizes of wires, fuses, and every part without a reading.",
        "# A beep passes through a fuse, and the fuses were in: what joins two wires here may be two circuits, joined",
        "# behind their fuses. Take all fuses out and take the readings of such wires again before you build.",
        "",
        'loom "An old twin"',
        "",
        "place headstock, bars, engine, tail",
        "ground FRAME at headstock, bars, engine, tail",
        "",
        "connector P1 5 ways at headstock",
        "connector P2 4 ways at headstock { spare: 3 }",
        "connector P3 5 ways at bars",
        "connector P4 2 ways at engine",
        "connector P5 2 ways at tail",
        "resistor X1 2100 ohm at engine # measured, line 12; a coil, a winding, a sensor or a filament",
        "diode X2 at tail # measured, line 13",
        "switch SW at bars { up: 1 2; mid: ; down: 1 3 } # measured, lines 14, 15 and 16",
        "",
        "wire 1 P1.5s to FRAME black # measured, line 9",
        "wire 2 P2.2s to FRAME black # measured, line 9",
        "wire 3 P1.1s to P2.1s orange/red # measured, line 8",
        "wire 4 P1.2s to P3.4s turquoise # by colour only, measure",
        "wire 5 P1.4s to P2.4s blue/white # by colour only, measure",
        "wire 6 P4.1s to X1.1 white # measured, line 12",
        "wire 7 P4.2s to X1.2 brown # measured, line 12",
        "wire 8 P5.1s to X2.A green # measured, line 13",
        "wire 9 P5.2s to X2.K green # measured, line 13",
        "wire 10 P3.1s to SW.1 red # measured, lines 14, 15 and 16",
        "wire 11 P3.2s to SW.2 white # measured, lines 14, 15 and 16",
        "wire 12 P3.5s to SW.3 pink # measured, lines 14, 15 and 16",
        "",
        "# Readings still missing first; put what the meter does into the survey",
        "#   beeps P1.2 P3.4, or silent P1.2 P3.4",
        "#   beeps P1.4 P2.4, or silent P1.4 P2.4",
        "#   beeps P3.2 P4.1, or silent P3.2 P4.1",
        "",
        "# Then one probe on each of these, the other over every lead of the halves named",
        "#   touched P1.3 over P2 P3 P4 P5:",
        "#   touched P3.1 over P1 P2 P4 P5:",
        "#   touched P3.2 over P1 P2 P4 P5:",
        "#   touched P3.3 over P1 P2 P4 P5:",
        "#   touched P3.5 over P1 P2 P4 P5:",
        "#   touched P4.1 over P1 P2 P3 P5:",
        "#   touched P4.2 over P1 P2 P3 P5:",
        "#   touched P5.1 over P1 P2 P3 P4:",
        "#   touched P5.2 over P1 P2 P3 P4:",
        "",
    ]


MATES = """survey "Mates" at headstock
half P1 socket og/rd tq og/bu bu/wh bk gn gn
half P2 mates P1 tq og/rd og/bu bu bk - gn gn/wh
half P3 tq pk
half P4 socket mates P3 pk tq
beeps P1.1 P3.1
beeps P2.1 FRAME
"""


def test_halves_that_mate_are_one_connector_by_colour_and_the_rest_by_order() -> None:
    lines = draft_text(drafted(survey(MATES))).split("\n")
    ways = "ways by colour only; P2.1 in way 2; P2.2 in way 1; ways 4, 7 and 8 by the order of leads: look"
    assert [line for line in lines if line.startswith(("connector", "wire"))] == [
        f"connector P1 8 ways at headstock # with P2, {ways}",
        "connector P3 2 ways at headstock # with P4, ways by colour only; P4.1 in way 2; P4.2 in way 1",
        "wire 1 P1.2p to FRAME turquoise # measured, line 7",
        "wire 2 P1.1s to P3.1p orange/red # measured, line 6",
    ]
    assert not [line for line in lines if line.startswith("#   beeps P1.2 P2.1")]  # they met in the plug


def test_what_was_joined_through_a_plug_is_joined_in_the_draft() -> None:
    text = MATES + "beeps P1.1 ENGINE\nbeeps P2.2 P4.2\n"
    harness = read_text(draft_text(drafted(survey(text)))).harness
    of = build_circuit(harness).nets.of
    assert of["P1.1s"] == of["P1.1p"] == of["P3.1s"] == of["ENGINE"]


def test_what_contradicts_is_said_and_never_hidden() -> None:
    found = drafted(survey(f'survey "S"\n{HALVES}beeps P1.1 P2.1 P3.1\nsilent P2.1 P3.1\n'))
    (clash,) = found.clashes
    assert (clash.a, clash.b, clash.joined_by, clash.parted_by) == ("P2.1", "P3.1", (7,), 8)
    assert "#   P2.1 and P3.1: joined by 7, separated by 8" in draft_text(found).split("\n")


def test_contradictions_come_in_the_order_in_which_they_were_read() -> None:
    """So that whoever reads them goes down the survey once."""
    found = drafted(survey(f'survey "S"\n{HALVES}beeps P1.1 P2.1 P3.1\nsilent P2.1 P3.1\nsilent P1.1 P2.1\n'))
    assert [(clash.parted_by, clash.a, clash.b) for clash in found.clashes] == [
        (8, "P2.1", "P3.1"),
        (9, "P1.1", "P2.1"),
    ]


def test_a_reading_that_parts_two_of_one_colour_keeps_them_apart() -> None:
    text = f'survey "S"\n{HALVES}silent P1.4 P2.4\n'
    assert not [net for net in drafted(survey(text)).nets if "P1.4" in map(str, net.nodes)]


def test_three_of_one_colour_are_not_joined_by_it() -> None:
    text = f'survey "S"\n{HALVES}half P6 bu/wh\n'
    assert not [net for net in drafted(survey(text)).nets if "P1.4" in map(str, net.nodes)]


def test_with_the_parts_in_a_beep_joins_nothing() -> None:
    found = drafted(survey(f'survey "S"\nsetup all apart, parts in\n{HALVES}beeps P1.1 P2.2\n'))
    assert not [net for net in found.nets if net.measured]
    assert "a beep may be a filament" in draft_text(found)


_COLOURS = st.sampled_from(["rd", "bu/wh", "bk", "bk+bk", "-", "?", "vt?", "?/wh", "og/?"])
_KINDS = st.sampled_from(["beeps {} {}", "silent {} {}", "{} {} 210 ohm", "one-way {} {}", "beeps {} {} with SW up",
                          "{} {} open", "touched {} over P1 P2: none", "beeps {} {} FRAME"])  # fmt: skip
_TITLES = st.sampled_from(["", "Ä # twin", "x" * 40])


@given(
    _TITLES,
    st.lists(st.lists(_COLOURS, min_size=1, max_size=4), min_size=1, max_size=4),
    st.lists(
        st.tuples(_KINDS, st.integers(1, 4), st.integers(1, 4), st.integers(1, 4), st.integers(1, 4)), max_size=10
    ),
    st.sampled_from(["", " at tray", " socket", " pin at tray"]),
)
def test_every_draft_is_read_without_a_mistake_and_laid_out(
    title: str, halves: list[list[str]], readings: list[tuple[str, int, int, int, int]], traits: str
) -> None:
    lines = [f'survey "{title}"', *(f"half P{n}{traits} {' '.join(ways)}" for n, ways in enumerate(halves, 1))]
    lines += ["knob SW of P1 up down"]
    lines += [kind.format(f"P{a}.{i}", f"P{b}.{j}") for kind, a, i, b, j in readings]
    found = drafted(read_survey("\n".join(lines) + "\n", "old.loom").survey)
    text = draft_text(found)
    reading = read_text(text)
    assert not reading.mistakes, (reading.mistakes, text)
    assert tidy(text, "draft.loom") == text


@given(st.integers(0, 10_000))
def test_whatever_was_all_measured_is_drafted_as_it_is(seed: int) -> None:
    rng = random.Random(seed)
    leads = [f"P{half}.{number}" for half in range(1, 5) for number in range(1, rng.randint(2, 4))]
    net = {lead: rng.randint(0, 5) for lead in leads} | {"FRAME": 0}
    counts = {half: sum(lead.startswith(f"P{half}.") for lead in leads) for half in range(1, 5)}
    lines = ['survey "S"', *(f"half P{half} {' '.join(['?'] * count)}" for half, count in counts.items())]
    points = [*leads, "FRAME"]
    lines += [
        f"{'beeps' if net[a] == net[b] else 'silent'} {a} {b}"
        for place, a in enumerate(points)
        for b in points[place + 1 :]
    ]
    found = drafted(survey("\n".join(lines) + "\n"))
    assert not found.clashes
    circuit = build_circuit(read_text(draft_text(found)).harness)
    of = circuit.nets.of
    ends = {lead: f"{lead}s" for lead in leads} | {"FRAME": "FRAME"}
    for a in points:
        for b in points:
            if ends[a] in of and ends[b] in of:
                assert (of[ends[a]] == of[ends[b]]) == (net[a] == net[b])
    assert found.sweeps == ()


def run(*arguments: str) -> Result:
    result = CliRunner().invoke(main, ["draft", *arguments], catch_exceptions=False)
    assert "Traceback" not in result.output
    return result


def test_the_command(tmp_path: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(str(tmp_path))
    from pathlib import Path

    Path("old.loom").write_text(WHOLE)
    written = run("old.loom", "-o", "bike.loom")
    assert (written.exit_code, written.stdout, written.stderr) == (0, "", "bike.loom: written\n")
    assert Path("bike.loom").read_text() == run("old.loom").stdout
    again = run("old.loom", "-o", "bike.loom")
    assert again.exit_code == 2
    assert "bike.loom is there already, and stays as it is" in again.stderr
    Path("old.loom").write_text(f"{WHOLE}silent P1.1 P2.1\n")
    clash = run("old.loom")
    assert clash.exit_code == 1
    assert "old.loom:17: P1.1 and P2.1 are silent here, and joined by line 8: take these readings again" in clash.stderr
    Path("old.loom").write_text('survey "S"\n')
    assert (run("old.loom").exit_code, run("gone.loom").exit_code) == (2, 2)
    Path("old.loom").write_text('survey "S" of "bike.loom"\nhalf Q1 rd\n')
    told = run("old.loom")
    assert told.exit_code == 2
    assert "has a diagram: `identify` tells which half is which" in told.stderr
