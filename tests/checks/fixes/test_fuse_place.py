"""`oversized-fuse` puts a missing fuse in the first of the thin wires, and with that in the text the finding goes."""

from __future__ import annotations

from own_syntaxes import own_syntaxes

from loomwright.checks.findings.finding import Finding
from loomwright.checks.runner.examples import FOLDER
from loomwright.checks.runner.fix_trial import proved
from loomwright.checks.runner.run import Report, RuleStudy, check_examined
from loomwright.checks.sizing.sizing import sizing
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.files.reading import read_text
from tests.checks.fixes.test_no_harmful_fix import TODAY, harm

STOCK = (FOLDER.parent / "stock.loom").read_text("utf-8")
NO_F_HEAD = "".join(
    line.replace("wire 61 F-HEAD.2 to", "wire 61 SP-15 to")
    for line in STOCK.splitlines(keepends=True)
    if not line.startswith(("wire 20 ", "fuse F-HEAD "))
)
LARGE_MAIN = STOCK.replace("fuse MAIN 20 A", "fuse MAIN 40 A")


def found(text: str) -> tuple[Report, list[Finding]]:
    reading = read_text(text, "bench.loom")
    report = check_examined(reading, RuleStudy(reading.harness, today=TODAY))
    return report, [f for f in report.findings if f.rule == "oversized-fuse"]


def applied(text: str, finding: Finding, before: Report) -> str:
    """The text with the first proposal in it, which is harmless."""
    reading = read_text(text, "bench.loom")
    study = RuleStudy(reading.harness, today=TODAY)
    check_examined(reading, study)
    offer = next(iter(proved(reading, own_syntaxes(reading), study, finding)))
    assert offer.proposal == finding.proposals[0]
    assert harm(finding, offer, before, "bench.loom") == []
    (after,) = offer.texts.values()
    return after


def test_one_fuse_at_the_feed_covers_all_wires_behind_it_and_settles_them() -> None:
    before, (finding,) = found(NO_F_HEAD)
    assert finding.to_do == (
        "fit a fuse of 7.5 A, at most 15 A, in wire 61 within 0.178 m of SP-15: it covers wires 61, 62, 63, 64, 65, 66 "
        "and 67"
    )
    after = applied(NO_F_HEAD, finding, before)
    assert "fuse F-61 7.5 A blade at headstock\n" in after
    assert "wire 61 F-61.2 to LIGHTS.15 via C-LEFT.3 orange/blue 28 x 0.30 mm\n" in after
    assert "wire 61-feed SP-15 to F-61.1 orange 28 x 0.30 mm 0.05 m\n" in after
    assert not found(after)[1]


def test_a_tail_that_is_too_thin_for_that_fuse_is_named_and_gets_one_itself() -> None:
    thin = NO_F_HEAD.replace("C-PANEL.6 blue/white 14 x 0.30 mm", "C-PANEL.6 blue/white 0.22 mm2")
    assert thin != NO_F_HEAD
    before, findings = found(thin)
    said = {finding.about[0]: finding.to_do for finding in findings}
    assert said == {
        "61": "fit a fuse of 7.5 A, at most 20 A, in wire 61 within 0.178 m of SP-15: it covers wires 61, 62, 63, 64, "
        "66 and 67, not wire 65, too thin for it",
        "65": "fit a fuse of 1 A, at most 5 A, in wire 65 within 0.178 m of SP-56A",
    }
    first = next(finding for finding in findings if finding.about[0] == "61")
    middle = applied(thin, first, before)
    before, (left,) = found(middle)
    assert left.about[0] == "65"
    assert not found(applied(middle, left, before))[1]


def test_a_large_main_fuse_is_answered_at_the_splice_behind_it() -> None:
    before, (finding, other) = found(LARGE_MAIN)
    assert finding.to_do == (
        "fit a fuse of 20 A, at most 35 A, in wire 7 within 0.178 m of SP-30: it covers wires 7, 18, 19, 20, 21, 22 "
        "and 23"
    )
    assert other.to_do == "fit a fuse of 30 A or less at MAIN; or use 6 mm2 or thicker for wires 6 and 8"
    assert [f.about for f in found(applied(LARGE_MAIN, finding, before))[1]] == [other.about]


RING = """
loom "Two thin leads side by side"
wires class B
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source ALT alternator at tray { output 284 W: B+ B-; regulated 14.2 V; idle 40 W }
ground FRAME at tray
fuse MAIN 20 A blade at tray
load HEAD lamp at tray { dip 55 W lamp dip-beam: 56b 31 }
splice SP at tray
splice X at tray
wire 1 BAT.+ to MAIN.1 red 6 mm2 0.1 m
wire 2 MAIN.2 to SP red/white 6 mm2 0.1 m
wire 3 ALT.B+ to SP red/white 6 mm2 0.1 m
wire 4 SP to X orange 1 mm2 0.4 m
wire 5 SP to X orange 1 mm2 0.4 m
wire 6 X to HEAD.56b blue 1 mm2 0.4 m
wire 7 BAT.- to FRAME black 10 mm2 0.1 m
mount ALT.B- to FRAME
mount HEAD.31 to FRAME
"""


def test_a_fuse_that_another_lead_bypasses_is_not_said_to_cover_what_is_behind_both() -> None:
    said = {finding.about[0]: finding.remedy for finding in found(RING)[1]}
    assert said == {
        "4": "or fit a separate fuse in wire 4: ALT adds to the current of the fuse",
        "5": "or fit a separate fuse in wire 5: ALT adds to the current of the fuse",
        "6": "or fit a fuse of 7.5 A, at most 15 A, in wire 6 within 0.178 m of X",
    }


def test_where_the_loads_need_a_larger_fuse_than_the_wire_stands_it_is_said_to_split_them() -> None:
    heavy = RING.replace("dip 55 W lamp", "dip 180 W lamp").replace("wire 5 SP to X orange 1 mm2 0.4 m\n", "")
    (said,) = {finding.remedy for finding in found(heavy)[1] if finding.about[0] == "4"}
    assert said == "or split the loads of wire 4 between two wires, each with its fuse"


def test_a_load_that_is_not_known_gets_the_largest_fuse_that_the_wires_stand() -> None:
    unknown = RING.replace("dip 55 W lamp", "dip lamp").replace("wire 5 SP to X orange 1 mm2 0.4 m\n", "")
    (finding,) = found(unknown)[1]
    assert finding.to_do.startswith("fit a fuse of 15 A in wire 4 within 0.178 m of SP: it covers wires 4 and 6")


def test_size_names_that_fuse_where_no_contact_takes_a_thicker_wire() -> None:
    found_by_size = sizing(read_text(NO_F_HEAD, "bench.loom"), today=TODAY, profile=profile_named("boat-law"))
    said = {wire.name: wire.short_of for wire in found_by_size.wires if wire.short_of}
    assert list(said) == ["61", "63", "64", "65", "66", "67"]
    assert said["65"] == "no size does: contacts of C-PANEL (10 A); a fuse of 7.5 A in wire 61 at SP-15 does"


def test_branches_that_only_a_fuse_in_each_protects_are_one_finding() -> None:
    _, (finding,) = found((FOLDER / "undecided-path" / "bad.loom").read_text("utf-8"))
    assert finding.to_do.startswith("use 1.5 mm2 or thicker for wires B1, D1, B2, D2, ")
    assert finding.to_do.endswith(", B14, D14; or fit a separate fuse in each, within 0.178 m of its feed end")
    assert len(finding.notes) == 27
