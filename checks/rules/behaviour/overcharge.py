"""A machine that gives its battery more volts than it stands."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.model.conditions import BY_ITSELF
from ....lang.model.parts import Source
from ....lang.quantities.quantity import apart, shown
from ...dc.relay_fixed_point import feels
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from ...tables.device_constants import law_source, laws

if TYPE_CHECKING:
    from ...operation.operation import OperatingPoint

LEAD_CELL, LITHIUM_CELL = 2.1, 3.3
"""V of a charged cell at rest: by these the cells of a battery are counted."""


def find(study: Study) -> Iterator[Finding]:
    points = [
        point
        for point in study.operation.points.values()
        if point.engine in BY_ITSELF and not point.momentary and point.flow.situation.machines
    ]
    for supply in study.circuit.supplies:
        battery = study.harness.parts.get(supply.name)
        if supply.kind != "battery" or not isinstance(battery, Source) or not points:
            continue
        most, figure = _most(battery, study.harness.volts)
        worst = max(points, key=lambda point: point.across(supply.name))
        volts = worst.across(supply.name)
        if volts <= most:
            continue
        blind, turned = _blind(worst)
        regulated = study.operation.network.regulated
        held = max(regulated[machine.supply] for machine in worst.flow.situation.machines)
        asking = [part.name for part in study.harness.parts.values() if getattr(part, "regulated", None) == held]
        by = f" by {' and '.join(asking)}" if asking else ""
        why = (
            f"{blind} and {turned} (sense) are the wrong way round, and the machine gives all it can"
            if turned
            else f"{blind} is joined to nothing, and the machine gives all it can"
            if blind
            else f"{shown(held)} V are asked for{by}"
        )
        got, allowed = apart(volts, most)
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{battery.name} gets {got} V with the engine {worst.engine}, at most {allowed} V is "
            f"allowed: {why}",
            span=battery.span,
            about=(battery.name, *((blind.partition(".")[0],) if blind else asking)),
            state=worst.state,
            figures=(Figure("battery", volts, "V"), Figure("it stands", most, "V")),
            source=str(law_source(figure)),
            remedy=f"swap the wires at {blind} and {turned}, or on the `sense` line, where the + side comes first"
            if turned
            else f"connect {blind} to the battery by a wire that carries nothing else, with a fuse near the battery"
            if blind
            else f"measure what {battery.name} gets with the engine running and write it down; replace the "
            "regulator if it "
            f"is above {allowed} V",
        )


def _most(battery: Source, system: float) -> tuple[float, str]:
    """The most volts a battery stands while it is charged, and the figure that says so."""
    known = laws()
    if battery.lithium:
        return round((battery.volts or system * LITHIUM_CELL / 3.0) / LITHIUM_CELL) * known.most_lithium_cell, (
            "most_lithium_cell"
        )
    # Lead comes in threes of cells; a tired battery has no fewer of them than a charged one.
    cells = 3 * max(1, round((battery.volts or system * LEAD_CELL / 2.0) / (3 * LEAD_CELL)))
    return cells * known.most_lead_cell, "most_lead_cell"


def _blind(point: OperatingPoint) -> tuple[str, str]:
    """The sense terminal of a running machine's regulator that is joined to nothing, and an empty text; where both are
    joined the wrong way round the + and the -. Empty texts where every regulator senses.
    """
    flow = point.flow
    for supply, top, bottom in flow.network.senses:
        if not any(m.supply == supply for m in flow.situation.machines):
            continue
        if feels(flow.network, flow, supply, top, bottom):
            continue
        sources = [s for s in point.circuit.supplies if s.kind == "battery" or s.name == supply]
        top_fed, bottom_fed = (
            any(flow.reaches(plus, (node,)) for s in sources for plus in s.plus) for node in (top, bottom)
        )
        if bottom_fed and flow.reaches(top, tuple(s.minus for s in sources)):
            return top, bottom
        return (bottom if top_fed else top), ""
    return "", ""


RULE = Rule(
    name="overcharge",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a state with the engine idling or running in which a battery gets more volts than it stands",
    why="""Above some 15 V a lead battery of 12 V gasses and boils dry, a lithium one is switched off by its own
    protection or burns, and every lamp dies young. The usual cause is a regulator that feels nothing: its sense lead,
    or its ground, is off, and the machine gives all it can.""",
    source="2.5 V a cell of lead, 3.65 V a cell of lithium: common practice, no source; the maker's figure comes first",
    formula="found where volts of the battery > cells x 2.5 V (lithium 3.65 V), engine turning, nothing held",
    cautions="A battery that has boiled gives off explosive gas and acid: air first, no sparks, eyes covered.",
    find=find,
)
