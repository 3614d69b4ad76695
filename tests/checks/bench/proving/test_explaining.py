"""Battery off: a fault that is there is among those that are named for what the meter then shows."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest
from outside import some_of

from loomwright.checks.bench.proving.explaining import Read, explained
from loomwright.checks.bench.proving.plan import Proof
from loomwright.checks.meter import Meter, Setup
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).resolve().parents[4] / "specs"


@cache
def proof(name: str) -> Proof:
    return Proof(read_file(str(SPECS / name)).harness)


def shown_with(known: Proof, key: str) -> list[Read]:
    """Every row with a figure as a meter shows it with one branch open, solved for that circuit by itself."""
    at_rest = known.at_rest
    found = []
    for number, (probe, expected) in at_rest.probed.items():
        setting = at_rest.settings[probe.setting]
        setup = Setup(
            apart=frozenset(), parts_in=True, fuses_in=False, positions=setting.positions,
            opened=frozenset((*setting.out, key)),
        )  # fmt: skip
        shown = Meter(at_rest.circuit, setup, piecewise=True).between(probe.a, probe.b)
        ohms = shown.low if math.isinf(shown.high) else (shown.low + shown.high) / 2
        found.append(Read(number, ohms, expected.fits(ohms)))
    return found


@pytest.mark.parametrize("name", ["rebuild.loom", "stock.loom"])
def test_an_open_that_is_there_is_named(name: str) -> None:
    known = proof(name)
    keys = [fault.open for fault in known.at_rest.faults if fault.open]
    told = 0
    for key in some_of(keys, 12):
        read = shown_with(known, key)
        if all(each.good for each in read):
            continue
        told += 1
        found = explained(known.at_rest, read)
        assert key in found.open, (key, found, [each for each in read if not each.good])
    assert told >= 3


def test_nothing_is_explained_where_nothing_is_off() -> None:
    known = proof("stock.loom")
    assert not explained(known.at_rest, [Read("2.2", 0.1, good=True)])
