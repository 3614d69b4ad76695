"""No harmful fix: what rules propose is applied to the text, read and checked again.

The judge here is written apart from ``checks/runner/fix_trial.py``: it checks the new text as a user would, from a
file. Over every rule's bad example, the edges of `specs/rules`, the trials and both demonstrations with something
damaged in them.
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
from outside import some_of
from own_syntaxes import own_syntaxes

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.examples import example
from loomwright.checks.runner.fix_trial import Proved, proved
from loomwright.checks.runner.fix_trial import harm as judged
from loomwright.checks.runner.run import Report, RuleStudy, catalogue, check_examined
from loomwright.lang.editing.proposals import AddLine, Resize
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Reading

TODAY = date(2026, 6, 1)
HERE = Path(__file__).resolve().parents[3]
ALL = os.environ.get("LOOMWRIGHT_HYPOTHESIS") == "thorough"
SLOW = frozenset() if ALL else {"undecided-path"}  # its check alone takes seconds: wide tables are its point
FAULTY = sorted(p for p in (HERE / "specs" / "rules").glob("*/edge-*.loom") if p.parent.name not in SLOW)
TRIALS = sorted((HERE / "tests" / "trials").glob("*.loom"))
DEMONSTRATIONS = [HERE / "specs" / "stock.loom", HERE / "specs" / "rebuild.loom"]
MOST = 1000 if ALL else 3
"""This many findings of one text are asked for their fixes; with LOOMWRIGHT_HYPOTHESIS=thorough, all of them."""
DAMAGED = 40 if ALL else 2
"""This many damaged copies of each demonstration."""


def examined(text: str, file: str) -> tuple[Reading, RuleStudy, Report]:
    reading = read_text(text, file)
    study = RuleStudy(reading.harness, today=TODAY)
    return reading, study, check_examined(reading, study)


def every(report: Report) -> Iterator[Finding]:
    """All findings, those told as one each by itself; waived ones are not at issue."""
    for finding in report.findings:
        yield from finding.members or (finding,)


def offers(text: str, file: str, rule: str = "") -> Iterator[tuple[Finding, Proved, Report]]:
    reading, study, report = examined(text, file)
    if reading.mistakes:
        return
    own = own_syntaxes(reading)
    asked = [f for f in report.findings if f.rule == rule] + [f for f in report.findings if f.rule != rule]
    for finding in asked[:MOST]:
        for number, offer in enumerate(proved(reading, own, study, finding)):
            if finding.proposals and not number:
                assert offer.proposal == finding.proposals[0], "what is printed is what is tried"
                assert finding.to_do.startswith(offer.proposal.says)
            if offer.proposal not in finding.proposals:  # worked out when it is asked for: of what the finding names
                assert resized(offer) <= set(finding.about)
            yield finding, offer, report
            if not ALL:
                break  # the first is what the remedy says; the others are tried at night


def resized(offer: Proved) -> set[str]:
    """The wires and fuses that a proposal gives another size."""
    changes = [change for change in offer.proposal.changes if isinstance(change, Resize)]
    return {name for change in changes for name, _ in (*change.sizes, *change.ratings)}


def unproved(text: str, file: str) -> list[str]:
    """What is printed as to do and is an edit of the text, and is not harmless on this harness."""
    reading, study, report = examined(text, file)
    own = own_syntaxes(reading)
    return [
        f"{finding.rule}: {finding.to_do}"
        for finding in report.findings
        if finding.proposals
        and finding.proposals[0] not in [offer.proposal for offer in proved(reading, own, study, finding)]
    ]


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
    "crowded-seal",
    "crowded-terminal",
    "exchanged-field",
    "exchanged-filaments",
    "exchanged-windings",
    "feedback-path",
    "floating-ground",
    "fuse-not-selective",
    "grounded-winding",
    "house-colour",
    "house-size",
    "idle-waiver",
    "leg-mismatch",
    "live-pins",
    "look-alike-plugs",
    "loose-end",
    "lost-ground",
    "missing-condenser",
    "missing-suppression",
    "over-temperature",
    "overcharge",
    "overloaded-fuse",
    "oversized-fuse",
    "reversed-polarity",
    "shared-colour",
    "short-not-cleared",
    "short-wire",
    "split-ground",
    "starter-interlock",
    "starter-through-ground",
    "stiff-at-steering",
    "thin-conductor",
    "thin-return",
    "unfused-feed",
    "unreliable-ground",
    "unsealed",
    "voltage-drop",
    "wrong-terminal",
}
"""Rules of which the bad example has a fix that is an edit of the text: fewer would be fixes lost."""

ASKING = ("check", "compare", "find", "follow", "look", "measure", "try")
"""How words begin that say what to measure or to find out."""

ACTS_IN_WORDS = {
    "battery-can-part": "take",
    "both-beams": "connect",
    "charge-deficit": "reduce",
    "colour-change": "use",
    "common-grounded": "disconnect",
    "cranking-brownout": "charge",
    "crowded-ground": "fit",
    "dead-short": "disconnect",
    "expired-waiver": "correct",
    "fed-stop-lead": "disconnect",
    "flasher-load": "fit",
    "held-on": "feed",
    "house-connector": "fit",
    "impossible-state": "remove",
    "joined-outputs": "disconnect",
    "key-without-off": "write",
    "lamp-law": "connect",
    "lamp-out": "fit",
    "latch-stuck": "correct",
    "led-on-winding": "feed",
    "limiter-off": "connect",
    "live-with-key-out": "feed",
    "mixed-current": "feed",
    "near-ignition": "route",
    "no-charge": "take",
    "no-cut-out": "fit",
    "no-field-feed": "fit",
    "no-flasher": "feed",
    "no-kill-path": "open",
    "overcharge": "connect",
    "overheated-resistor": "fit",
    "overloaded-contact": "fit",
    "overvoltage": "fit",
    "parted-ground-lead": "connect",
    "pump-runs-on": "feed",
    "relay-chatter": "move",
    "run-on": "move",
    "sense-error": "feed",
    "stand-not-watched": "feed",
    "stop-always-on": "disconnect",
    "stop-is-tail": "separate",
    "stop-lamp-controls": "connect",
    "supply-behind-key": "feed",
    "two-feeds": "remove",
    "unused-part": "wire",
    "weak-relay": "charge",
    "wrong-voltage": "write",
}
"""Rules of which the words say what to do, and no edit of the text is known that does it: the first word of each. What
they say is done by hand in ``test_advice_by_hand``.
"""


@pytest.mark.parametrize("name", some_of([rule.name for rule in catalogue()], 2))
def test_of_the_bad_examples(name: str) -> None:
    rule = next(rule for rule in catalogue() if rule.name == name)
    own = 0
    for finding, offer, report in offers(example(rule, "bad"), f"{name}.loom", name):
        assert harm(finding, offer, report, f"{name}.loom") == [], (finding.message, offer.proposal.says)
        own += finding.rule == name
    assert bool(own) is (name in WITH_A_FIX)


@pytest.mark.parametrize("name", some_of([rule.name for rule in catalogue() if rule.name not in SLOW][::-1], 2))
def test_what_is_printed_is_tried_or_asks(name: str) -> None:
    """Of every finding of a bad example: a fix that is printed is harmless there, other words say what to find out."""
    rule = next(rule for rule in catalogue() if rule.name == name)
    text = example(rule, "bad")
    assert unproved(text, f"{name}.loom") == []
    for finding in examined(text, f"{name}.loom")[2].findings:
        first = finding.to_do.split(maxsplit=1)[0]
        if finding.rule == name and not finding.proposals and first not in ASKING:
            assert ACTS_IN_WORDS.get(name) == first, finding.to_do


@pytest.mark.parametrize("path", some_of([*FAULTY, *TRIALS], 6), ids=lambda path: f"{path.parent.name} {path.stem}")
def test_of_the_faulty_specifications_and_the_trials(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert_harmless(text, str(path))
    known = HALF_SETTLED.get((path.parent.name, path.stem), "")
    assert [said for said in unproved(text, str(path)) if not known or not said.startswith(known)] == []


HALF_SETTLED = {
    ("exchanged-filaments", "edge-both"): "exchanged-filaments",
    ("oversized-fuse", "edge-shares"): "short-wire",
    ("split-ground", "edge-passed"): "battery-reversed",
    ("two-feeds", "edge-fuses"): "fuse-not-selective",
}
"""Texts of which one fix is right and yet leaves something to be told, by the rule: leads and watts are both exchanged,
and one swap settles half; a length that was too short hid that the wire has no fuse; of two batteries in a row each
asks for its own swap; of two fuses that feed each other neither is before the other.
"""


@pytest.mark.parametrize("path", DEMONSTRATIONS, ids=lambda path: path.stem)
def test_of_the_demonstrations(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert_harmless(text, str(path))
    assert unproved(text, str(path)) == []


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
    own = own_syntaxes(reading)
    return [
        (f.to_do, [o.proposal.says for o in proved(reading, own, study, f)]) for f in report.findings if f.rule == rule
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
    assert remedy == "fit a ground wire from LAMP.2 to FRAME, 1.5 mm2"
    assert found == ["fit a ground wire from LAMP.2 to FRAME, 1.5 mm2"]


def test_a_larger_fuse_is_never_first() -> None:
    text = BENCH + (
        "load HEAT at tray { heat 9 A heater: 1 2 }\nwire 1 KEY.2 to HEAT.1 grey 4 mm2 0.2 m\n"
        "wire 2 HEAT.2 to FRAME black 2 mm2 0.2 m\n"
    )
    ((remedy, found),) = proposed(text.replace("red 2 mm2", "red 4 mm2"), "overloaded-fuse")
    assert remedy.startswith(
        "find out why MAIN carries 9.2 A; where its loads are as they should be, fit a fuse of 15 A: the thinnest wire"
    )
    assert found
    assert all(says.startswith("find out why") for says in found)
    ((remedy, found),) = proposed(text.replace("grey 4 mm2", "grey 0.5 mm2"), "overloaded-fuse")
    assert "; then split its loads between two fuses: the thinnest wire" in remedy
    assert found == [], "a thin wire allows no larger fuse"


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


# --- fixes that add parts --------------------------------------------------------------------------------------------
UNFUSED = """loom "bench"
place tray, tail
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, tail
switch LIGHT 10 A key at tail { off: ; on: 1 2 }
load LAMP lamp at tail { lamp 5 W: 1 2 }
wire 1 BAT.+ to LIGHT.1 red 1 mm2
wire 2 LIGHT.2 to LAMP.1 grey 1 mm2 0.1 m
wire 3 LAMP.2 to FRAME black 1 mm2 0.1 m
wire 4 BAT.- to FRAME black 6 mm2 0.2 m
"""


def fixed(text: str, rule: str) -> str:
    """The text after the first fix of the only finding of a rule."""
    (first,) = {offer.texts["bench.loom"]: None for f, offer, _ in offers(text, "bench.loom", rule) if f.rule == rule}
    return first


def test_a_fuse_is_put_between_the_battery_and_its_wire() -> None:
    after = fixed(UNFUSED, "unfused-feed")
    added = set(after.splitlines()) - set(UNFUSED.splitlines())
    assert added == {
        "fuse F-1 10 A blade at tray",
        "wire 1 F-1.2 to LIGHT.1 red 1 mm2",
        "wire 1-feed BAT.+ to F-1.1 red 1 mm2 0.15 m",
    }
    assert examined(after, "bench.loom")[2].findings == ()


CHARGED = """source ALT alternator at tail { output 120 W: B+ B-; regulated 14.4 V }
wire 5 ALT.B+ to LIGHT.1 red 1 mm2 0.1 m
wire 6 ALT.B- to FRAME black 1 mm2 0.1 m
wire 3"""


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("red 1 mm2", "red"),  # what it may carry is not known
        ("lamp 5 W", "lamp 200 W"),  # no fuse that its wire may have carries the load
        ("wire 3", CHARGED),  # two feeds, and one fuse
    ],
)
def test_a_fuse_that_is_not_known_is_asked_for(old: str, new: str) -> None:
    found = proposed(UNFUSED.replace(old, new, 1), "unfused-feed")
    assert found
    for says, fixes in found:
        assert says.startswith("find out what wire 1 feeds, and fit a fuse or breaker for it within 0.178 m of BAT")
        assert fixes == []


def test_a_splice_in_the_wet_is_sealed_and_its_lead_carries_the_sum() -> None:
    text = UNFUSED.replace("place tray, tail", "place tray\nplace tail wet").replace("wire 1 BAT.+", "wire 1 MAIN.2")
    text += "fuse MAIN 20 A blade at tray\nwire 9 BAT.+ to MAIN.1 red 4 mm2 0.15 m\n"
    for number in range(3):
        text += f"load H{number} at tail {{ pad 40 W heater: 1 2 }}\nmount H{number}.2 to FRAME\n"
        text += f"wire h{number} LIGHT.2 to H{number}.1 grey 0.5 mm2 0.1 m\n"
    after = fixed(text.replace("LIGHT.2 to LAMP.1 grey 1 mm2", "LIGHT.2 to LAMP.1 grey 0.5 mm2"), "crowded-terminal")
    assert "splice SP-LIGHT sealed at tail" in after.splitlines()
    (lead,) = [row for row in after.splitlines() if "SP-LIGHT to LIGHT.2" in row]
    assert float(lead.split("grey ")[1].split()[0]) >= 1.5, "10 A in all, and 20 A protect it"


def test_a_needed_terminal_is_never_capped() -> None:
    """A cap would hide that a lamp has no return: the end is to be wired."""
    text = BENCH + "load LAMP lamp at tray { lamp 5 W: 1 2 }\nwire 1 KEY.2 to LAMP.1 grey 1 mm2 0.2 m\n"
    ((says, fixes),) = proposed(text, "loose-end")
    assert says.startswith("find out where LAMP.2 belongs, and wire it")
    assert fixes == []


SUPPRESSED = """
switch HORN 2 A at tray { off: ; on: 1 2 }
relay K 20 A at tray { coil 6 ohm: 86 85; released: ; pulled: 30 87 }
load LAMP lamp at tray { lamp 21 W: 1 2 }
mount LAMP.2 to FRAME
splice SP at tray
wire 1 KEY.2 to SP orange 2 mm2 0.2 m
wire 2 SP to HORN.1 orange 1 mm2 0.2 m
wire 3 HORN.2 to K.HOT white 1 mm2 0.2 m
wire 4 K.COLD to FRAME black 1 mm2 0.2 m
wire 5 SP to K.30 orange 2 mm2 0.2 m
wire 6 K.87 to LAMP.1 grey 2 mm2 0.2 m
"""


def suppressed(hot: str, cold: str) -> str:
    return BENCH + SUPPRESSED.replace("K.HOT", f"K.{hot}").replace("K.COLD", f"K.{cold}")


@pytest.mark.parametrize(("hot", "cold"), [("86", "85"), ("85", "86")])
def test_a_diode_has_its_cathode_on_the_side_that_is_fed(hot: str, cold: str) -> None:
    """Whichever terminal of the coil is written first: the wrong way round it is a dead short."""
    after = fixed(suppressed(hot, cold), "missing-suppression")
    rows = after.splitlines()
    assert "diode D-K 1 A at tray" in rows
    assert f"wire d-k-k D-K.K to K.{hot} white 1 mm2 0.1 m" in rows
    assert f"wire d-k-a D-K.A to K.{cold} black 1 mm2 0.1 m" in rows


def test_a_diode_waits_where_either_side_can_be_fed() -> None:
    text = suppressed("86", "85").replace("wire 4 K.85 to FRAME", "wire 4 HORN.4 to K.85")
    text = text.replace("{ off: ; on: 1 2 }\nrelay", "{ off: ; on: 1 2, 3 4; back: 1 4, 3 2 }\nrelay")
    found = proposed(text + "wire 7 HORN.3 to FRAME black 1 mm2 0.2 m\n", "missing-suppression")
    assert [(says.split(", and ")[0], fixes) for says, fixes in found] == [("find out which side of K coil is fed", [])]


def test_halves_are_exchanged_of_a_wire_that_runs_through_too() -> None:
    fused = """fuse MAIN 10 A blade at tray
connector C 2 ways 10 A at tray
wire 0 BAT.+ to MAIN.1 red 1 mm2 0.15 m
wire 1 LIGHT.1 to MAIN.2 via C.1 red 1 mm2"""
    text = UNFUSED.replace("wire 1 BAT.+ to LIGHT.1 red 1 mm2", fused)
    after = fixed(text, "live-pins")
    assert "wire 1 MAIN.2 to LIGHT.1 via C.1 red 1 mm2" in after.splitlines()


def test_a_colour_of_its_own_is_free_at_both_ends() -> None:
    text = (
        BENCH
        + """
switch S 5 A at tray { off: ; on: 1 2, 1 3 }
load A lamp at tray { one 5 W: 1 3; two 5 W: 2 3 }
mount A.3 to FRAME
wire 1 KEY.2 to S.1 green/black 1 mm2 0.2 m
wire 2 S.2 to A.1 green 1 mm2 0.2 m
wire 3 S.3 to A.2 green 1 mm2 0.2 m
"""
    )
    assert "wire 3 S.3 to A.2 green/brown 1 mm2 0.2 m" in all_fixed(text, "shared-colour")
    kept = text.replace("A.2 green 1 mm2 0.2 m", "A.2 green 1 mm2 0.2 m kept")
    assert {tuple(fixes) for _, fixes in proposed(kept, "shared-colour")} == {()}, "an old wire has the colour it has"


def all_fixed(text: str, rule: str) -> str:
    return "\n".join(offer.texts["bench.loom"] for f, offer, _ in offers(text, "bench.loom", rule) if f.rule == rule)
