"""The control panel of a page in Chromium: worked as a finger does, and its numbers compared with the engine's."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from loomwright.checks.operation.load_status import load_status
from loomwright.checks.operation.operating_point import OperatingPoint

if TYPE_CHECKING:
    from playwright.sync_api import Page


def row_of(page: Page, name: str) -> Any:
    return page.locator(f".panel [role=group][aria-label='{name}']")


def press(page: Page, control: Any, position: str) -> None:
    """Work a control as a finger does: a button that is held is touched again to release it."""
    buttons = row_of(page, control.name).locator("button")
    if control.momentary and len(control.positions) == 2:
        held = buttons.first.get_attribute("aria-pressed") == "true"
        if held is (position == control.rest):
            buttons.first.click()
    else:
        buttons.filter(has_text=re.compile(f"^{re.escape(position)}$")).click()


def loads_on(page: Page) -> dict[str, tuple[str, str]]:
    """What the table of loads says: word and V by name."""
    table = page.locator(".tables details").first
    if table.get_attribute("open") is None:
        table.locator("summary").click()
        table.locator("tbody tr").first.wait_for()
    rows = table.locator("tbody tr").all_inner_texts()
    cells = [row.split("\t") for row in rows]
    return {row[0]: (row[1], row[2]) for row in cells}


def volts_of(text: str) -> float:
    return float(text.removesuffix(" V").replace("−", "-"))


def agrees(page: Page, point: OperatingPoint) -> None:
    """The table of loads says what the engine says of a point."""
    said = loads_on(page)
    consumers = [b for b in point.circuit.branches if b.branch_type.consumes]
    assert set(said) == {str(branch.key) for branch in consumers}
    for branch in consumers:
        status = load_status(point, branch.key)
        word, volts = said[str(branch.key)]
        assert word == (status.word if status is not None else "")
        assert volts_of(volts) == pytest.approx(abs(point.across(branch.key)), rel=6e-3, abs=6e-4)
