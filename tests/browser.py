"""A browser for tests of the page: Debian's Chromium, driven by Playwright. Nothing else runs our scripts."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from outside import require_tool

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

AS_ROOT = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []

DESK = {"width": 1280, "height": 800}
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}
"""Those of axe-core that WCAG 2.2 AA asks for."""


@contextmanager
def chromium() -> Iterator[Browser]:
    """Without Chromium the test is skipped, or fails in CI; Playwright itself is a library of the tests."""
    program = require_tool("chromium")
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=AS_ROOT)
        yield browser
        browser.close()


@contextmanager
def opened(browser: Browser, file: Path, viewport: dict[str, int] = DESK, **more: Any) -> Iterator[Page]:
    """The page, which may ask for nothing but itself and must not say anything to the console."""
    context = browser.new_context(viewport=viewport, **more)  # type: ignore[arg-type]
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: said.append(request.url) if request.url != file.as_uri() else None)
    page.goto(file.as_uri())
    page.wait_for_selector("html[data-ready]")
    yield page
    assert said == []
    context.close()


def axe_violations(page: Page) -> list[Any]:
    """What axe-core finds on a page against WCAG 2.2 AA: rule, and where."""
    package = pytest.importorskip("axe_playwright_python")
    page.evaluate((Path(package.__file__).parent / "axe.min.js").read_text("utf-8"))
    found = page.evaluate("options => axe.run(document, options)", RULES)
    assert len(found["passes"]) > 15
    return [(each["id"], [node["target"] for node in each["nodes"]][:3]) for each in found["violations"]]
