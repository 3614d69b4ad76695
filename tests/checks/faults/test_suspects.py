"""From symptoms back to the fault: whatever is broken must be among the suspects, and a reading must narrow them."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.checks.dc.operating import Operation
from loomwright.checks.faults.suspects import Detective, Seen, UnknownThingError
from loomwright.checks.faults.sweep import Sweep
from loomwright.lang.circuit import build_circuit
from loomwright.lang.reading import read_file

SPECS = Path(__file__).parents[3] / "specs"


@cache
def detective(name: str, state: str) -> Detective:
    return Detective(Sweep(Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness))), state)


@settings(max_examples=40)
@given(st.data())
def test_the_culprit_is_among_the_suspects(data: st.DataObject) -> None:
    name, state = data.draw(st.sampled_from((("stock", "turning-left"), ("rebuild", "braking"), ("stock", "cranking"))))
    found = detective(name, state)
    broken = [o for o in found._outcomes.values() if o.effects and any(e.thing != "BAT" for e in o.effects)]
    culprit = data.draw(st.sampled_from(broken))
    things = [e.thing for e in culprit.effects if e.thing in found.things]
    seen = [Seen(e.thing, e.now) for e in culprit.effects if e.thing in things]
    seen = data.draw(st.lists(st.sampled_from(seen), min_size=1, unique=True)) if seen else []
    inquiry = found.inquire(seen)
    assert culprit.fault in [s.fault for s in inquiry.suspects]
    assert not inquiry.partial
    if inquiry.next is not None:
        told = [f for reading in inquiry.next.readings for f in reading.suspects]
        assert len(told) == len(set(told))
        assert len(inquiry.next.readings) > 1
        bounds = [(r.least, r.most) for r in inquiry.next.readings]
        assert all(a[1] + 1.0 <= b[0] + 1e-9 for a, b in pairwise(bounds))


def test_what_breaks_nothing_else_comes_first_and_the_bulb_before_the_wires() -> None:
    inquiry = detective("stock", "turning-left").inquire([Seen("FL", "dead")])
    assert str(inquiry.suspects[0].fault) == "FL.turn open"
    assert [len(s.also) for s in inquiry.suspects] == sorted(len(s.also) for s in inquiry.suspects)
    alone = {s.fault.key for s in inquiry.suspects if not s.also}
    assert alone == {"FL.turn", "wire 78", "wire 84"}


def test_the_reading_tells_feed_from_ground() -> None:
    inquiry = detective("stock", "turning-left").inquire([Seen("FL", "dead"), Seen("RL", "live")])
    assert inquiry.next is not None
    assert inquiry.next.node == "FL.L"
    low, high = inquiry.next.readings
    assert low.most == pytest.approx(0.0, abs=0.1)
    assert [f.key for f in low.suspects] == ["wire 78"]
    assert high.least > 12.0


def test_a_sound_harness_is_said_to_be_sound() -> None:
    inquiry = detective("stock", "turning-left").inquire([Seen("FL", "live")])
    assert inquiry.sound
    assert inquiry.suspects == ()


def test_symptoms_that_no_single_fault_gives_are_told_as_such() -> None:
    inquiry = detective("stock", "riding-dip").inquire([Seen("HEAD.dip", "dead"), Seen("HEAD.main", "live")])
    assert inquiry.partial
    assert all(s.against for s in inquiry.suspects)


def test_what_is_not_there_is_named() -> None:
    with pytest.raises(UnknownThingError) as raised:
        detective("stock", "riding-dip").inquire([Seen("HORNN", "dead")])
    assert "HORN" in raised.value.known
