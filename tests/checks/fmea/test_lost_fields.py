"""A machine that loses its field may deliver nothing, or what remanence excites, up to all that it did."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.fmea.failure_modes import Damage
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.lost_fields import CHARGING, REMANENT, levels, lost_fields
from loomwright.checks.operation.operation import Operation
from loomwright.checks.tables.meter import meter_figures
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.ids import End
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).parents[3] / "specs"


@cache
def sweep(name: str) -> Sweep:
    return Sweep(Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness)))


def volts(key: str, *ends: tuple[str, str], state: str = "riding-dip") -> list[tuple[float, ...]]:
    """V of some terminals with a branch of the stock motorcycle open, level by level."""
    here = sweep("stock").state(state)
    found = lost_fields(here.propagation, Damage((here.point.circuit.by_key[key],)))
    index = here.point.flow.network.index
    return [tuple(float(a.volts[index[End(*end)]]) for end in ends) for a in found if a.volts is not None]


def test_a_field_that_only_the_charge_lamp_feeds_leaves_the_volts_of_its_machine_open() -> None:
    """Nothing loads D+ of the rectifier any more: it shows what the machine comes to. The battery holds the rest up."""
    found = volts("wire 12", ("RECT", "D+"), ("BAT", "+"), ("REG", "D+"))
    assert [tap for tap, _, _ in found] == pytest.approx([14.2 * level for level in levels(14.2, 12.0, 1.0)], abs=0.2)
    batteries = [battery for _, battery, _ in found]
    assert batteries == sorted(batteries)
    assert batteries[0] == pytest.approx(12.41, abs=0.05)
    assert batteries[-1] == pytest.approx(14.14, abs=0.05)
    assert {round(field, 1) for _, _, field in found} == {1.2, 1.3}  # through the lamp, whatever the machine does


def test_a_field_that_gets_nothing_leaves_what_remanence_excites() -> None:
    """The charge lamp holds D+ up by itself then: its feed less a diode, since next to nothing flows."""
    found = volts("wire 15.1", ("RECT", "D+"), ("BAT", "+"))
    assert len(found) == len(levels(14.2, 12.0, REMANENT))
    assert {round(battery, 1) for _, battery in found} == {12.4}
    assert all(11.0 < tap < 12.4 for tap, _ in found)


@given(
    st.sampled_from([(14.2, 12.0), (14.7, 12.0), (7.2, 6.0), (28.4, 24.0)]),
    st.sampled_from([REMANENT, 1.0]),
    st.floats(0.0, 1.0),
)
def test_no_reading_lies_between_two_voltages_that_are_looked_at(
    system: tuple[float, float], most: float, share: float
) -> None:
    """Of what a machine may come to each reading is within what a meter may be off of some level: none is "between"."""
    volts, nominal = system
    found = levels(volts, nominal, most)
    read, figures = share * most * volts, meter_figures()
    near = [
        abs(read - level * volts) / (figures.reading_floor * nominal + figures.reading_share * level * volts)
        for level in found
    ]
    assert min(near) <= 1.0
    assert (found[0], found[-1]) == (0.0, most)
    assert {level for level in CHARGING if level <= most} <= set(found)
    assert len(found) <= 22, "each is solved"


@pytest.mark.parametrize("key", ["wire 14.1", "wire 8", "wire 67", "wire 9.1"])
def test_what_leaves_the_field_as_it_is_leaves_nothing_open(key: str) -> None:
    assert volts(key, ("BAT", "+")) == []


def test_nothing_is_open_while_the_engine_does_not_turn() -> None:
    assert volts("wire 12", ("BAT", "+"), state="key-on") == []
