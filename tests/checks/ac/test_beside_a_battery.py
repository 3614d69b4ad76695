"""A lighting winding on a motorcycle whose battery, charged by another machine, feeds all else: neither changes the
other.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.operation.operating_points import StateTable, state_tables
from loomwright.checks.operation.operation import Operation
from loomwright.checks.runner.run import check
from loomwright.checks.tables.profiles import DEFAULT, profile_named
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness

SPECS = Path(__file__).parents[3] / "specs"
STOCK = (SPECS / "stock.loom").read_text("utf-8")
WINDING = """
source MAG alternator at engine for lighting { winding light 0.35 ohm open 22 V short 4 A: 59 31 }
load FOG lamp at headlamp for lighting { glow 27 W lamp: 1 2 }
regulator LIM at headlamp for lighting { shunts 13.5 V: 59 31 }
ground FORK at headlamp
mount MAG.31 to ENGINE
mount FORK to FRAME
wire 900 MAG.59 to LIM.59 yellow 1.5 mm2 class C
wire 901 LIM.31 to FORK black 1.5 mm2 0.15 m
wire 902 LIM.59 to FOG.1 yellow 1.5 mm2 0.2 m
wire 903 FOG.2 to FORK black 1.5 mm2 0.2 m
"""
HALF_WAVES = WINDING.replace(
    "wire 902 LIM.59 to FOG.1",
    "diode D 6 A at headlamp for lighting\nwire 904 LIM.59 to D.A yellow 1.5 mm2 0.2 m\nwire 902 D.K to FOG.1",
)


def harness(text: str) -> Harness:
    reading = read_text(text)
    assert [m.message for m in reading.mistakes] == []
    return reading.harness


def tables(text: str) -> dict[str, StateTable]:
    return {t.name: t for t in state_tables(Operation(build_circuit(harness(text))), profile_named(DEFAULT))}


@pytest.mark.parametrize("more", [WINDING, HALF_WAVES], ids=["both waves", "half waves"])
def test_what_is_found_of_direct_current_stays(more: str) -> None:
    """Every rule runs; nothing is new but that kicking over is not calculated."""
    found = [
        {(f.rule, f.message) for f in check(read_text(text), today=date(2026, 6, 1)).findings}
        for text in (STOCK, STOCK + more)
    ]
    assert {rule for rule, _ in found[0] ^ found[1]} == {"not-judged"}


@pytest.mark.parametrize("more", [WINDING, HALF_WAVES], ids=["both waves", "half waves"])
def test_numbers_of_direct_current_stay_and_are_means(more: str) -> None:
    """The alternator with a field keeps it beside one of magnets; a lamp on the battery has no rms."""
    before, after = tables(STOCK), tables(STOCK + more)
    for name, table in before.items():
        for old, new in zip(table.sources, after[name].sources, strict=False):
            assert new.name == old.name
            assert new.amps == pytest.approx(old.amps, abs=2e-3)
        loads = {row.name: row for row in after[name].loads}
        for row in table.loads:
            assert loads[row.name].volts == pytest.approx(row.volts, abs=5e-3)  # a shared ground
            assert loads[row.name].average == "mean" or row.volts < 0.05
    assert {row.average for row in after["riding-dip"].loads if row.name == "FOG.glow"} == {"rms"}


def test_what_a_winding_delivers_is_what_leaves_it() -> None:
    """Of the six-volt magneto the lighting winding's row is what its lead carries: what goes on into the turns that
    charge is theirs. By hand for the trail bike's exciter: 150 V, 1,500 ohm, 300 ohm of these resistance, so that
    150^2 / (2 (1500 + 300)) = 6.25 W is the most.
    """
    riding = tables((SPECS / "small" / "six-volt-magneto.loom").read_text("utf-8"))["riding"]
    light, charge, battery = riding.sources
    wires = {row.name: row.amps for row in riding.wires}
    assert light.amps == pytest.approx(wires["4.1"], rel=1e-6)
    assert charge.amps == pytest.approx(wires["15.1"], rel=1e-6)
    assert light.watts < light.volts * light.amps * 1.001
    taken = sum(row.watts for row in riding.loads) - battery.watts
    # Of what is left the limiter takes 0.284 A of 6.8 V, wires and the diode 1.4 W.
    assert light.watts + charge.watts - taken - 0.284 * 6.8 == pytest.approx(1.4, abs=0.3)
    trail = tables((SPECS / "small" / "trail-bike.loom").read_text("utf-8"))
    exciter = next(row for row in trail["riding"].sources if row.name == "MAG.exciter")
    assert exciter.share == pytest.approx(exciter.watts / 6.25, rel=1e-6)
    assert all((row.share or 0.0) <= 1.0 for table in trail.values() for row in table.sources)
