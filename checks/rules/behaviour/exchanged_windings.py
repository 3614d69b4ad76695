"""Two windings of one alternator whose leads are swapped."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ....lang.circuit.branch import Branch
from ....lang.editing.proposals import Proposal, SwapEnds
from ....lang.quantities.quantity import Quantity, shown
from ...behaviour.lamps_on_windings import EXCITER_LEAST, exchanged, off_volts, too_large
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study

BY_VOLTS: Final = (
    "Loomwright's limit: open-circuit, a winding for lamps has less than "
    f"{shown(Quantity(EXCITER_LEAST, 'V'))}, an exciter's more"
)


def find(study: Study) -> Iterator[Finding]:
    yield from _by_volts(study)
    misled = {each.element.key for each in off_volts(study.copper)}  # by the volts of its winding
    for fed in too_large(study.copper):
        if fed.lamp.key in misled:
            continue
        other = exchanged(study.copper, fed)
        if other is None:
            continue
        yield RULE.found(
            "exchanged",
            fed.winding.span,
            facts={
                "winding": fed.winding.key,
                "other": other.key,
                "lamp": fed.lamp.key,
                "load": Quantity(fed.watts, "W"),
                "output": Quantity(fed.gives, "W"),
            },
            about=(fed.winding.part, fed.lamp.part),
            figures=(Figure("lamp", fed.watts, "W"), Figure("winding", fed.gives, "W")),
            proposals=(_exchanged(study, fed.winding, other),),
        )


def _by_volts(study: Study) -> Iterator[Finding]:
    """What is on a winding of volts that it is not made for; a box and a lamp on each other's: the two are swapped."""
    off = list(off_volts(study.copper))
    boxes = [each for each in off if each.volts < EXCITER_LEAST]
    lamps = [each for each in off if each.volts > EXCITER_LEAST]
    told: set[str] = set()
    for box in boxes:
        lamp = next((each for each in lamps if each.winding.part == box.winding.part), None)
        yield RULE.found(
            "box-and-lamp" if lamp is not None else "box",
            box.element.span,
            facts={
                "box": box.element.key,
                "winding": box.winding.key,
                "voltage": Quantity(box.volts, "V"),
                "least": Quantity(EXCITER_LEAST, "V"),
                "other": lamp.winding.key if lamp is not None else "",
                "lamp": lamp.element.key if lamp is not None else "",
                "much": Quantity(lamp.volts, "V") if lamp is not None else "",
            },
            about=(box.winding.part, box.element.part),
            figures=(Figure("open voltage", box.volts, "V"), Figure("least for a box", EXCITER_LEAST, "V")),
            source=BY_VOLTS,
            fix=None if lamp is not None else "box",
            proposals=(_exchanged(study, box.winding, lamp.winding),) if lamp is not None else (),
        )
        told |= {each.element.key for each in lamps if lamp is not None and each.winding is lamp.winding}
    for each in lamps:
        if each.element.key in told:
            continue
        yield RULE.found(
            "lamp",
            each.element.span,
            facts={
                "lamp": each.element.key,
                "winding": each.winding.key,
                "voltage": Quantity(each.volts, "V"),
                "least": Quantity(EXCITER_LEAST, "V"),
            },
            about=(each.winding.part, each.element.part),
            figures=(Figure("open voltage", each.volts, "V"), Figure("most for a lamp", EXCITER_LEAST, "V")),
            source=BY_VOLTS,
            fix="lamp",
        )


def _exchanged(study: Study, one: Branch, other: Branch) -> Proposal:
    """The leads of two windings exchanged, those at a terminal that both share left where they are."""
    pairs = [(a, b) for a, b in ((one.a, other.a), (one.b, other.b)) if a != b]
    wired = [pair for pair in pairs if any(study.circuit.at.get(node, ()) for node in pair)]
    return Proposal(f"swap the leads of {one.key} and {other.key}", tuple(SwapEnds(a, b) for a, b in wired))


RULE = Rule(
    name="exchanged-windings",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a lamp too large for its winding, while a larger winding of the same alternator feeds no lamp; an "
    "exciter's box on a winding under 60 V, or a lamp on one above",
    why="""The leads of the exciter winding and of the lighting winding leave the engine through one hole, and after
    forty years in one colour. Swapped, the lamps glow dimly on the small winding, and the ignition box is fed by the
    large one at the wrong voltage: there is no spark at cranking speed, or the box is destroyed.""",
    source="Loomwright's limit: 1.5 times the rated watts of the winding, as for winding-too-weak",
    formula="found where P(lamp) > 1.5 P(its winding), and P(lamp) <= 1.5 P(another that is wired and feeds no lamp); "
    "or by the open voltage of the winding: an `exciter` element below 60 V, a lamp above",
    cautions="An exciter winding delivers several hundred volts: do not touch its leads while the engine turns.",
    says={
        "exchanged": "{winding} and {other} are swapped: {lamp} ({load}) is connected to {winding} ({output}), and "
        "{other} feeds no lamp",
        "box-and-lamp": "{winding} and {other} are swapped: {box} is connected to {winding} ({voltage} open), and "
        "{lamp} to {other} ({much})",
        "box": "{box} is fed by an exciter winding, and is connected to {winding}, which has {voltage} open-circuit: "
        "an exciter has {least} or more",
        "lamp": "{lamp} is connected to {winding}, which has {voltage} open-circuit: a winding for lamps has less "
        "than {least}",
    },
    fixes={
        "box": "connect {box} to the exciter winding",
        "lamp": "connect {lamp} to the lighting winding",
    },
    find=find,
)
