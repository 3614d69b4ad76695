"""A starter that is grounded through a lead far lighter than its feed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ....lang.editing.proposals import resized
from ....lang.quantities.quantity import Quantity, shown
from ....lang.quantities.units import metric
from ...conductors.starter_return import starter_amps, way_back
from ...findings.finding import Figure, Finding, Level
from ...fixes.sizes import thicker
from ...fixes.thicker import thicker_for
from ...rule import Rule
from ...study import Study

SHARE = 0.5
"""Of the area of the starter's feed, below which its ground lead is light where no current is written (ours)."""


def find(study: Study) -> Iterator[Finding]:
    protection, circuit = study.protection, study.circuit
    if protection.shorted:
        return  # `dead-short` says it
    told = {overload.segment.wire for overload in study.conductors.overloaded() if protection.cranking_path.armatures}
    feeds = [circuit.by_key[key].segment for key in sorted(protection.cranking_path.feed)]
    least = min(
        (segment.size.area for segment in feeds if segment is not None and segment.size is not None), default=None
    )
    for armature in protection.cranking_path.armatures:
        back = way_back(study.conductors, armature)
        if back is None or back.segment is None or back.segment.size is None or back.segment.wire in told:
            continue  # no return (`floating-ground`), no wire in it, no size (`not-judged`), or `thin-return` says it
        amps, segment = starter_amps(study.conductors, armature), back.segment
        area = back.segment.size.area
        if amps is not None and back.amps < amps:
            limit, figures = "rating", (Figure("starter", amps, "A"), Figure("rated short-time", back.amps, "A"))
        elif amps is None and least is not None and area < SHARE * least:
            limit, figures = "feed", (Figure("ground lead", area, "mm2"), Figure("feed", least, "mm2"))
        else:
            continue  # stout enough by its figure, or by its feed's size
        its_own = {key for key in back.keys if circuit.by_key[key].segment is segment}
        is_only = way_back(study.conductors, armature, its_own) is None
        if amps is not None:
            proposals = thicker_for(study, segment, amps, held=True)
        else:
            proposals = resized(segment.wire, metric(shown(least)) if least is not None else None)
        yield RULE.found(
            f"{'only' if is_only else 'best'}-{limit}",
            segment.span,
            facts={
                "starter": armature.part,
                "wire": segment.wire,
                "size": back.segment.size.text,
                "current": Quantity(amps or 0.0, "A"),
                "rating": Quantity(back.amps, "A"),
                "feed": Quantity(least or 0.0, "mm2"),
            },
            about=(segment.wire, armature.part),
            figures=figures,
            fix="thicker" if proposals else "measure",
            proposals=proposals,
        )


_HARNESS = """
loom "{title}"
place tray
source BAT battery at tray for supply {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
ground FRAME at tray
ground ENGINE at tray
switch START 200 A momentary at tray for starting {{ rest: ; press: 1 2 }}
load STARTER motor at tray for starting {{ armature: 30 31 }}
mount STARTER.31 to ENGINE
wire 1 BAT.+ to START.1 red 16 mm2 0.15 m
wire 2 START.2 to STARTER.30 red/black 16 mm2 0.3 m
wire 3 BAT.- to FRAME black 16 mm2 0.2 m
wire 4 FRAME to ENGINE black {strap} mm2 0.2 m
"""

THROUGH: Final = {
    "only": "{starter} is grounded only through wire {wire} ({size})",
    "best": "{starter} has its best ground return through wire {wire} ({size})",
}
LIMITS: Final = {
    "rating": "rated {rating} short-time, and draws {current}",
    "feed": "and its feed is {feed}",
}

RULE = Rule(
    name="starter-through-ground",
    level=Level.WARNING,
    family="fire",
    catches="a starter whose current returns through a lead much lighter than its feed",
    why="""The current that reaches the starter through a battery cable returns through the ground. Where a light strap
    alone connects the engine to the battery, the starter turns slowly, the strap gets hot, and part of the current
    returns through control cables.""",
    source="adiabatic equation (IEC 60364-5-54) to the class temperature in 30 s where the starter's current is "
    "written; else half the feed's area: Loomwright's limit",
    formula="""found where the starter's current exceeds the 30 s rating of every ground return,
   or, with no current written, where the thickest ground return has less than half the area of the feed""",
    cautions="Do not crank while the strap is hot.",
    says={
        f"{case}-{limit}": f"{through}, {allowed}"
        for case, through in THROUGH.items()
        for limit, allowed in LIMITS.items()
    },
    fixes={
        "thicker": "",
        "measure": "measure the current of {starter} while it cranks, and use a wire rated for that as wire {wire}",
    },
    find=find,
    fix=thicker,
)
