"""A fuse that works too near its rating."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Fuse
from ....lang.quantities.quantity import Quantity
from ...findings.finding import Figure, Finding, Level, Stage
from ...fixes.sizes import larger_fuse
from ...rule import Rule
from ...study import Study
from ...tables.fuses import continuous_amps, ratings


def find(study: Study) -> Iterator[Finding]:
    profile = study.protection.profile
    for part in study.harness.parts.values():
        rating = continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None
        if not isinstance(part, Fuse) or not rating:
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
        least = _thinnest(study, part.name)
        larger = min((r for r in ratings(part.form or "blade") if share * r >= peak.amps), default=None)
        fits = larger is not None and least is not None and larger <= least
        yield RULE.found(
            case,
            part.span,
            facts={
                "larger": Quantity(larger, "A") if fits and larger is not None else "",
                "least": Quantity(least, "A") if least is not None else "",
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
            source=f"{profile.source(name)}; profile {profile.title}",
            fix="larger" if fits else "split",
        )


def _thinnest(study: Study, fuse: str) -> float | None:
    """The ampacity in A of the thinnest wire that a fuse protects; ``None`` where one of them is not known."""
    found: list[float] = []
    for fault in study.protection.sustained_faults.values():
        segment = fault.conductor.segment
        if segment is None or not any(limit.name == fuse for limit in fault.limits):
            continue
        carries = study.conductors.of(segment).judged_by
        if carries is None or carries.amps is None:
            return None
        found.append(carries.amps)
    return min(found, default=None)


RULE = Rule(
    name="overloaded-fuse",
    level=Level.WARNING,
    family="fire",
    stage=Stage.CONSEQUENCE,
    catches="a fuse above 80 % of its rating continuous, or above its rating short-time, while a control is held",
    why="""A fuse near its rating runs hot, ages, and blows one night without any fault. A larger one is then fitted at
    the roadside, whatever the size of the wire. The inrush of lamps and motors is not checked: compare its I2t with
    that of the fuse, or ask the fuse's maker.""",
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
        "larger": "find out why {fuse} carries {current}; where its loads are as they should be, fit a fuse of "
        "{larger}: the thinnest wire behind it is rated {least}",
        "split": "find out why {fuse} carries {current}; then split its loads between two fuses[: the thinnest wire "
        "behind it is rated {least}, so that no larger fuse may be fitted]",
    },
    find=find,
    fix=larger_fuse,
)
