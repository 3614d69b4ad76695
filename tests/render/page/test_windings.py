"""What windings decide, on the page: as the engine calculated it in advance, and no number where it did not."""

from __future__ import annotations

import random
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser import opened
from pages import SPECS, html_of, study_of
from panel import agrees, loads_on, press, row_of

from loomwright.checks.runner.run import RuleStudy
from loomwright.lang.circuit.branch_types import BranchType
from loomwright.lang.files.reading import read_file
from loomwright.render.page import in_advance

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


def page_of(name: str, folder: Path) -> tuple[RuleStudy, Path]:
    reading = read_file(str(SPECS / f"{name}.loom"))
    study = study_of(reading)
    file = folder / f"{Path(name).stem}.html"
    file.write_text(html_of(study, reading), "utf-8")
    return study, file


def in_state(page: Page, name: str) -> None:
    row_of(page, "Named states").get_by_role("button", name=name, exact=True).click()


def now(page: Page) -> str:
    return page.locator(".now").inner_text()


@pytest.mark.parametrize("stem", ["magneto-single", "trail-bike"])
def test_the_numbers_are_those_of_the_engine(stem: str, tmp_path: Path, browser: Browser) -> None:
    """Every control, one after the other, with the engine at each speed; and the named states."""
    study, file = page_of(f"small/{stem}", tmp_path)
    chance = random.Random(stem)
    controls = [c for c in study.circuit.controls.values() if not c.free and c.name != "engine"]
    alternating = 0
    with opened(browser, file) as page:
        positions: dict[str, str] = {}
        for engine in ("idling", "running", "fast"):
            positions["engine"] = engine
            press(page, study.circuit.controls["engine"], engine)
            for control in (*controls, *controls):
                positions[control.name] = chance.choice(control.positions)
                press(page, control, positions[control.name])
                if study.operation.network.turns(engine):
                    agrees(page, study.operation.at(positions))
                    assert "Calculated in advance; what alternates is shown as rms." in now(page)
                    alternating += 1
        for name, point in study.operation.points.items():
            in_state(page, name)
            agrees(page, point)
    assert alternating >= 16


def test_a_battery_beside_a_winding(tmp_path: Path, browser: Browser) -> None:
    study, file = page_of("small/six-volt-magneto", tmp_path)
    with opened(browser, file) as page:
        for name, point in study.operation.points.items():
            in_state(page, name)
            agrees(page, point)
        in_state(page, "flat-out")
        point = study.operation.points["flat-out"]
        assert f"MAG.light delivers {point.flow.delivered_amps('MAG.light'):.2f} A at " in now(page)
        lamp = next(b for b in study.circuit.branches if b.branch_type is BranchType.LAMP and point.amps(b.key) > 0.1)
        (row,) = [r for r in page.locator(".tables tbody tr").all_inner_texts() if r.startswith(f"{lamp.key}\t")]
        assert float(row.split("\t")[3].removesuffix(" A")) == pytest.approx(point.amps(lamp.key), rel=6e-3)
        press(page, study.circuit.controls["engine"], "off")
        assert "Calculated in advance" not in now(page)
        press(page, study.circuit.controls["engine"], "fast")
        page.get_by_role("button", name="Cut wire").click()
        assert "no fault is calculated here for that: “loomwright faults” does it" in now(page)
        assert {volts for _, volts in loads_on(page).values()} == {"–"}


def test_what_is_connected_to_a_winding_is_live(tmp_path: Path, browser: Browser) -> None:
    study, file = page_of("small/trail-bike", tmp_path)
    with opened(browser, file) as page:
        in_state(page, "riding")
        page.locator(".tables summary", has_text="Wires").click()
        page.locator(".tables tbody tr").first.wait_for()
        rows = [row.split("\t") for row in page.locator(".tables tbody tr").all_inner_texts()]
        words = {row[0]: row[-1] for row in rows}
        live = {name for name, word in words.items() if word == "live"}
        assert live == {"1", "6", "7", "9", "10", "12", "15", "16"}
        volts = {row[0]: float(row[6].removesuffix(" V")) for row in rows}
        assert volts["10"] == pytest.approx(study.operation.points["riding"].across("HEAD.dip"), abs=0.2)


def test_wires_of_a_winding_that_is_not_calculated_have_no_numbers(tmp_path: Path, browser: Browser) -> None:
    study, file = page_of("small/trail-bike", tmp_path)
    with opened(browser, file) as page:
        press(page, study.circuit.controls["LIGHTS"], "low")
        press(page, study.circuit.controls["engine"], "cranking")
        why = "the speed at which the engine is kicked over is not known"
        assert f"The current of MAG.light and MAG.exciter is not calculated: {why}." in now(page)
        page.locator(".tables summary", has_text="Wires").click()
        page.locator(".tables tbody tr").first.wait_for()
        rows = [row.split("\t") for row in page.locator(".tables tbody tr").all_inner_texts()]
        untold = {int(row[0]) for row in rows if row[5:8] == ["–", "–", "–"]}
        assert untold == {1, 6, 7, 9, 10, 11, 12, 15, 16, 17, 18, 19}  # not 8, 13 and 14, which lead to ground
        assert loads_on(page)["HEAD.dip"] == (f"not calculated: {why}", "–")


def test_of_too_many_combinations_only_those_near_a_named_state_have_numbers(
    tmp_path: Path, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(in_advance, "MOST", 40)
    study, file = page_of("small/trail-bike", tmp_path)
    controls = study.circuit.controls
    with opened(browser, file) as page:
        in_state(page, "riding")
        press(page, controls["front-brake"], "press")
        agrees(page, study.operation.at({"LIGHTS": "low", "engine": "running", "front-brake": "press"}))
        press(page, controls["STOP"], "stop")
        assert now(page).endswith(
            "No numbers: a winding decides all voltages now. They are calculated in advance for each named state and "
            "one press from it: go there, or write “state NAME { STOP stop, LIGHTS low, front-brake press, engine "
            "running }” into trail-bike.loom and make the page again."
        )
        assert {volts for _, volts in loads_on(page).values()} == {"–"}
    monkeypatch.setattr(in_advance, "MOST", 6)
    found = in_advance.in_advance(study)
    assert (found["whole"], found["near"], len(found["points"])) == (False, False, 6)
    with_states = [dict(zip(found["controls"], point["positions"], strict=True)) for point in found["points"][:5]]
    assert with_states == [study.operation.positions(name) for name in study.operation.points]


def test_what_a_winding_does_not_tell_has_no_number(tmp_path: Path, browser: Browser) -> None:
    study, file = page_of("rules/exchanged-windings/good", tmp_path)
    untold = study.operation.on_windings.untold(study.operation.at({"engine": "running"}))
    assert untold
    with opened(browser, file) as page:
        press(page, study.circuit.controls["engine"], "running")
        said = loads_on(page)
        for key in untold:
            assert said[str(key)][0].startswith("not calculated: ")
            assert said[str(key)][1] == "–"
        assert "Not calculated is " in now(page)
