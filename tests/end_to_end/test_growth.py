"""A check of twice the wires does some twice the work: its calls are counted, not timed."""

from __future__ import annotations

import sys
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest
from bench.grown import blocks, grown

from loomwright.checks.runner.run import catalogue, check
from loomwright.lang.files.reading import read_text
from loomwright.render.report.findings import report_text

if TYPE_CHECKING:
    from collections.abc import Callable

WIRES = 400
TWICE = 2.3
"""Twice the wires may take this many times the calls; a tenth and more above 2, since whoever goes through everything
again for each wire comes nearer to 4 the larger the harness is (written at 2.04 and 2.12)."""


def calls(work: Callable[[], Any]) -> int:
    """How many functions are called, those in C among them."""
    count = 0

    def seen(_frame: object, event: str, _arg: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(seen)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count


def checked(text: str) -> None:
    reading = read_text(text)
    report = check(reading, today=date(2026, 1, 1))
    assert not report.mistakes
    assert report.rules == len(catalogue())
    assert report_text(report)


@pytest.mark.parametrize("sort", [grown, blocks])
def test_twice_the_wires_take_twice_the_calls(sort: Callable[[int], str]) -> None:
    once, twice = sort(WIRES), sort(2 * WIRES)
    checked(once)  # what is loaded is loaded once
    assert twice.count("\nwire ") > 1.9 * once.count("\nwire ")
    assert calls(lambda: checked(twice)) < TWICE * calls(lambda: checked(once))
