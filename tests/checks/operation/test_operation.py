"""Peaks over named states and worst combinations, judged by going through every combination."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from random_harness import harnesses

from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.logic import SwitchingLogic
from loomwright.checks.logic.predicates import JoinedInSeries
from loomwright.checks.operation.operation import Operation
from loomwright.checks.operation.worst_case import WorstCase
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness

SPECS = Path(__file__).parents[3] / "specs"


def rated(operation: Operation) -> dict[str, float]:
    ratings = operation.network.rated
    consumers = [b.key for b in operation.circuit.branches if b.branch_type.consumes]
    return {key: amps for key in consumers if (amps := ratings[key].amps)}


def greatest_sum(circuit: Circuit, amps: dict[str, float]) -> float:
    """The greatest sum of rated amps that are joined in any combination with the engine off; by brute force."""
    logic = SwitchingLogic(circuit)
    controls = [c for c in circuit.controls.values() if c.name != "engine"]
    best = 0.0
    for combination in product(*(c.positions for c in controls)):
        at = dict(zip((c.name for c in controls), combination, strict=True)) | {"engine": "off"}
        total = 0.0
        for key, size in amps.items():
            scope = logic.scope(JoinedInSeries(key))
            index = scope.index({name: where for name, where in at.items() if name in scope})
            total += size * ((JoinedInSeries(key).table(scope) >> index) & 1)
        best = max(best, total)
    return best


@settings(max_examples=15)
@given(harnesses(most_loads=5, through_loads=False))
def test_the_main_fuse_gets_its_greatest_sum(harness: Harness) -> None:
    """With the engine off all rated currents run through the main fuse: the search finds the greatest sum of all."""
    bare = Harness(file=harness.file, parts=harness.parts, wires=harness.wires)
    circuit = build_circuit(bare)
    operation = Operation(circuit)
    amps = rated(operation)
    wanted = greatest_sum(circuit, amps)
    logic = SwitchingLogic(circuit)
    worst_case = WorstCase(logic, amps, {})
    machine = any(s.kind == "machine" for s in circuit.supplies)
    found = 0.0
    for positions, _ in worst_case.worst([]):
        if not machine or positions.get("engine", "off") == "off":
            found = max(found, sum(a for k, a in amps.items() if worst_case.factors.joined_at(k, positions)))
    assert found == pytest.approx(wanted)


@settings(max_examples=15)
@given(harnesses(most_loads=5, through_loads=False))
def test_no_combination_carries_much_more_than_the_peak(harness: Harness) -> None:
    """What pulls the volts down elsewhere is not searched for: a tenth is allowed for it."""
    circuit = build_circuit(harness)
    operation = Operation(circuit)
    loadings = operation.loadings
    controls = list(circuit.controls.values())
    if len(list(product(*(c.positions for c in controls)))) > 300:
        return
    for combination in product(*(c.positions for c in controls)):
        at = dict(zip((c.name for c in controls), combination, strict=True))
        if at["engine"] in ("cranking", "idling"):
            continue
        try:
            point = operation.at(at)
        except UnsolvableError:
            continue
        size = point.heating_amps("MAIN")
        if size > 0.5:
            assert loadings["MAIN"].held.amps >= 0.88 * size, at


CHARGED = """
loom "A machine charges through the main fuse, and no state says so"
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source ALT alternator { output 150 W: B+ B-; regulated 14.2 V }
ground FRAME
fuse MAIN 20 A blade
switch KEY 20 A key { off: ; on: 1 2 }
load LAMP lamp { lamp 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.2 m
wire 2 MAIN.2 to ALT.B+ red 4 mm2 0.2 m
wire 3 ALT.B- to FRAME black 4 mm2 0.2 m
wire 4 BAT.- to FRAME black 6 mm2 0.2 m
"""


def test_what_only_the_charging_current_goes_through_is_counted() -> None:
    """Without a state in which the engine runs: 0.05 A for each of 14 Ah at the regulated voltage (ours) are 0.7 A."""
    operation = Operation(build_circuit(read_text(CHARGED).harness))
    assert operation.loading("MAIN").continuous.amps == pytest.approx(0.7, abs=0.02)
    assert ("engine", "running") in operation.loading("MAIN").continuous.combination


LIGHTS = """
loom "Two switches and a horn"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 20 A blade at tray
switch KEY 20 A key at tray { off: ; on: 1 2 }
switch DIP 10 A at tray { low: 56 56b; high: 56 56a }
switch HORN-BUTTON 10 A momentary at tray { rest: ; press: 1 2 }
load HEAD lamp at tray { dip 35 W: 56b 31; main 60 W: 56a 31 }
load HORN horn at tray { horn 5 A: 1 2 }
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.2 m
wire 2 MAIN.2 to KEY.1 red 4 mm2 0.2 m
wire 3 KEY.2 to DIP.56 brown 2 mm2 0.2 m
wire 4 DIP.56b to HEAD.56b blue 2 mm2 0.2 m
wire 5 DIP.56a to HEAD.56a white 2 mm2 0.2 m
wire 6 HEAD.31 to FRAME black 2 mm2 0.2 m
wire 7 KEY.2 to HORN-BUTTON.1 brown 2 mm2 0.2 m
wire 8 HORN-BUTTON.2 to HORN.1 grey 2 mm2 0.2 m
wire 9 HORN.2 to FRAME black 2 mm2 0.2 m
wire 10 BAT.- to FRAME black 6 mm2 0.2 m
state riding { KEY on }
"""


def test_continuous_is_with_momentary_controls_at_rest_and_held_with_anything() -> None:
    """The named state has the dip lamp; main beam is more, and the horn comes on top while it is pressed."""
    operation = Operation(build_circuit(read_text(LIGHTS.strip() + "\n").harness))
    loading = operation.loading("MAIN")
    assert loading.continuous.amps == pytest.approx(60 / 12.0, rel=0.06)
    assert loading.continuous.combination == (("KEY", "on"), ("DIP", "high"))
    assert loading.held.amps == pytest.approx(60 / 12.0 + 5.0, rel=0.06)
    assert loading.held.combination == (("KEY", "on"), ("DIP", "high"), ("HORN-BUTTON", "press"))
    assert operation.loading("wire 4").continuous.state == "riding"
    assert operation.loading("KEY 1-2").held.amps == pytest.approx(loading.held.amps)
    assert operation.loading("nothing").held.amps == 0.0


def test_the_same_is_asked_of_everything_once() -> None:
    operation = Operation(build_circuit(read_text(LIGHTS.strip() + "\n").harness))
    assert len(operation.worst_points) <= 3


@pytest.mark.parametrize("name", ["stock", "rebuild"])
def test_kirchhoff_at_every_terminal(name: str) -> None:
    """Currents into each node add up to nothing: wires that were reduced away included."""
    operation = Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness))
    for point in operation.points.values():
        network = point.flow.network
        total = dict.fromkeys(network.nodes, 0.0)
        for branch in operation.circuit.branches:
            total[branch.a] -= point.flow.amps[branch.key]
            total[branch.b] += point.flow.amps[branch.key]
        running = {m.supply for m in point.flow.situation.machines}
        for supply in operation.circuit.supplies:
            if supply.kind == "battery":
                total[supply.plus[0]] += point.amps(supply.name)
                total[supply.minus] -= point.amps(supply.name)
            elif supply.name in running:
                total[supply.minus] -= point.amps(supply.name)
                for plus in supply.plus:
                    total[plus] += point.flow.amps.get(supply.tap(plus), point.amps(supply.key))
        worst = max(total, key=lambda node: abs(total[node]))
        assert abs(total[worst]) < 1e-5, (point.state, worst, total[worst])


def test_power_given_is_power_taken() -> None:
    """In cranking: what the battery gives is what loads, wires and contacts take."""
    operation = Operation(build_circuit(read_file(SPECS / "stock.loom").harness))
    point = operation.state("cranking")
    taken = sum(point.watts(b.key) for b in operation.circuit.branches)
    assert taken == pytest.approx(point.watts("BAT"), rel=1e-6)


def test_one_average_for_a_battery_and_the_fuse_in_series_with_it() -> None:
    """RECT delivers all that it can: with two coils closed and open MAIN carries what charges BAT, and no less."""
    point = Operation(build_circuit(read_file(SPECS / "stock.loom").harness)).state("turning-left")
    (rect,) = point.flow.situation.machines
    assert point.mean_across("BAT") == pytest.approx(13.624, abs=5e-4)
    assert point.mean_amps("BAT") == pytest.approx(-0.4482, abs=5e-5)
    assert point.heating_amps("MAIN") == pytest.approx(0.4483, abs=5e-5)
    assert point.watts("BAT") == pytest.approx(point.mean_across("BAT") * point.mean_amps("BAT"), rel=1e-3)
    assert point.mean_amps("RECT") == pytest.approx(rect.lasting, rel=1e-3)  # more is only lent, and taken back
    (closed, on), (opened, off) = point.moments
    assert (closed, opened) == pytest.approx((0.4, 0.6))
    assert abs(on.across("BAT") - off.across("BAT")) < 0.05  # in so short a time a battery keeps its volts
    lent = sum(0.6 * on.amps(f"{coil}.primary") for coil in ("COIL-LEFT", "COIL-RIGHT"))
    assert on.flow.situation.machines[0].ripple == pytest.approx(lent, abs=1e-5)


def test_nothing_is_lent_where_no_coil_draws() -> None:
    """With the kill switch on stop RECT delivers no more than it can, though the file has coils of a duty."""
    operation = Operation(build_circuit(read_file(SPECS / "stock.loom").harness))
    stopped = operation.at({**operation.positions("turning-left"), "KILL": "stop", "engine": "idling"})
    assert not stopped.flow.duties
    (rect,) = stopped.flow.situation.machines
    assert stopped.mean_amps("RECT") == pytest.approx(rect.lasting, rel=5e-3)
    assert stopped.amps("RECT") > rect.lasting + 3.0


def test_what_is_left_out_is_listed_with_what_was_taken() -> None:
    text = """
loom "Numbers left out"
place tray
source BAT battery at tray
ground FRAME at tray
fuse MAIN at tray
load LAMP at tray { dip lamp: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.2 m
wire 2 MAIN.2 to LAMP.1 red 0.2 m
wire 3 LAMP.2 to FRAME black 1 mm2 0.2 m
wire 4 BAT.- to FRAME black 6 mm2 0.2 m
"""
    operation = Operation(build_circuit(read_text(text.strip() + "\n").harness))
    found = {(m.owner, m.what): m.taken for m in operation.missing}
    assert found["LAMP.dip", "rating"] == ""
    assert found["2", "size"] == "0 ohm"
    assert found["MAIN", "rating"] == "5 mohm"
    assert found["BAT", "voltage"].endswith(" V")
    assert {what for owner, what in found if owner == "BAT"} == {"voltage", "capacity", "resistance"}
    assert operation.at({}).amps("LAMP.dip") == 0.0


def test_where_too_much_hangs_together_one_control_is_fixed_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for two cells the search still finds the greatest sum here, since nothing is at odds with it."""
    from loomwright.checks.operation import elimination as searched

    monkeypatch.setattr(searched, "MOST_CELLS", 2)
    operation = Operation(build_circuit(read_text(LIGHTS.strip() + "\n").harness))
    assert operation.loading("MAIN").held.amps == pytest.approx(60 / 12.0 + 5.0, rel=0.06)
