"""Lost returns, judged by taking out every conductor in turn and solving the whole harness again."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from random_harness import harnesses

from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.fmea.failure_modes import Damage, series_groups
from loomwright.checks.fmea.open_returns import lost_grounds
from loomwright.checks.fmea.plain import struck
from loomwright.checks.operation.load_status import load_status
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.lang.circuit.branch import Branch
from loomwright.lang.circuit.branch_types import Direction
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Element


def is_tell_tale(branch: Branch) -> bool:
    return isinstance(branch.item, Element) and "tell-tale" in branch.item.roles


def dead(point: OperatingPoint) -> set[str]:
    """The elements that are dead by numbers; one taken out together with its conductor is not asked about."""
    consumers = (b for b in point.circuit.branches if b.branch_type.consumes and not is_tell_tale(b))
    return {b.key for b in consumers if (found := load_status(point, b.key)) is not None and found.word == "dead"}


def returned(point: OperatingPoint, node: str) -> bool:
    connectivity = point.connectivity
    return connectivity.reaches_pole(node) and not connectivity.fed(node)


def loses_its_return(before: OperatingPoint, after: OperatingPoint) -> bool:
    """Whether an element that was joined is still fed and no longer returned."""
    for branch in before.circuit.branches:
        if (
            branch.branch_type.consumes
            and before.connectivity.joined(branch.key)
            and not after.connectivity.joined(branch.key)
        ):
            for feed, back in ((branch.a, branch.b), (branch.b, branch.a)):
                if before.connectivity.fed(feed) and after.connectivity.fed(feed) and returned(before, back):
                    return not after.connectivity.reaches_pole(back)
    return False


def brute_force(operation: Operation) -> set[str]:
    """The first of each chain that, taken out in some state, leaves a live load without return and wakes a dead one."""
    circuit = operation.circuit
    series = series_groups(circuit)
    found = set()
    for point in operation.points.values():
        before = dead(point)
        for branch in circuit.branches:
            chain = series.get(branch.key, branch.key)
            if chain in found or not branch.branch_type.fails_open or branch.branch_type.joined is not Direction.BOTH:
                continue
            if not point.connectivity.conducts(branch):
                continue
            try:
                after = struck(operation, point, Damage((branch,)))
            except UnsolvableError:
                continue
            woken = before - dead(after) - {branch.key}
            # What a relay joins since the volts have risen does not work through another load.
            if loses_its_return(point, after) and any(not after.connectivity.joined(key) for key in woken):
                found.add(chain)
    return found


def told(circuit: Circuit) -> set[str]:
    series = series_groups(circuit)
    return {series.get(lost.conductor.key, lost.conductor.key) for lost in lost_grounds(Operation(circuit))}


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(harnesses(most_loads=5))
def test_random_harnesses(harness: Harness) -> None:
    circuit = build_circuit(harness)
    assert told(circuit) == brute_force(Operation(circuit))


HEAD = """
loom "{title}"
place here
source BAT battery at here {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
ground FRAME at here
switch KEY 10 A key at here {{ off: ; on: 1 2 }}
load LIVE heater at here {{ x 60 W: 1 2 }}
splice SP at here
wire 1 BAT.+ to KEY.1 red 2.5 mm2 0.1 m
wire 2 KEY.2 to LIVE.1 red 2.5 mm2 0.1 m
wire 3 LIVE.2 to SP black 2.5 mm2 0.1 m
wire 4 SP to FRAME black 2.5 mm2 0.1 m
wire 5 FRAME to BAT.- black 6 mm2 0.1 m
state on {{ KEY on }}
"""


def circuit_of(text: str, title: str) -> Circuit:
    reading = read_text(HEAD.format(title=title) + text)
    assert not reading.mistakes
    return build_circuit(reading.harness)


def test_current_goes_on_through_a_closed_switch() -> None:
    circuit = circuit_of(
        """
switch SW 10 A at here { on: 1 2; off: }
load DEAD heater at here { x 30 W: 1 2 }
load ONWARD heater at here { x 60 W: 1 2 }
wire 6 DEAD.2 to SP black 1 mm2 0.1 m
wire 7 DEAD.1 to SW.1 white 1 mm2 0.1 m
wire 8 SW.2 to ONWARD.1 white 1 mm2 0.1 m
wire 9 ONWARD.2 to FRAME black 1 mm2 0.1 m
""",
        "A contact between two dead loads",
    )
    assert told(circuit) == brute_force(Operation(circuit)) == {"wire 4"}


def test_a_motor_that_does_not_stir_lights_a_lamp_beyond_it() -> None:
    circuit = circuit_of(
        """
load MOTOR motor at here { x 200 W: 1 2 }
load LAMP lamp at here { x 3 W: 1 2 }
wire 6 MOTOR.2 to SP black 2.5 mm2 0.1 m
wire 7 MOTOR.1 to LAMP.1 white 1 mm2 0.1 m
wire 8 LAMP.2 to FRAME black 1 mm2 0.1 m
""",
        "A lamp behind a motor",
    )
    (lost,) = lost_grounds(Operation(circuit))
    assert [branch.key for branch, _ in lost.woken] == ["LAMP.x"]
    assert told(circuit) == brute_force(Operation(circuit))


def test_an_led_lets_nothing_back() -> None:
    circuit = circuit_of(
        """
load DARK led at here { x 3 W: 1 2 }
load LAMP lamp at here { x 21 W: 1 2 }
wire 6 DARK.2 to SP black 1 mm2 0.1 m
wire 7 DARK.1 to LAMP.1 white 1 mm2 0.1 m
wire 8 LAMP.2 to FRAME black 1 mm2 0.1 m
""",
        "A lamp behind a light-emitting diode",
    )
    assert told(circuit) == brute_force(Operation(circuit)) == set()


def test_what_still_reaches_a_pole_of_another_battery_has_not_lost_its_return() -> None:
    circuit = circuit_of(
        """
source SPARE battery at here { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
load DEAD heater at here { x 30 W: 1 2 }
load ONWARD heater at here { x 60 W: 1 2 }
load OTHER heater at here { x 60 W: 1 2 }
wire 6 DEAD.2 to SP black 1 mm2 0.1 m
wire 7 DEAD.1 to ONWARD.1 white 1 mm2 0.1 m
wire 8 ONWARD.2 to FRAME black 1 mm2 0.1 m
wire 9 SPARE.- to SP black 2.5 mm2 0.1 m
wire 10 SPARE.+ to OTHER.1 red 2.5 mm2 0.1 m
wire 11 OTHER.2 to SP black 2.5 mm2 0.1 m
""",
        "A return that two batteries share",
    )
    assert told(circuit) == brute_force(Operation(circuit)) == set()
