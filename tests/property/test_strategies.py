"""The public strategies: sound motorcycles pass every rule, faults make one speak, and what fails shrinks to a file."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import Phase, find, given, settings

from loomwright.checks.findings.finding import Level
from loomwright.checks.proof.bike import MAIN, Bike
from loomwright.checks.proof.bikes import text, texts
from loomwright.checks.proof.duties import MUST_SPEAK
from loomwright.checks.proof.strategies import Planted, bikes, faulty, found, read
from loomwright.lang.editing.formatter import tidy
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.parts import Relay

ROOT = Path(__file__).resolve().parents[2]


@given(bikes())
@settings(max_examples=10)
def test_no_rule_finds_anything_in_a_sound_motorcycle(bike: Bike) -> None:
    assert read(bike).mistakes == ()
    assert [finding.message for finding in found(read(bike).harness)] == []


@given(bikes())
@settings(max_examples=6)
def test_the_formatter_keeps_what_is_said_and_the_files_are_one_motorcycle(bike: Bike) -> None:
    for name, written in texts(bike).items():
        assert tidy(tidy(written, name), name) == tidy(written, name)
    whole, parted = read_text(text(bike), MAIN).harness, read(bike).harness
    assert (set(whole.parts), set(whole.wires)) == (set(parted.parts), set(parted.wires))
    assert set(read_text(tidy(text(bike)), MAIN).harness.wires) == set(whole.wires)


@given(faulty())
@settings(max_examples=15)
def test_a_rule_speaks_of_each_fault(planted: Planted) -> None:
    assert planted.rules == MUST_SPEAK[planted.fault.kind]
    said = {finding.rule for finding in found(planted.harness, *sorted(planted.rules)) if finding.level > Level.NOTE}
    assert said & planted.rules, (planted.fault.says, text(planted.bike))


def test_a_failure_shrinks_to_a_file_that_a_person_can_read() -> None:
    """Of all motorcycles with a relay the plainest is found: what the failure does not need is gone."""
    plain = find(
        bikes(),
        lambda bike: any(isinstance(part, Relay) for part in read(bike).harness.parts.values()),
        settings=settings(max_examples=200, derandomize=True, database=None, phases=(Phase.generate, Phase.shrink)),
    )
    assert plain == Bike(control="relays")
    written = text(plain)
    assert len(written.splitlines()) < 90
    assert written.startswith('loom "Invented motorcycle"\nsystem 12 V negative ground\n')


@pytest.mark.parametrize(
    ("bike", "words"),
    [
        (Bike(ignition="points"), ("senses crank", "0.25 uF")),
        (Bike(ignition="coil"), ("pick-up signal",)),
        (Bike(ignition="capacitor-discharge"), ("load BOX ignition",)),
        (Bike(ignition="magneto"), ("stop-lead", "off: 2 31")),
        (Bike(charging="field"), ("dynamo", "cut-out")),
        (Bike(charging="magnets"), ("phases: U V W",)),
        (Bike(control="relays"), ("relay K-LIGHT",)),
        (Bike(control="unit"), ("unit CTRL",)),
        (Bike(volts=6, positive=True), ("system 6 V positive ground", "BAT.+ to FRAME")),
        (Bike(connectors=True), ("via C-KEY.1",)),
        (Bike(splices=True), ("splice SP-31",)),
        (Bike(patterns=True), ("use switches", "as switch-dip")),
        (Bike(horn=True), ("load HORN horn",)),
        (Bike(accessories=("led",)), ("load L1 led",)),
    ],
)
def test_each_choice_is_in_the_text(bike: Bike, words: tuple[str, ...]) -> None:
    assert all(word in text(bike) for word in words)
    assert not all(word in text(Bike(ignition="points" if bike.ignition != "points" else "magneto")) for word in words)


def test_several_files() -> None:
    files = texts(Bike(files=3))
    assert list(files) == [MAIN, "ignition.loom", "lamps.loom"]
    assert 'use "lamps.loom"' in files[MAIN]
    assert read(replace(Bike(files=3))).mistakes == ()


def test_the_page_that_shows_a_rule_tried_is_true() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    shown = re.search(r"<!-- strategies example -->\n```python\n(.*?)```", page, re.DOTALL)
    assert shown
    code = (
        shown[1]
        .replace("@given", "@settings(max_examples=4)\n@given")
        .replace("import given", "import given, settings")
    )
    space: dict[str, object] = {}
    exec(compile(code, "DEVELOPERS.md", "exec"), space)
    tests = [each for name, each in space.items() if name.startswith("test_")]
    assert len(tests) == 2
    for test in tests:
        test()  # type: ignore[operator]


def test_the_product_never_needs_hypothesis() -> None:
    code = (
        "import sys, importlib.abc\n"
        "class No(importlib.abc.MetaPathFinder):\n"
        "    def find_spec(self, name, *_):\n"
        "        if name.partition('.')[0] == 'hypothesis': raise ImportError(name)\n"
        "sys.meta_path.insert(0, No())\n"
        "from loomwright.cli import main\n"
        "main(['mutate', 'specs/tutorial/01-lamp.loom', '--sample', '2'])\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert "faults" in done.stdout, done.stderr
