"""Halves identified: against every joint assignment written out, and by what must never be sure."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from loomwright.checks.survey.answers import Alike, HalfAnswer, Verdict, answers
from loomwright.checks.survey.contradiction import unexplained
from loomwright.checks.survey.identify import Identification
from loomwright.checks.survey.probe import next_probe, owed_leads
from loomwright.checks.tables.meter import meter_figures
from loomwright.checks.tables.survey import survey_figures
from loomwright.lang.survey.reading import read_survey
from loomwright.lang.survey.record import Survey
from loomwright.render.report.survey import reason_text, verdict_text

DIAGRAM = """loom "Small"
place bars, tail
ground FRAME at bars
load HORN horn at bars { horn 2 A: 1 2 }
load LAMP lamp at tail { tail 5 W: 1 2 }
connector C1 2 ways at bars
wire 1 C1.1p to HORN.1 red 1 mm2 1 m
wire 2 C1.2p to LAMP.1 blue/white 1 mm2 1 m
wire 3 HORN.2 to FRAME black 1 mm2 1 m
wire 4 LAMP.2 to FRAME black 1 mm2 1 m
"""
"""Halves with leads: C1.p, HORN, LAMP and the stud FRAME; nets: 1, 2 and ground."""

SPECS = Path(__file__).parents[3] / "specs"


def survey(text: str, diagram: str = DIAGRAM) -> Survey:
    reading = read_survey(f'survey "S" of "bike.loom"\n{text}', "survey.loom", load=lambda _: diagram)
    assert not reading.mistakes, reading.mistakes
    assert reading.diagram is not None
    assert not reading.diagram.mistakes, reading.diagram.mistakes
    return reading.survey


def identified(text: str, diagram: str = DIAGRAM) -> dict[str, HalfAnswer]:
    return {answer.half.name: answer for answer in answers(Identification(survey(text, diagram)))}


# --- every joint assignment written out
def written_out(known: Identification) -> list[dict[str, float]]:
    """The marginals of every half by brute force: all candidates, all maps, all readings."""
    prior, predictions = known.prior, known.predictions
    choices = []
    for place, half in enumerate(prior.halves):
        mine = []
        for candidate in range(prior.nothing + 1):
            if candidate == prior.nothing:
                mine.append((candidate, (prior.nowhere,) * len(half.wired), float(prior.weights[place, candidate])))
            elif prior.fit(place, candidate) is not None:
                found = prior.maps_of(place, candidate)
                for row, share in zip(found.rows, found.shares, strict=True):
                    nets = tuple(prior.nowhere if e < 0 else prior.classes[candidate][e].net for e in row)
                    mine.append((candidate, nets, float(prior.weights[place, candidate]) * share))
        top = max(weight for _, _, weight in mine)
        choices.append([each for each in mine if each[2] > 1e-8 * top])
    result: list[dict[str, float]] = [{} for _ in prior.halves]
    whole = 0.0
    tables = [predictions.table(reading, reading.setting) for reading in known.survey.readings]
    for chosen in product(*choices):
        taken = [each[0] for each in chosen if each[0] != prior.nothing]
        if len(set(taken)) < len(taken):
            continue
        weight = 1.0
        for _, _, share in chosen:
            weight *= share
        for reading, table in zip(known.survey.readings, tables, strict=True):
            nets = []
            for point in (reading.a, reading.b):
                if point.lead is None:
                    net = predictions.meter(()).net(point.node or "")
                    nets.append(prior.nowhere if net is None else net)
                else:
                    place, number = predictions.columns[point.lead]
                    nets.append(chosen[place][1][number])
            weight *= float(table[nets[0], nets[1]])
        whole += weight
        for place, (candidate, _, _) in enumerate(chosen):
            name = prior.name(candidate)
            result[place][name] = result[place].get(name, 0.0) + weight
    return [{name: weight / whole for name, weight in each.items()} for each in result]


_COLOURS = st.sampled_from(["rd", "bu/wh", "bk", "bu", "bn", "?", "bk/wh"])
_POINTS = st.sampled_from(["P1.1", "P1.2", "P2.1", "P2.2", "P3.1", "P3.2", "FRAME"])
_READINGS = st.lists(
    st.tuples(st.sampled_from(["beeps", "silent"]), _POINTS, _POINTS).filter(lambda each: each[1] != each[2]),
    max_size=4,
)


@settings(max_examples=25)
@given(st.lists(_COLOURS, min_size=6, max_size=6), _READINGS)
@example(["bk/wh", "bk", "rd", "bu/wh", "rd", "rd"], [("beeps", "P1.1", "P3.1"), ("beeps", "P1.1", "P1.2")])
def test_marginals_are_those_of_every_assignment_written_out(
    colours: list[str], readings: list[tuple[str, str, str]]
) -> None:
    """Where a reading fits nothing, what was dropped as improbable may be what it shows: then nothing it touches is
    sure.
    """
    text = "".join(f"half P{n + 1} {colours[2 * n]} {colours[2 * n + 1]}\n" for n in range(3))
    text += "".join(f"{word} {a} {b}\n" for word, a, b in readings)
    known = Identification(survey(text))
    if odd := unexplained(known):
        touched = {half for each in odd for half, _ in each.reading.leads}
        assert not [a for a in answers(known) if a.half.name in touched and a.verdict is Verdict.SURE]
        return
    for place, right in enumerate(written_out(known)):
        found = known.together.candidates(place)
        for candidate in range(known.prior.nothing + 1):
            assert float(found[candidate]) == pytest.approx(right.get(known.prior.name(candidate), 0.0), abs=0.03)


@settings(max_examples=10)
@given(st.lists(_COLOURS, min_size=6, max_size=6), _READINGS)
def test_one_reading_after_the_other_says_what_all_at_once_say(
    colours: list[str], readings: list[tuple[str, str, str]]
) -> None:
    text = "".join(f"half P{n + 1} {colours[2 * n]} {colours[2 * n + 1]}\n" for n in range(3))
    whole = survey(text + "".join(f"{word} {a} {b}\n" for word, a, b in readings))
    at_once = Identification(whole)
    known = Identification(replace(whole, readings=()))
    for count in range(len(whole.readings)):
        known = Identification(replace(whole, readings=whole.readings[: count + 1]), known)
    for place in range(3):
        assert known.together.candidates(place) == pytest.approx(at_once.together.candidates(place), abs=0.03)


# --- what is stated
def test_colours_and_readings_identify_a_half() -> None:
    found = identified("half P1 at tail bu/wh bk\nhalf P2 at bars rd bk\nbeeps P1.2 FRAME\nbeeps P2.2 FRAME\n")
    assert (found["P1"].verdict, found["P1"].best) == (Verdict.SURE, "LAMP")
    assert (found["P2"].verdict, found["P2"].best) == (Verdict.SURE, "HORN")
    first, second = found["P1"].leads
    assert (first.end, first.wires, first.goes_to) == ("LAMP.1", ("2",), ("C1.2p",))
    assert (second.end, second.measured, second.sure) == ("LAMP.2", True, True)
    assert not first.sure  # no reading has touched it


@pytest.mark.parametrize(
    ("line", "unsure", "still"),
    [
        ("silent P1.2 FRAME", {"P1"}, {"P2.2"}),  # the same reading, with another outcome
        ("beeps P1.1 P1.2", {"P1"}, {"P2.2"}),
        ("beeps P1.1 P2.1", {"P1", "P2"}, {"P1.2", "P2.2"}),
    ],
)
def test_what_a_reading_touches_that_fits_nothing_is_not_sure(line: str, unsure: set[str], still: set[str]) -> None:
    sound = "half P1 at tail bu/wh bk\nhalf P2 at bars rd bk\nbeeps P1.2 FRAME\nbeeps P2.2 FRAME\n"
    known = Identification(survey(f"{sound}{line}\n"))
    assert [each.reading.span.line for each in unexplained(known)] == [6]
    found = {answer.half.name: answer for answer in answers(known)}
    assert {name for name, answer in found.items() if answer.verdict is Verdict.LIKELY} == unsure
    assert {name for name, answer in found.items() if answer.verdict is Verdict.SURE} == {"P1", "P2"} - unsure
    assert {str(lead.lead) for answer in found.values() for lead in answer.leads if lead.sure} == still


FIVE = "blue white green yellow pink"


def test_two_leads_of_the_right_colour_are_not_sure_without_a_reading() -> None:
    found = identified("half P1 at tail bu/wh bk\nhalf P2 at bars rd bk\n")
    assert {answer.verdict for answer in found.values()} == {Verdict.LIKELY}


def grounded(connector: str, colours: str) -> str:
    """A connector all of whose ways run to ground, one of each colour."""
    wires = "".join(
        f"wire {connector}-{way} {connector}.{way}p to FRAME {colour} 1 mm2 1 m\n"
        for way, colour in enumerate(colours.split(), 1)
    )
    return f"connector {connector} {len(colours.split())} ways at bars\n{wires}"


def test_colours_alone_are_never_sure_where_another_half_may_be_meant() -> None:
    """However many leads fit: fading and repairs do not stop at three. One reading makes it sure."""
    diagram = TWINS + grounded("C3", FIVE) + grounded("C4", "red orange violet brown grey")
    seen = "half P1 bu wh gn ye pk\n"
    alone = identified(seen, diagram)["P1"]
    assert (alone.verdict, alone.best, alone.measured) == (Verdict.LIKELY, "C3.p", False)
    assert verdict_text(alone) == "likely: C3.p (99.9 %), by colour and place alone"
    read = identified(f"{seen}beeps P1.1 FRAME\n", diagram)["P1"]
    assert (read.verdict, read.best) == (Verdict.SURE, "C3.p")


def test_what_proves_a_half_proves_the_one_that_it_came_off() -> None:
    diagram = TWINS + grounded("C3", FIVE) + grounded("C4", "red orange violet brown grey") + "".join(
        f"wire C3-{way}s C3.{way}s to FRAME {colour} 1 mm2 1 m\n" for way, colour in enumerate(FIVE.split(), 1)
    )  # fmt: skip
    halves = "half P1 socket bu wh gn ye pk\nhalf P2 pin mates P1 bu wh gn ye pk\n"
    assert {answer.verdict for answer in identified(halves, diagram).values()} == {Verdict.LIKELY}
    found = identified(f"{halves}found P1 is C3.s\n", diagram)
    assert (found["P2"].verdict, found["P2"].best, found["P2"].measured) == (Verdict.SURE, "C3.p", False)


def test_the_only_candidate_of_its_size_is_sure_by_its_colours() -> None:
    diagram = TWINS + grounded("C3", f"{FIVE} red orange violet brown")
    only = identified("half P1 bu wh gn ye pk rd og vt bn\n", diagram)["P1"]
    assert (only.verdict, only.best, only.measured) == (Verdict.SURE, "C3.p", False)


def test_a_half_of_unknown_colours_is_never_sure() -> None:
    found = identified("half P1 ? ?\n")
    assert found["P1"].verdict in (Verdict.OPEN, Verdict.ANY_OF)
    assert len(found["P1"].candidates) > 1


def test_what_was_seen_by_eye_counts() -> None:
    found = identified("half P1 ? ?\nfound P1 is HORN\n")
    assert (found["P1"].verdict, found["P1"].best) == (Verdict.SURE, "HORN")
    assert "HORN" not in [name for name, _ in identified("half P1 rd bk\nfound P1 not HORN\n")["P1"].candidates]
    on_end = identified("half P1 ? ?\nfound P1.2 is LAMP.1\n")["P1"]
    assert (on_end.best, on_end.leads[1].end) == ("LAMP", "LAMP.1")


def test_a_half_that_is_on_no_diagram() -> None:
    found = identified("half P1 pk/gn tq/og vt/pk\nhalf P2 rd bk\nsilent P1.1 FRAME P2.1 P2.2\n")
    assert found["P1"].verdict is Verdict.NOTHING


TWINS = """loom "Twins"
place bars
ground FRAME at bars
switch KEY 10 A key at bars { off: ; on: 30 15, 30 58 }
connector C1 3 ways at bars
connector C2 3 ways at bars
load LEFT lamp at bars { turn 21 W: L 31 }
load RIGHT lamp at bars { turn 21 W: L 31 }
wire 1 C1.1p to KEY.30 red 1 mm2 1 m
wire 2 C1.2p to KEY.15 orange 1 mm2 1 m
wire 3 C1.3p to KEY.58 violet 1 mm2 1 m
wire 4 C2.1p to LEFT.L green 1 mm2 1 m
wire 5 C2.2p to RIGHT.L green 1 mm2 1 m
wire 6 LEFT.31 to FRAME black 1 mm2 1 m
wire 7 RIGHT.31 to FRAME black 1 mm2 1 m
"""


def test_two_ends_of_the_same_wires_are_never_told_apart_by_copper() -> None:
    found = identified("half P1 rd og vt\nhalf P2 rd og vt\nbeeps P1.1 P2.1\nbeeps P1.2 P2.2\nbeeps P1.3 P2.3\n", TWINS)
    for answer in found.values():
        assert answer.verdict is Verdict.ANY_OF
        assert {name for name, _ in answer.candidates} == {"KEY", "C1.p"}
        assert answer.alike is Alike.SAME_WIRES


def test_two_parts_alike_are_named_as_such() -> None:
    found = identified("half P1 gn bk\nhalf P2 gn bk\nbeeps P1.2 FRAME\nbeeps P2.2 FRAME\n", TWINS)
    for answer in found.values():
        assert {name for name, _ in answer.candidates} == {"LEFT", "RIGHT"}
        assert answer.alike is Alike.SAME_KIND


def test_mating_halves_are_the_two_halves_of_one_connector() -> None:
    diagram = TWINS.replace("wire 4 ", "wire 8 C1.1s to C2.3s red 1 mm2 1 m\nwire 9 C1.2s to C2.1s orange 1 mm2 1 m\n"
                            "wire 10 C1.3s to C2.2s violet 1 mm2 1 m\nwire 4 ")  # fmt: skip
    apart = identified("half P1 rd og vt\nhalf P2 rd og vt\nfound P1 is C1.p\n", diagram)["P2"]
    mated = identified("half P1 rd og vt\nhalf P2 mates P1 rd og vt\nfound P1 is C1.p\n", diagram)["P2"]
    assert dict(apart.candidates).get("C1.s", 0.0) < 0.6
    assert dict(mated.candidates)["C1.s"] > 0.95


def test_an_unknown_knob_is_matched_with_the_control_behind_its_half() -> None:
    text = "half P1 rd og vt\nknob SW of P1 up down\n"
    told = "beeps P1.1 P1.2 with SW down\nsilent P1.1 P1.2 with SW up\n"
    known = Identification(survey(text + told, TWINS))
    assert known.together.candidates(0).sum() == pytest.approx(1.0)
    assert all(each.agrees == 1.0 for each in known.judged)  # what a knob says is never told as a contradiction
    switched = identified(text + told, TWINS)["P1"]
    assert {name for name, _ in switched.candidates} <= {"KEY", "C1.p"}


def test_a_position_of_the_diagram_counts() -> None:
    base = "half P1 ? ? ?\nhalf P2 rd og vt\nfound P2 is C1.p\n"
    joined = identified(f"{base}beeps P1.1 P2.2 with KEY on\nsilent P1.1 P2.2\nbeeps P1.1 P2.1\n", TWINS)["P1"]
    assert joined.best == "KEY"
    assert joined.leads[0].end == "KEY.30"


# --- the next reading
def test_the_next_probe_promises_what_it_says() -> None:
    known = Identification(survey("half P1 ? ?\nhalf P2 ? ?\n"))
    probe = next_probe(known)
    assert probe is not None
    assert not probe.owed
    assert survey_figures().least_gain <= probe.gain <= 1.0
    assert probe.black != probe.red


def test_nothing_is_asked_where_everything_was_touched_and_is_known() -> None:
    text = "half P1 at tail bu/wh bk\nhalf P2 at bars rd bk\nhalf P3 at bars rd bu/wh\n"
    known = Identification(survey(text))
    asked = []
    while (probe := next_probe(known)) is not None and len(asked) < 30:
        truth = {"P1.1": 2, "P1.2": 0, "P2.1": 1, "P2.2": 0, "P3.1": 1, "P3.2": 2, "FRAME": 0}
        word = "beeps" if truth[probe.black] == truth[probe.red] else "silent"
        asked.append(frozenset((probe.black, probe.red)))
        text += f"{word} {probe.black} {probe.red}\n"
        known = Identification(survey(text))
    assert 3 <= len(asked) < 10
    assert owed_leads(known) == ()
    found = {answer.half.name: answer for answer in answers(known)}
    assert [found[name].best for name in ("P1", "P2", "P3")] == ["LAMP", "HORN", "C1.p"]
    assert {answer.verdict for answer in found.values()} == {Verdict.SURE}
    assert all(lead.sure for answer in found.values() for lead in answer.leads)


def test_a_pair_that_cannot_be_reached_is_not_asked_again() -> None:
    known = Identification(survey("half P1 ? ?\nhalf P2 ? ?\n"))
    first = next_probe(known)
    assert first is not None
    pair = frozenset((first.black, first.red))
    second = next_probe(known, frozenset({pair}))
    assert second is not None
    assert frozenset((second.black, second.red)) != pair


# --- contradictions
KNOWN = (
    "half P1 at tail bu/wh bk\nhalf P2 at bars rd bk\nhalf P3 at bars rd bu/wh\n"
    "found P1 is LAMP\nfound P2 is HORN\nfound P3 is C1.p\nfound P1.1 is LAMP.1\nfound P2.1 is HORN.1\n"
    "found P3.1 is C1.1p\nfound P3.2 is C1.2p\nfound P1.2 is LAMP.2\nfound P2.2 is HORN.2\n"
)


def odd(text: str) -> list[tuple[int, tuple[str, ...]]]:
    return [
        (each.reading.span.line, each.change.lines if each.change else ())
        for each in unexplained(Identification(survey(KNOWN + text)))
    ]


def test_readings_that_fit_are_not_told() -> None:
    assert odd("beeps P1.2 FRAME\nsilent P1.1 P2.1\nbeeps P3.1 P2.1\n") == []


def test_a_wire_that_is_missing() -> None:
    (found,) = unexplained(Identification(survey(f"{KNOWN}silent P1.2 FRAME\n")))
    assert found.points == ("LAMP.2", "FRAME")
    assert found.change is not None
    assert (found.change.kind, found.change.lines) == ("missing", ("4",))


def test_a_wire_that_nobody_drew() -> None:
    (found,) = unexplained(Identification(survey(f"{KNOWN}beeps P1.1 P2.1\n")))
    assert found.change is not None
    assert (found.change.kind, found.change.lines) == ("extra", ("wire X1 LAMP.1 to HORN.1",))


def test_two_ends_exchanged() -> None:
    text = f"{KNOWN}silent P3.1 P2.1\nbeeps P3.2 P2.1\n"
    found = unexplained(Identification(survey(text)))
    assert len(found) == 2
    for each in found:
        assert each.change is not None
        assert (each.change.kind, each.change.lines) == ("exchanged", ("C1.1p", "C1.2p"))


def test_a_change_that_another_reading_contradicts_is_not_offered() -> None:
    (found,) = unexplained(Identification(survey(f"{KNOWN}silent P1.2 P2.2\nbeeps P1.2 FRAME\nbeeps P2.2 FRAME\n")))
    assert found.change is None


def test_a_dead_part_is_named() -> None:
    diagram = DIAGRAM.replace("connector", "fuse F 5 A at bars\nconnector").replace(
        "wire 4 LAMP.2 to FRAME", "wire 5 F.2 to FRAME black 1 mm2 1 m\nwire 4 LAMP.2 to F.1"
    )
    text = "half P1 at tail bu/wh bk\nfound P1 is LAMP\nfound P1.2 is LAMP.2\nsilent P1.2 FRAME\n"
    known = Identification(survey(text, diagram))
    (found,) = unexplained(known)
    assert found.dead == ("F",)


def test_one_wrong_reading_does_not_make_a_half_sure_of_another_thing() -> None:
    text = "half P1 at tail bu/wh bk\nhalf P2 at bars rd bk\nbeeps P1.2 FRAME\nbeeps P2.2 FRAME\nsilent P1.2 P2.2\n"
    found = identified(text)
    assert found["P1"].best == "LAMP"
    assert meter_figures().wrong == 0.02


THREE_WAYS = DIAGRAM.replace("C1 2 ways", "C1 3 ways") + (
    "load TELL lamp at tail { tell 2 W: 1 2 }\nwire 5 C1.3p to TELL.1 green 1 mm2 1 m\n"
    "wire 6 TELL.2 to FRAME black 1 mm2 1 m\n"
)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "half P1 at bars rd bu/wh\n",
            [
                (True, "2 of 2 leads have the colours that are drawn at C1.p"),
                (False, "no lead here for C1.3p"),
                (True, "it is at bars, as C1.p is"),
            ],
        ),
        (
            "half P1 at tail rd bu/wh gn bn\n",
            [
                (True, "3 of 4 leads have the colours that are drawn at C1.p"),
                (False, "P1.4 is on no end of C1.p"),
                (False, "it is at tail, and C1.p is drawn at bars"),
            ],
        ),
        (
            "half P1 at bars rd bu gn\nbeeps P1.2 FRAME\n",
            [
                (True, "2 of 3 leads have the colours that are drawn at C1.p"),
                (False, "P1.2 is blue, and C1.2p (wire 2) is drawn blue/white"),
                (True, "it is at bars, as C1.p is"),
                (False, "line 3: see below"),
            ],
        ),
    ],
    ids=["a lead too few", "a lead too many", "another colour, and a reading that does not fit"],
)
def test_what_speaks_for_and_against_a_half(text: str, said: list[tuple[bool, str]]) -> None:
    answer = identified(text, THREE_WAYS)["P1"]
    assert [(reason.supports, reason_text(reason)) for reason in answer.reasons] == said


def test_what_was_worked_out_serves_the_same_diagram_and_halves_alone() -> None:
    """One more reading costs little; another file of the same name, or another half, is worked out from the start."""
    text = "half P1 at bars rd bu/wh\n"
    first = Identification(survey(text))
    asked = replace(first.survey, readings=())
    assert Identification(asked, first).predictions is first.predictions
    for other in (survey(text, THREE_WAYS), replace(survey("half P1 at bars rd bn\n"), harness=asked.harness)):
        again = Identification(other, first)
        assert again.predictions is not first.predictions
        assert again.predictions.survey is other
