"""A lamp on a winding that gets more than it is made for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.quantities.quantity import Quantity
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from ...tables.lamps import life

if TYPE_CHECKING:
    from ...operation.lamp_volts import LampVolts

NOTE, WARNING, ERROR, SOON = 1.05, 1.10, 1.20, 1.50
"""Of the volts that it is made for: from where on a lamp's life is a matter of a finding, and how severe (ours)."""

LIMITS: Final = ((SOON, Level.ERROR), (ERROR, Level.ERROR), (WARNING, Level.WARNING), (NOTE, Level.NOTE))


def find(study: Study) -> Iterator[Finding]:
    if study.winding_lamps is None:
        return
    for found in study.winding_lamps.highest.values():
        limit = next(((share, level) for share, level in LIMITS if found.share > share), None)
        if limit is None:
            continue
        share, level = limit
        if found.by_watts and share < SOON:
            level = min(level, Level.WARNING)  # a winding of which only watts are known may be stiffer than is taken
        yield _of(study, found, share, level)


def _of(study: Study, found: LampVolts, limit: float, level: Level) -> Finding:
    running = study.winding_lamps.at_running(found) if study.winding_lamps is not None else None
    most, least = life(found.share)
    case = "soon" if limit == SOON else "rough" if found.by_watts else "shortens"
    return RULE.found(
        case,
        study.circuit.by_key[found.lamp.key].span,
        facts={
            "lamp": found.lamp.key,
            "voltage": Quantity(found.volts, "V"),
            "limit": Quantity(NOTE * found.made_for, "V"),
            "rated": Quantity(found.made_for, "V"),
            "running": Quantity(running, "V") if running is not None else "",
            "least": Quantity(100.0 * least, "%"),
            "most": Quantity(100.0 * most, "%"),
            "with": tuple(f"{name} {at}" for name, at in found.point.differing),
        },
        about=(found.lamp.part,),
        level=level,
        state=found.point.state,
        fix="measure" if found.by_watts else "limit",
        figures=(
            Figure("at most speed" if found.point.engine == "fast" else "gets", found.volts, "V"),
            Figure("allowed", NOTE * found.made_for, "V"),
        ),
    )


RULE = Rule(
    name="overvoltage",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    catches="a lamp on an alternating winding that gets more than 1.05 times its voltage at running or most speed, in "
    "any combination of the controls",
    why="""The voltage of a winding rises with the engine speed and with every lamp that is off. The life of a lamp
    falls with the 12th to the 16th power of its voltage: at 1.2 times it is a tenth and less, at 1.5 times less than
    a hundredth: hours or minutes. A limiter, or the load that the winding was made for, limits it.""",
    source="the exponent of a lamp's life, 12 to 16: Fink and Beaty, Standard Handbook for Electrical Engineers, 11th, "
    "page 22-8 (read in a secondary text); the shares: Loomwright's limit",
    formula="found where V rms > 1.05 (note), 1.10 (warning), 1.20 (error) times the lamp's voltage; above 1.5 "
    "always an error; where only W of the winding are known a warning at most below 1.5",
    cautions="Measure with every lamp connected: a winding without its lamps can reach several times its voltage.",
    says={
        "shortens": "{lamp} gets {voltage} rms ({with...})[, {running} at running speed]: made for {rated}, it lasts "
        "{least} to {most} of its rated life",
        "rough": "{lamp} gets about {voltage} rms ({with...})[, {running} at running speed], by the rated power of its "
        "winding: made for {rated}, it lasts {least} to {most} of its rated life",
        "soon": "{lamp} gets {voltage} rms ({with...})[, {running} at running speed]: made for {rated}, it "
        "burns out soon, after {least} to {most} of its rated life",
    },
    fixes={
        "limit": "fit a limiter (`shunts`) of {rated} across the winding, or bulbs that together draw what the winding "
        "delivers",
        "measure": "measure the open-circuit voltage and short-circuit current of the winding and write them on its "
        "line; if they confirm it, fit a limiter (`shunts`) of {rated} across the winding",
    },
    find=find,
)
