"""A fuse that works too near its rating."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Fuse
from ....lang.quantities.quantity import Quantity
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
        peak, share, name, case = over[0]
        yield RULE.found(
            case,
            part.span,
            facts={
                "fuse": part.name,
                "rating": Quantity(rating, "A"),
                "current": Quantity(peak.amps, "A"),
                "share": Quantity(peak.amps / rating * 100.0, "%"),
                "allowed": Quantity(share * 100.0, "%"),
            },
            about=(part.name,),
            state=peak.state,
            combination=peak.combination,
            figures=(Figure("current", peak.amps, "A"), Figure("allowed", share * rating, "A")),
            source=f"profile {profile.title}: {profile.source(name)}",
            fix="split",
        )


RULE = Rule(
    name="overloaded-fuse",
    level=Level.WARNING,
    family="fire",
    stage=Stage.CONSEQUENCE,
    catches="a fuse above 80 % of its rating continuous, or above its rating short-time, while a control is held",
    why="""A fuse near its rating runs hot, ages, and blows one night without any fault. A larger one is then fitted at
    the roadside, whatever the size of the wire. The inrush of lamps and motors is not counted: a fuse does not melt
    that fast (its I2t).""",
    source="70 to 80 % continuous: common practice, no source (a general fuse guide says 75 %); 100 % short-time: "
    "Loomwright's limit",
    formula="""found where current, momentary controls at rest > 80 % of the rating
   or where current, any control held             > 100 % of the rating""",
    cautions="Never fit a larger fuse before you have checked every wire behind it: the rule oversized-fuse does that.",
    says={
        "continuous": "{fuse} ({rating}) carries {current} continuous: {share} of its rating, at most {allowed} is "
        "allowed",
        "short-time": "{fuse} ({rating}) carries {current} short-time: {share} of its rating, at most {allowed} is "
        "allowed",
    },
    fixes={
        "split": "find out why {fuse} carries {current}; then split its loads between two fuses, or fit a larger fuse "
        "where every wire behind it is thick enough",
    },
    find=find,
    fix=larger_fuse,
)
