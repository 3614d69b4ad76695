"""The current that a parked motorcycle draws from its battery."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.ids import BranchId
from ....lang.model.parts import Source
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import exceeds
from ...dc.devices import UnsolvableError
from ...findings.finding import Figure, Finding, Level
from ...operation.pulsing import above_mean
from ...rule import Rule
from ...study import Study
from ...tables.batteries import days_to_half
from ...tables.device_constants import law_source, laws

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch, Supply
    from ...operation.operation import OperatingPoint

PARKED = ("off", "lock")
"""The positions of a key in which a motorcycle is parked; in ``park`` a lamp is meant to be on."""


def find(study: Study) -> Iterator[Finding]:
    circuit = study.circuit
    keys = [c for c in circuit.controls.values() if c.key]
    settings = [{key.name: position for key in keys if position in key.positions} for position in PARKED if keys] or [
        {}
    ]
    for supply in circuit.supplies:
        part = study.harness.parts.get(supply.name)
        if supply.kind != "battery" or not isinstance(part, Source) or not part.amp_hours:
            continue
        worst = None
        for positions in settings:
            if keys and not positions:
                continue
            try:
                point = study.operation.at(positions)
            except UnsolvableError:
                continue
            if worst is None or exceeds(_drain(point, supply.key), _drain(worst, supply.key)):
                worst = point
        if worst is None:
            continue
        drain = _drain(worst, supply.key)
        days = days_to_half(part.amp_hours, drain)
        if days >= laws().standing_days:
            continue
        shares = [(round(abs(worst.amps(b.key)) / drain, 3), b.part) for b in _fed_by(worst, supply)]
        # Most first. What nearly ties goes by name: an edit elsewhere must not change of what the finding is.
        named = [name for share, name in sorted(shares, key=lambda each: (-each[0], each[1])) if share >= 0.1][:3]
        first = named[0] if named else ""
        fix = _fix(study, first, bool(keys))
        yield RULE.found(
            "machine" if fix == "machine" else "drained",
            part.span,
            facts={
                "battery": supply.name,
                "drain": _current(drain),
                "time": _time(days),
                "limit": Quantity(laws().standing_days, "days"),
                "loads": tuple(dict.fromkeys(named)),
                "first": first,
                "key": keys[0].name if keys else "",
            },
            fix=fix,
            about=(supply.name, *named),
            combination=worst.differing or tuple((c.name, c.rest) for c in keys),
            figures=(Figure("drain", drain, "A"), Figure("half empty in", days, "d")),
            source=str(law_source("standing_days")),
        )


def _fix(study: Study, first: str, keyed: bool) -> str:
    """The case of the fix: by the part that draws most, if one does, and whether there is a key."""
    if not first:
        return "unknown"
    if isinstance(study.harness.parts[first], Source):
        return "machine"
    return "keyed" if keyed else "keyless"


def _current(drain: float) -> Quantity:
    return Quantity(drain, "A") if drain >= 1.0 else Quantity(drain * 1e3, "mA")


def _time(days: float) -> Quantity:
    return Quantity(days, "days") if days >= 1.0 else Quantity(days * 24.0, "hours")


def _fed_by(point: OperatingPoint, battery: Supply) -> list[Branch]:
    """The consumers that are connected to the feeding pole of a battery; another one has its own."""
    circuit = point.circuit
    forward = circuit.return_sign == "-"
    near = point.connectivity.nodes(battery.plus if forward else (battery.minus,), forward=forward)
    return [branch for branch in circuit.branches if branch.branch_type.consumes and {branch.a, branch.b} & near]


def _drain(point: OperatingPoint, battery: BranchId) -> float:
    """A out of a battery on the average."""
    return point.amps(battery) - above_mean(point)


RULE = Rule(
    name="key-off-drain",
    level=Level.WARNING,
    family="behaviour",
    catches="a battery that a parked motorcycle discharges to half in less than 30 days",
    why="""A motorcycle is parked for weeks. A clock, an alarm or a regulator that draws 20 mA discharges a battery of
    10 Ah to half in ten days, and a lead battery that stays discharged is soon ruined. It happens with every switch
    off, so nobody looks for it.""",
    source="30 days: Loomwright's limit. Cars draw 35 to 85 mA from far larger batteries (common practice, no "
    "source); self-discharge comes on top",
    formula="days = Ah / 2 / (24 x amps), key off or locked, everything else at rest; found where days < 30",
    cautions="Measure it with a fused meter in series: set to a current range and held across a battery it is a short.",
    says={
        "drained": "{battery} discharges at {drain} with the motorcycle parked and is half empty in {time}, limit "
        "{limit}[: {loads} {loads:draws|draw} most of it]",
        "machine": "{battery} discharges with the motorcycle parked: {first} alone draws {drain} in its field, and "
        "what its armature draws comes on top",
    },
    fixes={
        "unknown": "measure the current with the ignition off, and find out what draws it",
        "keyed": "measure the current with the ignition off; connect {first} to a feed that {key} switches off, or fit "
        "a battery switch",
        "keyless": "measure the current with everything off; feed {first} through a switch, or fit a battery switch",
        "machine": "find out why {battery} discharges into {first}: check its cut-out, its diodes and its field feed",
    },
    find=find,
)
