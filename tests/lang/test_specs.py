"""The demonstration harnesses read without a mistake, have the size they claim, and cover the catalogue of rules."""

from __future__ import annotations

from pathlib import Path

import pytest
from spec_files import harnesses

from loomwright.lang.files.reading import read_file
from loomwright.lang.model.parts import Unit

SPECS = Path(__file__).resolve().parents[2] / "specs"
EVERY = [path.relative_to(SPECS).as_posix() for path in harnesses(SPECS.rglob("*.loom"))]
FAULTY = sorted(path for path in EVERY if path.startswith("rules/"))
DEMONSTRATIONS = ("stock.loom", "rebuild.loom")

CATALOGUE = (
    "unfused-feed",
    "oversized-fuse",
    "thin-conductor",
    "thin-return",
    "short-not-cleared",
    "dead-short",
    "overloaded-fuse",
    "overloaded-contact",
    "overheated-resistor",
    "fuse-not-selective",
    "two-feeds",
    "reversed-polarity",
    "missing-suppression",
    "over-temperature",
    "no-kill-path",
    "run-on",
    "fed-stop-lead",
    "held-on",
    "starter-interlock",
    "stand-not-watched",
    "cranking-brownout",
    "weak-relay",
    "pump-runs-on",
    "floating-ground",
    "unreliable-ground",
    "lost-ground",
    "crowded-ground",
    "never-live",
    "live-with-key-out",
    "feedback-path",
    "relay-chatter",
    "voltage-drop",
    "key-off-drain",
    "charge-deficit",
    "no-field-feed",
    "no-charge",
    "sense-error",
    "unmet-expectation",
    "stop-lamp-controls",
    "lamp-law",
    "no-flasher",
    "flasher-load",
    "unswitched-part",
    "loose-end",
    "short-wire",
    "wrong-terminal",
    "crowded-terminal",
    "shared-colour",
    "colour-change",
    "stiff-at-steering",
    "unsealed",
    "live-pins",
    "look-alike-plugs",
    "grounded-winding",
    "mixed-current",
    "unused-part",
    "changed-feed",
    "cut-lead",
    "polarity-changed",
    "undecided",
    "lost-function",
    "undecided-path",
    "not-judged",
    "expired-waiver",
    "idle-waiver",
)


@pytest.mark.parametrize("name", EVERY)
def test_reads_without_a_mistake(name: str) -> None:
    reading = read_file(str(SPECS / name))
    assert [f"{mistake.span}: {mistake.message}" for mistake in reading.mistakes] == []
    assert reading.harness.title
    assert reading.harness.wires


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_demonstrations_are_of_a_real_size(name: str) -> None:
    harness = read_file(str(SPECS / name)).harness
    assert 70 <= len(harness.wires) <= 110
    assert len(harness.states) >= 6
    assert len(harness.expectations) >= 10


def test_the_rebuild_says_what_it_replaces_and_keeps_ignition_and_charging() -> None:
    harness = read_file(str(SPECS / "rebuild.loom")).harness
    assert harness.conversion.converts == "stock.loom"
    assert harness.conversion.removed
    assert {declared.how for declared in harness.conversion.declared} == {"changes", "loses"}
    old = read_file(str(SPECS / "stock.loom")).harness
    minded = {name for name, part in old.parts.items() if part.kind in ("source", "rectifier", "regulator", "sensor")}
    minded |= {name for name, part in old.parts.items() if part.system == "ignition" and part.kind in ("unit", "load")}
    assert minded >= {"ALT", "RECT", "REG", "IGN", "COIL-LEFT", "PICK-LEFT"}
    assert all(harness.parts[name].kept for name in minded)
    assert sum(isinstance(part, Unit) and not part.kept for part in harness.parts.values()) == 1


def test_small_ones_show_the_span() -> None:
    small = [read_file(str(path)).harness for path in sorted((SPECS / "small").glob("*.loom"))]
    assert len(small) == 8
    assert {(h.volts, h.grounded) for h in small} == {(6.0, "negative"), (6.0, "positive"), (12.0, "negative")}
    kinds = [{part.kind for part in h.parts.values()} for h in small]
    assert sum("capacitor" in k for k in kinds) == 3  # one smooths, two are condensers of points


def test_every_rule_has_a_faulty_file_and_a_near_miss() -> None:
    names = {tuple(Path(path).parts[1:]) for path in FAULTY}
    assert {(rule, "edge-found.loom") for rule in CATALOGUE} - names == set()
