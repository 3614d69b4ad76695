"""What the page says without a script: old against new, the build log, and for the next owner."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser import axe_violations, opened
from click.testing import CliRunner

from loomwright.cli import main
from loomwright.lang.files.reading import read_file
from loomwright.render.page.next_owner import next_owner_html
from loomwright.render.report.next_owner import for_next_owner

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SPECS = Path(__file__).parents[3] / "specs"
TODAY = ("--today", "2026-01-01")


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of the rebuild, which converts the stock harness and has a log."""
    made = tmp_path_factory.mktemp("told") / "rebuild.html"
    done = CliRunner().invoke(main, ["page", str(SPECS / "rebuild.loom"), "-o", str(made), *TODAY])
    assert (done.exit_code, done.output) == (0, f"{made}\n")
    return made


@pytest.fixture(scope="module")
def page(file: Path, browser: Browser) -> Iterator[Page]:
    with opened(browser, file) as page:
        yield page


def test_each_part_is_in_the_navigation(page: Page) -> None:
    assert page.locator("#parts a").all_inner_texts() == [
        "Schematic",
        "Faults",
        "Findings",
        "Bench sheets",
        "Charts",
        "Old against new",
        "Build log",
        "For the next owner",
    ]


def test_old_against_new_is_what_compare_lists(page: Page) -> None:
    wanted = ["compare", str(SPECS / "stock.loom"), str(SPECS / "rebuild.loom"), "--findings", *TODAY]
    listed = CliRunner().invoke(main, wanted).stdout
    rows = [line.strip() for line in listed.splitlines() if line.startswith("  ")]
    said = page.locator("#old-against-new li").all_text_contents()
    assert len(rows) > 150
    assert [row.replace("->", "→").split(".loom:")[-1] for row in rows] == [row.split(".loom:")[-1] for row in said]


def test_what_was_not_compared_is_said(page: Page) -> None:
    assert page.locator("#old-against-new p").last.inner_text() == "Not compared: single faults."


def test_charts_are_there_with_all_that_they_show_in_words(page: Page) -> None:
    charts = page.locator("#charts img")
    assert charts.count() == 3
    assert all(len(chart.get_attribute("alt") or "") > 40 for chart in charts.all())


def test_the_log_is_there_with_its_photographs_and_drawings(page: Page) -> None:
    log = page.locator("#build-log")
    assert log.locator("h3").first.inner_text() == "Fennmoor 480: from the old harness to the new one"
    assert log.locator("img").count() >= 4
    for image in log.locator("img").all():
        assert image.evaluate("each => each.decode().then(() => each.naturalWidth)") > 100


def test_a_picture_is_shown_where_what_it_names_is_touched(file: Path, browser: Browser) -> None:
    with opened(browser, file) as page:
        page.fill("#search", "C-PANEL")
        page.get_by_role("button", name="part C-PANEL").click()
        (figure,) = page.locator(".touched figure").all()
        image = figure.locator("img")
        assert image.get_attribute("alt") == "A board with pegs and the loom laid out on it"
        assert image.evaluate("each => each.decode().then(() => each.naturalWidth)") == 960
        assert "C-PANEL, C-HEAD" in figure.inner_text()
        figure.get_by_role("link", name="Build log: 6 April: on the board").click()
        assert page.evaluate("document.querySelector(':target').textContent") == "6 April: on the board"
        page.get_by_role("button", name="Close").click()
        page.fill("#search", "C-ALT")
        page.get_by_role("button", name="part C-ALT").click()
        assert page.locator(".touched figure").count() == 0


@pytest.mark.parametrize(
    ("text", "name", "is_named"),
    [
        ("the clips of F-HEAD.", "F-HEAD", True),
        ("the clips of F-HEAD.", "HEAD", False),
        ("HEAD.56b is brown", "HEAD", False),
        ("C-HEAD-2", "C-HEAD", False),
        ("at wire 12, cut", "wire 12", True),
        ("at wire 12.1", "wire 12", False),
        ("A (old)", "A (old)", True),
    ],
)
def test_which_words_name_a_part(text: str, name: str, is_named: bool, page: Page) -> None:
    assert page.evaluate("([text, name]) => names(text, name)", [text, name]) is is_named


def test_the_next_owner_reads_the_same_as_on_paper(file: Path) -> None:
    found = for_next_owner(read_file(str(SPECS / "rebuild.loom")).harness)
    text = file.read_text("utf-8")
    assert next_owner_html(found, top=3) in text
    assert escape(found.caution) in text


def test_it_can_be_read(file: Path, browser: Browser) -> None:
    with opened(browser, file, {"width": 390, "height": 844}) as page:
        for details in page.locator("#old-against-new details").all():
            details.evaluate("each => each.open = true")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        assert axe_violations(page) == []


def test_a_harness_without_these_has_no_such_part(tmp_path: Path, browser: Browser) -> None:
    made = tmp_path / "small.html"
    spec = SPECS / "small" / "capacitor-single.loom"
    done = CliRunner().invoke(main, ["page", str(spec), "-o", str(made), *TODAY])
    assert done.exit_code == 0
    with opened(browser, made) as page:
        assert page.locator("#parts a").all_inner_texts() == [
            "Schematic",
            "Faults",
            "Findings",
            "Bench sheets",
            "Charts",
            "For the next owner",
        ]


def test_nothing_is_written_of_a_log_with_errors(tmp_path: Path) -> None:
    (tmp_path / "bike.loom").write_bytes((SPECS / "small" / "capacitor-single.loom").read_bytes())
    (tmp_path / "log.md").write_text("# Log\n\n![gone](photos/none.jpg)\n", "utf-8")
    done = CliRunner().invoke(main, ["page", str(tmp_path / "bike.loom")])
    assert done.exit_code == 1
    assert "photos/none.jpg" in done.stderr
    assert not (tmp_path / "bike.html").exists()


def test_findings_of_an_old_harness_that_is_not_checked_are_not_called_new(tmp_path: Path) -> None:
    """What the old one converts cannot be read, so that no rule was run over it."""
    bike = (SPECS / "small" / "capacitor-single.loom").read_text("utf-8")
    first, rest = bike.split("\nsystem ", 1)
    (tmp_path / "older.loom").write_text(f'{first}\nsystem {rest}\nconverts "gone.loom"\n', "utf-8")
    (tmp_path / "bike.loom").write_text(f'{first}\nsystem {rest}\nconverts "older.loom"\n', "utf-8")
    made = CliRunner().invoke(main, ["page", str(tmp_path / "bike.loom"), *TODAY])
    assert made.exit_code == 0, made.output
    text = (tmp_path / "bike.html").read_text("utf-8").split('id="old-against-new"')[1].split("</section>")[0]
    assert "Findings that are" not in text
    assert "<p>Not compared: findings and single faults.</p>" in text
    assert "No findings of the old harness: " in text
    assert "`gone.loom` cannot be read as the harness that this one replaces" in text
