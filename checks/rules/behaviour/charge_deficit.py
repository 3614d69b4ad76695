"""A state in which the battery discharges though the engine runs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.ids import BranchId
from ....lang.model.conditions import BY_ITSELF
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import exceeds
from ...dc.flow import NO_CURRENT
from ...findings.finding import Figure, Finding, Level, Stage
from ...operation.pulsing import above_mean
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...operation.operation import OperatingPoint

NEGLIGIBLE_AMPS = 0.02
"""This many A out of a battery drain it in no ride (ours)."""


def find(study: Study) -> Iterator[Finding]:
    harness = study.harness
    machines = [s for s in study.circuit.supplies if s.kind == "machine"]
    batteries = [s for s in study.circuit.supplies if s.kind == "battery"]
    if not machines:
        return
    for battery in batteries:
        worst: dict[str, tuple[OperatingPoint, str]] = {}
        for point, history in study.operation.left_before.ways:
            if point.engine not in BY_ITSELF or point.momentary:
                continue
            given = _given(point, battery.key, len(batteries))
            known = worst.get(point.engine)
            if given > NEGLIGIBLE_AMPS and (
                known is None or exceeds(given, _given(known[0], battery.key, len(batteries)))
            ):
                worst[point.engine] = (point, history)
        for engine, (point, history) in worst.items():
            given = _given(point, battery.key, len(batteries))
            running = {m.supply for m in point.flow.situation.machines}
            made = sum(max(point.mean_amps(s.key), 0.0) for s in machines if s.name in running)
            gives = made > NO_CURRENT
            # At the voltage that charges, the loads draw more.
            volts, held = point.mean_across(battery.key), study.operation.network.regulated[""]
            cut = (given + made) * held / volts - made
            yield RULE.found(
                "overloaded" if gives else "no-output",
                harness.parts[machines[0].name].span,
                facts={
                    "battery": battery.name,
                    "machines": tuple(dict.fromkeys(s.name for s in machines)),
                    "first": machines[0].name,
                    "engine": engine,
                    "discharge": Quantity(given, "A"),
                    "output": Quantity(made if gives else 0.0, "A"),
                    "state": point.state,
                    "history": history,
                    "cut": Quantity(cut, "A"),
                    "cut_watts": Quantity(cut * held, "W"),
                    "held": Quantity(held, "V"),
                },
                level=Level.NOTE if engine == "idling" else Level.WARNING,
                fix=("idle" if engine == "idling" else "overloaded") if gives else "no-output",
                about=(battery.name, *(s.name for s in machines)),
                state=point.state,
                figures=(
                    Figure("battery current", given, "A"),
                    Figure("charging current", made if gives else 0.0, "A"),
                    Figure("battery voltage", volts, "V"),
                ),
                source="output of the alternator or dynamo at that engine speed, as the file has it",
            )


def _given(point: OperatingPoint, battery: BranchId, batteries: int) -> float:
    """A out of a battery on the average; it smooths what pulses, as one of many."""
    return point.mean_amps(battery) - above_mean(point) / batteries


RULE = Rule(
    name="charge-deficit",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    catches="a state in which the battery discharges with the engine running; with it idling: a note",
    why="""What the battery delivers while the engine runs is missing at the next start. Alternators and dynamos of old
    motorcycles deliver just enough for their lamps: with heated grips, a second headlamp or a phone charger the battery
    goes flat over several rides, and then the engine does not start. At idle many sound motorcycles discharge, which
    matters only in slow traffic.""",
    source="Loomwright's limit: any current above 0.02 A",
    formula="found where current out of the battery > 0.02 A, engine running or idling, momentary controls released",
    cautions="Batteries give off an explosive gas while they charge: no flame or sparks, and ventilate the place.",
    says={
        "overloaded": "{battery} discharges at {discharge} with the engine {engine}[ and {history}]: {machines} "
        "{machines:delivers|deliver} {output}, less than the loads draw",
        "no-output": "{battery} discharges at {discharge} with the engine {engine}[ and {history}]: {machines} "
        "{machines:does|do} not charge",
    },
    fixes={
        "overloaded": "reduce the load in state {state} by {cut} or more ({cut_watts} at {held}), so that {battery} "
        "also charges: switch a load off or fit LED lamps; or fit an alternator or dynamo of more output than {first}",
        "idle": "reduce the load in state {state} by {discharge} or more where the motorcycle idles for long: switch a "
        "load off or fit LED lamps",
        "no-output": "find out why {first} does not charge: check its field, its output lead and its rectifier",
    },
    find=find,
)
