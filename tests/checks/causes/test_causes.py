"""The search for one likely cause: what it offers, when it is silent, and how often it is right."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import planted_faults
import pytest
from checked_text import trial

from loomwright.checks.causes import Causes, judging, search, with_likely_cause
from loomwright.checks.causes.edits import edits
from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.rule import Rule
from loomwright.checks.runner.run import Report, RuleStudy, check
from loomwright.checks.study import Study
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness, Reading
from loomwright.render.formats import json_report
from loomwright.render.report.findings import report_text

ROOT = Path(__file__).resolve().parents[3]
SPECS = ROOT / "specs"
TODAY = date(2026, 1, 1)


def searched(reading: Reading) -> Report:
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    return with_likely_cause(check(reading, today=TODAY), TODAY)


def of_spec(name: str, *changes: tuple[str, str]) -> Report:
    text = (SPECS / name).read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return searched(read_text(text, "bike.loom"))


def offers(report: Report) -> list[str]:
    assert report.causes is not None
    assert report.causes.finished
    return [
        offer.message.removeprefix("likely cause, in the file or on the motorcycle: ") for offer in report.causes.offers
    ]


def test_a_battery_turned_settles_everything() -> None:
    report = searched(read_file(str(ROOT / "tests" / "trials" / "battery-reversed.loom")))
    (offer,) = offers(report)
    assert offer.startswith("BAT is the wrong way round; turned, all ")
    assert offer.endswith(" findings are settled")
    first, second, *_ = report_text(report).splitlines()
    assert first.endswith(offer)
    assert second.endswith("this one alone settles that many findings: look at the motorcycle first")


def test_a_missing_strap_is_found_by_what_lies_on_it() -> None:
    report = searched(read_file(str(SPECS / "rules" / "split-ground" / "edge-found.loom")))
    assert offers(report) == ["ENGINE and FRAME are not connected; with a strap, both findings are settled"]


def test_a_splice_of_returns_without_its_ground() -> None:
    lead = ("wire 33 SP-31 to FRAME red 4 mm2 0.20 m\n", "")
    report = of_spec("small/six-volt-dynamo.loom", lead)
    (offer,) = offers(report)
    assert offer.startswith("SP-31 and ")
    assert " with a ground lead, " in offer


def test_a_bare_terminal_is_named_since_it_is_the_evidence() -> None:
    report = of_spec(
        "rebuild.loom", ('converts "stock.loom"\n', ""), ("wire 108 CTRL.31 to SP-G0 black 2 mm2 0.20 m\n", "")
    )
    (offer,) = offers(report)
    assert offer.startswith("CTRL.31 is not connected and belongs on ground; connected to ")


def test_a_wire_on_the_wrong_terminal_with_the_right_one_bare() -> None:
    report = of_spec("small/electric-start.loom", ("wire 16 K-RUN.87 to BOX.15", "wire 16 K-RUN.87 to BOX.31"))
    assert any("wire 16 is on BOX.31 and belongs on BOX.15, where no other wire is" in each for each in offers(report))


def test_a_terminal_that_is_capped_is_not_offered_as_the_right_one() -> None:
    report = of_spec(
        "small/electric-start.loom", ("wire 16 K-RUN.87 to BOX.15", "capped BOX.15\nwire 16 K-RUN.87 to BOX.31")
    )
    assert not any("belongs on BOX.15" in each for each in offers(report))


@pytest.mark.parametrize("wired", [("A",), ("K",), ("A", "K")])
def test_only_a_part_that_is_wired_at_both_ends_may_be_the_wrong_way_round(wired: tuple[str, ...]) -> None:
    text = 'loom "x"\nsource B battery { voltage 12.6 V }\ndiode D 3 A\nsplice S\nwire 9 B.+ to S red 1 mm2\n'
    text += "".join(f"wire {end} S to D.{end} red 1 mm2\n" for end in wired)
    reading = read_text(text, "bike.loom")
    assert [m.message for m in reading.mistakes] == []
    tried = [each.wrong for each in edits(Study(reading.harness, today=TODAY))]
    assert ("D is the wrong way round" in tried) is (wired == ("A", "K"))


def test_nothing_is_searched_where_nothing_or_one_thing_is_found() -> None:
    assert searched(read_file(str(SPECS / "stock.loom"))).causes is None
    assert searched(read_file(str(SPECS / "rules" / "missing-condenser" / "edge-found.loom"))).causes is None


def test_what_no_wire_settles_is_not_searched_for() -> None:
    report = searched(read_file(str(SPECS / "rules" / "thin-conductor" / "edge-found.loom")))
    assert report.causes is None


def test_waived_findings_ask_for_nothing() -> None:
    text = (SPECS / "rules" / "split-ground" / "edge-found.loom").read_text(encoding="utf-8")
    text += (
        '\nwaive split-ground for FRAME because "a test bench"\nwaive floating-ground for LAMP because "a test bench"\n'
    )
    assert searched(read_text(text, "bike.loom")).causes is None


@pytest.mark.parametrize(("bound", "none"), [("MOST_WORK", 0), ("SECONDS", -1.0)])
def test_work_that_runs_out_says_that_the_search_was_stopped(
    monkeypatch: pytest.MonkeyPatch, bound: str, none: float
) -> None:
    monkeypatch.setattr(judging, bound, none)
    report = searched(read_file(str(SPECS / "rules" / "split-ground" / "edge-found.loom")))
    assert report.causes is not None
    assert report.causes.offers == ()
    assert not report.causes.finished
    said = "the search for a likely cause was stopped before its end: its bound of work was reached"
    assert said in report_text(report).splitlines()[-2]


def test_work_is_counted_and_so_is_the_same_each_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """One unit less than a search needs stops it, with as much as it needs it gives its answer."""
    spent: list[int] = []
    run = search.Search.run

    def counted(self: search.Search) -> search.Found:
        found = run(self)
        spent.append(self.judge.work)
        return found

    monkeypatch.setattr(search.Search, "run", counted)
    spec = str(SPECS / "rules" / "split-ground" / "edge-found.loom")
    first = offers(searched(read_file(spec)))
    (needed,) = spent
    assert needed > 0
    for most, finished in ((needed, True), (needed - 1, False)):
        monkeypatch.setattr(judging, "MOST_WORK", most)
        report = searched(read_file(spec))
        assert report.causes is not None
        assert report.causes.finished is finished
        assert offers(report) == first if finished else report.causes.offers == ()
    assert spent[1] == needed


def test_json_has_the_offers() -> None:
    report = searched(read_file(str(SPECS / "rules" / "split-ground" / "edge-found.loom")))
    (harness,) = json.loads(json_report.write([report]))["harnesses"]
    assert harness["causes"]["finished"] is True
    (offer,) = harness["causes"]["offers"]
    assert offer["about"] == ["ENGINE", "FRAME"]
    assert offer["settles"] == 2


def test_a_clean_check_loads_no_search() -> None:
    code = (
        "import sys; from click.testing import CliRunner; from loomwright.cli import main\n"
        "done = CliRunner().invoke(main, ['check', sys.argv[1]]); assert done.exit_code == 0, done.output\n"
        "assert 'loomwright.checks.causes.search' not in sys.modules"
    )
    spec = str(SPECS / "small" / "points-single.loom")
    done = subprocess.run([sys.executable, "-c", code, spec], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_what_counts_as_work_is_what_an_examination_works_out() -> None:
    study = RuleStudy(read_file(str(SPECS / "small" / "points-single.loom")).harness, today=TODAY)
    counted = [judging.worked_out(study)]
    for worked_out in (lambda: study.logic, lambda: study.properties.kills, lambda: study.operation.points):
        assert worked_out()
        counted.append(judging.worked_out(study))
    assert counted[0] == 0
    assert counted == sorted(set(counted)), "each takes some more"
    assert judging.worked_out(study) == counted[-1], "to count works out nothing"


def test_rules_that_settle_nothing_are_asked_only_of_what_can_be_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of thirty edits few settle the first finding, and of these fewer everything: the dear rules wait for those."""
    asked: list[str] = []
    finds = judging.finds

    def recorded(rule: Rule, study: Study) -> Iterator[Finding]:
        asked.append(rule.name)
        return finds(rule, study)

    monkeypatch.setattr(judging, "finds", recorded)
    report = of_spec("small/electric-start.loom", ("wire 16 K-RUN.87 to BOX.15", "wire 16 K-RUN.87 to BOX.31"))
    assert report.causes is not None
    assert report.causes.offers
    assert 1 <= asked.count("relay-chatter") < asked.count("floating-ground") < report.causes.tried


@pytest.mark.parametrize("seed", ["1", "2"])
def test_the_answer_does_not_hang_on_the_seed_of_hashes(seed: str) -> None:
    code = "import sys; from loomwright.cli import main; main()"
    spec = str(SPECS / "rules" / "split-ground" / "edge-found.loom")
    done = subprocess.run(
        [sys.executable, "-c", code, "check", spec],
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONHASHSEED": seed, "PATH": ""},
    )
    assert "ENGINE and FRAME are not connected; with a strap, both findings are settled" in done.stdout.splitlines()[0]


def of_trial(name: str, *changes: tuple[str, str], more: str = "") -> Report:
    return searched(read_text(trial(name, *changes) + more, "bike.loom"))


def rules(report: Report) -> list[str]:
    return [finding.rule for finding in report.findings if finding.level > Level.NOTE]


def test_what_follows_from_a_reversed_battery_is_told_as_its_notes() -> None:
    """To swap the wires at ALT, or to fit a larger fuse, would be harmful while the battery is the wrong way round."""
    report = of_trial("battery-reversed")
    (cause,) = report.findings
    assert cause.rule == "battery-reversed"
    assert cause.message.endswith("; 5 other findings follow from this")
    assert [member.rule for member in cause.members] == [
        "battery-reversed",
        "unfused-feed",
        "unfused-feed",
        "unfused-feed",
        "no-charge",
        "overloaded-fuse",
    ]
    (first,) = {member.to_do for member in cause.members[1:]}
    assert first == (
        "correct this first: BAT is the wrong way round: BAT.+ is connected to FRAME, and the system has a negative "
        "ground"
    )
    text = report_text(report)
    assert "larger fuse" not in text
    assert "change the two over" not in text


def test_what_a_repair_does_not_settle_stays_where_it_is() -> None:
    """A lamp of which one side is bare is so whichever way round the battery is."""
    half = "load TAIL lamp at tray { tail 5 W: 1 2 }\nwire 8 KEY.2 to TAIL.1 white 2.5 mm2 0.2 m\n"
    report = of_trial("battery-reversed", more=half)
    cause = report.findings[0]
    assert cause.rule == "battery-reversed"
    assert {"no-charge", "overloaded-fuse"} < {member.rule for member in cause.members}
    assert "loose-end" in rules(report)
    assert "loose-end" not in {member.rule for member in cause.members}


def test_a_fault_that_shows_only_with_the_battery_right_keeps_no_harmful_advice() -> None:
    """Turned, the fuse no longer feeds the thin wire through the machine: an error comes, and no edit is offered."""
    thin = ("wire 4 KEY.2 to HEAD.1 white 2.5 mm2", "wire 4 KEY.2 to HEAD.1 white 0.22 mm2")
    report = of_trial("battery-reversed", thin)
    assert offers(report) == []
    assert rules(report) == ["battery-reversed"]
    assert "larger fuse" not in report_text(report)


def test_a_waived_finding_is_told_as_waived_and_not_as_a_note() -> None:
    waived = of_trial("battery-reversed", more='waive no-charge for ALT because "on the bench"\n')
    (cause,) = waived.findings
    assert [finding.rule for finding in waived.waived] == ["no-charge"]
    assert "no-charge" not in {member.rule for member in cause.members}


def test_what_is_graver_than_its_cause_is_not_hidden_in_it() -> None:
    report = of_trial("input-of-wrong-kind", more="expect whenever KEY on and BTN press: HORN dead\n")
    assert rules(report) == ["unmet-expectation", "input-kind"]


def test_ways_of_one_plug_may_have_been_exchanged() -> None:
    """Each pair once: in which half, joins cannot tell. Ways that copper connects anyway are none."""
    harness = read_file(str(SPECS / "small" / "points-single.loom")).harness
    told = [e for e in edits(Study(harness, today=TODAY)) if e.wrong.startswith("ways ")]
    assert [e.wrong for e in told] == ["ways 1 and 2 of C-GEN are exchanged in one half"]

    def beside_the_plug(of: Harness) -> set[frozenset[str]]:
        groups = [group for group in planted_faults.joins_of(of) if isinstance(group, frozenset)]
        return {frozenset(node for node in group if not node.startswith("C-GEN.")) for group in groups}

    assert beside_the_plug(told[0].apply()) != beside_the_plug(harness)
    in_the_other_half = planted_faults.swapped(harness, "C-GEN", "1p", "2p")
    assert beside_the_plug(told[0].apply()) == beside_the_plug(in_the_other_half)


def _verdict(sound: Harness, names: tuple[str, ...], causes: Causes | None) -> str:
    if causes is None or not causes.offers:
        return "silent"
    if planted_faults.joins_of(causes.offers[0].fixed) == planted_faults.joins_of(sound):
        return "true first"
    if any(set(offer.about) & set(names) for offer in causes.offers):
        return "near"
    # What is exchanged in a plug is repaired as well by exchanging the same two wires at the machine that they lead to.
    return "near" if _joins_beside(causes.offers[0].fixed, names) == _joins_beside(sound, names) else "wrong"


def _joins_beside(harness: Harness, names: tuple[str, ...]) -> frozenset[object]:
    """What is joined with what at all parts but some."""
    groups = (group for group in planted_faults.joins_of(harness) if isinstance(group, frozenset))
    return frozenset(frozenset(node for node in group if node.split(".")[0] not in names) for group in groups)


def test_of_planted_faults_a_third_is_named_and_none_is_named_wrongly() -> None:
    """A fixed sample in the small harnesses; ``tests/bench/causes.py`` tries more, in the demonstrations as well."""
    small = [harness for harness in planted_faults.sound_harnesses() if len(harness.wires) < 60]
    counts: Counter[str] = Counter()
    for number in range(60):
        fault = planted_faults.planted(small[number % len(small)], 7_000 + number)
        if fault is None:
            continue
        report = check(Reading(harness=fault.faulty, mistakes=(), texts={}), today=TODAY)
        told = [m for f in report.findings for m in (f.members or (f,)) if m.level > Level.NOTE]
        if len(told) < 2:
            continue
        report = with_likely_cause(report, TODAY)
        counts[_verdict(fault.sound, fault.names, report.causes)] += 1
        assert report.causes is None or len(report.causes.offers) <= 3
    assert counts.total() > 25
    assert counts["true first"] >= 0.35 * counts.total(), counts
    assert counts["wrong"] == 0, counts
