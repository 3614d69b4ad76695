"""Pages of harnesses of any size: of nothing, of one wire, and of more wires than a proof is worked out for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from bench_bike import BENCH_BIKE
from browser import opened
from click.testing import CliRunner

from loomwright.cli import main
from loomwright.lang.files.reading import read_text
from loomwright.render.page import bench_sheets

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ONE_WIRE = "source BAT battery { voltage 12 V }\nload L lamp { x 5 W: 1 2 }\nwire 1 BAT.+ to L.1 red 1 mm2\n"
LEFT_OUT = (
    "The sheets of a proof are not in this page: of 5 wires, more than 4, they take minutes. "
    "`loomwright prove bike.loom` makes them."
)


def titles() -> list[str]:
    harness = read_text(BENCH_BIKE, "folder/bike.loom").harness
    return [sheet["title"] for sheet in bench_sheets.bench_sheets(harness)["sheets"]]


def test_a_proof_is_in_the_page_up_to_the_limit_and_beyond_it_the_page_says_what_makes_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert bench_sheets.MOST == 300
    monkeypatch.setattr(bench_sheets, "MOST", 5)
    whole = titles()
    assert len(whole) > 3
    assert "proof" not in whole
    monkeypatch.setattr(bench_sheets, "MOST", 4)
    assert titles() == [*whole[:2], "proof"], "what to buy and the cut list stay"
    harness = read_text(BENCH_BIKE, "folder/bike.loom").harness
    assert bench_sheets.bench_sheets(harness)["sheets"][-1]["intro"] == [LEFT_OUT]


def test_the_command_says_what_is_left_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_sheets, "MOST", 4)
    file = tmp_path / "bike.loom"
    file.write_text(BENCH_BIKE, encoding="utf-8")
    done = CliRunner().invoke(main, ["page", str(file)])
    assert (done.exit_code, done.stdout) == (0, f"{file.with_suffix('.html')}\n")
    assert done.stderr == f"{LEFT_OUT}\n"


@pytest.mark.parametrize("text", ["", ONE_WIRE], ids=["nothing", "one wire"])
def test_a_page_of_next_to_nothing_opens(text: str, browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "bike.loom"
    file.write_text(text, encoding="utf-8")
    done = CliRunner().invoke(main, ["page", str(file)])
    assert (done.exit_code, done.stderr) == (0, ""), done.output
    with opened(browser, file.with_suffix(".html")) as page:
        assert page.locator(".stage svg").count() == 1
        assert page.locator(".stage g.wire").count() == text.count("wire ")
