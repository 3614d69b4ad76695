"""Machines whose field a fault has weakened or taken away while they turn. How much comes out then is not solved: one
may deliver nothing, or what remanence and the rest of its field excite, up to all that it did.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import accumulate, repeat, takewhile
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.model.conditions import BY_ITSELF
from ...lang.search.walks import closure
from ..dc.devices import UnsolvableError
from ..dc.flow import flow_of
from ..dc.regulation import field_share
from ..dc.situation import Running
from ..tables.meter import meter_figures
from .fields import HALF_FIELD
from .plain import struck

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.branch import Branch, Supply
    from ..dc.memory import Memory
    from ..operation.operation import OperatingPoint
    from .after import After
    from .failure_modes import Damage
    from .propagation import Propagation

CHARGING = (0.8, 0.85, 0.9, 0.95, 1.0)
"""Of the volts that a machine is held at, what it is looked at closely at with a weakened field (ours): there it begins
to charge.
"""

OVERLAP = 0.9
"""Of what two readings may be off together, how far apart two voltages of a machine are looked at (ours)."""

REMANENT = 0.5
"""Of these, up to where it may come without any field current (ours, no source): remanence gives a few volts."""


def levels(volts: float, nominal: float, most: float) -> tuple[float, ...]:
    """Of the ``volts`` that a machine is held at, what it may come to with a weakened field, 0 to ``most``: so close
    that every reading between is near enough to one of them. ``nominal``: V of the system.
    """
    meter = meter_figures()

    def beyond(level: float, floor: float) -> float:
        farthest = (level * (1.0 + meter.reading_share) + 2.0 * floor) / (1.0 - meter.reading_share)
        return level + OVERLAP * (farthest - level)

    rising = accumulate(repeat(meter.reading_floor * nominal / volts), beyond, initial=0.0)
    found = takewhile(lambda level: level < most, rising)
    return tuple(sorted({*found, *(level for level in CHARGING if level < most), most}))


def lost_fields(propagation: Propagation, damage: Damage, start: Memory | None = None) -> tuple[After, ...]:
    """What a damage may show besides what it is solved to do, where it takes more than half of the field of a machine
    that turns; nothing where it does not, or where the harness does not settle with it. ``start``: how what remembers
    was before it; as it is without it if left out.
    """
    point = propagation.point
    if point.engine not in BY_ITSELF or not any(propagation.network.machines.fields.values()):
        return ()
    try:
        hurt = struck(propagation.operation, point, damage, start)
        return tuple(_levels(propagation, damage, hurt))
    except UnsolvableError:
        return ()


def _levels(propagation: Propagation, damage: Damage, hurt: OperatingPoint) -> Iterator[After]:
    """The damaged harness at ``hurt`` with the machine at one voltage after the other."""
    network, situation = hurt.flow.network, hurt.flow.situation
    for machine in propagation.point.flow.situation.machines:
        supply = next(s for s in propagation.point.circuit.supplies if s.name == machine.supply)
        if not _weakened(propagation, hurt, supply):
            continue
        own = next((m for m in situation.machines if m.supply == supply.name), None)
        others = tuple(m for m in situation.machines if m.supply != supply.name)
        most = 1.0 if own is not None else REMANENT
        whole = own or Running(machine.supply, machine.amps, machine.volts, machine.ripple)
        for level in levels(whole.volts, propagation.point.circuit.harness.volts, most):
            held = replace(situation, machines=(*others, replace(whole, volts=level * whole.volts)))
            after = propagation.after_flow(damage, hurt.memory, flow_of(network, held))
            yield _with_free_taps(propagation, after, damage, supply, level * whole.volts)


def _weakened(propagation: Propagation, hurt: OperatingPoint, supply: Supply) -> bool:
    """Whether a machine's field gets less than half of its volts now, and got more; what it is wound of is whole."""
    sound, network = propagation.point.flow, hurt.flow.network
    if not propagation.network.machines.fields.get(supply.name):
        return False
    if not network.machines.gives(supply, hurt.flow.situation.conducting):
        return False
    before = field_share(propagation.network, sound.at, supply.name)
    return field_share(network, hurt.flow.at, supply.name) < HALF_FIELD <= before


def _with_free_taps(propagation: Propagation, after: After, damage: Damage, supply: Supply, volts: float) -> After:
    """A second + of the machine that nothing loads any more has the machine's own volts: the diodes before it carry
    nothing then.
    """
    circuit, index = propagation.point.circuit, propagation.network.index
    connectivity = propagation.point.connectivity

    def beside(node: str) -> Iterator[Branch]:
        return (b for b in circuit.at.get(node, ()) if b.key not in damage.keys and connectivity.conducts(b))

    if after.volts is None:
        return after
    read = after.volts.copy()
    for tap in supply.plus[1:]:
        copper = closure(
            [tap],
            lambda node: (b.other_end(node) for b in beside(node) if b.branch_type.joined is Direction.BOTH),
        )
        if not any(_loads(b) for node in copper for b in beside(node)) and damage.grounded not in copper:
            read[[index[node] for node in copper]] = volts + after.volts[index[supply.minus]]
    return replace(after, volts=read)


def _loads(branch: Branch) -> bool:
    return branch.branch_type.joined is not Direction.BOTH and branch.branch_type is not BranchType.LEG
