"""An ignition part that a stop control does not stop."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import Direction
from ....lang.circuit.ids import End
from ...behaviour import stop_lead
from ...behaviour.keys import stop_controls
from ...behaviour.properties import AFTER_SHORT, ONCE_BLOWN
from ...behaviour.stopping import ignition_parts
from ...findings.finding import Finding, Level, Stage
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
    source="Loomwright's analysis: every combination of the controls",
    find=find,
    cautions=(
        "The proof covers the drawing only. Try every stop control on the finished motorcycle, engine idling, "
        "before it is ridden."
    ),
    says={
        "no-control": "{parts} cannot be stopped: the harness has no key and no switch with a `stop`",
        "fed": f"{DOES_NOT_STOP}it is still fed",
        "not-grounded": f"{DOES_NOT_STOP}its kill wire is not grounded",
        **{case: f"{DOES_NOT_STOP}{reason}" for case, reason in KILL_WIRE.items()},
        **{f"{case}-fed": f"{DOES_NOT_STOP}it is still fed, and {reason}" for case, reason in KILL_WIRE.items()},
    },
    fixes={
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
