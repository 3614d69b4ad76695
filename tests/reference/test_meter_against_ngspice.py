"""What a meter would show, against ngspice as the meter: 2.5 V behind 2.5 kohm on the same harness at rest."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from outside import require_tool
from random_surveys import Known, ohms_by_spice, random_survey

from loomwright.checks.meter import Kind, Meter, Setup
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).resolve().parents[2] / "specs"
SETUPS = {
    "all apart, parts out": Setup(),
    "KEY on": Setup(positions=(("KEY", "on"),)),
    "all apart, parts in": Setup(parts_in=True),
    "parts in": Setup(apart=frozenset(), parts_in=True),
}


@pytest.mark.parametrize("name", ["stock.loom", "small/points-single.loom"])
@pytest.mark.parametrize("setup", SETUPS)
def test_predictions_hold_what_the_simulator_shows(name: str, setup: str) -> None:
    program = require_tool("ngspice")
    harness = read_file(str(SPECS / name)).harness
    known: Known = random_survey(harness, 1)
    meter = Meter(known.circuit, SETUPS[setup])
    ends = sorted(set(known.leads.values()))
    rng = random.Random(f"{name} {setup}")
    kinds = set()
    joined = [(a, b) for a in ends for b in ends if a < b and meter.between(a, b).kind is not Kind.OPEN]
    apart = [tuple(sorted(rng.sample(ends, 2))) for _ in range(10)]
    for a, b in [*rng.sample(joined, 20), *apart]:
        shown = ohms_by_spice(program, known, SETUPS[setup], a, b)
        expected = meter.between(a, b)
        kinds.add(expected.kind)
        # Copper is a few hundredths here; a filament is hot over 13.7 and ours a tenth; a diode shows some hundred ohm.
        match expected.kind:
            case Kind.COPPER:
                assert shown < 0.7, (a, b, expected)
            case Kind.OPEN:
                assert shown > 1e5, (a, b, expected)
            case Kind.ONE_WAY:
                assert shown > 200.0, (a, b, expected)
            case Kind.OHMS:
                assert 0.5 * expected.low - 0.5 <= shown <= 1.6 * expected.high + 0.5, (a, b, expected)
            case Kind.UNKNOWN:
                assert shown >= min(0.5 * expected.low - 0.5, 200.0), (a, b, expected)
    assert Kind.COPPER in kinds
    assert len(kinds) >= 2
