"""Rows that are as expected rule out no fault that is there: each is put in, and what rows then read is recorded."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from outside import some_of

from loomwright.checks.bench.proving.cleared import pieces, ruled_out, with_joints
from loomwright.checks.bench.proving.plan import Proof
from loomwright.checks.bench.proving.watching import Watched
from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.fmea.bad_joints import BAD
from loomwright.checks.fmea.shorts import Shorts
from loomwright.checks.meter import Meter, Setup
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.branch_types import BranchType, Direction
from loomwright.lang.files.reading import read_file

if TYPE_CHECKING:
    from loomwright.checks.bench.proving.moments import Moment
    from loomwright.checks.bench.proving.rows import Row
    from loomwright.checks.operation.operation import Operation
    from loomwright.lang.circuit.branch import Branch

SPECS = Path(__file__).resolve().parents[4] / "specs"
DEMONSTRATIONS = ("rebuild.loom", "stock.loom")


@cache
def proof(name: str) -> Proof:
    return Proof(read_file(str(SPECS / name)).harness)


def good_at_rest(
    known: Proof, opened: str = "", grounded: str = "", joint: str = "", more: float = 0.0
) -> Iterator[Row]:
    """The rows with the battery off that may read as expected with a fault, solved for that circuit by itself: a branch
    open, a terminal on ground, or ``more`` ohms in a joint.
    """
    at_rest = known.at_rest
    for row in at_rest.rows:
        probe = {**at_rest.probed, **at_rest.probed_diodes}[row.number][0]
        setting = at_rest.settings[probe.setting]
        setup = Setup(
            apart=frozenset(), parts_in=True, fuses_in=False, positions=setting.positions,
            opened=frozenset((*setting.out, *([opened] if opened else []))),
            clipped=((grounded, at_rest.ground),) if grounded else (),
        )  # fmt: skip
        meter = Meter(at_rest.circuit, setup, piecewise=True)
        meter.edges = tuple(
            replace(edge, low=edge.low + more, high=edge.high + more) if joint and edge.key == joint else edge
            for edge in meter.edges
        )
        shown, expected = meter.between(probe.a, probe.b), row.expected
        if expected.way == "diode":
            if shown.forward is not False and shown.backward is not True:
                yield row
            continue
        middle = shown.low if math.isinf(shown.high) else (shown.low + shown.high) / 2
        if any(expected.fits(ohms) for ohms in (shown.low, middle, shown.high)):
            yield row


def good_fed(known: Proof, opened: str, grounded: str = "") -> Iterator[Row]:
    """The rows of first power that are as expected with a fault, whether the fuse before a short holds or has blown."""
    for moment in known.first_power.moments:
        point = moment.watched.point
        if opened not in point.circuit.by_key and not grounded:
            yield moment.row  # a cable that is off
            continue
        blown = [
            s.damage.opened for s in Shorts(point, Protection(point.circuit)).all() if s.damage and s.key == opened
        ]
        for lost in {frozenset(): None, **{frozenset(b.key for b in each): None for each in blown}}:
            gone = lost if grounded else frozenset((opened,))
            if as_expected(moment, moment.watched.operation.damaged(gone, grounded), gone or frozenset()):
                yield moment.row
                break


def as_expected(moment: Moment, hurt: Operation, gone: frozenset[str] = frozenset()) -> bool:
    """``gone``: what is open, by key: a coil whose winding is, has its volts and makes no spark."""
    watched = moment.watched
    try:
        point = hurt.at(watched.point.positions, watched.before or watched.point.memory)
    except UnsolvableError:
        return False
    if point.shorted:
        return False  # nothing holds that current: a fuse blows, or it burns
    if not all(band.least <= point.volts(band.red) - point.volts(band.black) <= band.most for band in moment.bands):
        return False
    if not moment.answers:
        return True
    now = Watched(hurt, point)
    at = watched.lit if moment.at is None else moment.at
    here = watched.point.circuit.by_key
    sparkless = {here[key].part for key in gone if here[key].branch_type is BranchType.IGNITION}
    return all(now.lit.get(name) == watched.lit.get(name) for name in at) and now.running - sparkless == watched.running


@pytest.mark.parametrize("name", some_of(DEMONSTRATIONS, 2))
def test_no_open_that_is_there_is_ruled_out(name: str) -> None:
    known = proof(name)
    off = 0
    for branch in some_of(known.first_power.motorcycle.faults, 41):
        rest, fed = list(good_at_rest(known, branch.key)), list(good_fed(known, branch.key))
        off += len(rest) < len(known.at_rest.rows)
        assert f"{branch.key} open" not in ruled_out(known, [*rest, *fed]).faults
    assert off >= 1


@pytest.mark.parametrize("name", some_of(DEMONSTRATIONS, 2))
def test_nothing_that_is_open_inside_a_part_is_ruled_out(name: str) -> None:
    """A filament, a coil, a unit's supply: what rows of first power read without it clears everything else."""
    known = proof(name)
    inside = [b for b in known.first_power.motorcycle.circuit.branches if b.branch_type.joined is Direction.NEVER]
    for branch in some_of(inside, 17):
        assert f"{branch.key} open" not in ruled_out(known, list(good_fed(known, branch.key))).faults
    every = ruled_out(known, [moment.row for moment in known.first_power.moments]).faults
    assert {"HEAD.dip open", "IGN supply open", "ALT field open"} <= every


@pytest.mark.parametrize("name", some_of(DEMONSTRATIONS[::-1], 2))
def test_no_wire_on_ground_that_is_there_is_ruled_out(name: str) -> None:
    known = proof(name)
    off = 0
    for wire in some_of(wires(known), 37):
        rest, fed = list(good_at_rest(known, grounded=wire.b)), list(good_fed(known, wire.key, wire.b))
        off += len(rest) < len(known.at_rest.rows)
        assert f"{wire.key} short to ground" not in ruled_out(known, [*rest, *fed]).faults
    assert off >= 3


@pytest.mark.parametrize("name", some_of(DEMONSTRATIONS, 2))
def test_no_bad_joint_that_is_there_is_ruled_out(name: str) -> None:
    known = proof(name)
    limited = 0
    for i, branch in enumerate(some_of([b for b in known.first_power.motorcycle.faults if b.branch_type in BAD], 83)):
        more = (0.7, 7.0, 70.0, 700.0)[i % 4]
        good = list(good_at_rest(known, joint=branch.key, more=more))
        good.extend(
            moment.row
            for moment in known.first_power.moments
            if branch.key in moment.watched.point.circuit.by_key
            and as_expected(moment, moment.watched.operation.damaged(frozenset(), resisting=((branch.key, more),)))
        )
        found = with_joints(known, good, ruled_out(known, good), [branch.key])
        assert found.most_ohms(branch.key) >= more, (branch.key, more)
        limited += found.most_ohms(branch.key) < math.inf
    assert limited >= 2


def wires(known: Proof) -> list[Branch]:
    circuit = known.first_power.motorcycle.circuit
    beside = {key for keys in pieces(circuit).values() for key in keys}
    return [branch for branch in circuit.branches if branch.key in beside]


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_all_rows_of_a_sound_motorcycle_rule_out_every_short(name: str) -> None:
    """They are there for that. An open shows in a row of first power or in one with the battery off."""
    known = proof(name)
    found = ruled_out(known, [*known.at_rest.rows, *(moment.row for moment in known.first_power.moments)])
    assert {f"{wire.key} short to ground" for wire in wires(known)} <= found.faults


def cleared(known: Proof, *wanted: tuple[str, str]) -> set[str]:
    rows = [row for row in known.at_rest.rows if (row.red, row.black) in wanted]
    assert len(rows) == len(wanted)
    return set(ruled_out(known, rows).faults)


def test_a_row_clears_no_more_than_what_its_leads_reach_with_the_fuses_out() -> None:
    known = proof("rebuild.loom")
    assert cleared(known, ("BAT.+", "BAT.-")) == {"wire 1 short to ground", "wire 2 short to ground"}
    assert cleared(known, ("F-CTRL.2", "BAT.-")) == {"wire 107 short to ground"}
    behind = {f"wire {name} short to ground" for name in ("6", "8", "101", "102")}
    assert cleared(known, ("RECT.B+", "BAT.-")) == behind


def test_what_may_be_shorted_is_apart_on_the_two_sides_of_a_fuse() -> None:
    """A row for each piece: before, one net had one row, whichever side of its fuses was measured."""
    nets = proof("rebuild.loom").first_power.motorcycle.nets
    sides = {"BAT.+", "MAIN.2", "F-KEY.2", "F-CTRL.2"}
    assert sides <= set(nets)
    rows = {row.red: row.about for row in proof("rebuild.loom").at_rest.rows}
    assert rows["BAT.+"] == ("BAT.+ pinched to ground",)
    assert rows["RECT.B+"] == ("MAIN.2 pinched to ground",)
    assert rows["F-CTRL.2"] == ("F-CTRL.2 pinched to ground",)
    assert "F-KEY.2 pinched to ground" in rows["F-KEY.2"]


# --- what a good row with the battery off says of what it was read through
def test_a_diode_row_that_is_one_way_clears_the_opens_it_was_read_through_and_joints_beyond_its_range() -> None:
    known = proof("rebuild.loom")
    found = ruled_out(known, [row for row in known.at_rest.rows if row.expected.way == "diode"])
    opens = {words.removesuffix(" open") for words in found.faults if words.endswith(" open")}
    names = ("104.1", "104.2", "109", "110.1", "110.2")  # past wire 111 the charge lamp and R-FIELD lead as well
    series = {*(f"wire {name}" for name in names), "D-CHG", "C-PANEL.2", "C-KEY.2"}
    assert series <= opens
    assert opens.isdisjoint({"R-FIELD", "wire 111"})
    assert "WARN.charge" not in opens
    assert {found.most_ohms(key) for key in series} == {2000.0}
    assert found.most_ohms("wire 14.1") == math.inf


def test_ohms_across_a_resistor_clear_what_is_open_there_and_joints_that_would_read_more() -> None:
    """62 ohm are to read 47 to 81 ohm, by a meter that reads a coil or a resistor 1.3 times too low and 0.3 ohm off as
    well: 62 / 1.3 - 0.3 are 47.4, so that a joint may hide 33.6 ohm.
    """
    known = proof("rebuild.loom")
    found = ruled_out(known, [row for row in known.at_rest.rows if row.red == "WARN.D+"])
    assert {"R-FIELD open", "wire 112 open", "wire 111 open"} <= found.faults
    assert "D-CHG open" not in found.faults
    assert found.most_ohms("wire 112") == pytest.approx(81.0 - (62.0 / 1.3 - 0.3), abs=0.01)
