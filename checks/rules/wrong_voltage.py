"""A battery whose volts are not those of the system."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Source
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule
from ..tables.laws import law_source, laws


def find(examination: Examination) -> Iterator[Finding]:
    harness = examination.harness
    batteries = [part for part in harness.parts.values() if isinstance(part, Source) and part.what == "battery"]
    # Several may stand in series, or one may be that of something else: what stands alone is what the system has.
    if len(batteries) != 1:
        return
    battery, volts = batteries[0], batteries[0].volts
    if volts is None:
        return
    least, most = laws().battery_least_share * harness.volts, laws().battery_most_share * harness.volts
    if least <= volts <= most:
        return
    yield Finding(
        rule=RULE.name,
        level=RULE.level,
        message=f"{battery.name} has {volts:g} V, and the system is one of {harness.volts:g} V",
        span=battery.span,
        about=(battery.name,),
        figures=(
            Figure("battery", volts, "V"),
            Figure("at least", least, "V"),
            Figure("at most", most, "V"),
        ),
        source=str(law_source("battery_most_share")),
        remedy="write in `voltage` what the battery has at rest, or in `system` what it is one of: 6 V, 12 V or 24 V",
    )


RULE = Rule(
    name="wrong-voltage",
    level=Level.WARNING,
    family="behaviour",
    catches="a battery, the only one, whose volts are not near those of the system",
    why="""Every lamp, coil and relay is taken at the volts of the system, and every current is worked out from those
    of the battery. Where a point has slipped, or a system was changed from 6 to 12 V in one place and not in the
    other, all figures are wrong; where the battery really is the wrong one, so is every bulb.""",
    source="0.8 to 1.25 of the system's volts: ours",
    formula="found where volts of the only battery < 0.8 x system volts, or > 1.25 x system volts",
    cautions="Measure with nothing switched on, one hand on the probe: above some 60 V a battery can give a shock.",
    find=find,
)
