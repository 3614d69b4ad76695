"""Lamps on a winding that burn out one after the other, once one of them is out."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.quantities.quantity import Quantity
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from .overvoltage import ERROR


def find(study: Study) -> Iterator[Finding]:
    lamps = study.winding_lamps
    if lamps is None:
        return
    already = {key for key, found in lamps.highest.items() if found.share > ERROR}  # overvoltage says so
    for out in lamps.outs:
        taken = [each for each in out.others if each.share > ERROR and each.lamp.key not in already]
        if not taken:
            continue
        worst = taken[0]
        rough = worst.by_watts
        yield RULE.found(
            "rough" if rough else "takes-along",
            study.circuit.by_key[out.out.key].span,
            facts={
                "out": out.out.key,
                "others": tuple(each.lamp.key for each in taken[1:]),
                "worst": worst.lamp.key,
                "voltage": Quantity(worst.volts, "V"),
                "limit": Quantity(ERROR * worst.made_for, "V"),
                "rated": Quantity(worst.made_for, "V"),
                "with": tuple(f"{name} {at}" for name, at in worst.point.differing),
            },
            about=(out.out.part, *dict.fromkeys(each.lamp.part for each in taken)),
            level=Level.WARNING if rough else Level.ERROR,
            state=worst.point.state,
            fix="measure" if rough else "limit",
            figures=(
                Figure(f"{worst.lamp.key} with {out.out.key} out", worst.volts, "V"),
                Figure("allowed", ERROR * worst.made_for, "V"),
            ),
        )


RULE = Rule(
    name="lamp-out",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    catches="a lamp on an alternating winding that gets more than 1.20 times its voltage once another lamp is out",
    why="""The lamps on a winding load it together and so limit its voltage. When the headlamp burns out, the voltage
    rises and the tail lamp burns out a moment later: the motorcycle is without lights, at speed, from one bulb. A
    limiter that all lamps are connected to prevents it.""",
    source="Loomwright's limit: 1.20 times, as for overvoltage",
    formula="found where V rms > 1.20 times the lamp's voltage at most speed with any one other lamp open",
    cautions="Carry spare bulbs for all lamps of such a winding, and do not ride on with one out.",
    says={
        "takes-along": "once {out} is out, {worst} gets {voltage} rms ({with...}), made for {rated}, and soon burns "
        "out too[; so {others:does|do} {others}]",
        "rough": "once {out} is out, {worst} gets at least about {voltage} rms ({with...}), made for {rated}, by the "
        "rated power of its winding[; {others} {others:gets|get} too much, too]",
    },
    fixes={
        "limit": "fit a limiter (`shunts`) of {rated} across the winding, and feed all lamps from there",
        "measure": "measure the open-circuit voltage and short-circuit current of the winding and write them on its "
        "line; a limiter (`shunts`) of {rated} across the winding prevents it",
    },
    find=find,
)
