"""What must change nothing: other names, another order, other units, wires turned round, cut, joined, moved to a file.

Each text is that of a motorcycle, sound or with a fault, and is changed in a way that leaves the motorcycle what it
was: the same is found up to names, every element is live under the same conditions, with the same volts everywhere.
"""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.checks.behaviour.when import when
from loomwright.checks.proof.bike import MAIN, Bike
from loomwright.checks.proof.bikes import text
from loomwright.checks.proof.faults import KINDS, faults
from loomwright.checks.proof.strategies import bikes
from loomwright.checks.runner.run import RuleStudy, catalogue, found_by_all
from loomwright.lang.files.reading import load_used, read_text
from loomwright.lang.model.harness import Harness

FEW = settings(max_examples=max(1, settings().max_examples // 10))
BUILD = {rule.name for rule in catalogue() if rule.family in ("workmanship", "coverage")}
WIRE = re.compile(r"wire (\S+) (\S+) to (\S+)(?: via (\S+))? (.*)")
LENGTH = re.compile(r"([0-9.]+) m\b")


class Changed(NamedTuple):
    """A text that says the same: its used file, what the new names were before (``None``: nothing was there), by how
    much volts may differ, and whether it is built otherwise, so that rules of workmanship may speak.
    """

    text: str
    used: str = ""
    was: Callable[[str], str | None] = lambda name: name
    volts: float = 1e-6
    built: bool = False


def renamed(text: str, chance: random.Random) -> Changed:
    """Parts, places and states get names that no word of the language and no other name is like."""
    harness = read(text)
    said = {"engine", "tail"}  # a control and an element have these names, too
    names = [name for name in (*harness.parts, *harness.places, *harness.states) if name not in said]
    chance.shuffle(names)
    new = {name: f"Q{place}x" for place, name in enumerate(names)}
    rows = []
    for line in text.split("\n"):
        word = re.compile(r'"[^"]*"|(?<![\w.-])[A-Za-z][\w-]*(?=[.,\s:)]|$)')
        rows.append(word.sub(lambda found: new.get(found[0], found[0]), line) if not line.startswith("#") else line)
    old = {value: key for key, value in new.items()}
    return Changed("\n".join(rows), was=lambda name: old.get(name, name))


def reordered(text: str, chance: random.Random) -> Changed:
    lines = text.split("\n")
    chance.shuffle(lines)
    return Changed("\n".join(lines))


def ends_swapped(text: str, chance: random.Random) -> Changed:
    """Some wires are written from their other end; not where a plug is on the way, since its socket is on the first."""
    rows = []
    for line in text.split("\n"):
        found = WIRE.fullmatch(line)
        if found and not found[4] and chance.random() < 0.5:
            name, a, b, _, rest = found.groups()
            line = f"wire {name} {b} to {a} {rest}"
        rows.append(line)
    return Changed("\n".join(rows))


def split_by_splices(text: str, chance: random.Random) -> Changed:
    """Some wires become two of half the length, joined in a sealed splice."""
    rows = []
    for line in text.split("\n"):
        found = WIRE.fullmatch(line)
        length = LENGTH.search(line)
        if found and length and not found[4] and chance.random() < 0.4:
            name, a, b, _, rest = found.groups()
            half = LENGTH.sub(f"{float(length[1]) / 2:.4f} m", rest)
            rows += [f"splice SP-CUT{name} sealed", f"wire {name} {a} to SP-CUT{name} {half}"]
            rows.append(f"wire {name}-B SP-CUT{name} to {b} {half}")
        else:
            rows.append(line)

    def was(name: str) -> str | None:
        return None if name.startswith("SP-CUT") else name.removesuffix("-B")

    return Changed("\n".join(rows), was=was, volts=0.01, built=True)


def through_connectors(text: str, chance: random.Random) -> Changed:
    """Some wires of loads run through a plug of their own."""
    rows = []
    for line in text.split("\n"):
        found = WIRE.fullmatch(line)
        if found and not found[4] and "2.5 mm2" in line and chance.random() < 0.3:
            name, a, b, _, rest = found.groups()
            rows += [f"connector CX{name} 1 ways 25 A sealed", f"wire {name} {a} to {b} via CX{name}.1 {rest}"]
        else:
            rows.append(line)

    def was(name: str) -> str | None:
        return None if name.startswith("CX") else name.partition(".")[0] if re.fullmatch(r"\d+\.\d", name) else name

    return Changed("\n".join(rows), was=was, volts=0.03, built=True)


def moved_to_a_file(text: str, chance: random.Random) -> Changed:
    lines = text.split("\n")
    kept, moved = [], []
    for line in lines:
        stays = line.startswith(("loom", "use")) or chance.random() < 0.5
        (kept if stays else moved).append(line)
    return Changed("\n".join((*kept[:1], 'use "used.loom"', *kept[1:])), used="\n".join(moved))


def in_other_units(text: str, chance: random.Random) -> Changed:
    """Metres as millimetres or centimetres, amps and volts as thousandths, and back."""

    def other(found: re.Match[str]) -> str:
        number, unit = float(found[1]), found[2]
        choices = {
            "m": ((1000, "mm"), (100, "cm")), "A": ((1000, "mA"),), "mA": ((0.001, "A"),), "V": ((1000, "mV"),),
            "mohm": ((0.001, "ohm"),), "ohm": ((0.001, "kohm"),),
        }[unit]  # fmt: skip
        factor, name = chance.choice(choices)
        return f"{number * factor:.9f}".rstrip("0").rstrip(".") + f" {name}"

    lines = [
        line if line.startswith(("system", "#")) else re.sub(r"(?<![\w.])([0-9.]+) (mA|mohm|ohm|m|A|V)\b", other, line)
        for line in text.split("\n")
    ]
    return Changed("\n".join(lines), volts=1e-5)


CHANGES = (renamed, reordered, ends_swapped, split_by_splices, through_connectors, moved_to_a_file, in_other_units)


def read(text: str, used: str = "") -> Harness:
    def load(path: Path) -> str:
        return used if path.name == "used.loom" else load_used(path)

    reading = read_text(text, MAIN, load=load)
    assert [f"{mistake.span}: {mistake.message}" for mistake in reading.mistakes] == []
    return reading.harness


class Answers(NamedTuple):
    found: Counter[tuple[object, ...]]
    live: dict[str, str]
    volts: dict[tuple[str, str], float]


def answers(harness: Harness, change: Changed, *, signs: bool = True) -> Answers:
    """What is found, when each element is live, and its volts, by the names of before."""
    study = RuleStudy(harness, today=date(2026, 1, 1))

    def old(name: object) -> str | None:
        return change.was(str(name))

    found = Counter(
        (each.rule, each.level, each.case, frozenset(filter(None, map(old, each.about))), old(each.state))
        for each in found_by_all(study)
        if not (change.built and each.rule in BUILD)
    )
    if change.built:  # what is stated of a wire is stated of each of its pieces
        found = Counter(set(found))
    live, volts = {}, {}
    for branch in study.behaviour.consumers:
        key = f"{old(branch.part)} {branch.key.detail}"
        said = when(study.behaviour, study.behaviour.live(branch.key))
        live[key] = str(sorted(_named(setting, old) for setting in said.settings))
        for state in harness.states:
            across = study.operation.state(state).across(branch.key)
            volts[key, str(old(state))] = across if signs else abs(across)
    return Answers(found, live, volts)


def _named(setting: tuple[tuple[str, str], ...], old: Callable[[object], str | None]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted((str(old(control)), position) for control, position in setting))


def with_fault(bike: Bike, place: int) -> str:
    """The text of a motorcycle that lacks one wire or has a thin one: a fault that a text can have."""
    lines = text(bike).split("\n")
    wires = [number for number, line in enumerate(lines) if line.startswith("wire ")]
    number = wires[place % len(wires)]
    if place % 3 == 0:
        del lines[number]
    elif place % 3 == 1:
        lines[number] = re.sub(r"[0-9.]+ mm2", "0.5 mm2", lines[number])
    return "\n".join(lines)


plain_bikes = bikes(most_accessories=1, most_files=1)


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
@given(bike=plain_bikes, place=st.integers(0, 200), seed=st.integers(0, 1000))
@FEW
def test_what_changes_nothing_changes_no_answer(
    change: Callable[[str, random.Random], Changed], bike: Bike, place: int, seed: int
) -> None:
    written = with_fault(bike, place)
    changed = change(written, random.Random(seed))
    before = answers(read(written), Changed(written, built=changed.built))
    after = answers(read(changed.text, changed.used), changed)
    assert after.found == before.found, changed.text
    assert after.live == before.live
    for key, volts in before.volts.items():
        assert after.volts[key] == pytest.approx(volts, rel=changed.volts, abs=max(changed.volts, 1e-6)), key


@given(plain_bikes.filter(lambda bike: bike.control != "unit" and bike.ignition != "coil"), st.integers(0, 500))
@FEW
def test_ground_turned_round_changes_no_answer(bike: Bike, place: int) -> None:
    """Everything polar turned with the battery: the same is found, and the same volts lie the other way."""
    sides = []
    for positive in (False, True):
        harness = read(text(replace(bike, positive=positive)))
        alike = [each for each in faults(harness) if each.kind in TURNABLE]
        sides.append(alike[place % len(alike)])
    one, other = sides
    assert (one.kind, one.touches) == (other.kind, other.touches)
    before, after = (answers(each.apply(), Changed(""), signs=False) for each in (one, other))
    assert after.found == before.found
    assert after.live == before.live
    for key, volts in before.volts.items():
        assert after.volts[key] == pytest.approx(volts, rel=1e-6, abs=1e-6), key


TURNABLE = tuple(kind for kind in KINDS if kind in ("fuse bridged", "ground lost", "wire lost", "wire thinned"))


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_each_change_changes_the_text(change: Callable[[str, random.Random], Changed]) -> None:
    written = text(Bike(horn=True))
    assert change(written, random.Random(1)).text != written


def test_an_answer_that_differs_is_seen() -> None:
    """The comparison can fail: a thinner wire loses more, and a missing one is found."""
    sound = answers(read(text(Bike())), Changed(""))
    spoilt = answers(read(with_fault(Bike(), 60)), Changed(""))
    assert spoilt.found != sound.found
    assert spoilt.volts != sound.volts
    assert spoilt.live != sound.live
