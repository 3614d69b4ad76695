"""What an editor keeps after an edit says word for word what a check from nothing says."""

from __future__ import annotations

import gc
import weakref

import pytest
import random_edits
from outside import PROFILE

import loomwright.checks.kept as kept
from loomwright.checks.kept import Kept
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.bare import NOWHERE, Once, alike, for_logic, for_numbers
from loomwright.lang.model.harness import Harness

LAMP = """
loom "Lamp"
source BAT battery { capacity 12 Ah }
fuse MAIN 10 A
switch KEY key { off: ; on: 1 2 }
load HEAD lamp { dip 55 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.3 m
wire 2 MAIN.2 to KEY.1 red 2.5 mm2 0.5 m
wire 3 KEY.2 to HEAD.1 white 1 mm2 1 m
wire 4 HEAD.2 to BAT.- black 1 mm2 1 m
state lit { KEY on }
"""


def harness(text: str) -> Harness:
    reading = read_text(text)
    assert reading.mistakes == ()
    return reading.harness


def test_edits_of_every_kind() -> None:
    assert list(random_edits.tried(63 if PROFILE == "thorough" else 35, each=7)) == []


def test_every_rule_s_bad_harness() -> None:
    assert list(random_edits.opened(sorted(random_edits.SPECS.glob("rules/*/bad.loom")))) == []


def test_what_is_kept_for_the_wrong_text_would_be_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "alike", lambda *_: True)
    assert next(random_edits.tried(40), None) is not None


@pytest.mark.parametrize(
    ("old", "new", "logic", "numbers"),
    [
        ("white 1 mm2", "green 1 mm2", True, True),
        ("loom", "\n# said before\nloom", True, True),
        ("fuse MAIN 10 A", 'fuse MAIN 10 A "behind the seat"', True, True),
        ("1 mm2 1 m\nwire 4", "1 mm2 3 m\nwire 4", True, False),
        ("1 mm2 1 m\nwire 4", "0.5 mm2 1 m\nwire 4", True, False),
        ("state lit { KEY on }", "state lit { KEY off }", True, False),
        ("55 W", "35 W", False, False),
        ("12 Ah", "9 Ah", False, False),
        ("off: ; on: 1 2", "off: 1 2; on: ", False, False),
        ("HEAD.2 to BAT.-", "HEAD.2 to MAIN.1", False, False),
    ],
)
def test_what_stands_after_an_edit(old: str, new: str, *, logic: bool, numbers: bool) -> None:
    before, after, analyses = harness(LAMP), harness(LAMP.replace(old, new, 1)), Kept()
    first = analyses.logic(before)
    known = analyses.operation(before, first)
    assert (analyses.logic(after) is first) == logic
    assert (analyses.operation(after, analyses.logic(after)) is known) == numbers


def test_the_order_of_the_text_is_a_part_of_it() -> None:
    lines = LAMP.split("\n")
    turned = "\n".join([*lines[:3], lines[4], lines[3], *lines[5:]])
    one, other = for_numbers(harness(LAMP)), for_numbers(harness(turned))
    assert one == other
    assert not alike(one, other)


def test_no_place_is_left() -> None:
    bare = for_logic(for_numbers(harness(LAMP)))
    assert {part.span for part in bare.parts.values()} | {wire.span for wire in bare.wires.values()} == {NOWHERE}
    assert "harness.loom" not in repr(bare)


def test_of_the_very_same_parts_and_wires_nothing_is_made_twice() -> None:
    known, once = harness(LAMP), Once()
    first = for_numbers(known, once)
    once.begin()
    again = for_numbers(known, once)
    assert again == first == for_numbers(known)
    assert all(again.wires[name] is wire for name, wire in first.wires.items())
    once.begin()
    once.begin()
    assert not any(for_numbers(known, once).wires[name] is wire for name, wire in first.wires.items())


def test_an_analysis_is_made_again_now_and_then() -> None:
    known, analyses = harness(LAMP), Kept()
    found = [analyses.logic(known) for _ in range(kept.MOST_USES + 1)]
    assert len({id(each) for each in found}) == 2
    assert found[0] is found[-2]


def test_of_large_harnesses_one_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    small, other = harness(LAMP), harness(LAMP.replace("55 W", "35 W"))
    analyses = Kept()
    first = analyses.logic(small)
    analyses.logic(other)
    assert analyses.logic(small) is first
    monkeypatch.setattr(kept, "MOST_THINGS", 12)
    analyses.logic(harness(LAMP.replace("55 W", "45 W")))
    assert analyses.logic(small) is not first


def test_what_is_kept_stays_as_much() -> None:
    analyses, alive = Kept(), set()
    for watts in range(30):
        known = harness(LAMP.replace("55 W", f"{30 + watts} W"))
        logic = analyses.logic(known)
        alive.add(weakref.ref(logic))
        alive.add(weakref.ref(analyses.operation(known, logic)))
    del logic
    gc.collect()
    assert sum(each() is not None for each in alive) == 2 * kept.MOST_KEPT
