"""The page in a browser: every control, its numbers against the engine's, that it fetches nothing and can be read."""

from __future__ import annotations

import json
import os
import random
import re
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser import DESK, axe_violations, opened
from outside import some_of
from pages import SPECS, html_of, study_of
from panel import agrees, loads_on, press, row_of

from loomwright.checks.dc.relay_fixed_point import AT_REST
from loomwright.checks.export import exported
from loomwright.checks.fmea.shorts import Shorts
from loomwright.checks.operation.load_status import load_status
from loomwright.checks.runner.run import RuleStudy, check_examined
from loomwright.lang.circuit.branch_types import BranchType
from loomwright.lang.files.reading import read_file, read_text
from loomwright.render.page.facts import devices
from loomwright.render.page.in_advance import in_advance
from loomwright.render.page.scripts import SOLVER, script

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PHONE = {"width": 390, "height": 844}


def test_every_control_can_be_worked(stock: RuleStudy, stock_file: Path, browser: Browser) -> None:
    controls = [c for c in stock.circuit.controls.values() if not c.free]
    with opened(browser, stock_file) as page:
        for control in controls:
            for position in (*control.positions, control.rest):
                press(page, control, position)
                pressed = row_of(page, control.name).locator("button[aria-pressed=true]").all_inner_texts()
                if control.momentary and len(control.positions) == 2:
                    assert bool(pressed) is (position != control.rest)
                else:
                    assert pressed == [position]
        free = [c.name for c in stock.circuit.controls.values() if c.free]
        assert all(name in page.locator(".panel").inner_text() for name in free)


def test_named_states_have_the_numbers_of_the_engine(stock: RuleStudy, stock_file: Path, browser: Browser) -> None:
    with opened(browser, stock_file) as page:
        for name, point in stock.operation.points.items():
            row_of(page, "Named states").get_by_role("button", name=name, exact=True).click()
            assert f"State {name}, from rest." in page.locator(".now").inner_text()
            agrees(page, point)


def test_any_combination_has_the_numbers_of_the_engine(stock: RuleStudy, stock_file: Path, browser: Browser) -> None:
    """Twenty-five presses one after the other, each from what the one before left; then from rest again."""
    chance = random.Random(4)
    controls = [c for c in stock.circuit.controls.values() if not c.free]
    positions: dict[str, str] = {}
    memory = AT_REST
    with opened(browser, stock_file) as page:
        for _ in range(25):
            control = chance.choice(controls)
            position = chance.choice([p for p in control.positions if p != positions.get(control.name, control.rest)])
            positions[control.name] = position
            press(page, control, position)
            point = stock.operation.at(positions, memory)
            memory = point.memory
            agrees(page, point)
            assert "as they were left" in page.locator(".now").inner_text()
        row_of(page, "Start again").get_by_role("button").click()
        assert page.locator(".now").inner_text().startswith("From rest.")
        agrees(page, stock.operation.at({}))


def test_a_fault_lists_all_that_it_changes(stock: RuleStudy, stock_file: Path, browser: Browser) -> None:
    fuse = next(str(b.key) for b in stock.circuit.branches if b.branch_type is BranchType.FUSE and b.part == "F-TAIL")
    sound = stock.operation.state("riding-dip")
    hurt = stock.operation.damaged(frozenset((fuse,))).at(sound.positions, sound.memory)
    words = {
        str(b.key): (was.word, now.word)
        for b in stock.circuit.branches
        if b.branch_type is not BranchType.COIL
        and (was := load_status(sound, b.key)) is not None
        and (now := load_status(hurt, b.key)) is not None
    }
    with opened(browser, stock_file) as page:
        row_of(page, "Named states").get_by_role("button", name="riding-dip", exact=True).click()
        page.select_option("#fault-fuse", label=fuse)
        page.get_by_role("button", name="Pull fuse").click()
        said = page.locator("#faults li").all_inner_texts()
        expected = [f"{key} was {was}, is {now} " for key, (was, now) in words.items() if was != now]
        assert expected
        assert [line for line in said if " was " in line] == [
            line for line in said if any(line.startswith(each) for each in expected)
        ]
        assert len([line for line in said if " was " in line]) == len(expected)
        assert f"Fault: fuse {fuse} is out." in page.locator(".now").inner_text()
        page.get_by_role("button", name="Repair").click()
        assert page.locator("#faults li").count() == 0
        agrees(page, sound)


SHORTS = """({state, ends}) => {
  const trial = new Trial(JSON.parse(document.getElementById("known").textContent));
  return ends.map(end => {
    trial.repair();
    trial.inState(state);
    trial.setFault("", {grounded: end});
    return [trial.fault.blown.map(each => each.key), trial.why];
  });
}"""


@pytest.mark.parametrize("state", ["parked", "riding-dip"])
@pytest.mark.parametrize("stem", ["stock", "rebuild"])
def test_a_short_to_ground_opens_what_the_engine_opens(stem: str, state: str, tmp_path: Path, browser: Browser) -> None:
    """The smallest fuse or output in its way, or none: fire."""
    study = study_of(read_file(str(SPECS / f"{stem}.loom")))
    shorts = list(Shorts(study.operation.state(state), study.protection).all())
    ends = [str(short.wire.b) for short in shorts if short.wire is not None]
    with opened(browser, trial_file(study, tmp_path)) as page:
        found = page.evaluate(SHORTS, {"state": state, "ends": ends})
    blown = [[str(branch.key) for branch in short.damage.opened] if short.damage else [] for short in shorts]
    assert [opened for opened, _ in found] == blown
    assert ["fire" in why for _, why in found] == [short.burns for short in shorts]
    assert any(blown)
    assert any(short.burns for short in shorts)


def trial_file(study: RuleStudy, folder: Path) -> Path:
    """No page, but what calculates in one."""
    circuit, ahead = exported(study), in_advance(study)
    known = {"circuit": circuit, "devices": devices(study), "in_advance": ahead, "wires": [], "parts": []}
    file = folder / "solver.html"
    text = json.dumps(known).replace("<", "\\u003c")
    file.write_text(
        f'<!doctype html><html data-ready><meta charset="utf-8"><script type="application/json" id="known">{text}'
        f"</script><script>{script((*SOLVER, 'words.js', 'in_advance.js', 'trial.js'))}</script>",
        "utf-8",
    )
    return file


FUSES = """loom "Fuses"
system 12 V negative ground
place tray
ground FRAME at tray
source BAT battery at tray {{ voltage 12.6 V; capacity 7 Ah; resistance 20 mohm }}
{fuses}
load L lamp for lighting {{ x 5 W: 1 2 }}
wire 90 BAT.- to FRAME black 4 mm2 1 m
wire 91 L.2 to FRAME black 1 mm2 1 m
state on {{ engine off }}
"""
IN_A_ROW = "wire 1 BAT.+ to A.1 red 1 mm2 1 m\nwire 2 A.2 to B.1 red 1 mm2 1 m\nwire 3 B.2 to L.1 red 1 mm2 1 m"
BESIDE = (
    "wire 1 BAT.+ to A.1 red 1 mm2 1 m\nwire 2 BAT.+ to B.1 red 1 mm2 1 m\n"
    "wire 3 A.2 to L.1 red 1 mm2 1 m\nwire 4 B.2 to L.1 red 1 mm2 1 m"
)


@pytest.mark.parametrize(
    ("amps", "wires", "blown", "why"),
    [
        ((10, 5), IN_A_ROW, ["B"], ""),
        ((5, 10), IN_A_ROW, ["A"], ""),
        ((10, 10), IN_A_ROW, [], "Dead short: it opens A or B. No numbers."),
        ((10, 5), BESIDE, [], "Dead short: one fuse alone does not end it. No numbers."),
    ],
    ids=["the-second", "the-first", "alike", "beside"],
)
def test_which_of_two_fuses_blows(
    amps: tuple[int, int], wires: str, blown: list[str], why: str, tmp_path: Path, browser: Browser
) -> None:
    fuses = f"fuse A {amps[0]} A glass\nfuse B {amps[1]} A glass\n{wires}"
    study = study_of(read_text(FUSES.format(fuses=fuses), "fuses.loom"))
    with opened(browser, trial_file(study, tmp_path)) as page:
        assert page.evaluate(SHORTS, {"state": "on", "ends": ["L.1"]}) == [[blown, why]]


@pytest.mark.parametrize(
    ("state", "end", "blown", "said"),
    [
        ("riding-dip", "OIL.1", [], "WARN.oil was dead, is live"),
        ("riding-dip", "REAR.58", ["F-TAIL"], "REAR.tail was live, is dead"),
        ("riding-dip", "K-START.30", None, "Dead short: no fuse protects it: fire. No numbers."),
    ],
)
def test_a_terminal_on_ground(
    state: str, end: str, blown: list[str] | None, said: str, stock: RuleStudy, stock_file: Path, browser: Browser
) -> None:
    with opened(browser, stock_file) as page:
        row_of(page, "Named states").get_by_role("button", name=state, exact=True).click()
        page.select_option("#fault-short", label=end)
        page.get_by_role("button", name="Short to ground").click()
        assert said in page.locator("#faults [role=status]").inner_text()
        assert page.locator(".stage .terminal[data-grounded]").count() in (0, 1)
        fault = ", ".join([f"{end} is shorted to ground", *(f"{name} has blown" for name in blown or [])])
        assert f"Fault: {fault}. " in page.locator(".now").inner_text()
        if blown is not None:
            sound = stock.operation.state(state)
            hurt = stock.operation.damaged(frozenset(blown), end).at(sound.positions, sound.memory)
            agrees(page, hurt)
        page.get_by_role("button", name="Repair").click()
        agrees(page, stock.operation.state(state))


def test_a_finding_sets_the_panel(tmp_path: Path, browser: Browser) -> None:
    path = SPECS / "rules" / "feedback-path" / "bad.loom"
    reading = read_file(str(path))
    study = study_of(reading)
    file = tmp_path / "page.html"
    file.write_text(html_of(study, reading), "utf-8")
    shown = next(f for f in check_examined(reading, study).findings if f.rule == "feedback-path")
    assert shown.combination
    with opened(browser, file) as page:
        found = page.locator(".finding").filter(has_text=shown.message)
        found.locator("summary").click()
        assert "with: " in found.inner_text()
        found.get_by_role("button", name="Show it").click()
        for name, position in shown.combination:
            control = study.circuit.controls[name]
            pressed = row_of(page, name).locator("button[aria-pressed=true]").all_inner_texts()
            assert pressed == ([position] if not control.momentary else [f"hold: {position}"])


def test_bars_and_lanes_are_painted_as_their_terminals_are(stock_file: Path, browser: Browser) -> None:
    with opened(browser, stock_file) as page:

        def live() -> list[str]:
            found: list[str] = page.locator(".stage g.joint.live").evaluate_all("all => all.map(g => g.dataset.node)")
            assert page.locator(".stage g.joint.dead").count() == 7 - len(found)
            return sorted(found)

        assert live() == ["BAT.+", "SP-30"]
        row_of(page, "Named states").get_by_role("button", name="riding-dip", exact=True).click()
        assert live() == ["BAT.+", "SP-15", "SP-30", "SP-D", "SP-IGN"]  # neither BAT.- nor ENGINE


def test_what_is_touched_is_told(stock_file: Path, browser: Browser) -> None:
    with opened(browser, stock_file, PHONE, has_touch=True) as page:
        page.select_option("#sheet", "lighting")
        words = page.locator('.stage svg[aria-labelledby^="lighting"]').text_content()
        assert words is not None
        assert "Contacts are as set on the panel." in words
        assert "at rest" not in words  # the panel moves them
        spot = page.wait_for_function(
            """() => {
              const wire = document.querySelector('.stage svg[aria-labelledby^="lighting"] g.wire[data-wire="2"] path');
              if (!wire) return null;
              const at = wire.getPointAtLength(wire.getTotalLength() - 12), by = wire.getScreenCTM();
              return {x: at.x * by.a + by.e, y: at.y * by.d + by.f};
            }"""
        ).json_value()
        page.locator(".stage").scroll_into_view_if_needed()
        page.touchscreen.tap(spot["x"], spot["y"])
        box = page.locator(".touched")
        box.get_by_role("heading", name="wire 2").wait_for()
        text = box.inner_text()
        assert "red, 16 mm², 0." in text
        assert "BAT.+ (tray) to K-START.30 (tray)" in text
        assert "Carries 0 A; 12.6 V to ground at BAT.+, 12.6 V to ground at K-START.30" in text
        assert "Live always" in text
        assert "At BAT.+ also: wire 1" in text
        for button in box.get_by_role("button").all():
            size = button.bounding_box()
            assert size is not None
            assert size["height"] >= 44
            assert size["width"] >= 44
        page.fill("#search", "wire 66")
        page.get_by_role("button", name="wire 66 blue/black").click()
        assert "through C-LEFT" in box.inner_text()
        assert page.locator(".stage g.wire[data-marked]").count() == 2


def test_search_and_parts(stock_file: Path, browser: Browser) -> None:
    with opened(browser, stock_file) as page:
        row_of(page, "Named states").get_by_role("button", name="riding-dip", exact=True).click()
        page.fill("#search", "HEAD")
        page.get_by_role("button", name="part HEAD").first.click()
        text = page.locator(".touched").inner_text()
        assert "HEAD.dip: live, 13.6 V, 4.9" in text
        assert "live when KEY on, LIGHTS on, DIP low" in text
        assert "HEAD.56b\t67 blue/black\t13.7 V" in text
        page.fill("#search", "no such thing")
        assert "Nothing found." in page.locator(".search").inner_text()


def test_numbers_that_come_out_otherwise_are_not_shown(stock_file: Path, tmp_path: Path, browser: Browser) -> None:
    text = stock_file.read_text("utf-8")
    before, rest = text.split('<script type="application/json" id="known">')
    data, after = rest.split("</script>", 1)
    known = json.loads(data)
    for state in known["circuit"]["states"]:
        if state["name"] == "riding-dip":
            state["points"][0]["volts"]["HEAD.56b"] += 0.02
    off = tmp_path / "off.html"
    off.write_text(
        before + '<script type="application/json" id="known">' + json.dumps(known).replace("<", "\\u003c")
        + "</script>" + after,
        "utf-8",
    )  # fmt: skip
    with opened(browser, off) as page:
        assert "No numbers: state riding-dip has other voltages here" in page.locator(".now").inner_text()
        assert all(volts == "–" for _, volts in loads_on(page).values())


@pytest.mark.parametrize(("scheme", "size"), some_of([("light", PHONE), ("dark", DESK)], 2))
def test_wcag(scheme: str, size: dict[str, int], stock_file: Path, browser: Browser) -> None:
    """axe-core finds nothing against WCAG 2.2 AA, and a telephone of 390 px has nothing to push sideways."""
    with opened(browser, stock_file, size, color_scheme=scheme) as page:
        for details in page.locator("details").all():
            details.evaluate("each => each.open = true")
        page.fill("#search", "HEAD")
        page.get_by_role("button", name="part HEAD").first.click()
        page.select_option("#fault-fuse", label="F-TAIL")
        page.get_by_role("button", name="Pull fuse").click()
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        assert axe_violations(page) == []


def test_only_its_own_script_and_style_may_run(stock_file: Path) -> None:
    text = stock_file.read_text("utf-8")
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    assert re.fullmatch(
        r"default-src 'none'; script-src 'sha256-[\w+/=]{44}'; style-src 'sha256-[\w+/=]{44}'; img-src data:; "
        r"base-uri 'none'; form-action 'none'",
        policy,
    )
    markup = re.sub(r"<(script|style)[^>]*>.*?</\1>", "", text, flags=re.S)
    assert re.findall(r"\s(?:on\w+|style|href)=", markup) == []
    assert {found[:11] for found in re.findall(r'\ssrc="([^"]*)', markup)} <= {"data:image/"}
    assert len(text.encode()) < 1_000_000


NO_SOURCE = 'loom "No source"\nload L lamp for lighting { x 5 W: 1 2 }\nwire 1 L.1 to L.2 red 1 mm2 1 m\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('loom "Empty"\n', "No load is live."),
        (NO_SOURCE, "No load is live."),
        (None, "K: keeps switching on and off. No settled state: no numbers."),
    ],
    ids=["empty", "no source", "chatters"],
)
def test_odd_harnesses_are_shown_too(text: str | None, said: str, tmp_path: Path, browser: Browser) -> None:
    chatters = SPECS / "rules" / "relay-chatter" / "bad.loom"
    reading = read_file(str(chatters)) if text is None else read_text(text, "odd.loom")
    file = tmp_path / "page.html"
    file.write_text(html_of(study_of(reading), reading), "utf-8")
    with opened(browser, file) as page:
        for button in page.locator(".panel button").all():
            button.click()
        assert said in page.locator(".now").inner_text()


def test_a_title_cannot_break_out(tmp_path: Path, browser: Browser) -> None:
    text = (SPECS / "small" / "capacitor-single.loom").read_text("utf-8")
    nasty = '</script><img src=x onerror=\\"document.title=1\\"><!--'.replace('\\"', "'")
    text = re.sub(r'loom "[^"]*"', lambda _: f'loom "{nasty}"', text, count=1)
    reading = read_text(text, "nasty.loom")
    file = tmp_path / "page.html"
    file.write_text(html_of(study_of(reading), reading), "utf-8")
    with opened(browser, file) as page:
        assert page.title() == nasty
        assert page.locator("h1").inner_text() == nasty
        assert page.locator("img:not([src^='data:'])").count() == 0


def test_the_command_writes_the_same_bytes_whatever_the_seed_of_hashes(tmp_path: Path) -> None:
    written = []
    for seed in ("1", "2"):
        target = tmp_path / f"{seed}.html"
        spec = SPECS / "small" / "capacitor-single.loom"
        done = subprocess.run(
            [sys.executable, "-m", "loomwright", "page", str(spec), "-o", str(target), "--today", "2026-01-01"],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stdout) == (0, f"{target}\n"), done.stderr
        written.append(target.read_bytes())
    assert written[0] == written[1]
