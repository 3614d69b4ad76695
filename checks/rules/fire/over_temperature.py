"""Insulation that is not made for the heat of its route."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import AddWords, Proposal, SetWord, for_wires
from ....lang.model.wires import Segment
from ....lang.quantities.quantity import Quantity, shown
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.conductors import InsulationClass, insulation_class, insulation_classes


def find(study: Study) -> Iterator[Finding]:
    protection = study.protection
    hottest: dict[str, tuple[float, Segment]] = {}
    for segment in study.harness.segments:
        ambient, carries = protection.ampacities.ambient(segment), study.conductors.of(segment).ampacity
        no_rise = carries is not None and carries.amps == 0.0
        if no_rise or ambient > insulation_class(segment.wire_class).highest:
            known = hottest.setdefault(segment.wire, (ambient, segment))
            hottest[segment.wire] = max(known, (ambient, segment), key=lambda each: each[0])
    for wire, (ambient, segment) in hottest.items():
        own = insulation_class(segment.wire_class)
        # Beyond the columns of ampacity a class may still be made for the heat, if not for a current on top of it.
        made = (each for each in insulation_classes().values() if each.highest > ambient)
        needed = protection.ampacities.class_for(segment) or min(made, key=lambda each: each.highest, default=None)
        proposals = tuple(_better(study, wire, protection.ampacities.class_for(segment)))
        yield RULE.found(
            "above" if ambient > own.highest else "no-margin",
            segment.span,
            facts={
                "wire": wire,
                "class": segment.wire_class,
                "limit": Quantity(own.highest, "degC"),
                "ambient": Quantity(ambient, "degC"),
                "better": needed.letter if needed is not None else "",
                "better_limit": Quantity(needed.highest if needed is not None else 0.0, "degC"),
            },
            about=(wire,),
            path=segment.route,
            figures=(Figure("ambient", ambient, "degC"), Figure("class rated to", own.highest, "degC")),
            source=str(own.cited),
            fix="or-route" if proposals else "route" if needed is None else "route-or-class",
            proposals=proposals,
            # One cooler route, or one reel of wire, answers for all of a class along it.
            group=f"{segment.wire_class} {' '.join(sorted(segment.route))}",
            rank=-ambient,
        )


def _better(study: Study, wire: str, needed: InsulationClass | None) -> Iterator[Proposal]:
    """A class that is made for the heat and leaves some rise for a current, where there is one."""
    if needed is not None:
        do = f"use class {needed.letter} ({shown(needed.highest)} degC) or better"
        yield for_wires(do, (wire,), (_class(study, wire, needed.letter),))


def _class(study: Study, wire: str, letter: str) -> AddWords | SetWord:
    """The class of a wire written, in place of the one that it has on its line."""
    own = study.harness.wires[wire].wire_class
    return SetWord(wire, own, letter) if own is not None else AddWords(wire, f"class {letter}")


RULE = Rule(
    name="over-temperature",
    level=Level.WARNING,
    family="fire",
    catches="a wire whose insulation class is below the temperature of its route, or leaves no margin above it",
    why="""Insulation above its rated temperature hardens, cracks at the next bend and bares the copper, even without
    current. Near an exhaust, a cylinder or a rectifier the route is hot before the wire heats itself, and a class
    rated only just to the temperature of the route has no margin left for that. The current in such a wire is judged
    as in a wire of the class that the route needs.""",
    source="ISO 6722-1 clause 4.2, temperature classes",
    formula="found where the hottest ambient on the wire's route > the highest temperature of its class, or leaves no "
    "rise below the column of ampacity that the class may use",
    cautions="Let the exhaust and the cylinders cool before you touch a wire near them.",
    says={
        "above": "wire {wire} is class {class}, rated to {limit}, and its route reaches {ambient}",
        "no-margin": "wire {wire} is class {class}, rated to {limit}, and its route reaches {ambient}: its class "
        "leaves no margin for the heat of its current",
    },
    fixes={
        "or-route": "or find a cooler route",
        "route": "move wire {wire} to a cooler route: {ambient} is above every class of wire",
        "route-or-class": "move wire {wire} to a cooler route, or use class {better} ({better_limit}) or better: its "
        "ampacity there is in no table",
    },
    find=find,
)
