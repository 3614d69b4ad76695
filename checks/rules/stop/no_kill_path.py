"""An ignition part that a stop control does not stop."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import Direction
from ....lang.circuit.ids import End
from ....lang.quantities.quantity import Quantity
from ...behaviour import stop_lead
from ...behaviour.keys import stop_controls
from ...behaviour.properties import AFTER_SHORT, ONCE_BLOWN
from ...behaviour.stopping import ignition_parts
from ...dc.conducting import rest_positions
from ...findings.finding import Figure, Finding, Level, Stage
from ...operation.stop_paths import RUNS_ON, STOPPED, copper_path
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...behaviour import Behaviour
    from ...behaviour.stopping import Kill


def find(study: Study) -> Iterator[Finding]:
    network = study.behaviour.network
    parts = ignition_parts(network)
    if parts and not stop_controls(network):
        names = tuple(part.name for part in parts)
        yield RULE.found("no-control", parts[0].span, facts={"parts": names}, about=names)
    for kill in study.properties.kills:
        proof = kill.proof
        if proof.ended == "holds":
            yield from _resisting(study, kill)
        if proof.ended != "refuted" or proof.by not in ("battery", "stop lead"):
            continue
        case, by = _reason(study.behaviour, kill)
        reason = f"{case}-fed" if proof.by == "battery" and case != "fed" else case
        control, blown = str(kill.control), tuple(proof.after)
        yield RULE.found(
            reason,
            network.harness.parts[kill.control.switch].span,
            facts={"part": kill.part, "control": control, "switch": kill.control.switch, "by": by, "blown": blown},
            about=(kill.part, kill.control.switch),
            shown=proof.shown,
            path=proof.path,
            fix=case,
            group=f"{control}: {reason} {' '.join((*by, *blown))}",
        )


def _resisting(study: Study, kill: Kill) -> Iterator[Finding]:
    """A kill wire that is connected to its return through so much resistance that its ignition keeps running: most at
    idling speed, where the reactance of what drives it is least.
    """
    part = study.harness.parts[kill.part]
    positions = rest_positions(study.circuit) | {kill.control.control: kill.control.position, "engine": "idling"}
    path = copper_path(study.operation, part, positions)
    if path is None or path.share < STOPPED or (path.at_most and path.share <= RUNS_ON):
        return
    surely = path.word == "runs on"
    yield RULE.found(
        "resistance" if surely else "resistance-may",
        study.harness.parts[kill.control.switch].span,
        facts={
            "part": kill.part,
            "control": str(kill.control),
            "switch": kill.control.switch,
            "resistance": Quantity(path.ohms, "ohm"),
            "enough": Quantity(path.enough, "ohm"),
            "bound": "at most" if path.at_most else "",
            "share": Quantity(100.0 * path.share, "%"),
            "limit": Quantity(100.0 * (RUNS_ON if surely else STOPPED), "%"),
        },
        about=(kill.part, kill.control.switch),
        level=None if surely else Level.WARNING,
        fix="resistance",
        source=f"{EVERY}; the shares that stop it: Loomwright's limit",
        figures=(Figure("kill wire to return", path.ohms, "ohm"), Figure("allowed", path.enough, "ohm")),
    )


def _reason(behaviour: Behaviour, kill: Kill) -> tuple[str, tuple[str, ...]]:
    """The case of why a control does not stop a part, and what is in its kill wire that should not be."""
    if (valves := _one_way(behaviour, kill)) is not None:
        return "one-way", valves
    if loads := _through_loads(behaviour, kill):
        return "loads", loads
    return "fed" if kill.proof.by == "battery" else "not-grounded", ()


def _one_way(behaviour: Behaviour, kill: Kill) -> tuple[str, ...] | None:
    """What conducts one way only between a kill wire and its own return; ``None`` where neither direction conducts."""
    lead, shown = stop_lead(behaviour.network.harness.parts[kill.part]), kill.proof.shown
    if lead is None or shown is None:
        return None
    a, b = (End(kill.part, terminal) for terminal in lead)
    way = behaviour.way(shown, a, b) or behaviour.way(shown, b, a)
    if way is None:
        return None
    return tuple(dict.fromkeys(branch.owner for branch in way if branch.branch_type.joined is not Direction.BOTH))


def _through_loads(behaviour: Behaviour, kill: Kill) -> tuple[str, ...]:
    """The loads between a kill wire and its own return, past no feed, with the control where it should stop; none where
    no way leads there.
    """
    lead, shown = stop_lead(behaviour.network.harness.parts[kill.part]), kill.proof.shown
    if lead is None or shown is None:
        return ()
    a, b = (End(kill.part, terminal) for terminal in lead)
    for way in behaviour.ways_through_loads(shown, a, b):
        if kill.control.switch in {branch.owner for branch in way}:
            return tuple(dict.fromkeys(branch.owner for branch in way if branch.branch_type.consumes))
    return ()


EVERY: Final = "Loomwright's analysis: every combination of the controls"
DOES_NOT_STOP: Final = f"{{control}} does not stop {{part}}[ ({{when}})]: {ONCE_BLOWN}"
KILL_WIRE: Final = {
    "one-way": "its kill wire is connected to its return one way only, through {by}",
    "loads": "its kill wire is connected to its return only through {by}",
}

RULE = Rule(
    name="no-kill-path",
    level=Level.ERROR,
    family="stop",
    stage=Stage.FUNCTION,
    catches="an ignition part that a stop control does not stop, in some combination of the other controls",
    why="""A rider reaches for the stop switch with the throttle stuck or the motorcycle on its side. A switch that
    stops one coil of two, or the box only in some positions of the other controls, fails at that moment. Every stop
    control is checked with every ignition part by itself, in every combination that can occur, with relays, alternators
    and dynamos as they were left running; unreliable joints count as open where they are needed and as closed where
    they do harm.""",
    source=EVERY,
    formula="""found     where a feed stays closed, or the kill wire is not connected to its return both ways
resistance  share = R / sqrt((r + R)^2 + X^2) of a magneto's voltage: R of wires and contacts, r and X of what drives
            it; under 15 % it is stopped, from 40 % on it runs on, between the two a warning; of points only r is known,
            and a warning is given where the share may be over 40 %""",
    find=find,
    cautions=(
        "The proof covers the drawing only. Try every stop control on the finished motorcycle, engine idling, "
        "before it is ridden."
    ),
    says={
        "no-control": "{parts} cannot be stopped: the harness has no key and no switch with a `stop`",
        "fed": f"{DOES_NOT_STOP}it is still fed",
        "not-grounded": f"{DOES_NOT_STOP}its kill wire is not grounded",
        "resistance": "{control} does not stop {part}: {resistance} of wires and contacts from its kill wire to its "
        "return leave it {share} of its voltage at idling speed, and from {limit} on it runs on",
        "resistance-may": "{control} may not stop {part}: {resistance} of wires and contacts from its kill wire to its "
        "return leave it [{bound} ]{share} of its voltage at idling speed, and only under {limit} it is surely stopped",
        **{case: f"{DOES_NOT_STOP}{reason}" for case, reason in KILL_WIRE.items()},
        **{f"{case}-fed": f"{DOES_NOT_STOP}it is still fed, and {reason}" for case, reason in KILL_WIRE.items()},
    },
    fixes={
        "resistance": "route the kill wire of {part} through {switch} to its return by shorter or thicker wires, "
        "{enough} or less in all",
        "no-control": "fit a switch `for ignition` with a position `stop` at the handlebar",
        "one-way": f"{AFTER_SHORT}take {{by}} out of the kill wire of {{part}}: a diode grounds only every other half "
        "wave",
        "loads": f"{AFTER_SHORT}take {{by}} out of the kill wire of {{part}}, and connect it through {{switch}} "
        "straight "
        "to its return",
        "fed": f"{AFTER_SHORT}open every feed of {{part}} by {{switch}}: the path above shows the one that stays "
        "closed",
        "not-grounded": f"{AFTER_SHORT}connect the kill wire of {{part}} through {{switch}} to its return",
    },
)
