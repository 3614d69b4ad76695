"""Running rules: waivers, and rules that break down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import pytest

from loomwright.checks.findings.finding import Finding, Level, Stage
from loomwright.checks.runner import run as runner
from loomwright.checks.runner.merging import merged, with_followers
from loomwright.checks.runner.run import RuleStudy, apply_waivers, check, covers, examine, rule_named
from loomwright.lang.diagnostics.diagnostic import Diagnostic, Span
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness, Reading
from loomwright.lang.model.parts import Splice
from loomwright.lang.model.statements import Waiver

AT = Span("bike.loom", 3, 1, 9)
TODAY = date(2026, 6, 1)
BIKE = Harness(file="bike.loom", parts={"SP9": Splice(kind="splice", name="SP9", span=AT)})


def waiver(rule: str = "unused-part", names: tuple[str, ...] = ("SP9",), until: date | None = None) -> Waiver:
    return Waiver(rule=rule, names=names, because="next winter", span=Span("bike.loom", 9, 1, 5), until=until)


def reading(harness: Harness, *mistakes: Diagnostic) -> Reading:
    return Reading(harness=harness, mistakes=mistakes, texts={"bike.loom": ""})


def broken(_: RuleStudy) -> Iterator[Finding]:
    yield Finding(rule="unused-part", level=Level.NOTE, message="found before it broke", span=AT)
    raise KeyError("WARN.D+")


def test_a_rule_that_breaks_down_is_an_error_and_stops_no_other() -> None:
    whole = rule_named("unused-part")
    assert whole is not None
    bad = replace(whole, name="over-temperature", find=broken)
    found = examine(RuleStudy(BIKE, today=TODAY), [bad, whole])
    assert [(f.rule, f.level, f.outcome) for f in found if f.outcome != "found"] == [
        ("over-temperature", Level.ERROR, "broken-down")
    ]
    assert any(f.message == "SP9 is not connected: it has no wire and no mount" for f in found)
    (failure,) = [f for f in found if f.outcome != "found"]
    assert failure.message.startswith(
        "rule over-temperature was not checked: a fault in Loomwright, KeyError at test_run.py:"
    )
    assert failure.to_do == "report this with the file: what this rule would find is not known"
    assert "Traceback" not in failure.message


def test_the_report_says_what_was_not_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = rule_named("unused-part")
    assert whole is not None
    monkeypatch.setattr(runner, "catalogue", lambda: (replace(whole, find=broken),))
    report = check(reading(BIKE), today=TODAY)
    assert report.unchecked == "not checked: unused-part"
    assert report.worst is Level.ERROR


def test_where_no_numbers_can_be_had_the_part_is_named_and_no_fault_of_ours() -> None:
    class NoSolutionError(ArithmeticError):
        part = "R1"

    def unsolvable(_: RuleStudy) -> Iterator[Finding]:
        raise NoSolutionError("R1 has 0 ohm")
        yield

    whole = rule_named("unused-part")
    assert whole is not None
    (found,) = examine(RuleStudy(BIKE, today=TODAY), [replace(whole, find=unsolvable)])
    assert found.message == "rule unused-part was not checked: R1 has 0 ohm"
    assert (found.to_do, found.outcome) == ("check R1 first", "not-checked")


def test_no_rule_is_run_on_half_a_harness() -> None:
    mistake = Diagnostic(kind="unknown-word", span=AT, message="what is a battrey")
    report = check(reading(BIKE, mistake), today=TODAY)
    assert report.findings == ()
    assert report.mistakes == (mistake,)
    assert "was not checked" in report.unchecked
    assert report.worst is Level.ERROR


def test_a_waiver_covers_its_rule_on_its_things() -> None:
    found = Finding(rule="unused-part", level=Level.NOTE, message="-", span=AT, about=("SP9",))
    assert covers(waiver(), found)
    assert not covers(waiver(names=("SP8",)), found)
    assert not covers(waiver(rule="loose-end"), found)
    counting, waived = apply_waivers(replace(BIKE, waivers=(waiver(),)), [found], TODAY)
    assert counting == ()
    assert waived == (replace(found, waived="next winter"),)


def test_the_first_waiver_of_several_gives_the_reason() -> None:
    found = Finding(rule="unused-part", level=Level.NOTE, message="-", span=AT, about=("SP8", "SP9"))
    rivals = (waiver(rule="loose-end"), replace(waiver(names=("SP9", "SP7")), because="first"), waiver(names=("SP8",)))
    assert apply_waivers(replace(BIKE, waivers=rivals), [found], TODAY)[1] == (replace(found, waived="first"),)
    assert apply_waivers(replace(BIKE, waivers=rivals[::-1]), [found], TODAY)[1][0].waived == "next winter"


def test_thousands_of_waivers_are_looked_up_and_not_gone_through(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = 0

    def counted(*arguments: object) -> bool:
        nonlocal asked
        asked += 1
        return covers(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(runner, "covers", counted)
    many = tuple(waiver(names=(f"SP{number}",)) for number in range(2000))
    found = [
        Finding(rule="unused-part", level=Level.NOTE, message="-", span=AT, about=(f"SP{number}",))
        for number in range(2000)
    ]
    assert len(apply_waivers(replace(BIKE, waivers=many), found, TODAY)[1]) == 2000
    assert asked == 2000


@pytest.mark.parametrize(
    ("until", "rules"),
    [
        (date(2026, 6, 1), []),  # its last day still counts
        (date(2026, 5, 31), ["expired-waiver", "unused-part"]),
        (None, []),
    ],
)
def test_a_waiver_past_its_day_covers_nothing_and_is_said(until: date | None, rules: list[str]) -> None:
    report = check(reading(replace(BIKE, waivers=(waiver(until=until),))), today=TODAY)
    assert (
        sorted(f.rule for f in report.findings if f.rule in ("expired-waiver", "unused-part", "idle-waiver")) == rules
    )


def test_a_waiver_that_matches_nothing_is_said() -> None:
    report = check(reading(replace(BIKE, waivers=(waiver(rule="unfused-feed"),))), today=TODAY)
    (found,) = [f for f in report.findings if f.rule == "idle-waiver"]
    assert found.level is Level.NOTE
    assert found.message == "the waiver of unfused-feed for SP9 covers no finding"
    assert found.to_do == "remove the waiver"


def test_a_waiver_of_a_rule_that_there_is_not_is_a_mistake() -> None:
    report = check(reading(replace(BIKE, waivers=(waiver(rule="unused-parts"),))), today=TODAY)
    assert [(m.kind, m.nearest) for m in report.mistakes] == [("unknown-rule", "unused-part")]
    assert report.findings == ()


def in_stage(rule: str) -> Stage:
    found = rule_named(rule)
    assert found is not None
    return found.stage


def test_the_gravest_comes_first_and_causes_before_what_follows() -> None:
    at = [Span("bike.loom", line, 1, 2) for line in range(1, 7)]
    places = [
        ("split-ground", Level.ERROR, 5),
        ("held-on", Level.ERROR, 4),
        ("run-on", Level.ERROR, 3),
        ("unfused-feed", Level.ERROR, 1),
        ("never-live", Level.ERROR, 2),
        ("thin-conductor", Level.ERROR, 0),
        ("held-on", Level.WARNING, 0),
        ("colour-change", Level.NOTE, 0),
    ]
    shown = [
        Finding(rule=rule, level=level, message="-", span=at[line], stage=in_stage(rule))
        for rule, level, line in places
    ]
    assert list(runner.in_order(reversed(shown))) == shown


def test_what_a_rule_finds_is_put_into_its_stage() -> None:
    found = Finding(rule="held-on", level=Level.ERROR, message="-", span=AT)
    stages = {
        each.stage
        for rule in (rule_named("held-on"), rule_named("unused-part"))
        if rule is not None
        for each in examine(RuleStudy(BIKE, today=TODAY), [replace(rule, find=lambda _: [found], stage=Stage.FUNCTION)])
    }
    assert stages == {Stage.FUNCTION}


def test_a_rule_that_needs_all_findings_gets_them_after_the_others() -> None:
    """A user's own rule, too: it counts what the rules found that look at the harness itself."""
    asked: list[tuple[Finding, ...]] = []

    def find(_: RuleStudy, found: tuple[Finding, ...]) -> Iterator[Finding]:
        asked.append(found)
        yield Finding(rule="counts-all", level=Level.NOTE, message=f"{len(found)} found", span=AT)

    known = rule_named("idle-waiver")
    assert known is not None
    mine = replace(known, name="counts-all", find=find)
    report = check(reading(BIKE), today=TODAY, own_rules=(mine,))
    (seen,) = asked
    assert seen
    assert {each.rule for each in seen} & {"counts-all", "idle-waiver"} == set()
    assert [each.message for each in report.findings if each.rule == "counts-all"] == [f"{len(seen)} found"]


def test_a_group_is_told_as_one_and_nothing_of_it_is_lost() -> None:
    def wire(name: str, line: int, rank: float, level: Level = Level.WARNING) -> Finding:
        at = Span("bike.loom", line, 1, 2)
        return Finding(
            rule="oversized-fuse",
            level=level,
            message=f"wire {name} is thin",
            span=at,
            about=(name, "MAIN"),
            group="MAIN",
            rank=rank,
        )

    found = [wire("1", 1, 3.0), wire("2", 2, 1.0), wire("3", 3, 2.0, Level.ERROR)]
    (told,) = merged(found, ())
    assert (told.level, told.span.line, told.about) == (Level.ERROR, 3, ("3", "MAIN", "2", "1"))
    assert told.message == "wire 3 is thin; likewise 2 and 1"
    assert dict(told.facts)["likewise"] == ("2", "1")
    assert [(note.text, note.span.line) for note in told.notes] == [("wire 2 is thin", 2), ("wire 1 is thin", 1)]
    assert merged(found[:1], ()) == (found[0],)
    many = [wire(str(n), n, n) for n in range(1, 12)]
    (told,) = merged(many, ())
    assert told.message == "wire 1 is thin; likewise 2, 3, 4, 5, 6, 7 and 4 more"
    assert len(told.notes) == 10


def test_findings_that_follow_are_counted_in_all_whichever_way_they_came_to_it() -> None:
    def wire(name: str) -> Finding:
        return Finding(
            rule="thin-conductor", level=Level.WARNING, message=f"wire {name} is thin", span=AT, about=(name,)
        )

    cause = with_followers(wire("1"), [wire("2")])
    assert cause.message == "wire 1 is thin; 1 other finding follows from this"
    cause = with_followers(cause, [wire("3"), wire("4")])
    assert cause.message == "wire 1 is thin; 3 other findings follow from this"
    assert [member.message for member in cause.members] == [f"wire {n} is thin" for n in "1234"]
    assert {member.remedy for member in cause.members[1:]} == {
        "correct this first: wire 1 is thin",
        "correct this first: wire 1 is thin; 1 other finding follows from this",
    }


GROUPED = """
loom "Three thin wires behind one fuse"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 30 A blade at tray
load L lamp at tray { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.15 m
wire 2 MAIN.2 to L.1 red 1 mm2 0.5 m
wire 3 MAIN.2 to L.1 red 0.75 mm2 0.5 m
wire 4 MAIN.2 to L.1 red 1.5 mm2 0.5 m
wire 5 L.2 to FRAME black 4 mm2 0.1 m
wire 6 BAT.- to FRAME black 6 mm2 0.2 m
"""


def test_a_waiver_covers_its_own_wire_and_hides_no_other_of_the_group() -> None:
    def told(more: str) -> list[tuple[str, ...]]:
        report = check(read_text(GROUPED + more, "bike.loom"), today=TODAY)
        return [f.about for f in report.findings if f.rule == "oversized-fuse"]

    assert told("") == [("3", "MAIN", "2", "4")]
    assert told('waive oversized-fuse for 3 because "sense lead"') == [("2", "MAIN", "4")]
    assert told('waive oversized-fuse for MAIN because "short"') == []


def test_the_same_harness_gives_the_same_report() -> None:
    harness = replace(BIKE, waivers=(waiver(), waiver(rule="unfused-feed")))
    assert check(reading(harness), today=TODAY) == check(reading(harness), today=TODAY)


def test_an_unknown_profile_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="none of"):
        check(reading(BIKE), today=TODAY, profile="no such shop")
