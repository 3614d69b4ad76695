"""A stop lamp and a tail lamp on one lead."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour.lamp_roles import Misfed
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for one in study.misfed:
        case = _case(one)
        if case is None:
            continue
        lamp, other, feed_end = one.lamp, one.other, study.protection.feed_end
        yield RULE.found(
            case,
            lamp.span,
            facts={
                "lamp": lamp.key,
                "terminal": feed_end(lamp),
                "tail": other.key if other is not None else "",
                "tail_terminal": feed_end(other) if other is not None else "",
            },
            about=(lamp.part, *((other.part,) if other is not None else ())),
            shown=one.shown,
            path=study.behaviour.loop(one.shown, lamp) if one.shown is not None else (),
            fix="by-brake" if case == "by-brake" else "separate",
        )


def _case(one: Misfed) -> str | None:
    """The case that it is; ``None`` where another rule tells it."""
    if one.exchanged:
        return None
    if one.duty == "on with a brake only":
        return "by-brake"
    if one.other is None:
        return None
    return "one-net" if one.duty == "one net" else "shared"


RULE = Rule(
    name="stop-is-tail",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a stop lamp on the tail lamp's lead, or a tail lamp that a brake switches",
    why="""Stop and tail lamp are often two filaments of one bulb with one return, and their leads get swapped at the
    bulb holder or joined in a splice. The stop lamp is then on whenever the lights are, and traffic behind sees no
    difference when a brake is applied.""",
    source="UN R53 6.4 and 49 CFR 571.108: a stop lamp is on while a brake is applied (from memory); local law decides",
    formula="""found where a stop lamp is on with no brake pressed and its + is in one net with the + of a tail lamp,
       or a stop and a tail lamp have both sides in common,
       or a brake lights a tail lamp that is off without it, while no stop lamp is on or it has no other feed""",
    cautions="Take the battery's grounded lead off before a wire is moved.",
    says={
        "by-brake": "tail lamp {lamp} is switched by a brake",
        "one-net": "stop lamp {lamp} and tail lamp {tail} share one lead: they can only be on together",
        "shared": "stop lamp {lamp} shares the lead of tail lamp {tail} and is on without a brake",
    },
    fixes={
        "by-brake": "connect {terminal} to the light switch, and the brake switches to the stop lamp alone",
        "separate": "separate {terminal} from {tail_terminal}: connect {terminal} to the brake switches alone, "
        "{tail_terminal} to the light switch",
    },
    find=find,
)
