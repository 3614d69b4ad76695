"""A flasher outside the lamp load that it works with."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.model.parts import Element, Flasher, Switch
from ....lang.quantities.quantity import Quantity
from ...dc.devices import UnsolvableError, bulb_watts
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.batteries import battery_figure
from ...tables.spares import resistance_near
from ...tables.workmanship import resistor_for

if TYPE_CHECKING:
    from ...operation.operation import OperatingPoint, Operation

TOLERANCE = 0.10
"""By so much the load may miss the range that a flasher is marked with (ours): a tell-tale loads it too."""


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        if not isinstance(part, Flasher) or part.watts is None or part.flash is None:
            continue
        least, most = part.watts
        if part.how != "thermal" and least == most:
            least = 0.0  # one figure on an electronic flasher is the most that it switches
        ends = tuple(End(part.name, terminal) for terminal in part.flash)
        seen: set[tuple[str, ...]] = set()
        for point, where in _turns(study.operation, ends):
            lamps, watts = _load(point, part.name, ends)
            if not lamps or lamps in seen:
                continue
            seen.add(lamps)
            if not least * (1.0 - TOLERANCE) <= watts <= most * (1.0 + TOLERANCE):
                yield _finding(study, part, least, most, lamps, watts, where)


def _finding(
    study: Study,
    flasher: Flasher,
    least: float,
    most: float,
    lamps: tuple[str, ...],
    watts: float,
    where: tuple[tuple[str, str], ...],
) -> Finding:
    branches = [study.circuit.by_key[key] for key in lamps]
    too_little = watts < least
    leds = too_little and any(branch.branch_type is BranchType.LED for branch in branches)
    how = "thermal" if flasher.how == "thermal" else "electronic"
    # LED lamps draw next to nothing: a resistor beside each draws what is missing.
    missing = (least - watts) / len(branches) if leds else 0.0
    volts = study.harness.volts
    ohms = resistance_near(volts**2 / missing) if leds else 0.0
    # A flasher that sticks keeps them on, at the voltage of a battery that is charged.
    charged = battery_figure("regulated").value * volts / 12.0
    rating = resistor_for(charged**2 / ohms) if leds else None
    return RULE.found(
        f"{'low' if too_little else 'high'}-{how}",
        flasher.span,
        facts={
            "flasher": flasher.name,
            "lamps": lamps,
            "load": Quantity(watts, "W"),
            "ohms": Quantity(ohms, "ohm"),
            "rating": Quantity(rating, "W") if rating is not None else "",
            **_rating(least, most),
        },
        fix="led" if leds else "electronic",
        about=(flasher.name, *(branch.part for branch in branches)),
        combination=where,
        figures=(Figure("lamp load", watts, "W"), Figure("from", least, "W"), Figure("up to", most, "W")),
        source="the range that the flasher is marked with, 10 % allowed (Loomwright's limit)",
    )


def _rating(least: float, most: float) -> dict[str, Quantity]:
    """The facts of a flasher's range in W: one value, two, or the most alone."""
    if least == most:
        return {"exact": Quantity(most, "W")}
    return {"least": Quantity(least, "W"), "most": Quantity(most, "W")} if least else {"limit": Quantity(most, "W")}


def _turns(operation: Operation, ends: tuple[End, ...]) -> Iterator[tuple[OperatingPoint, tuple[tuple[str, str], ...]]]:
    """Operating points in which the flasher with these ends is loaded: each position of each switch at it while it is
    fed, then the named states.
    """
    circuit, nets = operation.circuit, operation.network.circuit.nets
    own = {nets.of[end] for end in ends}
    near = (circuit.harness.parts.get(edge.branch.part) for edge in nets.switched if own & {edge.a, edge.b})
    switches = {part.name: part for part in near if isinstance(part, Switch)}
    states = [point for point in operation.points.values() if point.engine != "cranking"]
    fed = (point for point in states if point.connectivity.fed(ends[0]))
    base = min(fed, key=lambda point: point.engine != "off", default=None)
    if base is None:
        return
    for switch in switches.values():
        for position in switch.positions:
            try:
                point = operation.at({**base.positions, switch.control: position.name}, base.memory)
            except UnsolvableError:
                continue
            yield point, tuple(dict.fromkeys((*base.differing, (switch.control, position.name))))
    yield from ((point, point.differing) for point in states)


def _load(point: OperatingPoint, flasher: str, ends: tuple[End, ...]) -> tuple[tuple[str, ...], float]:
    """The lamps and LEDs that are on by way of the flasher alone, and their watts; tell-tales are not counted.

    A resistor beside them counts with what it draws.
    """
    forward = point.circuit.return_sign == "-"
    feeds = [pole for s in point.connectivity.sources for pole in (s.plus if forward else (s.minus,))]
    otherwise = point.connectivity.nodes(feeds, forward=forward, without=flasher)
    behind = point.connectivity.nodes(ends, forward=forward, without=flasher) - otherwise
    system = point.circuit.harness.volts
    lamps = []
    total = 0.0
    for branch in point.circuit.branches:
        if not ({branch.a, branch.b} & behind) or not point.connectivity.joined(branch.key):
            continue
        roles = branch.item.roles if isinstance(branch.item, Element) else ()
        rated = point.flow.network.rated[branch.key]
        if branch.branch_type in (BranchType.LAMP, BranchType.LED) and "tell-tale" not in roles and rated.amps:
            lamps.append(branch.key)
            total += bulb_watts(branch, rated, system)
        elif branch.branch_type is BranchType.RESISTOR:
            total += abs(point.watts(branch.key))
    return tuple(lamps), total


_LOADED: Final = "{flasher} (rated [{exact}][{least} to {most}][at most {limit}]) is loaded with {load} by {lamps}: "

RULE = Rule(
    name="flasher-load",
    level=Level.WARNING,
    family="behaviour",
    catches="a flasher whose lamp load in a turn position is outside its range, as LED lamps on a thermal one",
    why="""A thermal flasher is heated by the current of the lamps: with too little of it, as from LED lamps, the lamps
    stay on without flashing or flash slowly; with too much they flash fast and the flasher wears out. A turn lamp that
    does not flash is not seen as one. An electronic flasher keeps its rate, but it has a range too; where one figure is
    marked on it, that is the maximum. Without any figure it is listed as not judged.""",
    source="60 to 120 flashes a minute: UN R48 and R53; the range is the flasher's own marking, 10 % allowed: "
    "Loomwright's limit",
    formula="found where watts of the lamps that it feeds < 90 % of the least or > 110 % of the most; one figure "
    "alone is both on a thermal flasher, and the most on any other",
    cautions="A load resistor gets as hot as the bulb that it replaces: fit it on metal, away from wires and plastics.",
    says={
        "low-thermal": f"{_LOADED}it flashes slowly or stays on without flashing",
        "high-thermal": f"{_LOADED}it flashes fast or burns out",
        "low-electronic": f"{_LOADED}it may flash too fast or not at all",
        "high-electronic": f"{_LOADED}its output may burn out",
    },
    fixes={
        "electronic": "fit an electronic flasher with a range that includes {load} at {flasher}",
        "led": "fit an electronic flasher with a range that includes {load} at {flasher}, or a load resistor of "
        "{ohms}[, {rating} or more,] in parallel with each of {lamps}, on metal",
    },
    find=find,
)
