"""What is advised where a ground lead is off: the right lead, thick enough, and nothing that blames what is sound.

On the demonstrations with a lead taken off; what is advised is written into the text, as a user would, and checked.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from own_syntaxes import own_syntaxes

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.run import Report, check
from loomwright.lang.editing.fixing import fixed_texts
from loomwright.lang.files.reading import read_text
from tests.checks.fixes.test_no_harmful_fix import DEMONSTRATIONS, TODAY, every

STOCK, REBUILD = DEMONSTRATIONS


@cache
def report_without(path: Path, *wires: str) -> Report:
    return checked(without(path, *wires), str(path))


def without(path: Path, *wires: str) -> str:
    """The text of a demonstration with these wires off."""
    text = path.read_text("utf-8")
    for wire in wires:
        text, count = re.subn(rf"^wire {wire} .*\n", "", text, flags=re.M)
        assert count == 1, wire
    return text


def checked(text: str, file: str) -> Report:
    reading = read_text(text, file)
    assert reading.mistakes == ()
    return check(reading, today=TODAY)


def of(report: Report, rule: str) -> list[Finding]:
    return [finding for finding in every(report) if finding.rule == rule]


def of_rule(report: Report, rule: str) -> list[Finding]:
    """Those that a report shows by themselves."""
    return [finding for finding in report.findings if finding.rule == rule]


def errors(report: Report) -> list[str]:
    return [finding.message for finding in every(report) if finding.level is Level.ERROR]


@pytest.mark.parametrize("path", DEMONSTRATIONS, ids=lambda path: path.stem)
def test_the_engines_cable_is_for_the_starter(path: Path) -> None:
    """The current of 110 A goes to the battery, and 6 mm2, the lead that is left, does not stand it."""
    (found,) = of_rule(report_without(path, "4"), "split-ground")
    assert found.to_do == "fit a strap from ENGINE to BAT.-, 16 mm2"
    text, file = without(path, "4"), str(path)
    (after,) = fixed_texts(own_syntaxes(read_text(text, file)), found.proposals[0].changes).values()
    assert errors(checked(after, file)) == []


@pytest.mark.parametrize("path", DEMONSTRATIONS, ids=lambda path: path.stem)
def test_what_leads_to_an_engine_without_its_cable_follows_from_that(path: Path) -> None:
    """No word of the diode, which is right, and none of a charge lamp: both wait for the cable."""
    (cause,) = of_rule(report_without(path, "4"), "split-ground")
    followers = [finding for finding in cause.members if finding.rule == "floating-ground"]
    assert [finding.about for finding in followers] == [("STARTER",), ("WARN",), ("WARN",), ("WARN",)]
    assert {finding.to_do for finding in followers} == {
        "correct this first: ENGINE is not connected to BAT.-: ALT and STARTER have no ground return"
    }
    assert of_rule(report_without(path, "4"), "floating-ground") == []


LOST = {
    (STOCK, "70"): ("WARN.31", "28 x 0.30 mm"),
    (REBUILD, "144"): ("WARN.31", "1 mm2"),
    (REBUILD, "169"): ("WARN.31", "1 mm2"),
}


@pytest.mark.parametrize(("path", "wire"), LOST, ids=lambda each: getattr(each, "stem", each))
def test_a_common_ground_of_tell_tales_goes_to_the_frame(path: Path, wire: str) -> None:
    """They share it with each other and with other lamps: none of them is the charge lamp, which has its D+."""
    end, size = LOST[path, wire]
    report = report_without(path, wire)
    found = [finding for finding in of(report, "floating-ground") if finding.about == ("WARN",)]
    assert [finding.to_do for finding in found] == [f"fit a ground wire from {end} to FRAME, {size}"] * 3
    assert not [finding for finding in of(report, "floating-ground") if "to ENGINE" in finding.to_do]
    text, file = without(path, wire), str(path)
    (after,) = fixed_texts(own_syntaxes(read_text(text, file)), found[0].proposals[0].changes).values()
    assert errors(checked(after, file)) == []


@pytest.mark.parametrize(
    ("path", "line", "bare", "lamp"),
    [
        (STOCK, "wire 90 ", "OIL.1", "WARN.oil"),
        (STOCK, "mount OIL", "OIL.2", "WARN.oil"),
        (STOCK, "wire 44 ", "NEUTRAL.1", "WARN.neutral"),
        (STOCK, "mount NEUTRAL", "NEUTRAL.2", "WARN.neutral"),
        (REBUILD, "wire 90 ", "OIL.1", "WARN.oil"),
        (REBUILD, "wire 121 ", "NEUTRAL.1", "WARN.neutral"),
    ],
    ids=lambda each: getattr(each, "stem", each),
)
def test_a_warning_lamp_goes_to_its_switch(path: Path, line: str, bare: str, lamp: str) -> None:
    """The neutral lamp of the stock harness had the diode to the clutch blamed, which is right as it is."""
    text, count = re.subn(rf"^{line}.*\n", "", path.read_text("utf-8"), flags=re.M)
    assert count == 1
    (found,) = of(checked(text, str(path)), "floating-ground")
    assert found.message.startswith(f"{lamp} is fed and has no ground return")
    assert found.to_do.startswith(f"find out where {bare} belongs: nothing is connected there")
    assert found.proposals == ()
