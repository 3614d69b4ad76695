"""All faults of a state at once against each solved plainly, on the specs and on random harnesses."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from ngspice import reached_by_sources
from random_harness import harnesses

from loomwright.checks.dc import relay_fixed_point as settling
from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.memory import Memory
from loomwright.checks.dc.nodal_equations import NodalEquations
from loomwright.checks.dc.situation import Situation
from loomwright.checks.fmea import departures, hubs, lots, propagation, tuning
from loomwright.checks.fmea.failure_modes import Damage, opens
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.plain import struck
from loomwright.checks.fmea.ports import Struck
from loomwright.checks.fmea.propagation import Propagation
from loomwright.checks.fmea.shorts import Shorts
from loomwright.checks.fmea.tangents import Tangents
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness

SPECS = Path(__file__).parents[3] / "specs"
TUNED = 0.015
"""V by which two tunings of one machine may differ: each stops where its regulator feels a millivolt too much."""

KINDS = ("pulled", "on", "latched", "excited")


def damages(found: Propagation, protection: Protection) -> list[Damage]:
    """Every opening that is not idle, and every short that does something."""
    circuit, point = found.point.circuit, found.point
    opened = [Damage((b,)) for b in opens(circuit) if point.connectivity.conducts(b) and not found.idle(b)]
    shorts = {short.like: short.damage for short in Shorts(point, protection).all() if short.damage is not None}
    return [*opened, *shorts.values()]


def solved_plainly(found: Propagation, damage: Damage) -> OperatingPoint | str:
    """The point after a damage, or why not."""
    try:
        return struck(found.operation, found.point, damage)
    except UnsolvableError as error:
        return str(error)


def compare(found: Propagation, all_damages: list[Damage]) -> int:
    """How many were compared: what remembers stands alike, and so do the volts wherever a source still reaches."""
    index = found.network.index
    compared = 0
    for damage, after in zip(all_damages, found.of(all_damages), strict=True):
        about = (found.point.state, sorted(damage.keys), damage.grounded)
        plain = solved_plainly(found, damage)
        if isinstance(plain, str):
            assert after.problem == plain, about
            continue
        assert after.volts is not None, (about, after.problem)
        differing = {kind: getattr(plain.memory, kind) ^ getattr(after.memory, kind) for kind in KINDS}
        assert differing == dict.fromkeys(KINDS, frozenset()), about
        for node in reached_by_sources(plain.flow):
            assert after.volts[index[node]] == pytest.approx(plain.volts(node), abs=TUNED), (about, node)
        compared += 1
    return compared


@pytest.mark.parametrize(
    ("name", "least"),
    [("stock", 400), ("rebuild", 400), ("small/points-single", 100), ("small/six-volt-dynamo", 100)],
)
def test_the_specs(name: str, least: int) -> None:
    operation = Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness))
    sweep = Sweep(operation)
    protection = Protection(operation.circuit)
    compared = 0
    for state in sweep.all_states(tuple(operation.points)[-4:]):
        found = sweep.state(state).propagation
        compared += compare(found, damages(found, protection))
    assert compared > least


@settings(max_examples=25)
@given(harnesses())
def test_random_harnesses(harness: Harness) -> None:
    operation = Operation(build_circuit(harness))
    protection = Protection(operation.circuit)
    for point in operation.points.values():
        if not point.shorted:
            found = Propagation(operation, point)
            compare(found, damages(found, protection))


def test_hardly_any_of_the_demonstrations_is_solved_plainly(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is fast must be what is used: of some 400 damages no more than a handful falls back."""
    fallen: list[Damage] = []
    plainly = Propagation.plainly
    monkeypatch.setattr(Propagation, "plainly", lambda self, *asked: fallen.append(asked[0]) or plainly(self, *asked))
    operation = Operation(build_circuit(read_file(SPECS / "rebuild.loom").harness))
    asked = 0
    for point in operation.points.values():
        found = Propagation(operation, point)
        all_damages = damages(found, Protection(operation.circuit))
        asked += len(all_damages)
        found.of(all_damages)
    assert asked > 400
    assert len(fallen) <= 0.03 * asked


@pytest.fixture
def large(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every harness counts as a large one, whose faults are solved in blocks, and falls into many."""
    monkeypatch.setattr(propagation, "MOST_NODES", 3)
    monkeypatch.setattr(hubs, "LARGEST", 20)


@pytest.mark.usefixtures("large")
@pytest.mark.parametrize(("name", "state"), [("stock", "riding-main"), ("rebuild", "riding-main")])
def test_a_large_harness_in_its_blocks(name: str, state: str, monkeypatch: pytest.MonkeyPatch) -> None:
    operation = Operation(build_circuit(read_file(SPECS / f"{name}.loom").harness))
    found = Propagation(operation, operation.state(state))
    all_damages = damages(found, Protection(operation.circuit))
    fallen: list[Damage] = []
    plainly = Propagation.plainly
    monkeypatch.setattr(Propagation, "plainly", lambda self, *asked: fallen.append(asked[0]) or plainly(self, *asked))
    assert compare(found, all_damages) > 100
    assert len(fallen) <= 0.03 * len(all_damages), "what is fast must be what is used"


@pytest.mark.usefixtures("large")
@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(harnesses())
def test_random_harnesses_in_their_blocks(harness: Harness) -> None:
    operation = Operation(build_circuit(harness))
    protection = Protection(operation.circuit)
    for point in operation.points.values():
        if not point.shorted:
            found = Propagation(operation, point)
            compare(found, damages(found, protection))


@pytest.mark.usefixtures("large")
def test_tangents_of_one_situation_serve_another(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a relay or an output does after a fault is a change of the sound state, and seldom other tangents."""
    made: list[Situation] = []
    init = Tangents.__init__

    def counted(self: Tangents, network: NodalEquations, situation: Situation, *more: Any) -> None:
        made.append(situation)
        init(self, network, situation, *more)

    monkeypatch.setattr(Tangents, "__init__", counted)
    operation = Operation(build_circuit(read_file(SPECS / "stock.loom").harness))
    found = Propagation(operation, operation.state("riding-main"))
    after = found.of(damages(found, Protection(operation.circuit)))
    situations = {each.situation for each in after if not each.problem}
    assert len(situations) > 3
    assert 1 <= len(made) <= len(situations) // 2


@pytest.mark.usefixtures("large")
def test_faults_of_many_situations_go_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """What relays and outputs do after each fault leads to another situation each: they are not solved one by one."""
    asked: list[int] = []
    struck_at_once = tuning.strike

    def counted(ports: Sequence[Tangents], *more: Any) -> Struck:
        asked.append(len({each.situation for each in ports}))
        return struck_at_once(ports, *more)

    monkeypatch.setattr(tuning, "strike", counted)
    operation = Operation(build_circuit(read_file(SPECS / "rebuild.loom").harness))
    found = Propagation(operation, operation.state("riding-main"))
    found.of(damages(found, Protection(operation.circuit)))
    assert max(asked) > 7
    assert len(asked) < sum(asked) / 2


def test_networks_of_all_sizes_go_in_lots_that_hold_few_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lots of one fault each, and one that is too large for a full matrix: the same volts as in large lots."""
    monkeypatch.setattr(propagation, "MOST_NODES", 3)
    monkeypatch.setattr(hubs, "LARGEST", 20)
    operation = Operation(build_circuit(read_file(SPECS / "rebuild.loom").harness))
    point = operation.state("riding-main")
    all_damages = damages(Propagation(operation, point), Protection(operation.circuit))
    together = Propagation(operation, point).of(all_damages)
    monkeypatch.setattr(departures, "MOST_NUMBERS", 1)
    alone = Propagation(operation, point).of(all_damages)
    monkeypatch.setattr(departures, "MOST_FULL", 0)
    monkeypatch.setattr(lots, "MOST_FULL", 0)
    sparse = Propagation(operation, point).of(all_damages)
    assert sum(not after.problem for after in together) > 100
    for one, *others in zip(together, alone, sparse, strict=True):
        for other in others:
            assert (other.memory, other.problem, other.stopped) == (one.memory, one.problem, one.stopped)
            assert other.volts == pytest.approx(one.volts, abs=TUNED)  # what only leaks hold has its volts roughly
            assert other.law_amps == pytest.approx(one.law_amps, abs=1e-5)


def test_without_scipy_a_large_harness_is_solved_plainly_and_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    operation = Operation(build_circuit(read_file(SPECS / "small/points-single.loom").harness))
    found = Propagation(operation, operation.state("riding"))
    all_damages = damages(found, Protection(operation.circuit))
    together = found.of(all_damages)
    monkeypatch.setattr(propagation, "MOST_NODES", 3)
    monkeypatch.setattr(propagation, "_HAS_SCIPY", False)
    for one, other in zip(together, Propagation(operation, found.point).of(all_damages), strict=True):
        assert one.memory == other.memory
        assert one.stopped == other.stopped


@pytest.mark.parametrize("ohms", [0.1, 0.4])
def test_a_bad_joint_solved_plainly_is_as_with_the_others(ohms: float) -> None:
    operation = Operation(build_circuit(read_file(SPECS / "stock.loom").harness))
    found = Propagation(operation, operation.state("riding-main"))
    by_key = operation.circuit.by_key
    for key in ("wire 16", "wire 8", "C-RIGHT.1"):
        damage = Damage(resisting=((by_key[key], ohms),))
        (together,), plain = found.of([damage]), found.plainly(damage)
        assert (together.problem, plain.problem) == ("", "")
        assert plain.memory == together.memory
        assert plain.volts is not None
        assert plain.volts == pytest.approx(together.volts, abs=TUNED)
        assert float(np.abs(plain.volts - found.point.flow.volts).max()) > 0.1, key  # and it is no sound harness


def test_a_joint_that_lifts_a_machine_above_its_volts_is_solved_plainly() -> None:
    """20 ohm in its return: 22.5 V across the rectifier, while its regulator feels 4 V and its field asks for more."""
    operation = Operation(build_circuit(read_file(SPECS / "stock.loom").harness))
    found = Propagation(operation, operation.state("riding-main"))
    (after,) = found.of([Damage(resisting=((operation.circuit.by_key["wire 16"], 20.0),))])
    assert after.problem == ""
    assert after.volts is not None
    assert after.volts[found.network.index["C-ENGINE.5p"]] == pytest.approx(4.017, abs=0.01)  # ngspice: 4.0168 V


def test_a_weak_field_lifts_a_machine_little_by_little(monkeypatch: pytest.MonkeyPatch) -> None:
    """Some 60 rounds for 1.8 ohm in the lead of the trio; where the rounds run out that is stated."""
    operation = Operation(build_circuit(read_file(SPECS / "stock.loom").harness))
    found = Propagation(operation, operation.state("riding-main"))
    damage = Damage(resisting=((operation.circuit.by_key["wire 12"], 1.796),))
    after = found.plainly(damage)
    assert after.problem == ""
    assert after.situation.machines[0].volts > 17.0
    monkeypatch.setattr(settling, "MOST_TUNINGS", 5)
    assert "its regulator reaches no steady voltage in 5 rounds" in found.plainly(damage).problem


def test_bad_joints_of_a_large_harness_say_that_they_are_not_solved(monkeypatch: pytest.MonkeyPatch) -> None:
    operation = Operation(build_circuit(read_file(SPECS / "small/points-single.loom").harness))
    found = Propagation(operation, operation.state("riding"))
    monkeypatch.setattr(propagation, "MOST_NODES", 3)
    (after,) = found.of([Damage(resisting=((operation.circuit.by_key["wire 1"], 1.0),))])
    assert after.problem == "a bad joint in so large a harness is not solved"
    assert after.volts is None


def test_what_carries_nothing_and_tells_nothing_is_idle() -> None:
    operation = Operation(build_circuit(read_file(SPECS / "rebuild.loom").harness))
    by_key = operation.circuit.by_key
    asleep = Propagation(operation, operation.state("put-away"))
    assert asleep.idle(by_key["wire 3"])  # to the starter
    assert not asleep.idle(by_key["wire 107"])  # the unit's supply, asleep
    riding = Propagation(operation, operation.state("riding-main"))
    assert not riding.idle(by_key["wire 137.1"])  # carries nothing, and tells the unit: main beam


CHATTER = """
loom "A relay that feeds its own coil through its resting contact, once a wire is off"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
relay K 10 A at tray { coil 90 ohm: 85 86; released: 30 87a; pulled: 30 87 }
load LAMP lamp at tray { glow 21 W: 1 2 }
wire 1 BAT.+ to K.30 red 1 mm2 0.3 m
wire 2 K.87a to K.85 white 1 mm2 0.3 m
wire 3 BAT.+ to K.85 red 1 mm2 0.3 m
wire 4 K.86 to BAT.- black 1 mm2 0.3 m
wire 5 K.87 to LAMP.1 blue 1 mm2 0.3 m
wire 6 LAMP.2 to BAT.- black 1 mm2 0.3 m
state on { }
"""


def test_what_comes_to_no_rest_says_so() -> None:
    reading = read_text(CHATTER.strip() + "\n")
    assert reading.mistakes == ()
    operation = Operation(build_circuit(reading.harness))
    point = operation.state("on")
    assert point.memory == Memory(pulled=frozenset({"K"}))
    (after,) = Propagation(operation, point).of([Damage((operation.circuit.by_key["wire 3"],))])
    assert "K keeps switching on and off" in after.problem
    outcome = Sweep(operation).outcomes("on")["wire 3"]
    assert outcome.problem == after.problem
    assert outcome.volts is None
    assert [effect.words() for effect in outcome.effects] == ["K chatters"]
