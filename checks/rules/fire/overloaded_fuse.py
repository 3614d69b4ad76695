"""A fuse that works too near its rating."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Fuse
from ....lang.quantities.quantity import Quantity, apart, shown
from ...findings.finding import Figure, Finding, Level, Stage
from ...fixes.sizes import larger_fuse
from ...rule import Rule
from ...study import Study
from ...tables.fuses import continuous_amps


def find(study: Study) -> Iterator[Finding]:
    profile = study.protection.profile
    for part in study.harness.parts.values():
        rating = continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None
        if not rating:
            continue
        loading = study.operation.loading(part.name)
        found = [
            (loading.continuous, profile.continuous_share, "continuous_share", "continuous"),
            (loading.held, profile.held_share, "held_share", "short-time"),
        ]
        over = [each for each in found if each[0].amps > each[1] * rating]
        if not over:
            continue
        peak, share, name, when = over[0]
        loaded, allowed = apart(Quantity(peak.amps / rating * 100.0, "%"), Quantity(share * 100.0, "%"))
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=f"{part.name} ({shown(rating)} A) carries {shown(peak.amps)} A {when}: "
            f"{loaded} of its rating, and {allowed} is allowed",
            span=part.span,
            about=(part.name,),
            state=peak.state,
            combination=peak.combination,
            figures=(Figure("current", peak.amps, "A"), Figure("allowed", share * rating, "A")),
            source=f"profile {profile.title}: {profile.source(name)}",
            remedy=f"find out why {part.name} carries so much; then split its loads between two fuses, or fit a "
            "larger one "
            "where every wire behind it is thick enough",
        )


RULE = Rule(
    name="overloaded-fuse",
    level=Level.WARNING,
    family="fire",
    stage=Stage.CONSEQUENCE,
    catches="a fuse above 80 % of its rating continuous, or above its rating while a control is held",
    why="""A fuse that works near its rating is hot, ages, and opens one night without any fault. A larger one is then
    put in at the roadside, whatever the wire is. What a lamp or a motor takes in its first moment is not counted: a
    fuse judges that by its I2t and lets it pass.""",
    source="70 to 80 % continuous: common practice, no source (a general fuse guide says 75 %); 100 % while held: ours",
    formula="""found where current, momentary controls at rest > 80 % of the rating
   or where current, any control held             > 100 % of the rating""",
    cautions="Never fit a larger fuse without looking at every wire behind it: the rule oversized-fuse does.",
    find=find,
    fix=larger_fuse,
)
