"""Stators that were measured, in one solved state: where their leads are, and what a fault leaves of what they give."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.quantities.quantity import shown
from .effects import IN_LEADS, WEAKER, Category, Effect

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.branch import Supply
    from ..dc.flow import Flow
    from ..operation.operation import OperatingPoint
    from .after import After

LOST = 0.05
"""Of what a machine gives in a sound harness, what a fault must take away to be told (ours)."""

MORE = 1.25
"""Times what a lead of a winding carries in a sound harness, from which a fault makes it carry more (ours)."""

LEAST_LEAD = 1.0
"""A rms, below which no lead of a winding minds (ours)."""

LEAST_SWING = 1e-3
"""A rms, from which a current that swings with a winding counts (ours)."""

NOTHING = 0.02
"""A, below which a machine gives nothing (ours)."""


def measured(point: OperatingPoint) -> tuple[Supply, ...]:
    """The rectifiers that run on a stator that was measured."""
    flow = point.flow
    running = {machine.supply for machine in flow.situation.machines}
    return tuple(s for s in point.circuit.supplies if s.name in running and flow.network.is_measured(s, flow.situation))


def leads(point: OperatingPoint) -> frozenset[End]:
    """The terminals at which these have their phases."""
    return frozenset(phase for supply in measured(point) for phase in supply.phases)


def weaker(point: OperatingPoint, after: After) -> Iterator[Effect]:
    """The machines on measured stators that can give less than they could, with how much at their regulated volts."""
    left = {machine.supply: machine.lasting for machine in after.situation.machines}
    sound = {machine.supply: machine.lasting for machine in point.flow.situation.machines}
    for supply in measured(point):
        now = left.get(supply.name, 0.0)
        if now < (1.0 - LOST) * sound[supply.name]:
            severe = Category.MARGINAL if now < NOTHING else Category.MINOR
            yield Effect(supply.key, shown(sound[supply.name]), WEAKER, now if now >= NOTHING else 0.0, severe)


def swinging(flow: Flow) -> dict[str, float]:
    """A rms of what carries a current that swings with a winding, by key."""
    from ..ac.wound_flow import WoundFlow

    return flow.swinging(LEAST_SWING) if isinstance(flow, WoundFlow) else {}


def lead_amps(flow: Flow) -> dict[str, float]:
    """A rms in a lead of each winding that is solved, and of each stator that has a lead on ground, by name."""
    wound = {name: flow.delivered_amps(name) for name in sorted(flow.windings)}
    return wound | _of_stators(flow, grounded=True)


def _of_stators(flow: Flow, *, grounded: bool) -> dict[str, float]:
    """The most A rms in a lead of each measured stator, by name; if ``grounded`` of those with a lead on ground."""
    from ..ac.equations import WoundEquations
    from ..ac.rectified import lead_amps as most_in_a_lead
    from ..ac.windings import speed_of

    network, situation, found = flow.network, flow.situation, dict[str, float]()
    if not isinstance(network, WoundEquations):
        return found
    for supply in network.circuit.supplies:
        stator = network.stator(supply, situation.conducting)
        speed = speed_of(stator.source, situation.engine) if stator is not None else None
        if stator is None or speed is None or stator.kind == "nothing" or stator.kind == "unsolved":
            continue
        if not grounded or stator.kind.endswith("-shorted"):
            volts = network.regulated[supply.name]
            found[stator.source.name] = most_in_a_lead(stator.kind, stator.line, volts, speed)
    return found


def more_in_leads(point: OperatingPoint, after: After) -> Iterator[Effect]:
    """The windings and stators of which a lead carries more than it does: a short is no more than the winding's own."""
    if not any(amps > LEAST_LEAD for amps in after.leads.values()):
        return
    flow = point.flow
    sound = lead_amps(flow) | _of_stators(flow, grounded=False)
    for name, amps in after.leads.items():
        usual = sound.get(name, 0.0)
        if amps > max(MORE * usual, LEAST_LEAD):
            yield Effect(name, shown(usual if usual >= NOTHING else 0.0), IN_LEADS, amps, Category.MINOR)
