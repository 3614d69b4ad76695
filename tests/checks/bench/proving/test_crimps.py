"""The current test of thick wires: what a good cable may lose, and that one on a few strands does not pass."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.checks.bench.looms import looms
from loomwright.checks.bench.pieces import pieces
from loomwright.checks.bench.proving.crimps import thick
from loomwright.checks.bench.proving.table import table_looms
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness

SPECS = Path(__file__).resolve().parents[4] / "specs"


def limits(harness: Harness) -> dict[tuple[str, ...], float | None]:
    """V by the pieces of each thick wire."""
    found = table_looms(harness, looms(harness, pieces(harness)))
    return {wire.pieces: wire.volts for loom in found for wire in thick(loom)}


# ISO 6722-1, greatest resistance of the conductor at 20 degC: 16 mm2 1.16 mohm/m. 2 A through 0.25 m are 0.58 mV, 1.3
# times that 0.754 mV, and 0.5 mV for each of the two crimps; read in steps of 0.1 mV.
def test_the_starter_cables_of_the_demonstration_by_hand() -> None:
    found = limits(read_file(str(SPECS / "stock.loom")).harness)
    told = {name: volts for names, volts in found.items() for name in names if len(names) == 1}
    assert told["2"] == pytest.approx(0.0018)
    assert told["3"] == pytest.approx(0.0028)  # 0.57 m: 1.72 mV and 1 mV
    assert told["4"] == pytest.approx(0.0026)  # 0.5 m: 1.51 mV and 1 mV


CABLE = """loom "A cable"
place here, there
source BAT battery at here { voltage 12.6 V }
ground FRAME at there
splice S at here
fuse F 30 A blade at here
wire 1 BAT.- to FRAME black 16 mm2 LENGTH
wire 2 BAT.+ to S red 6 mm2 0.4 m
wire 3 S to F.1 red 4 mm2 0.2 m
"""


def test_a_cable_that_hangs_on_a_few_of_its_strands_does_not_pass() -> None:
    """50 mm of 0.75 mm2 (24.7 mohm/m) in a good 16 mm2 cable: 2 A x 1.24 mohm are 2.5 mV more than the copper's own."""
    limit = limits(read_text(CABLE.replace("LENGTH", "0.3 m"), "cable.loom").harness)[("1",)]
    assert limit is not None
    good = 2.0 * 1.16e-3 * 0.3
    assert good < limit < good + 2.0 * 24.7e-3 * 0.05


def test_pieces_in_a_row_have_one_crimp_more_than_they_are() -> None:
    """6 mm2 has 3.14 mohm/m, 4 mm2 4.71: 1.3 x 2 A x (0.4 x 3.14 + 0.2 x 4.71) mohm are 5.72 mV, and 3 x 0.5 mV."""
    found = limits(read_text(CABLE.replace("LENGTH", ""), "cable.loom").harness)
    assert found["2", "3"] == pytest.approx(0.0073)
    assert found["1",] is None  # its length is owed
