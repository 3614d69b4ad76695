"""A dead short that lasts too long, for the fuse or for the wire."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from ....lang.editing.proposals import Proposal, Resize
from ....lang.model.parts import Fuse
from ....lang.quantities.quantity import Quantity, shown
from ...findings.finding import Figure, Finding, Level
from ...fixes.sizes import smaller_fuse_or_thicker
from ...fixes.thicker import carries_its_loads
from ...protection.prospective_fault import ProspectiveFault, ProspectiveFaults, heated, not_cleared
from ...rule import Rule
from ...study import Study
from ...tables.fuses import opening, ratings
from ...tables.short_time import short_time, withstand_i2t


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
        carries = study.conductors.of(segment).ampacity
        if carries is not None and carries.amps is not None and greatest <= carries.amps:
            continue
        said.add(segment.wire)
        first, opens = short.devices[0], short.seconds or 0.0
        ends = math.isfinite(opens)
        proposals = _quicker(study, short, seconds)
        yield RULE.found(
            "late" if ends else "never",
            segment.span,
            facts={
                "wire": segment.wire,
                "current": Quantity(short.amps, "A"),
                "fuse": first.name,
                "part": first.part,
                "rating": Quantity(first.rating, "A"),
                "time": Quantity(opens, "s"),
                "allowed": Quantity(seconds, "s"),
            },
            level=Level.ERROR if short.certain else Level.WARNING,
            about=(segment.wire, *dict.fromkeys(device.part for device in short.devices)),
            path=short.path,
            figures=(
                Figure("short-circuit current", short.amps, "A"),
                *((Figure("opens within", opens, "s"),) if ends else ()),
                Figure("allowed", seconds, "s"),
            ),
            source=f"{protection.profile.source('clearing_seconds')}; slowest published opening time of the fuse's "
            f"form; profile {protection.profile.title}",
            proposals=proposals,
            fix="smaller" if proposals else "both-ways",
        )
    for hot in heated(shorts, seconds):
        segment = hot.wire.segment
        if segment is None or segment.size is None or segment.wire in said:
            continue
        said.add(segment.wire)
        first = hot.short.devices[0]
        yield RULE.found(
            "heated",
            segment.span,
            facts={
                "wire": segment.wire,
                "size": segment.size.text,
                "withstand": Quantity(hot.stands, "A2s"),
                "fuse": first.name,
                "part": first.part,
                "rating": Quantity(first.rating, "A"),
                "passed": Quantity(hot.short.i2t, "A2s"),
            },
            level=Level.ERROR if hot.certain else Level.WARNING,
            about=(segment.wire, *dict.fromkeys(device.part for device in hot.short.devices)),
            path=hot.short.path,
            figures=(
                Figure("I2t of the fuse", hot.short.i2t, "A2s"),
                Figure("k2S2", hot.stands, "A2s"),
                Figure("short-circuit current", hot.short.amps, "A"),
            ),
            source=f"{short_time(segment.wire_class).cited}; slowest published opening time of the fuse's form; "
            f"profile {protection.profile.title}",
        )


def _quicker(study: Study, short: ProspectiveFault, seconds: float) -> tuple[Proposal, ...]:
    """A smaller fuse of the same form: the largest that blows before any wire on the way is too hot, and that carries
    its loads.
    """
    part = study.harness.parts[short.devices[0].part]
    if len(short.devices) != 1 or not isinstance(part, Fuse) or not part.amps:
        return ()
    weakest = min(
        (withstand_i2t(s.size.area, s.wire_class) for b in short.loop if (s := b.segment) is not None and s.size),
        default=math.inf,
    )
    for rating in sorted((each for each in ratings(part.form or "blade") if each < part.amps), reverse=True):
        most = opening(part.form, rating, short.amps).most
        in_time = most is not None and most <= seconds and short.amps**2 * most <= weakest
        if in_time and carries_its_loads(study, part.name, rating):
            says = f"fit a fuse of {shown(rating)} A or less at {part.name}"
            return (Proposal(says, (Resize(ratings=((part.name, rating),)),)),)
    return ()


DEAD_SHORT: Final = "a dead short at the end of wire {wire} draws {current}"
ENOUGH: Final = "find out by `loomwright size` what is enough: a smaller or faster fuse at {part}, or"


RULE = Rule(
    name="short-not-cleared",
    level=Level.ERROR,
    family="fire",
    catches="a dead short at the far end of a wire that blows no fuse within 5 s, or heats a wire of its path past "
    "k2S2",
    why="""A fuse blows late on a current only a little above its rating. At the end of a long thin wire a dead short
    may draw no more than that, and the wire glows before the fuse blows. The slowest fuse that its standard allows
    counts, and the resistance of the ground return counts too.""",
    source="5 s: Loomwright's limit, the end of the adiabatic equation's use in IEC 60364-4-43 434.5.2; opening "
    "times by form: ISO 8820-3, ISO 8820-5, UL 248-14, DIN 72581-1, SAE J553; k: IEC 60364-5-54",
    formula="""I    = open-circuit voltage / (battery + hot conductors there and back + contacts)
found  where the fastest device in the path may take longer than 5 s at I
   or  where I2t of the fastest device, at I and at every published point above it, > (k S)2 of a wire in its path
       (beyond the table's end I2t stays as it is there; glass above 10 A is not judged above 200 % of its rating)
A warning where the deciding opening time or I2t is from memory""",
    cautions="Never try a short on a harness to see whether its fuse blows: a battery can burst.",
    says={
        "late": f"{DEAD_SHORT}, and {{fuse}} ({{rating}}) may take {{time}} to blow, at most {{allowed}} is allowed",
        "never": f"{DEAD_SHORT}, and {{fuse}} ({{rating}}) may never blow",
        "heated": "wire {wire} ({size}) withstands {withstand}, and {fuse} ({rating}) may pass {passed} before it "
        "blows "
        "on a dead short",
    },
    fixes={
        "smaller": "",
        "both-ways": f"{ENOUGH} thicker wires to the load and back",
        "heated": f"{ENOUGH} a thicker wire {{wire}}",
    },
    find=find,
    fix=smaller_fuse_or_thicker,
)
