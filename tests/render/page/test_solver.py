"""The page's own solver says what the engine says: all that remembers and chatters, every ampere and volt."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from outside import some_of
from page_walks import walks
from random_bikes import bike
from solver_comparison import COMPARE
from spec_files import harnesses

from loomwright.lang.files.reading import read_file, read_text
from loomwright.render.page.scripts import SOLVER, script

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SPECS = Path(__file__).parents[3] / "specs"
WHOLE = harnesses([*SPECS.glob("*.loom"), *(SPECS / "small").glob("*.loom")])
ODD = (  # sense leads, units with latches, stop leads and references, measured stators, windings, two machines
    "sense-error/bad",
    "thin-conductor/edge-measured",
    "latch-stuck/bad",
    "relay-chatter/bad",
    "lamp-out/bad",
    "no-kill-path/edge-half",
    "exchanged-field/bad",
)


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    opened = browser.new_page()
    opened.set_content("<!doctype html><title>solver</title>")
    opened.add_script_tag(content=script(SOLVER))
    yield opened
    opened.close()


def compared(page: Page, given: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate(COMPARE, given)
    assert found["wrong"][:5] == []
    return found


@pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.stem)
def test_whole_harnesses_press_by_press(path: Path, page: Page) -> None:
    harness = read_file(str(path)).harness
    found = compared(page, walks(harness, random.Random(path.stem)))
    assert found["steps"] == 100


@pytest.mark.parametrize("name", ODD)
def test_what_few_harnesses_have(name: str, page: Page) -> None:
    harness = read_file(str(SPECS / "rules" / f"{name}.loom")).harness
    assert compared(page, walks(harness, random.Random(name)))["steps"] == 100


def test_random_motorcycles_sound_and_faulty(page: Page) -> None:
    steps = chatters = 0
    for seed in some_of(range(2000, 2400), 20):
        harness = read_text(bike(seed), "bike.loom").harness
        found = compared(page, walks(harness, random.Random(seed)))
        steps, chatters = steps + found["steps"], chatters + found["chatters"]
    assert steps >= 2000
    assert chatters >= 5, "some of them keep switching"


def test_a_solver_that_is_off_is_found_out(page: Page) -> None:
    """The comparison itself can fail: a wire of half the ohms is noticed."""
    given = walks(read_file(str(SPECS / "stock.loom")).harness, random.Random(1), ("",))
    wire = next(b for b in given["document"]["branches"] if b["key"] == "wire 1")
    wire["model"]["siemens"] *= 2.0
    found: dict[str, Any] = page.evaluate(COMPARE, given)
    assert found["wrong"] != []
