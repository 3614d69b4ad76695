"""A stop lamp and a tail lamp on one lead."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour.counterexample import found
from ...behaviour.lamp_roles import Misfed
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for one in study.misfed:
        told = _told(one)
        if told is None:
            continue
        message, remedy = told
        lamp, other = one.lamp, one.other
        yield found(
            RULE.name,
            RULE.level,
            message,
            lamp.span,
            about=(lamp.part, *((other.part,) if other is not None else ())),
            shown=one.shown,
            path=study.behaviour.loop(one.shown, lamp) if one.shown is not None else (),
            source=RULE.source,
            remedy=remedy,
        )


def _told(one: Misfed) -> tuple[str, str] | None:
    """What to say and what to do; nothing where another rule tells it."""
    lamp, other = one.lamp, one.other
    if one.exchanged:
        return None
    if one.duty == "on with a brake only":
        return (
            f"tail lamp {lamp.key} is switched by a brake",
            f"connect {lamp.a} to the light switch, and the brake switches to the stop lamp alone",
        )
    if other is None:
        return None
    if one.duty == "one net":
        message = f"stop lamp {lamp.key} and tail lamp {other.key} are on one lead: they can only be on together"
    else:
        message = f"stop lamp {lamp.key} shares the lead of tail lamp {other.key} and is on without a brake"
    remedy = f"separate {lamp.a} from {other.a}: the stop lamp to the brake switches alone, the tail lamp to the lights"
    return message, remedy


RULE = Rule(
    name="stop-is-tail",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a stop lamp on the tail lamp's lead, or a tail lamp that a brake switches",
    why="""Stop and tail lamp are two filaments of one bulb with one return, and their leads are mixed up at the bulb
    holder or joined in a splice. Then the stop lamp is on whenever the lights are, and a brake changes nothing that
    the rider behind can see.""",
    source="UN R53 6.4 and 49 CFR 571.108: a stop lamp is on while a brake is applied (from memory); local law decides",
    formula="""found where a stop lamp is on with no brake pressed and its + is in one net with the + of a tail lamp,
       or a stop and a tail lamp have both sides in common,
       or a brake lights a tail lamp that is off without it, while no stop lamp is on or it has no other feed""",
    cautions="Take the battery's grounded lead off before a wire is moved.",
    find=find,
)
