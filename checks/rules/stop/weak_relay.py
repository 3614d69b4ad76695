"""A relay whose coil voltage is too low to pull in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.model.parts import Relay
from ....lang.quantities.quantity import Quantity
from ...dc.devices import UnsolvableError
from ...dc.relay_fixed_point import drops_out, pulls_in
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from ...tables.batteries import battery_figure
from ...tables.device_constants import law_source

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ...operation.operation import OperatingPoint


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        coil = study.circuit.coil_of(part.name)
        if isinstance(part, Relay) and coil is not None:
            found = _warm(study, part, coil) or _hard(study, part, coil)
            if found is not None:
                yield found


def _warm(study: Study, part: Relay, coil: Branch) -> Finding | None:
    needed = pulls_in(part, study.harness.volts)
    for point, history in study.operation.ways:
        across = abs(point.across(coil.key))
        if across >= needed or not point.connectivity.joined(coil.key):
            continue
        pulled = part.name in point.memory.pulled
        if _holds_itself(study, part, point):
            continue
        cold = study.hard_start.on_cold(point) if point.engine == "cranking" else None
        return RULE.found(
            "weak-once-released" if pulled else "weak",
            part.span,
            facts={
                "relay": part.name,
                "volts": Quantity(across, "V"),
                "limit": Quantity(needed, "V"),
                "history": history,
            },
            about=(part.name,),
            state=point.state,
            path=tuple(b.key for b, _ in point.connectivity.losses(coil.key)),
            figures=(
                Figure("across the coil", across, "V"),
                Figure("pulls in from", needed, "V"),
                *((Figure("across the coil, battery at -18 degC", abs(cold.across(coil.key)), "V"),) if cold else ()),
            ),
            source=_source(part),
            fix="feed",
        )
    return None


def _holds_itself(study: Study, part: Relay, point: OperatingPoint) -> bool:
    """Whether a relay is in only because it was in before: whoever wants it in again switches it on as before."""
    first = study.operation.points[point.state]
    return part.name in point.memory.pulled and part.name not in first.memory.pulled


def _hard(study: Study, part: Relay, coil: Branch) -> Finding | None:
    """A relay that pulls in on a warm battery, and drops out when the starter begins to turn or fails when cold."""
    system = study.harness.volts
    needed, held = pulls_in(part, system), drops_out(part, system)
    hard = study.hard_start
    for point, history in study.operation.ways:
        if point.engine != "cranking" or not point.connectivity.joined(coil.key) or _holds_itself(study, part, point):
            continue
        warm = abs(point.across(coil.key))
        if part.holds is not None and part.name in hard.drop_out_at_first(point):
            return RULE.found(
                "inrush",
                part.span,
                facts={"relay": part.name, "limit": Quantity(held, "V"), "history": history},
                about=(part.name,),
                state=point.state,
                figures=(Figure("across the coil, starter turning", warm, "V"), Figure("drops out below", held, "V")),
                source=f"{_source(part)}; first moment: {battery_figure('starter_inrush').cited}",
            )
        if warm - hard.most_lost(point) >= needed:
            continue
        cold = hard.on_cold(point)
        gets = None if cold is None else abs(cold.across(coil.key))
        if gets is None or gets >= needed or _starts(study, part, point):
            continue
        return RULE.found(
            "cold",
            part.span,
            facts={
                "relay": part.name,
                "volts": Quantity(gets, "V"),
                "limit": Quantity(needed, "V"),
                "history": history,
            },
            level=Level.NOTE,
            about=(part.name,),
            state=point.state,
            figures=(
                Figure("across the coil", warm, "V"),
                Figure("across the coil, battery at -18 degC", gets, "V"),
                Figure("pulls in from", needed, "V"),
            ),
            source=f"{_source(part)}; cold: {battery_figure('cold_resistance').cited}",
        )
    return None


def _starts(study: Study, part: Relay, point: OperatingPoint) -> bool:
    """Whether the starter needs this relay: then it has pulled in before the starter drew anything, and it holds."""
    try:
        without = study.operation.without([part.name]).at(point.positions, pinned=point.pinned)
    except UnsolvableError:
        return False
    armatures = study.protection.cranking_path.armatures
    return any(point.connectivity.joined(b.key) and not without.connectivity.joined(b.key) for b in armatures)


def _source(part: Relay) -> str:
    return "the harness: its own `pulls`" if part.pulls is not None else str(law_source("relay_pull_share"))


RULE = Rule(
    name="weak-relay",
    level=Level.WARNING,
    family="stop",
    stage=Stage.CONSEQUENCE,
    catches="a relay coil below its pull-in voltage in a state in which the relay must pull in, cranking above all",
    why="""A relay below its pull-in voltage hums, chatters and burns its contacts, or does not move, and does so when
    it is needed most: with a cold engine, a low battery and the starter turning. Every volt dropped in the ignition
    switch, the stop switch and the interlocks before the coil counts.""",
    source="pull-in at 0.67 of the nominal voltage where none is written: makers' data sheets, 8 V for 12 V",
    formula="found where the coil is connected to a source and has < `pulls` V across it (0.67 of nominal where left "
    "out); a note where only with the battery's resistance doubled; a warning where it falls below a written `holds` "
    "while the starter draws twice its current",
    cautions="Crank in neutral, with the motorcycle on its stand; a relay that chatters may weld.",
    says={
        "weak": "{relay} has {volts} across its coil[ with {history}], and pulls in from {limit}: it stays released",
        "weak-once-released": "{relay} has {volts} across its coil[ with {history}], and pulls in from {limit}: once "
        "it has dropped out it stays released",
        "inrush": "{relay} drops out below {limit}, and the voltage of its coil falls below that when the starter "
        "begins to turn[ with {history}]: it chatters",
        "cold": "{relay} has {volts} across its coil on a cold battery[ with {history}], and pulls in from {limit}: "
        "once it has dropped out it stays released",
    },
    fixes={
        "feed": "use thicker wire to the coil of {relay}, feed it nearer the battery, or fit a battery with less "
        "internal resistance",
        "inrush": "feed the coil of {relay} nearer the battery than the starter, or fit a battery with less internal "
        "resistance",
        "cold": "charge the battery, test it under load before winter, and clean and tighten its terminals",
    },
    find=find,
)
