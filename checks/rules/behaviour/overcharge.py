"""A battery that is charged at more than its maximum voltage."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.ids import End
from ....lang.model.conditions import BY_ITSELF
from ....lang.model.parts import Regulator, Source
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import largest
from ....lang.records import dataclass
from ....lang.search.walks import closure
from ...dc.devices import USUAL_AMP_HOURS, UnsolvableError
from ...dc.regulation import HIGHEST_SHARE, senses
from ...findings.finding import Figure, Finding, Level, Stage
from ...fixes.charging import charging_output, sensed_there
from ...operation.most_charged import most_charged
from ...rule import Rule
from ...study import Study
from ...tables.device_constants import law_source

if TYPE_CHECKING:
    from ...operation.operation import OperatingPoint

UNREGULATED = f"; without regulation up to {HIGHEST_SHARE} times the regulated voltage: Loomwright's limit"

GENTLE, HARD = 0.1, 0.2
"""Of its Ah, A for hours: from where on a battery of lead that is full gasses, and boils dry (ours)."""


def find(study: Study) -> Iterator[Finding]:
    yield from _regulated(study)
    if study.winding_lamps is not None:
        yield from _by_half_waves(study)


def _by_half_waves(study: Study) -> Iterator[Finding]:
    """Batteries that a winding charges through a diode: at most speed, with everything off but the key."""
    operation = study.operation
    for supply in study.circuit.supplies:
        battery = study.harness.parts.get(supply.name)
        if supply.kind != "battery" or not isinstance(battery, Source):
            continue
        points = [point for point in _unregulated(study) if -point.mean_amps(supply.key) > 0.0]
        if not points:
            continue
        worst = largest(points, key=lambda point: -point.mean_amps(supply.key))
        amps, volts = -worst.mean_amps(supply.key), worst.mean_across(supply.key)
        most, figure = most_charged(battery, study.harness.volts)
        hours = battery.amp_hours or USUAL_AMP_HOURS
        if amps <= GENTLE * hours and volts <= most:
            continue
        hard = amps > HARD * hours or volts > most
        windings = tuple(sorted(worst.flow.windings & _on(study, supply.plus[0])))
        yield RULE.found(
            "half-wave",
            battery.span,
            facts={
                "battery": battery.name,
                "windings": windings,
                "current": Quantity(amps, "A"),
                "voltage": Quantity(volts, "V"),
                "limit": Quantity((HARD if hard else GENTLE) * hours, "A"),
                "most": Quantity(most, "V"),
                "with": tuple(f"{name} {at}" for name, at in worst.differing),
            },
            about=(battery.name, *dict.fromkeys(operation.circuit.by_key[key].part for key in windings)),
            level=Level.ERROR if hard else Level.WARNING,
            state=worst.state,
            fix="half-wave",
            figures=(
                Figure("charging current", amps, "A"),
                Figure("allowed", (HARD if hard else GENTLE) * hours, "A"),
                Figure("battery", volts, "V"),
            ),
            source=f"{SHARES_OF_CAPACITY}; {law_source(figure)}",
        )


def _on(study: Study, pole: End) -> frozenset[str]:
    """The windings that copper, contacts and diodes join to a battery's pole past no ground, by key."""
    circuit = study.circuit
    of, near = circuit.nets.of, dict[int, list[int]]()
    for edge in circuit.nets.switched:
        near.setdefault(edge.a, []).append(edge.b)
        near.setdefault(edge.b, []).append(edge.a)
    grounds = {of[supply.minus] for supply in circuit.supplies}
    met = closure([of[pole]], lambda net: near.get(net, ()) if net not in grounds else ()) - grounds
    return frozenset(s.name for s in circuit.supplies if s.kind == "winding" and any(of[p] in met for p in s.plus))


def _unregulated(study: Study) -> Iterator[OperatingPoint]:
    """Points at which windings are solved and no machine of direct current gives: named states, then most speed with
    the ignition off or in each of its positions.
    """
    operation = study.operation
    keys = [control for control in study.circuit.controls.values() if control.key]
    named = list(operation.points.values())
    tried = [{"engine": "fast"}, *({key.name: at, "engine": "fast"} for key in keys for at in key.positions)]
    for positions in tried:
        try:
            named.append(operation.at(positions))
        except UnsolvableError:
            continue
    for point in named:
        if point.flow.windings and not point.flow.situation.machines and not point.shorted and not point.momentary:
            yield point


def _regulated(study: Study) -> Iterator[Finding]:
    points = [
        point
        for point in study.operation.points.values()
        if point.engine in BY_ITSELF and not point.momentary and point.flow.situation.machines
    ]
    for supply in study.circuit.supplies:
        battery = study.harness.parts.get(supply.name)
        if supply.kind != "battery" or not isinstance(battery, Source) or not points:
            continue
        most, figure = most_charged(battery, study.harness.volts)
        worst = largest(points, key=lambda point: point.mean_across(supply.key))
        volts = worst.mean_across(supply.key)
        if volts <= most:
            continue
        blind = _blind(study, worst)
        regulated = study.operation.network.regulated
        held = max(regulated[machine.supply] for machine in worst.flow.situation.machines)
        asking = tuple(part.name for part in study.harness.parts.values() if getattr(part, "regulated", None) == held)
        lost = blind is not None and not blind.other
        sense = _sense(study, blind) if blind is not None and lost and not blind.grounded else None
        output = charging_output(study, blind.regulator) if blind is not None and sense is not None else None
        there = "no-sense-there" if output is not None else ""
        case = "regulated" if blind is None else "sense-reversed" if blind.other else "no-sense"
        yield RULE.found(
            case,
            battery.span,
            facts={
                "battery": battery.name,
                "voltage": Quantity(volts, "V"),
                "limit": Quantity(most, "V"),
                "engine": worst.engine,
                "held": Quantity(held, "V"),
                "by": asking,
                "terminal": blind.terminal if blind else "",
                "other": blind.other if blind else "",
                "machine": blind.machine if blind else "",
                "output": output or "",
            },
            about=(battery.name, *(asking if blind is None else (blind.regulator,))),
            state=worst.state,
            fix="no-sense-ground" if blind is not None and lost and blind.grounded else there or case,
            proposals=sensed_there(study, sense, output) if sense is not None and output is not None else (),
            figures=(
                Figure("battery" if blind is None else "battery, at most", volts, "V"),
                Figure("limit", most, "V"),
            ),
            source=str(law_source(figure)) + ("" if blind is None else UNREGULATED),
        )


@dataclass(frozen=True, slots=True)
class _Blind:
    """A regulator that does not sense: its ``terminal`` that is not connected, ``grounded`` where that belongs on the
    grounded side; or its + terminal and the ``other`` one, swapped. ``machine``: what it should regulate.
    """

    regulator: str
    machine: str
    terminal: str
    grounded: bool
    other: str = ""


def _sense(study: Study, blind: _Blind) -> End | None:
    """The sense terminal that is not connected, as an end."""
    ends = (End(blind.regulator, terminal) for terminal in study.harness.parts[blind.regulator].terminals)
    return next((end for end in ends if end == blind.terminal), None)


def _blind(study: Study, point: OperatingPoint) -> _Blind | None:
    """The first regulator of a running alternator or dynamo that does not sense; ``None`` where every one does."""
    flow = point.flow
    positive_ground = study.circuit.return_sign == "+"
    regulators: dict[str, str] = {
        End(part.name, part.sense[0]): part.name
        for part in study.harness.parts.values()
        if isinstance(part, Regulator) and part.sense
    }
    for supply, top, bottom in flow.network.machines.senses:
        if not any(m.supply == supply for m in flow.situation.machines):
            continue
        if senses(flow.network, flow, supply, top, bottom):
            continue
        sources = [s for s in point.circuit.supplies if s.kind == "battery" or s.name == supply]
        top_fed, bottom_fed = (
            any(flow.reaches(plus, (node,)) for s in sources for plus in s.plus) for node in (top, bottom)
        )
        if bottom_fed and flow.reaches(top, tuple(s.minus for s in sources)):
            return _Blind(regulators[top], supply, top, positive_ground, bottom)
        return _Blind(regulators[top], supply, bottom if top_fed else top, top_fed is not positive_ground)
    return None


SHARES_OF_CAPACITY: Final = "0.1 and 0.2 A for each Ah: Loomwright's limit"

RULE = Rule(
    name="overcharge",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a state with the engine idling or running in which a battery is charged at more than its maximum voltage",
    why="""Above about 15 V a 12 V lead battery gasses and boils dry, a lithium battery is switched off by its own
    protection or catches fire, and lamps fail early. The usual cause is a regulator whose sense lead or ground is off:
    the alternator or dynamo then runs unregulated at full output.""",
    source="2.5 V a cell of lead, 3.65 V a cell of lithium: common practice, no source; the maker's figure comes first",
    formula="found where voltage of the battery > cells x 2.5 V (lithium 3.65 V), engine turning, no button held; by "
    "half waves without a regulator at 0.1 A for each Ah (warning) and 0.2 A (error), most speed, lights off",
    cautions="A battery that has boiled gives off explosive gas and acid: ventilate, no sparks, wear goggles. Ride no "
    "further: what is overcharged swells, and lithium can catch fire.",
    says={
        "no-sense": "{battery} is charged at more than {limit} with the engine {engine}: {terminal} (sense) is not "
        "connected, so {machine} charges it without regulation",
        "sense-reversed": "{battery} is charged at more than {limit} with the engine {engine}: {terminal} and {other} "
        "(sense) are swapped, so {machine} charges it without regulation",
        "half-wave": "{battery} is charged with {current} by {windings} and reaches {voltage} ({with...}): no "
        "regulator limits it, and {limit} for hours or more than {most} boils it dry",
        "regulated": "{battery} is charged at {voltage} with the engine {engine}, at most {limit} is allowed: the "
        "regulator is set to {held}[ ({by})]",
    },
    fixes={
        "no-sense": "connect {terminal} to {battery} by a wire that carries no other current, through a fuse of 2 A at "
        "{battery} and a contact that the key closes; mark that fuse: without it {battery} is overcharged",
        "no-sense-there": "measure with the engine running whether {battery} and {output} are within 0.3 V of each "
        "other; where they are not, repair the charging lead, since the drop in it makes {battery}'s voltage too low",
        "no-sense-ground": "connect {terminal} to the grounded terminal of the battery by a wire that carries no other "
        "current",
        "sense-reversed": "swap the wires at {terminal} and {other}, or on the `sense` line, where the + side comes "
        "first",
        "half-wave": "fit a regulator that limits the winding or the charge, or a larger battery; ride with the lights "
        "on until then",
        "regulated": "measure the voltage at {battery} with the engine running and write it in `regulated`; replace "
        "the regulator if it is above {limit}",
    },
    find=find,
)
