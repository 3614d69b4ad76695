"""A light-emitting diode on a winding is dark below the volts that it needs: the wave counts, and not its mean."""

from __future__ import annotations

import math

import pytest

from loomwright.checks.fmea.effects import Elements
from loomwright.checks.operation.load_status import load_status
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text

BIKE = """
loom "An LED past a diode"
system 12 V negative ground
source MAG alternator { winding light 0.6 ohm open 24 V short 6 A: 59 31; speeds 30 % 180 % }
regulator LIMIT 8 A { shunts 13.5 V: 59 31 }
ground FRAME
splice SP
diode D 3 A
mount MAG.31 to FRAME
wire 1 MAG.59 to SP yellow 1.5 mm2 0.5 m
wire 2 SP to LIMIT.59 yellow 1.5 mm2 0.1 m
wire 3 LIMIT.31 to FRAME black 1.5 mm2 0.2 m
load TAIL led { tail 5 W needs 9 V tail-lamp: + - }
wire 4 SP to D.A yellow 1 mm2 0.5 m
wire 5 D.K to TAIL.+ white 1 mm2 0.5 m
wire 6 TAIL.- to FRAME black 1 mm2 0.5 m
state idling { engine idling }
state riding { engine running }
"""


def status(needs: str, state: str) -> tuple[float, str]:
    reading = read_text(BIKE.replace("needs 9 V", needs))
    assert [m.message for m in reading.mistakes] == []
    found = load_status(Operation(build_circuit(reading.harness)).state(state), "TAIL.tail")
    assert found is not None
    return found.share, found.word


@pytest.mark.parametrize(("volts", "word"), [(9.0, "dim"), (14.0, "dim"), (18.0, "dim"), (20.0, "dead")])
def test_by_hand_it_is_lit_while_the_wave_is_above_what_it_needs(volts: float, word: str) -> None:
    """Held at 13.5 V rms the wave's top is at 19.1 V; the diode takes 0.8 V, and lit it takes its whole current."""
    share = (volts + 0.8) / (13.5 * math.sqrt(2.0))
    by_hand = math.acos(share) / math.pi if share < 1.0 else 0.0
    found, said = status(f"needs {volts:g} V", "riding")
    assert found == pytest.approx(by_hand, abs=0.02)
    assert said == word


def test_what_never_has_its_volts_is_dark_though_current_flows() -> None:
    assert status("needs 18 V", "idling") == (0.0, "dead")
    assert status("", "idling")[1] == "dim"


def test_faults_go_by_its_current_too() -> None:
    """Its mean volts, 2.6 V of the 9 V that it needs, would have it dark in a sound state."""
    reading = read_text(BIKE)
    point = Operation(build_circuit(reading.harness)).state("riding")
    elements = Elements(point)
    (share,) = elements.at(point)[0]
    assert share == pytest.approx(0.38, abs=0.02)
    assert elements.words(elements.at(point)).tolist() == [[1]]
