"""No harmful fix: what rules propose is applied to the text, read and checked again.

The judge here is written apart from ``checks/fixes/trial.py``: it checks the new text as a user would, from a file.
Over every rule's bad example, the edges of `specs/rules`, the trials and both demonstrations with something damaged in
them.
"""

from __future__ import annotations

import os
import random
import re
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.fixes.trial import Proved, proved
from loomwright.checks.fixes.trial import harm as judged
from loomwright.checks.runner.examples import example
from loomwright.checks.runner.run import Report, catalogue, check_examined
from loomwright.checks.study import Study
from loomwright.lang.editing.mending import own_syntaxes
from loomwright.lang.editing.proposals import AddLine
from loomwright.lang.files.reading import library_names, read_text
from loomwright.lang.model.harness import Reading

TODAY = date(2026, 6, 1)
HERE = Path(__file__).resolve().parents[3]
ALL = os.environ.get("LOOMWRIGHT_HYPOTHESIS") == "thorough"
SLOW = frozenset() if ALL else {"undecided-path"}  # its check alone takes seconds: wide tables are its point
FAULTY = sorted(p for p in (HERE / "specs" / "rules").glob("*/edge-found.loom") if p.parent.name not in SLOW)
TRIALS = sorted((HERE / "tests" / "trials").glob("*.loom"))
DEMONSTRATIONS = [HERE / "specs" / "stock.loom", HERE / "specs" / "rebuild.loom"]
MOST = 1000 if ALL else 3
"""So many findings of one text are asked for their fixes; with LOOMWRIGHT_HYPOTHESIS=thorough, all of them."""
DAMAGED = 40 if ALL else 2
"""So many damaged copies of each demonstration."""


def examined(text: str, file: str) -> tuple[Reading, Study, Report]:
    reading = read_text(text, file)
    study = Study(reading.harness, today=TODAY)
    return reading, study, check_examined(reading, study)


def every(report: Report) -> Iterator[Finding]:
    """All findings, those told as one each by itself; waived ones are not at issue."""
    for finding in report.findings:
        yield from finding.members or (finding,)


def offers(text: str, file: str, rule: str = "") -> Iterator[tuple[Finding, Proved, Report]]:
    reading, study, report = examined(text, file)
    if reading.mistakes:
        return
    own = own_syntaxes(reading, library_names())
    asked = [f for f in report.findings if f.rule == rule] + [f for f in report.findings if f.rule != rule]
    for finding in asked[:MOST]:
        for offer in proved(reading, own, study, finding):
            yield finding, offer, report
            if not ALL:
                break  # the first is what the remedy says; the others are tried at night


def harm(finding: Finding, offer: Proved, before: Report, file: str) -> list[str]:
    """What is worse in the new text, or still there, in words."""
    (text,) = offer.texts.values()
    after = examined(text, file)[2]
    said = [f"{mistake.span}: {mistake.message}" for mistake in after.mistakes]
    said += [after.unchecked] if after.unchecked != before.unchecked else []
    said += [f"still {f.rule}" for f in every(after) if any(same(f, m) for m in finding.members or (finding,))]
    old, new = (Counter((f.rule, f.level) for f in every(report)) for report in (before, after))
    for (rule, level), count in sorted(new.items()):
        worse = level is Level.ERROR or level > finding.level
        # One that is not explained by another any more was there before, and was told as its note.
        hidden = [f for f in every(after) if (f.rule, f.level) == (rule, level) and not noted(f, before)]
        if worse and count > old[rule, level] and len(hidden) > old[rule, level]:
            said.append(f"{level.word} {rule} has come: {hidden[-1].message}")
    return said


def same(one: Finding, other: Finding) -> bool:
    return (one.rule, one.about) == (other.rule, other.about)


def noted(finding: Finding, before: Report) -> bool:
    return any(note.text == finding.message for f in before.findings for note in f.notes)


def assert_harmless(text: str, file: str, rule: str = "") -> int:
    count = 0
    for finding, offer, report in offers(text, file, rule):
        assert harm(finding, offer, report, file) == [], (file, finding.message, offer.proposal.says)
        count += 1
    return count


WITH_A_FIX = {
    "battery-reversed",
    "capacitor-volts",
    "colour-change",
    "exchanged-field",
    "exchanged-filaments",
    "floating-ground",
    "house-colour",
    "house-size",
    "idle-waiver",
    "over-temperature",
    "overloaded-fuse",
    "oversized-fuse",
    "reversed-polarity",
    "short-not-cleared",
    "short-wire",
    "split-ground",
    "stiff-at-steering",
    "thin-conductor",
    "thin-return",
    "unreliable-ground",
    "unsealed",
    "voltage-drop",
}
"""Rules of which the bad example has a fix that is an edit of the text: fewer would be fixes lost."""


@pytest.mark.parametrize("name", [rule.name for rule in catalogue()])
def test_of_the_bad_examples(name: str) -> None:
    rule = next(rule for rule in catalogue() if rule.name == name)
    own = 0
    for finding, offer, report in offers(example(rule, "bad"), f"{name}.loom", name):
        assert harm(finding, offer, report, f"{name}.loom") == [], (finding.message, offer.proposal.says)
        own += finding.rule == name
    assert bool(own) is (name in WITH_A_FIX)


@pytest.mark.parametrize("path", [*FAULTY, *TRIALS], ids=lambda path: f"{path.parent.name} {path.stem}")
def test_of_the_faulty_specifications_and_the_trials(path: Path) -> None:
    assert_harmless(path.read_text(encoding="utf-8"), str(path))


def damaged(text: str, seed: int) -> str:
    """A demonstration with two things wrong in it: a size, a rating, a length, or two ends exchanged at one part."""
    chance = random.Random(seed)
    rows = text.split("\n")
    wires = [n for n, row in enumerate(rows) if re.match(r"wire \S+ \S+ to \S+\.\S+ ", row)]
    for kind in chance.sample(("thin", "large", "swapped", "short"), 2):
        at = chance.choice(wires)
        if kind == "thin":
            rows[at] = re.sub(r"[\d.]+ mm2", "0.35 mm2", rows[at])
        elif kind == "short":
            rows[at] = rows[at] + " 0.01 m" if not re.search(r" [\d.]+ m\b", rows[at]) else rows[at]
        elif kind == "swapped":
            part = rows[at].split()[4].partition(".")[0]
            other = chance.choice([n for n in wires if rows[n].split()[4].startswith(f"{part}.")])
            one, two = rows[at].split()[4], rows[other].split()[4]
            rows[at], rows[other] = rows[at].replace(one, two, 1), rows[other].replace(two, one, 1)
        else:
            fuses = [n for n, row in enumerate(rows) if re.match(r"fuse \S+ [\d.]+ A", row)]
            at = chance.choice(fuses)
            rows[at] = re.sub(r"[\d.]+ A", "40 A", rows[at], count=1)
    return "\n".join(rows)


@pytest.mark.parametrize("seed", range(DAMAGED))
@pytest.mark.parametrize("path", DEMONSTRATIONS, ids=lambda path: path.stem)
def test_of_damaged_demonstrations(path: Path, seed: int) -> None:
    text = damaged(path.read_text(encoding="utf-8"), seed)
    assert_harmless(text, str(path))


# --- what was harmful once -------------------------------------------------------------------------------------------
BENCH = """loom "bench"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray { off: ; on: 1 2 }
wire b BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire m MAIN.2 to KEY.1 red 2 mm2 0.1 m
wire g BAT.- to FRAME black 6 mm2 0.2 m
"""


def proposed(text: str, rule: str) -> list[tuple[str, list[str]]]:
    """The remedy of each finding of a rule, with what is proved for it."""
    reading, study, report = examined(text, "bench.loom")
    assert [str(m) for m in reading.mistakes] == []
    own = own_syntaxes(reading, library_names())
    return [
        (f.remedy, [o.proposal.says for o in proved(reading, own, study, f)]) for f in report.findings if f.rule == rule
    ]


def test_a_tell_tale_between_two_feeds_is_not_grounded() -> None:
    """Grounded, its end would short the feed that reaches it: what to do is to find out where it belongs."""
    text = BENCH + (
        "switch TURN 10 A at tray { off: ; left: 1 2; right: 1 3 }\n"
        "load TELL lamp at tray { charge 2 W tell-tale: 1 2 }\n"
        "wire 1 KEY.2 to TURN.1 orange 1 mm2 0.2 m\n"
        "wire 2 TURN.2 to TELL.1 green 1 mm2 0.2 m\n"
        "wire 3 TURN.3 to TELL.2 blue 1 mm2 0.2 m\n"
    )
    ((remedy, found),) = proposed(text, "floating-ground")
    assert remedy.startswith("find out where TELL.")
    assert found == []


def test_an_open_return_is_grounded_by_a_wire_as_thick_as_its_feed() -> None:
    text = BENCH + "load LAMP lamp at tray { lamp 5 W: 1 2 }\nwire 1 KEY.2 to LAMP.1 grey 1.5 mm2 0.2 m\n"
    assert proposed(text, "floating-ground") == [], "an end without any wire is told as a loose end"
    text += "splice SP at tray\nwire 2 LAMP.2 to SP black 1 mm2 0.2 m\n"
    ((remedy, found),) = proposed(text, "floating-ground")
    assert remedy == "connect LAMP.2 to FRAME by a ground wire"
    assert found == ["fit a ground wire from LAMP.2 to FRAME, 1.5 mm2"]


def test_a_larger_fuse_is_never_first() -> None:
    text = BENCH + (
        "load HEAT at tray { heat 9 A heater: 1 2 }\nwire 1 KEY.2 to HEAT.1 grey 4 mm2 0.2 m\n"
        "wire 2 HEAT.2 to FRAME black 2 mm2 0.2 m\n"
    )
    ((remedy, found),) = proposed(text.replace("red 2 mm2", "red 4 mm2"), "overloaded-fuse")
    assert remedy.startswith("find out why MAIN carries so much")
    assert found
    assert all(says.startswith("find out why") for says in found)


def test_nothing_is_turned_round_to_suit_a_battery_that_is_reversed() -> None:
    text = (HERE / "tests" / "trials" / "battery-reversed.loom").read_text(encoding="utf-8")
    found = {f.rule for f, _, _ in offers(text, "bench.loom", "battery-reversed")}
    assert found == {"battery-reversed"}


def test_a_fix_that_cuts_a_lamp_off_is_refused() -> None:
    """Harm is judged by what can still be live, too: a silent harness is not a sound one."""
    text = BENCH.replace("MAIN 10 A", "MAIN 40 A") + (
        "load LAMP lamp at tray { lamp 5 W: 1 2 }\nwire 1 KEY.2 to LAMP.1 grey 1 mm2 0.2 m\n"
        "wire 2 LAMP.2 to FRAME black 0.1 mm2 0.2 m\n"
    )
    reading, study, report = examined(text, "bench.loom")
    finding = next(f for f in every(report) if f.about[0] == "1")
    assert judged(reading, study, finding, {"bench.loom": text + "lood\n"}) != "", "a mistake"
    assert judged(reading, study, finding, {"bench.loom": text}) == "it is found still"
    rows = [row for row in text.split("\n") if not row.startswith(("load", "wire 1", "wire 2"))]
    cut = "\n".join(rows) + "capped KEY.2\n"
    assert judged(reading, study, finding, {"bench.loom": cut}) == "LAMP.lamp would be cut off"


def test_added_lines_keep_to_the_files_line_ends() -> None:
    text = example(next(r for r in catalogue() if r.name == "split-ground"), "bad").replace("\n", "\r\n")
    finding, offer, _ = next(iter(offers(text, "bench.loom", "split-ground")))
    assert finding.rule == "split-ground"
    assert any(isinstance(change, AddLine) for change in offer.proposal.changes)
    assert "\n" not in offer.texts["bench.loom"].replace("\r\n", "")
