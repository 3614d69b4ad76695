"""Harnesses are made out again only where one of their texts is another."""

from __future__ import annotations

from typing import Any

import pytest

import loomwright.lang.resolve.remembered as remembered
from loomwright.lang.files.reading import read_text
from loomwright.lang.resolve.remembered import Remembered

LAMP = 'loom "Lamp"\nload HEAD lamp { dip 55 W: 1 2 }\n'


def harness(known: Remembered, text: str) -> Any:
    return read_text(text, "lamp.loom", resolved=known.resolve).harness


def test_an_equal_text_gives_the_same_harness() -> None:
    known = Remembered()
    first, other = harness(known, LAMP), harness(known, LAMP.replace("55", "35"))
    assert first is not other
    assert harness(known, LAMP) is first
    assert first == read_text(LAMP, "lamp.loom").harness


def test_mistakes_are_told_each_time() -> None:
    known, wrong = Remembered(), LAMP.replace("load", "laod")
    for _ in range(2):
        reading = read_text(wrong, "lamp.loom", resolved=known.resolve)
        assert [each.kind for each in reading.mistakes] == ["unknown-statement"]


def test_a_few_are_remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    known = Remembered()
    first = harness(known, LAMP)
    for watts in range(20, 20 + remembered.MOST):
        harness(known, LAMP.replace("55", str(watts)))
    assert harness(known, LAMP) is not first
    monkeypatch.setattr(remembered, "MOST_TEXT", 2 * len(LAMP))
    again = harness(known, LAMP)
    harness(known, LAMP.replace("55", "44"))
    assert harness(known, LAMP) is again
    harness(known, LAMP.replace("55", "45"))
    harness(known, LAMP.replace("55", "46"))
    assert harness(known, LAMP) is not again
