"""A starter that is grounded through a lead far lighter than its feed."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import resized
from ....lang.quantities.quantity import Quantity, apart, shown
from ....lang.quantities.units import metric
from ...conductors.loading import overloads, thicker_for
from ...conductors.starter_return import starter_amps, way_back
from ...findings.finding import Figure, Finding, Level
from ...fixes.sizes import thicker
from ...rule import Rule
from ...study import Study

SHARE = 0.5
"""Of the area of the starter's feed, below which its ground lead is light where no current is written (ours)."""


def find(study: Study) -> Iterator[Finding]:
    protection, circuit = study.protection, study.circuit
    if protection.shorted:
        return  # `dead-short` says it
    told = {overload.segment.wire for overload in overloads(study) if protection.armatures}
    feeds = [circuit.by_key[key].segment for key in sorted(protection.cranking)]
    least = min(
        (segment.size.area for segment in feeds if segment is not None and segment.size is not None), default=None
    )
    for armature in protection.armatures:
        back = way_back(study, armature)
        if back is None or back.segment is None or back.segment.size is None or back.segment.wire in told:
            continue  # no way back (`floating-ground`), no wire in it, no size (`not-judged`), or `thin-return` says it
        amps, segment = starter_amps(study, armature), back.segment
        size, area = back.segment.size.text, back.segment.size.area
        if amps is not None and back.amps < amps:
            drawn, rated = apart(Quantity(amps, "A"), Quantity(back.amps, "A"))
            words, figures = (
                f"rated {rated} short-time, and {armature.part} draws {drawn}",
                (Figure("starter", amps, "A"), Figure("rated short-time", back.amps, "A")),
            )
        elif amps is None and least is not None and area < SHARE * least:
            words, figures = (
                f"and its feed is {shown(least)} mm2",
                (Figure("ground lead", area, "mm2"), Figure("feed", least, "mm2")),
            )
        else:
            continue  # stout enough by its figure, or by its feed's size
        its_own = {key for key in back.keys if circuit.by_key[key].segment is segment}
        alone = "alone" if way_back(study, armature, its_own) is None else "at best"
        if amps is not None:
            proposals = thicker_for(study, segment, amps, held=True)
        else:
            proposals = resized(segment.wire, metric(shown(least)) if least is not None else None)
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{armature.part} is grounded through wire {segment.wire} ({size}) {alone}, {words}",
            span=segment.span,
            about=(segment.wire, armature.part),
            figures=figures,
            source=RULE.source,
            remedy=""
            if proposals
            else f"measure the starter's current, and use a wire rated for it for wire {segment.wire}",
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

RULE = Rule(
    name="starter-through-ground",
    level=Level.WARNING,
    family="fire",
    catches="a starter whose current returns through a lead much lighter than its feed",
    why="""What comes in by a battery cable goes back by the ground. Where the engine is joined to the battery by a
    light strap alone, the starter turns slowly, the strap gets hot, and the current looks for control cables.""",
    source="k S / sqrt(30 s) with IEC 60364-5-54's k where the starter's current is written; "
    "else half the feed's area: ours",
    formula="""found where no way back of the starter stands its current for 30 s and no other rule says so,
   or, with no current written, where the stoutest way back has less than half the area of the feed""",
    cautions="Do not crank on a hot strap.",
    find=find,
    fix=thicker,
)
