"""Stop and tail filament of one bulb, exchanged."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import swap
from ....lang.quantities.quantity import shown
from ...behaviour.counterexample import found
from ...behaviour.lamp_roles import of_role, watts_of
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    yield from _by_duty(study)
    yield from _by_watts(study)


def _by_duty(study: Study) -> Iterator[Finding]:
    for one in study.misfed:
        if one.exchanged and one.other is not None and one.shown is not None:
            lamp, tail = one.lamp, one.other
            yield found(
                RULE.name,
                RULE.level,
                f"stop lamp {lamp.key} is on without a brake, and tail lamp {tail.key} with one only: "
                "their leads are exchanged",
                lamp.span,
                about=(lamp.part,),
                shown=one.shown,
                path=study.behaviour.loop(one.shown, lamp),
                source=RULE.source,
                proposals=(swap(lamp.a, tail.a),),
            )


def _by_watts(study: Study) -> Iterator[Finding]:
    """The stop filament of a bulb must be the brighter one by far: in one part a tail lamp of more watts is it."""
    circuit, volts = study.circuit, study.harness.volts
    exchanged = {one.lamp for one in study.misfed if one.exchanged}
    for stop in of_role(circuit, "stop-lamp"):
        of_stop = watts_of(stop, volts)
        if of_stop is None or stop in exchanged:
            continue
        for tail in of_role(circuit, "tail-lamp"):
            of_tail = watts_of(tail, volts)
            if (tail.part, tail.branch_type) != (stop.part, stop.branch_type) or of_tail is None or of_tail <= of_stop:
                continue
            yield Finding(
                rule=RULE.name,
                level=RULE.level,
                message=f"tail lamp {tail.key} takes {shown(of_tail)} W and stop lamp {stop.key} only "
                f"{shown(of_stop)} W: "
                "the stop lamp must be the brighter one",
                span=tail.span,
                about=(stop.part,),
                figures=(Figure("tail lamp", of_tail, "W"), Figure("stop lamp", of_stop, "W")),
                source=RULE.source,
                remedy=f"look at the bulb and its holder: swap the wires at {stop.a} and {tail.a}, or correct the "
                "watts in the text",
            )


RULE = Rule(
    name="exchanged-filaments",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="stop and tail filament of one bulb exchanged, told by watts or by what switches them",
    why="""A rear bulb has a filament of some 5 W and one of some 21 W on one return. Exchanged, the bright one is on
    all night: it dazzles, melts the lens and takes four times the current, and the brake adds next to nothing.""",
    source="UN R7: a stop lamp is several times as bright as a rear position lamp (from memory); the rest is ours",
    formula="""found where, in one part, a tail lamp takes more watts than a stop lamp of the same kind,
       or the stop lamp is on with no brake pressed and the tail lamp with a brake only""",
    cautions="Let the bulb cool before it is touched.",
    find=find,
)
