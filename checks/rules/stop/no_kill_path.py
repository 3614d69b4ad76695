"""An ignition part that a stop control does not stop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import Direction
from ...behaviour import stop_lead
from ...behaviour.counterexample import found
from ...behaviour.keys import stop_controls
from ...behaviour.properties import ignition_parts, once_blown
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...behaviour import Behaviour
    from ...behaviour.properties import Kill


def find(study: Study) -> Iterator[Finding]:
    network = study.behaviour.network
    parts = ignition_parts(network)
    if parts and not stop_controls(network):
        yield found(
            RULE.name,
            Level.ERROR,
            f"nothing stops {', '.join(part.name for part in parts)}: there is no key and no switch with a `stop`",
            parts[0].span,
            about=[part.name for part in parts],
            source=RULE.source,
            remedy="fit a switch `for ignition` with a position `stop` at the bars",
        )
    for kill in study.properties.kills:
        proof = kill.proof
        if proof.ended != "refuted" or proof.by not in ("battery", "stop lead"):
            continue
        fed = "it is still fed, and " if proof.by == "battery" else ""
        if (valves := _one_way(study.behaviour, kill)) is not None:
            reason = f"{fed}its stop lead is joined to its own return one way only, through {', '.join(valves)}"
            remedy = f"take {' and '.join(valves)} out of the stop lead of {kill.part}: it stops half the waves at most"
        elif loads := _through_loads(study.behaviour, kill):
            reason = f"{fed}its stop lead reaches its own return only through {', '.join(loads)}"
            remedy = (
                f"take {' and '.join(loads)} out of the stop lead of {kill.part}, and connect it through "
                f"{kill.control.switch} straight to the part's own return"
            )
        elif proof.by == "battery":
            reason, remedy = (
                "it is still fed",
                f"open every feed of {kill.part} by {kill.control.switch}: the path above shows the one it leaves",
            )
        else:
            reason = "its stop lead is not grounded"
            remedy = f"connect the stop lead of {kill.part} through {kill.control.switch} to the part's own return"
        if proof.after:
            reason = f"{once_blown(proof)} {reason}"
            remedy = f"take the short out (dead-short); {remedy}"
        told = found(
            RULE.name,
            Level.ERROR,
            f"{kill.control} does not stop {kill.part}: {reason}",
            network.harness.parts[kill.control.switch].span,
            about=(kill.part, kill.control.switch),
            shown=proof.shown,
            path=proof.path,
            source=RULE.source,
            remedy=remedy,
        )
        yield replace(told, group=f"{kill.control}: {reason}")


def _one_way(behaviour: Behaviour, kill: Kill) -> tuple[str, ...] | None:
    """What lets current one way only between a stop lead and its own return; ``None`` where neither way is joined."""
    lead, shown = stop_lead(behaviour.network.harness.parts[kill.part]), kill.proof.shown
    if lead is None or shown is None:
        return None
    a, b = (f"{kill.part}.{terminal}" for terminal in lead)
    way = behaviour.way(shown, a, b) or behaviour.way(shown, b, a)
    if way is None:
        return None
    return tuple(dict.fromkeys(branch.owner for branch in way if branch.branch_type.joined is not Direction.BOTH))


def _through_loads(behaviour: Behaviour, kill: Kill) -> tuple[str, ...]:
    """The loads between a stop lead and its own return, past no feed, with the control where it should stop; none where
    no way leads there.
    """
    lead, shown = stop_lead(behaviour.network.harness.parts[kill.part]), kill.proof.shown
    if lead is None or shown is None:
        return ()
    a, b = (f"{kill.part}.{terminal}" for terminal in lead)
    for way in behaviour.ways_through_loads(shown, a, b):
        if kill.control.switch in {branch.owner for branch in way}:
            return tuple(dict.fromkeys(branch.owner for branch in way if branch.branch_type.consumes))
    return ()


RULE = Rule(
    name="no-kill-path",
    level=Level.ERROR,
    family="stop",
    stage=Stage.FUNCTION,
    catches="for each stop control and each ignition part: a combination in which the part runs all the same",
    why="""The stop switch is what a rider reaches for with the throttle stuck or the machine on its side. One that
    stops one coil of two, or the box but not in every position of everything else, is found out then. Every
    control is asked of every ignition part by itself, in every combination that can come about, with relays and
    machines as they were left running; joints that nobody should rely on count as open where they are needed
    and as closed where they do harm.""",
    source="ours: every combination of the controls is gone through",
    find=find,
    cautions=(
        "What is proved is the drawing. Try every stop control on the finished machine, engine idling, before it "
        "is ridden."
    ),
)
