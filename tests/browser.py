"""A browser for tests of the page: Debian's Chromium, driven by Playwright. Nothing else runs our scripts."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest
from outside import require_tool

if TYPE_CHECKING:
    from playwright.sync_api import Browser

AS_ROOT = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []


@contextmanager
def chromium() -> Iterator[Browser]:
    """Without Chromium the test is skipped, or fails in CI; Playwright itself is a library of the tests."""
    program = require_tool("chromium")
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=AS_ROOT)
        yield browser
        browser.close()
