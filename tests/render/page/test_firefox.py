"""The page in Firefox: it says what it says in Chromium, which tests beside this one compare with the engine."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser import axe_violations, opened
from firefox import Firefox, firefox, opened_in_firefox
from page_walks import walks
from solver_comparison import COMPARE

from loomwright.checks.runner.run import RuleStudy

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 800}
TAB, ENTER, LEFT = "\ue004", "\ue007", "\ue012"
"""Keys by their numbers in WebDriver."""

UNTIL = "const until = async done => { while (!done()) await new Promise(requestAnimationFrame); };"
WORDS = """async () => {
  UNTIL
  const said = [], note = what => said.push(document.querySelector(what).innerText.replace(/\\s+/g, " ").trim());
  const press = (what, words) => [...document.querySelectorAll(`${what} button`)]
    .find(button => button.innerText === words || button.getAttribute("aria-label") === words).click();
  const choose = (what, value) => {
    const select = document.querySelector(what);
    select.value = value;
    select.dispatchEvent(new Event("change"));
  };
  for (const details of document.querySelectorAll("details")) details.open = true;
  const filled = [...document.querySelectorAll(".tables details, #bench-sheets details")];
  await until(() => filled.every(details => details.querySelector("table")));
  const all = () => [".now", ".tables", ".touched"].forEach(note);
  const buttons = [...document.querySelectorAll(".panel button")];
  for (const [i, button] of buttons.entries()) {
    button.click();
    if (i % 3 === 0) all(); else note(".now");
  }
  press(".panel [aria-label='Named states']", "riding-dip");
  all();
  for (const fault of document.querySelectorAll("#faults select")) {
    for (let i = 0; i < 6 && i < fault.options.length; i++) {
      fault.selectedIndex = i * Math.floor(fault.options.length / 6);
      fault.closest(".row").querySelector("button").click();
      note("#faults [role=status]");
    }
  }
  press("#faults", "Repair");
  const search = document.querySelector("#search");
  search.value = "HEAD";
  search.dispatchEvent(new Event("input"));
  document.querySelector(".search .buttons button").click();
  all();
  for (const show of document.querySelectorAll("#findings button")) { show.click(); all(); }
  ["#findings", "#bench-sheets", "#next-owner"].forEach(note);
  const drawn = () => document.querySelector(".stage svg");
  said.push(drawn().textContent);
  for (const {value} of [...document.querySelectorAll("#sheet option")].slice(1)) {
    const before = drawn();
    choose("#sheet", value);
    await until(() => drawn() && drawn() !== before);
    said.push(drawn().textContent);
  }
  return said;
}""".replace("UNTIL", UNTIL)

ON_A_WIRE = """() => {
  document.querySelector(".stage").scrollIntoView({block: "center", behavior: "instant"});
  const wire = document.querySelector(".stage g.wire[data-wire='1'] path"), by = wire.getScreenCTM();
  const at = wire.getPointAtLength(20);
  return {x: at.x * by.a + by.e, y: at.y * by.d + by.f};
}"""
PLACE = "() => document.querySelector('.paper').style.transform"


def opening(what: str) -> str:
    return f"() => {{ for (const each of document.querySelectorAll({what!r})) each.open = true; }}"


@pytest.fixture(scope="module")
def running() -> Iterator[Firefox]:
    with firefox() as started:
        yield started


def test_it_says_what_it_says_in_chromium(stock_file: Path, running: Firefox, browser: Browser) -> None:
    with opened_in_firefox(running, stock_file, DESK) as tab:
        words = tab.evaluate(WORDS)
    with opened(browser, stock_file) as page:
        assert words == page.evaluate(WORDS)
    assert len(words) > 60


def test_its_solver_has_the_numbers_of_the_engine(stock: RuleStudy, stock_file: Path, running: Firefox) -> None:
    with opened_in_firefox(running, stock_file, DESK) as tab:
        found = tab.evaluate(COMPARE, walks(stock.harness, random.Random(5), ("", "ground")))
    assert found["wrong"] == []
    assert found["steps"] == 50


def test_fingers_and_keys(stock_file: Path, running: Firefox) -> None:
    with opened_in_firefox(running, stock_file, PHONE) as tab:
        tab.tap(".panel [aria-label='KEY'] button:nth-of-type(2)")
        assert tab.evaluate("() => document.querySelector('.now').innerText").startswith("Relays, latches")
        tab.tap(tab.evaluate(ON_A_WIRE))
        assert tab.evaluate("() => document.querySelector('.touched h3').innerText") == "wire 1"
        tab.evaluate("() => document.querySelector('.tools [aria-label=\"Whole sheet\"]').focus()")
        tab.press(TAB)
        before = tab.evaluate(PLACE)
        tab.press(LEFT)
        assert tab.evaluate(PLACE) != before
        tab.press(TAB)
        tab.press(ENTER)
        assert tab.evaluate("() => document.querySelector('.side details').open")


def test_dark_and_readable(stock_file: Path, running: Firefox) -> None:
    with opened_in_firefox(running, stock_file, PHONE) as tab:
        assert tab.evaluate("() => getComputedStyle(document.body).backgroundColor") == "rgb(23, 24, 26)"
        tab.evaluate(opening(".tables details, #findings details"))
        assert tab.evaluate("() => document.documentElement.scrollWidth") <= PHONE["width"]
        assert axe_violations(tab) == []


def test_boxes_stay(stock_file: Path, running: Firefox) -> None:
    first = "document.querySelector('#bench-sheets input[type=checkbox]')"
    with opened_in_firefox(running, stock_file, DESK) as tab:
        for begun in (False, True):
            tab.goto(stock_file.as_uri(), DESK)
            tab.evaluate(opening("#bench-sheets details"))
            assert (
                tab.evaluate(f"async () => {{ {UNTIL} await until(() => {first}); return {first}.checked; }}") is begun
            )
            tab.evaluate(f"() => {first}.click()")
