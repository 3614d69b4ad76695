"""What is advised where a ground lead is off: the right lead, thick enough, and nothing that blames what is sound.

On the demonstrations with a lead taken off; what is advised is written into the text, as a user would, and checked.
"""

from __future__ import annotations

import re
from functools import cache

import pytest
from own_syntaxes import own_syntaxes

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.run import Report, check
from loomwright.lang.editing.fixing import fixed_texts
from loomwright.lang.files.reading import read_text
from tests.checks.fixes.test_no_harmful_fix import DEMONSTRATIONS, TODAY, every

STOCK, REBUILD = DEMONSTRATIONS


@cache
def report_without(path: object, *wires: str) -> Report:
    return checked(without(path, *wires), str(path))


def without(path: object, *wires: str) -> str:
    """The text of a demonstration with these wires off."""
    text = path.read_text("utf-8")  # type: ignore[attr-defined]
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


def errors(report: Report) -> list[str]:
    return [finding.message for finding in every(report) if finding.level is Level.ERROR]


@pytest.mark.parametrize("path", DEMONSTRATIONS, ids=lambda path: path.stem)
def test_the_engines_cable_is_for_the_starter(path: object) -> None:
    """The current of 110 A goes to the battery, and 6 mm2, the lead that is left, does not stand it."""
    (found,) = of(report_without(path, "4"), "split-ground")
    assert found.to_do == "fit a strap from ENGINE to BAT.-, 16 mm2"
    text, file = without(path, "4"), str(path)
    (after,) = fixed_texts(own_syntaxes(read_text(text, file)), found.proposals[0].changes).values()
    assert errors(checked(after, file)) == []
