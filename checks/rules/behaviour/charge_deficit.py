"""A state in which the machine does not keep up and the battery gives."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.model.conditions import BY_ITSELF
from ....lang.quantities.quantity import shown
from ...dc.nodal_equations import NO_CURRENT
from ...findings.finding import Figure, Finding, Level, Stage
from ...operation.pulsing import above_mean
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...operation.operation import OperatingPoint

NEGLIGIBLE_AMPS = 0.02
"""What a battery may give without being drained in any ride (ours)."""


def find(study: Study) -> Iterator[Finding]:
    harness = study.harness
    machines = [s for s in study.circuit.supplies if s.kind == "machine"]
    batteries = [s for s in study.circuit.supplies if s.kind == "battery"]
    if not machines:
        return
    for battery in batteries:
        worst: dict[str, OperatingPoint] = {}
        for point in study.operation.points.values():
            if point.engine not in BY_ITSELF or point.momentary:
                continue
            given = _given(point, battery.name, len(batteries))
            known = worst.get(point.engine)
            if given > NEGLIGIBLE_AMPS and (known is None or given > _given(known, battery.name, len(batteries))):
                worst[point.engine] = point
        for engine, point in worst.items():
            given = _given(point, battery.name, len(batteries))
            running = {m.supply for m in point.flow.situation.machines}
            made = sum(max(point.mean_amps(s.name), 0.0) for s in machines if s.name in running)
            names = tuple(dict.fromkeys((battery.name, *(s.name for s in machines))))
            gives = made > NO_CURRENT
            said = f"the machine gives {shown(made)} A, and the loads take more" if gives else "no machine charges"
            yield Finding(
                rule=RULE.name,
                level=Level.NOTE if engine == "idling" else Level.WARNING,
                message=f"{battery.name} gives {shown(given)} A with the engine {engine}: {said}",
                span=harness.parts[machines[0].name].span,
                about=names,
                state=point.state,
                figures=(
                    Figure("given by the battery", given, "A"),
                    Figure("given by the machine", made if gives else 0.0, "A"),
                    Figure("battery", point.averaged.across(battery.name), "V"),
                ),
                source="the machine's own watts at that engine speed",
                remedy=f"take {shown(given)} A of load off in {point.state}: fit LED lamps or switch something "
                "off; or fit a "
                f"larger alternator or dynamo than {machines[0].name}"
                if gives
                else f"find out why {machines[0].name} gives nothing here: its field, its output lead, its rectifier",
            )


def _given(point: OperatingPoint, battery: str, batteries: int) -> float:
    """A that a battery gives on the average; it smooths what pulses, as one of so many."""
    return point.mean_amps(battery) - above_mean(point) / batteries


RULE = Rule(
    name="charge-deficit",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    catches="a state in which the battery gives current with the engine running; idling: a note",
    why="""Whatever the battery gives while the engine runs is missing at the next start. Old machines made just enough
    for their lamps; grips, a second headlamp or a phone turn the balance, and the rider learns it by being stranded. At
    idle many good machines fall behind, which only matters to who waits at many lights.""",
    source="ours: any current above 0.02 A",
    formula="found where amps out of the battery > 0.02 A, engine running or idling, momentary controls at rest",
    cautions="Batteries give off an explosive gas while they charge: no flame, and a vented place.",
    find=find,
)
