"""Stop and tail filament of one bulb, swapped."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import swap
from ....lang.quantities.quantity import Quantity
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
            yield RULE.found(
                "duty",
                lamp.span,
                facts={"stop": lamp.key, "tail": tail.key},
                about=(lamp.part,),
                shown=one.shown,
                path=study.behaviour.loop(one.shown, lamp),
                proposals=(swap(lamp.a, tail.a),),
            )


def _by_watts(study: Study) -> Iterator[Finding]:
    """The stop filament of a bulb must be the brighter one by far: in one part a tail lamp of more watts is wrong."""
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
            yield RULE.found(
                "watts",
                tail.span,
                facts={
                    "stop": stop.key,
                    "tail": tail.key,
                    "of_stop": Quantity(of_stop, "W"),
                    "of_tail": Quantity(of_tail, "W"),
                    "stop_terminal": stop.a,
                    "tail_terminal": tail.a,
                },
                about=(stop.part,),
                figures=(Figure("tail lamp", of_tail, "W"), Figure("stop lamp", of_stop, "W")),
            )


RULE = Rule(
    name="exchanged-filaments",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="stop and tail filament of one bulb swapped, by their watts or by what switches them",
    why="""A rear bulb has a tail filament of some 5 W and a stop filament of some 21 W on one return. Swapped, the
    bright one is on whenever the lights are: it dazzles, overheats the lens and draws four times the current, and
    braking adds next to no light.""",
    source="UN R7: a stop lamp is several times as bright as a rear position lamp (from memory); the rest: "
    "Loomwright's limit",
    formula="""found where, in one part, a tail lamp is rated more watts than a stop lamp of the same kind,
       or the stop lamp is on with no brake applied and the tail lamp only with a brake applied""",
    cautions="Let the bulb cool before you touch it.",
    says={
        "duty": "stop lamp {stop} is on without the brake[ ({when})]; tail lamp {tail} is on only with the brake: "
        "their leads are swapped",
        "watts": "tail lamp {tail} is rated {of_tail} and stop lamp {stop} only {of_stop}: the stop lamp must be the "
        "brighter one",
    },
    fixes={
        "watts": "check the bulb and its holder: swap the wires at {stop_terminal} and {tail_terminal}, or correct the "
        "watts in the file"
    },
    find=find,
)
