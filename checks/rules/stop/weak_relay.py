"""A relay whose coil gets too little to pull in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.model.parts import Relay
from ....lang.quantities.quantity import Quantity, apart, shown
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
        coil = study.circuit.by_key.get(f"{part.name} coil")
        if isinstance(part, Relay) and coil is not None:
            found = _warm(study, part, coil) or _hard(study, part, coil)
            if found is not None:
                yield found


def _warm(study: Study, part: Relay, coil: Branch) -> Finding | None:
    needed = pulls_in(part, study.harness.volts)
    for point in study.operation.points.values():
        across = abs(point.across(coil.key))
        if across >= needed or not point.connectivity.joined(coil.key):
            continue
        pulled = part.name in point.memory.pulled
        gets, limit = apart(Quantity(across, "V"), Quantity(needed, "V"))
        cold = study.hard_start.on_cold(point) if point.engine == "cranking" else None
        return Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=f"{part.name} gets {gets} and pulls in from {limit}: "
            + ("once it has dropped out it stays released" if pulled else "it stays released"),
            span=part.span,
            about=(part.name,),
            state=point.state,
            path=tuple(b.key for b, _ in point.connectivity.losses(coil.key)),
            figures=(
                Figure("across the coil", across, "V"),
                Figure("pulls in from", needed, "V"),
                *((Figure("across the coil, battery at -18 degC", abs(cold.across(coil.key)), "V"),) if cold else ()),
            ),
            source=_source(part),
            remedy="use thicker wire to the coil, feed it nearer the battery, or fit a battery of less resistance",
        )
    return None


def _hard(study: Study, part: Relay, coil: Branch) -> Finding | None:
    """A relay that is enough while all is warm, and drops out when the starter begins or does not pull in when cold."""
    system = study.harness.volts
    needed, held = pulls_in(part, system), drops_out(part, system)
    hard = study.hard_start
    for point in study.operation.points.values():
        if point.engine != "cranking" or not point.connectivity.joined(coil.key):
            continue
        warm = abs(point.across(coil.key))
        if part.holds is not None and part.name in hard.drop_out_at_first(point):
            return Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"{part.name} drops out below {shown(held)} V, and the starter pulls it below that before it "
                "turns: it chatters",
                span=part.span,
                about=(part.name,),
                state=point.state,
                figures=(Figure("across the coil, starter turning", warm, "V"), Figure("drops out below", held, "V")),
                source=f"{_source(part)}; first moment: {battery_figure('starter_inrush').cited}",
                remedy="feed the coil nearer the battery than the starter, or fit a battery of less resistance",
            )
        if warm - hard.most_lost(point) >= needed:
            continue
        cold = hard.on_cold(point)
        gets = None if cold is None else abs(cold.across(coil.key))
        if gets is None or gets >= needed or _starts(study, part, point):
            continue
        texts = apart(Quantity(gets, "V"), Quantity(needed, "V"))
        return Finding(
            rule=RULE.name,
            level=Level.NOTE,
            message=f"{part.name} gets {texts[0]} on a cold battery and pulls in from {texts[1]}: once it has dropped "
            "out it stays released",
            span=part.span,
            about=(part.name,),
            state=point.state,
            figures=(
                Figure("across the coil", warm, "V"),
                Figure("across the coil, battery at -18 degC", gets, "V"),
                Figure("pulls in from", needed, "V"),
            ),
            source=f"{_source(part)}; cold: {battery_figure('cold_resistance').cited}",
            remedy="charge the battery, test it under load before winter, and clean and tighten its terminals",
        )
    return None


def _starts(study: Study, part: Relay, point: OperatingPoint) -> bool:
    """Whether the starter needs this relay: then it has pulled in before the starter drew anything, and it holds."""
    try:
        without = study.operation.without([part.name]).at(point.positions, pinned=point.pinned)
    except UnsolvableError:
        return False
    armatures = study.protection.armatures
    return any(point.connectivity.joined(b.key) and not without.connectivity.joined(b.key) for b in armatures)


def _source(part: Relay) -> str:
    return "the harness: its own `pulls`" if part.pulls is not None else str(law_source("relay_pull_share"))


RULE = Rule(
    name="weak-relay",
    level=Level.WARNING,
    family="stop",
    stage=Stage.CONSEQUENCE,
    catches="a relay coil below its pull-in volts in a state in which it must pull, cranking above all",
    why="""A relay that gets too little hums, chatters and burns its contacts, or does nothing, and it does so when it
    is needed most: with a cold engine, a low battery and the starter turning. Every volt lost in the key, the stop
    switch and the interlocks before the coil counts.""",
    source="pull-in at 0.67 of nominal volts where the relay does not say: makers' data sheets, 8 V for 12 V",
    formula="found where the coil is joined to a source and gets < `pulls` V (0.67 of nominal volts where left out); "
    "a note where only with the battery's resistance doubled; a warning where a written `holds` is undercut while the "
    "starter takes twice its current",
    cautions="Crank in neutral, with the bike on its stand; a relay that chatters may weld.",
    find=find,
)
