"""What holds of every solved state, whatever is wired: power is given as it is taken, and a coil of a duty takes on the
average no more than what warms its wires, and that is no more than what it takes while its circuit is closed.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import random_bikes
import spec_files
from hypothesis import event, given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn
from random_harness import harnesses

from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Load

CLOSE = 1e-6
"""Of all watts and amps, and in W: what rounding of the solver may leave."""

SPECS = spec_files.harnesses(
    path for folder in ("", "small") for path in (Path(__file__).parents[2] / "specs" / folder).glob("*.loom")
)

STATES = "state riding { KEY on, engine running }\nstate slow { KEY on, engine idling }\nstate still { KEY on }\n"


@st.composite
def with_duties(draw: DrawFn) -> Harness:
    """A random harness of which some loads draw current for a share of the time only, with the engine running too.

    None is in series with another: a mean current that one would force through what is open most of the time is no
    current that flows.
    """
    harness = draw(harnesses(through_loads=False))
    parts = dict(harness.parts)
    for name, part in parts.items():
        if isinstance(part, Load) and name != "CHARGE" and draw(st.booleans()):
            duty = draw(st.sampled_from((0.05, 0.3, 0.6, 0.95)))
            parts[name] = replace(part, elements=(replace(part.elements[0], duty=duty),))
    states = dict(harness.states)
    for name, state in harness.states.items():
        running = dict(state.settings) | {"KEY": "on", "engine": "running"}
        states[f"{name}r"] = replace(state, name=f"{name}r", settings=tuple(running.items()))
    return replace(harness, parts=parts, states=states)


def bikes(seed: int) -> Harness:
    reading = read_text(random_bikes.bike(seed, whole=False) + STATES, "bike.loom")
    assert reading.mistakes == ()
    return reading.harness


def points(harness: Harness) -> list[OperatingPoint]:
    return list(Operation(build_circuit(harness)).points.values())


def outflow(moment: OperatingPoint, node: str) -> float:
    """A that leave a pole through what is wired to it."""
    around = moment.circuit.at.get(node, ())
    return sum(moment.amps(b.key) * ((b.a == node) - (b.b == node)) for b in around)


def check_power(point: OperatingPoint) -> None:
    """In each moment of a turn, and on the average over them."""
    sources = [s for s in point.circuit.supplies if s.kind != "winding"]
    poles = {node for s in sources for node in (*s.plus, s.minus)}
    branches = [b.key for b in point.circuit.branches]
    for _, moment in point.moments:
        given_ = sum(moment.volts(node) * outflow(moment, node) for node in sorted(poles))
        taken = [moment.across(key) * moment.amps(key) for key in branches]
        assert given_ == pytest.approx(sum(taken), rel=CLOSE, abs=CLOSE), point.state
        assert all(watts >= -CLOSE for watts in taken), point.state  # nothing but a source gives
    said = sum(point.watts(s.name) for s in sources)
    assert said == pytest.approx(sum(map(point.watts, branches)), rel=CLOSE, abs=CLOSE), point.state


def check_currents(point: OperatingPoint) -> None:
    coils = point.flow.duties
    alone = len(set(coils.values())) == 1
    _, closed = point.moments[0]
    for key, duty in coils.items():
        mean, rms = abs(point.mean_amps(key)), point.heating_amps(key)
        assert rms <= max(abs(flow.amps[key]) for _, flow in point.flow.moments) * (1.0 + CLOSE), (point.state, key)
        if alone:  # else one coil may have more while the other is open
            assert rms == pytest.approx(duty**0.5 * abs(closed.amps(key)), rel=CLOSE), (point.state, key)
            assert mean == pytest.approx(duty * abs(closed.amps(key)), rel=CLOSE), (point.state, key)
    for key in point.flow.amps:  # of every wire, load and source, whatever is connected to it
        shares = [(share, abs(flow.amps[key])) for share, flow in point.flow.moments]
        assert sum(share for share, _ in shares) == pytest.approx(1.0)
        rms = point.heating_amps(key)
        assert abs(point.mean_amps(key)) <= rms * (1.0 + CLOSE) + 1e-9, (point.state, key)
        assert sum(share * amps for share, amps in shares) <= rms * (1.0 + CLOSE) + 1e-9, (point.state, key)
        assert rms <= max(amps for _, amps in shares) * (1.0 + CLOSE), (point.state, key)


def check_averages(point: OperatingPoint) -> None:
    """The V of a source are averaged over the moments that its A are."""
    for supply in point.circuit.supplies:
        values = [moment.across(supply.key) for _, moment in point.moments]
        assert min(values) - CLOSE <= point.mean_across(supply.key) <= max(values) + CLOSE, (point.state, supply.key)


@settings(max_examples=40)
@given(harnesses())
def test_of_loads_through_loads(harness: Harness) -> None:
    for point in points(harness):
        check_power(point)


@settings(max_examples=60)
@given(with_duties())
def test_of_loads_of_a_duty(harness: Harness) -> None:
    for point in points(harness):
        event(f"coils of a duty: {len(point.flow.duties)}")
        check_power(point)
        check_currents(point)
        check_averages(point)


@settings(max_examples=40)
@given(st.integers(0, 10**9))
def test_of_any_motorcycle(seed: int) -> None:
    for point in points(bikes(seed)):
        event(f"{point.state}: coils of a duty: {len(point.flow.duties)}")
        check_power(point)
        check_currents(point)
        check_averages(point)


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_of_every_spec(path: Path) -> None:
    """No root of a mean square is below its mean, in windings' states neither."""
    for point in points(read_text(path.read_text("utf-8")).harness):
        for key in (*point.circuit.by_key, *(s.key for s in point.circuit.supplies if s.kind != "winding")):
            assert abs(point.mean_amps(key)) <= point.heating_amps(key) * (1.0 + CLOSE) + 1e-9, (point.state, key)
