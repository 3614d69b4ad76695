"""What conductors carry, may carry, are protected by and lose, against the analyses that each comes from."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.study import Study
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).resolve().parents[3] / "specs"
BIKE = """loom "Heater"
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 10 mohm }
connector C1 1 ways
fuse MAIN 20 A blade
switch HEAT { off: ; on: 1 2 }
switch HORN momentary { rest: ; press: 1 2 }
load GRIPS heater { grip 120 W: 1 2 }
load BEEP horn { horn 60 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 6 mm2 0.1 m
wire 2 MAIN.2 to HEAT.1 via C1.1 red 0.5 mm2 2 m
wire 3 HEAT.2 to GRIPS.1 yellow 0.5 mm2 1 m
wire 4 GRIPS.2 to BAT.- black 0.5 mm2 1 m
wire 5 MAIN.2 to HORN.1 brown 0.5 mm2 1 m
wire 6 HORN.2 to BEEP.1 brown 1 m
wire 7 BEEP.2 to BAT.- black 1 mm2 1 m
state warm { HEAT on }
state both { HEAT on, HORN press }
"""


@pytest.fixture(scope="module")
def study() -> Study:
    reading = read_text(BIKE)
    assert not reading.mistakes
    return Study(reading.harness, today=date(2026, 1, 1))


def test_a_piece_has_the_figures_of_the_analyses(study: Study) -> None:
    segment = study.harness.wires["3"].segments[0]
    loading = study.conductors.of(segment)
    assert loading is study.conductors.of(segment)
    assert loading.continuous.amps == pytest.approx(9.0, abs=0.6)
    assert (loading.continuous.state, loading.side) == ("warm", "feed")
    assert loading.ampacity == study.protection.ampacities.of(segment)
    assert loading.protected_by is not None
    assert loading.protected_by.devices == ("MAIN",)
    point = study.operation.points["warm"]
    assert loading.drop is not None
    assert loading.drop.volts == pytest.approx(abs(point.across("wire 3")), rel=0.05)


def test_what_only_flows_while_a_control_is_held_is_short_time(study: Study) -> None:
    loading = study.conductors.of(study.harness.wires["5"].segments[0])
    assert loading.continuous.amps == 0.0
    assert loading.short_time.amps == pytest.approx(4.6, abs=0.6)
    assert loading.ampacity is not None
    assert loading.short_time_limit == loading.ampacity.amps  # so thin a wire is warm within 30 s
    assert loading.overload is None
    thick = study.conductors.of(study.harness.wires["1"].segments[0])
    assert thick.ampacity is not None
    assert thick.short_time_limit > (thick.ampacity.amps or 0.0)


def test_a_wire_loses_what_all_its_pieces_lose_together(study: Study) -> None:
    wire = study.conductors.of_wire("2")
    assert [piece.segment.name for piece in wire.pieces] == ["2.1", "2.2"]
    assert wire.drop is not None
    assert wire.metres == pytest.approx(2.0)
    each = [piece.drop.volts for piece in wire.pieces if piece.drop is not None]
    assert wire.drop.volts == pytest.approx(sum(each))
    assert min(each) > 0.0
    assert wire.continuous.amps == pytest.approx(max(piece.continuous.amps for piece in wire.pieces))


def test_a_wire_without_a_size_has_no_ampacity_and_no_limit(study: Study) -> None:
    wire = study.conductors.of_wire("6")
    (piece,) = wire.pieces
    assert (piece.ampacity, piece.judged_by, piece.short_time_limit, piece.overload, wire.sized) == (
        None,
        None,
        0.0,
        None,
        (),
    )


def test_of_each_overloaded_wire_the_worst_piece_is_told(study: Study) -> None:
    found = study.conductors.overloaded()
    assert all(each.peak.amps > each.limit and each.share > 1.0 for each in found)
    by_wire = {each.segment.wire: each for each in found}
    assert len(by_wire) == len(found)
    assert "1" not in by_wire
    for name, each in by_wire.items():
        overloads = [piece.overload for piece in study.conductors.of_wire(name).pieces if piece.overload is not None]
        assert each.share == pytest.approx(max(other.share for other in overloads))


@pytest.mark.parametrize("name", ["stock.loom", "rebuild.loom"])
def test_every_piece_of_a_demonstration_agrees_with_its_analyses(name: str) -> None:
    study = Study(read_file(SPECS / name).harness, today=date(2026, 1, 1))
    for segment in study.harness.segments:
        loading = study.conductors.of(segment)
        (branch,) = (b for b in study.circuit.branches if b.segment is segment)
        assert loading.carries == study.operation.loading(branch.key)
        assert loading.judged_by == study.protection.ampacities.judged(segment)
        assert loading.protected_by is study.protection.sustained_faults.get(segment.name)
        assert loading.side == study.protection.side(branch)


def test_a_wire_or_piece_of_another_harness_is_refused(study: Study) -> None:
    other = read_text('loom "Other"\nsplice A\nsplice B\nwire 99 A to B\n').harness
    with pytest.raises(KeyError):
        study.conductors.of(other.segments[0])
    with pytest.raises(KeyError):
        study.conductors.of_wire("99")
