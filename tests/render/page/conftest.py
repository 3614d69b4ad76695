"""The browser and the page of the demonstration, each made once for many tests."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser import chromium
from pages import SPECS, html_of, study_of

from loomwright.checks.runner.run import RuleStudy
from loomwright.lang.files.reading import read_file

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


@pytest.fixture(scope="session")
def stock() -> RuleStudy:
    return study_of(read_file(str(SPECS / "stock.loom")))


@pytest.fixture(scope="session")
def stock_file(stock: RuleStudy, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("page") / "stock.html"
    file.write_text(html_of(stock, read_file(str(SPECS / "stock.loom"))), "utf-8")
    return file
