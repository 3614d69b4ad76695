"""A fuse that works too near its rating."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.paths import steps_over
from ....lang.model.parts import Fuse
from ....lang.model.wires import Segment
from ....lang.quantities.quantity import Quantity
from ....lang.search.walks import reachable
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
        behind = _behind(study, part.name)
        least = _thinnest(study, behind or _beside(study, part.name))
        kept = share if behind else profile.continuous_share  # an output flows for hours into a flat battery
        larger = min((r for r in ratings(part.form or "blade") if kept * r >= peak.amps), default=None)
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
            fix=("larger" if fits else "split") if behind else ("larger-charging" if fits else "thin-charging"),
        )


def _behind(study: Study, fuse: str) -> tuple[Segment, ...]:
    """The wires of which a fuse limits the sustained fault current."""
    faults = study.protection.sustained_faults.values()
    found = ((f.conductor.segment, f.limits) for f in faults)
    return tuple(segment for segment, limits in found if segment and any(limit.name == fuse for limit in limits))


def _beside(study: Study, fuse: str) -> tuple[Segment, ...]:
    """The wires on both sides of a fuse, up to the poles of sources: those of one in a charging lead, which protects
    from the battery's side what the output of the machine on the other side exceeds.
    """
    circuit = study.circuit
    poles = {node for supply in circuit.supplies for node in (*supply.plus, supply.minus)}
    own = [end for branch in circuit.of_part[fuse] for end in (branch.a, branch.b)]
    conducts = steps_over(circuit, lambda branch: branch.branch_type in (BranchType.WIRE, BranchType.WAY))
    reached = reachable(own, conducts, stop_at=poles)
    return tuple(branch.segment for branch in reached.values() if branch is not None and branch.segment is not None)


def _thinnest(study: Study, segments: Iterable[Segment]) -> float | None:
    """The ampacity in A of the thinnest of some wires; ``None`` without any, or where one is not known."""
    found: list[float] = []
    for segment in segments:
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
        "larger-charging": "find out why {fuse} carries {current}; where that is the output of what charges through "
        "it, fit a fuse of {larger}: the thinnest wire on its two sides is rated {least}",
        "thin-charging": "find out why {fuse} carries {current}; where that is the output of what charges through it, "
        "fit wires on both sides of {fuse} that are rated for a larger fuse[; the thinnest is rated {least}], then "
        "that fuse",
        "split": "find out why {fuse} carries {current}; then split its loads between two fuses[: the thinnest wire "
        "behind it is rated {least}, so that no larger fuse may be fitted]",
    },
    find=find,
    fix=larger_fuse,
)
