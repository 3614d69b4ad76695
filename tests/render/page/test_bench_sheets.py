"""The cut list and the sheets of a proof in a browser: boxes and readings stay, and `record` reads what is saved."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser import axe_violations, opened
from click.testing import CliRunner

from loomwright.checks.bench.looms import looms
from loomwright.checks.bench.pieces import pieces
from loomwright.checks.bench.proving.plan import Proof
from loomwright.checks.bench.proving.record import read_record
from loomwright.checks.bench.purchase import purchase
from loomwright.cli import main
from loomwright.lang.files.reading import read_file

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SPEC = Path(__file__).parents[3] / "specs" / "small" / "points-single.loom"


@pytest.fixture(scope="module")
def proof() -> Proof:
    return Proof(read_file(str(SPEC)).harness)


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("sheets") / "points-single.html"
    done = CliRunner().invoke(main, ["page", str(SPEC), "-o", str(made), "--today", "2026-01-01"])
    assert done.exit_code == 0, done.output
    return made


def open_all(page: Page) -> None:
    for summary in page.locator("#bench-sheets summary").all():
        summary.click()
    page.locator("#bench-sheets tbody tr").last.wait_for()


def test_every_row_and_piece_is_there_once(proof: Proof, file: Path, browser: Browser) -> None:
    rows = [row.number for stage in range(4) for row in proof.rows(stage)]
    made = looms(proof.harness, pieces(proof.harness))
    cut = [f"cut {piece.name}" for loom in made for piece in loom.pieces]
    buy = [f"buy {item.name}" for item in purchase(proof.harness, made)]
    with opened(browser, file) as page:
        open_all(page)
        boxes = page.locator("#bench-sheets input[type=checkbox]").all()
        names = [box.get_attribute("aria-label") for box in boxes]
        assert sorted(names) == sorted(f"{key} done" for key in (*rows, *cut, *buy))
        assert page.locator("#bench-sheets input[type=text]").count() == len(rows)
        assert axe_violations(page) == []


def test_the_list_to_buy_is_that_of_the_command(file: Path, browser: Browser) -> None:
    listed = CliRunner().invoke(main, ["buy", str(SPEC)]).stdout
    with opened(browser, file) as page:
        assert page.locator("#bench-sheets summary").first.inner_text() == "to buy"
        open_all(page)
        sheet = page.locator("#bench-sheets details").first
        rows = [row.split("\t")[1:] for row in sheet.locator("tbody tr").all_inner_texts()]
        notes = sheet.locator("p").all_inner_texts()
    lines = listed.splitlines()
    assert len(rows) > 10
    said = [" ".join(line.split()) for line in lines]
    assert [" ".join(" ".join(row).split()) for row in rows] == [line for line in said if line in rows_of(rows)]
    assert notes[0] == lines[-1]


def rows_of(rows: list[list[str]]) -> set[str]:
    return {" ".join(" ".join(row).split()) for row in rows}


def test_what_is_read_stays_and_record_reads_it(proof: Proof, file: Path, browser: Browser, tmp_path: Path) -> None:
    look, beep = proof.rows(0)[0].number, proof.rows(1)[0].number
    volts, unread = [row.number for row in proof.rows(3) if row.expected.way == "volts"][:2]
    with opened(browser, file) as page:
        open_all(page)
        page.get_by_label(f"{look} done", exact=True).check()
        page.get_by_label(f"{unread} done", exact=True).check()  # done is not within its limits: a figure says that
        page.get_by_label(f"reading of {beep}", exact=True).fill("silent")
        page.get_by_label(f"reading of {volts}", exact=True).fill("12.4 V")
        page.reload()
        open_all(page)
        assert page.get_by_label(f"{look} done", exact=True).is_checked()
        assert page.get_by_label(f"reading of {volts}", exact=True).input_value() == "12.4 V"
        with page.expect_download() as download:
            page.get_by_role("button", name="Save the readings as CSV").click()
        saved = tmp_path / download.value.suggested_filename
        download.value.save_as(saved)
    assert saved.name == "points-single-record.csv"
    found = {reading.row.number: reading.text for reading in read_record(saved.read_bytes(), "saved", proof)}
    assert found == {look: "ok", beep: "silent", volts: "12.4 V"}
    done = CliRunner().invoke(main, ["record", str(SPEC), str(saved)])
    assert done.exit_code in (0, 1), done.output


def test_another_plan_of_work_begins_with_empty_boxes(file: Path, browser: Browser, tmp_path: Path) -> None:
    """Pages that are opened from files share one storage: what was ticked belongs to its own plan."""
    text = file.read_text("utf-8")
    plan = json.loads(text.split('id="known">')[1].split("</script>")[0])["bench"]["plan"]
    other = tmp_path / "other.html"
    other.write_text(text.replace(plan, "0" * len(plan)), "utf-8")
    context = browser.new_context()
    page = context.new_page()
    page.goto(file.as_uri())
    open_all(page)
    page.locator("#bench-sheets input[type=checkbox]").first.check()
    page.goto(other.as_uri())
    open_all(page)
    assert page.locator("#bench-sheets input[type=checkbox]:checked").count() == 0
    page.goto(file.as_uri())
    open_all(page)
    assert page.locator("#bench-sheets input[type=checkbox]:checked").count() == 1
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Clear all").click()
    page.wait_for_load_state()
    open_all(page)
    assert page.locator("#bench-sheets input[type=checkbox]:checked").count() == 0
    context.close()
