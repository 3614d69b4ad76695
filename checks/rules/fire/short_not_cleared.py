"""A dead short that lasts too long, for the fuse or for the wire."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ....lang.quantities.quantity import apart, shown
from ...findings.finding import Figure, Finding, Level
from ...fixes.sizes import smaller_fuse_or_thicker
from ...protection.prospective_fault import ProspectiveFaults, heated, not_cleared
from ...rule import Rule
from ...study import Study
from ...tables.short_time import short_time


def find(study: Study) -> Iterator[Finding]:
    protection = study.protection
    seconds = protection.profile.clearing_seconds
    analysis = ProspectiveFaults(study.circuit, protection)
    shorts = list(analysis.shorts())
    greatest = analysis.battery[0] / analysis.battery[1] if analysis.battery else 0.0
    said: set[str] = set()
    for short in not_cleared(shorts, seconds):
        segment = short.wire.segment
        if segment is None or segment.wire in said:
            continue
        carries = protection.ampacity(segment)
        if carries is not None and carries.amps is not None and greatest <= carries.amps:
            continue
        said.add(segment.wire)
        first, opens = short.devices[0], short.seconds or 0.0
        ends = math.isfinite(opens)
        lasts = f"up to {shown(opens)} s" if ends else "without end"
        yield Finding(
            rule=RULE.name,
            level=Level.ERROR if short.certain else Level.WARNING,
            message=f"a dead short at the end of wire {segment.wire} draws {shown(short.amps)} A and lasts {lasts}: "
            f"{first.name} ({shown(first.rating)} A) need not open sooner",
            span=segment.span,
            about=(segment.wire, *dict.fromkeys(device.part for device in short.devices)),
            path=short.path,
            figures=(
                Figure("short-circuit current", short.amps, "A"),
                *((Figure("opens within", opens, "s"),) if ends else ()),
                Figure("allowed", seconds, "s"),
            ),
            source=f"profile {protection.profile.title}: {protection.profile.source('clearing_seconds')}; slowest "
            f"published "
            "opening time of the fuse's form",
            remedy=f"find out by `loomwright size` what is enough: a smaller or quicker fuse at {first.part}, or "
            "thicker wires there and back",
        )
    for hot in heated(shorts, seconds):
        segment = hot.wire.segment
        if segment is None or segment.size is None or segment.wire in said:
            continue
        said.add(segment.wire)
        first = hot.short.devices[0]
        passed, stands = apart(hot.short.i2t, hot.stands)
        yield Finding(
            rule=RULE.name,
            level=Level.ERROR if hot.certain else Level.WARNING,
            message=f"wire {segment.wire} ({segment.size.text}) withstands {stands} A2s, and {first.name} "
            f"({shown(first.rating)} A) may pass {passed} A2s before it opens on a dead short",
            span=segment.span,
            about=(segment.wire, *dict.fromkeys(device.part for device in hot.short.devices)),
            path=hot.short.path,
            figures=(
                Figure("let through", hot.short.i2t, "A2s"),
                Figure("k2S2", hot.stands, "A2s"),
                Figure("short-circuit current", hot.short.amps, "A"),
            ),
            source=f"profile {protection.profile.title}: {short_time(segment.wire_class).cited}; slowest published "
            "opening time of the fuse's form",
            remedy=f"find out by `loomwright size` what is enough: a smaller or quicker fuse at {first.part}, or a "
            f"thicker wire {segment.wire}",
        )


RULE = Rule(
    name="short-not-cleared",
    level=Level.ERROR,
    family="fire",
    catches="a dead short at a wire's far end that no fuse opens in 5 s, or that heats a wire of the loop past k2S2",
    why="""A fuse opens late on a current that is only a little above its rating. At the end of a long thin wire a
    dead short may draw no more than that, and the wire glows while the fuse thinks. The slowest fuse that its
    standard lets be sold counts, and the way back counts too.""",
    source="5 s: ours, the end of the adiabatic equation's use in IEC 60364-4-43 434.5.2; opening times by form: "
    "ISO 8820-3, "
    "ISO 8820-5, UL 248-14, DIN 72581-1, SAE J553; k: IEC 60364-5-54",
    formula="""I    = open-circuit volts / (battery + hot conductors there and back + contacts)
found  where the soonest device on the way may take longer than 5 s at I
   or  where I2t of the soonest device, at I and at every published point above it, > (k S)2 of a wire in the loop
       (beyond the table's end I2t stays as it is there; glass above 10 A is not judged above 200 % of its rating)
A warning where the deciding opening time or I2t is from memory""",
    cautions="Never try a short on a harness to see whether its fuse blows: a battery can burst.",
    find=find,
    fix=smaller_fuse_or_thicker,
)
