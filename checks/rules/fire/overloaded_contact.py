"""A contact that carries more than it is rated for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Connector, Diode, Meter, Regulator, Relay, Switch, Unit, UnitOutput
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import largest
from ...findings.facts import Fact
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from ...tables.spares import spare_rating

if TYPE_CHECKING:
    from ...conductors.stator_leads import Alternating


def find(study: Study) -> Iterator[Finding]:
    worst: dict[str, tuple[float, Branch, float]] = {}
    for branch in study.circuit.branches:
        rating = _rating(study, branch)
        if not rating:
            continue
        share = study.operation.loading(branch.key).held.amps / rating
        name = branch.key if branch.branch_type in (BranchType.WAY, BranchType.OUTPUT) else branch.part
        if share > 1.0 and share > worst.get(name, (0.0,))[0]:
            worst[name] = (share, branch, rating)
    yield from _alternating(study)
    yield from _limiters(study)
    for share, branch, rating in worst.values():
        peak = study.operation.loading(branch.key).held
        yield RULE.found(
            _case(branch),
            branch.span,
            facts=_facts(branch, peak.amps, rating),
            about=(branch.part,),
            state=peak.state,
            combination=peak.combination,
            figures=(
                Figure("current", peak.amps, "A"),
                Figure("rating", rating, "A"),
                Figure("share", share * 100, "%"),
            ),
            fix="relay" if isinstance(study.harness.parts.get(branch.part), Switch | Unit) else "replace",
        )


def _alternating(study: Study) -> Iterator[Finding]:
    """Plugs and switches between a winding and what it feeds, by the least rms current."""
    worst: dict[str, tuple[float, Alternating, float]] = {}
    for load in study.alternating.values():
        rating, branch = _rating(study, load.branch), load.branch
        name = branch.key if branch.branch_type is BranchType.WAY else branch.part
        if rating and load.amps > rating and load.amps / rating > worst.get(name, (0.0,))[0]:
            worst[name] = (load.amps / rating, load, rating)
    for share, load, rating in worst.values():
        yield RULE.found(
            f"{_case(load.branch)}-rms",
            load.branch.span,
            facts={**_facts(load.branch, load.amps, rating), "by": load.by},
            about=(load.branch.part,),
            state=load.state,
            figures=(
                Figure("current, rms", load.amps, "A"),
                Figure("rating", rating, "A"),
                Figure("share", share * 100, "%"),
            ),
            source=f"{RULE.source}; {load.source}",
            fix="replace",
        )


def _limiters(study: Study) -> Iterator[Finding]:
    """Limiters that take more of their winding than they are rated for: most at most speed with every lamp off."""
    points = study.winding_lamps.points if study.winding_lamps is not None else ()
    for part in study.harness.parts.values():
        if not isinstance(part, Regulator) or not part.shunts or not part.amps:
            continue
        each = [(dict(point.flow.limited).get(part.name, 0.0), point) for point in points]
        if not each:
            continue
        amps, worst = largest(each, key=lambda pair: pair[0])
        if amps <= part.amps or worst.flow.by_watts:
            continue  # the watts of a winding alone do not tell its short-circuit current
        yield RULE.found(
            "limiter",
            part.span,
            facts={
                "part": part.name,
                "current": Quantity(amps, "A"),
                "rating": Quantity(part.amps, "A"),
                "needed": Quantity(math.ceil(MARGIN * amps), "A"),
                "with": tuple(f"{name} {at}" for name, at in worst.differing),
            },
            about=(part.name,),
            state=worst.state,
            figures=(Figure("current, rms", amps, "A"), Figure("rating", part.amps, "A")),
            fix="replace",
        )


def _case(branch: Branch) -> str:
    return {BranchType.WAY: "way", BranchType.CONTACT: "contact"}.get(branch.branch_type, "part")


def _facts(branch: Branch, amps: float, rating: float) -> dict[str, Fact]:
    """``amps`` and ``rating`` in A; what is fitted instead is rated the next whole A with ``MARGIN``, and a relay as
    they are sold.
    """
    relay = spare_rating("relay", amps)
    return {
        "branch": branch.key.first,
        "part": branch.part,
        "current": Quantity(amps, "A"),
        "rating": Quantity(rating, "A"),
        "needed": Quantity(math.ceil(MARGIN * amps), "A"),
        "relay": Quantity(relay, "A") if relay is not None else "",
    }


def _rating(study: Study, branch: Branch) -> float | None:
    """The A that a branch is rated for by the harness's own text."""
    part = study.harness.parts.get(branch.part)
    match branch.branch_type:
        case BranchType.CONTACT if isinstance(part, Switch | Relay):
            return part.amps
        case BranchType.METER if isinstance(part, Meter):
            return part.amps
        case BranchType.WAY if isinstance(part, Connector):
            return part.amps
        case BranchType.DIODE if isinstance(part, Diode):
            return part.amps
        case BranchType.PASS | BranchType.CUT_OUT if isinstance(part, Regulator):
            return part.amps
        case BranchType.OUTPUT if isinstance(branch.item, UnitOutput):
            return branch.item.amps
    return None


MARGIN: Final = 1.25
"""What is fitted instead is rated this many times what flows: more flows at the voltage of a charged battery (ours)."""

CARRIES: Final = {
    "way": "connector way {branch} carries {current}, rated {rating}",
    "contact": "contact {branch} carries {current}, rated {rating}",
    "part": "{branch} carries {current}, rated {rating}",
}


RULE = Rule(
    name="overloaded-contact",
    level=Level.ERROR,
    family="fire",
    stage=Stage.CONSEQUENCE,
    catches="a switch, relay, meter, connector, diode, regulator or output above its rating in its worst combination",
    why="""A contact above its rating gets hot each time it is used: its spring loses its force, its plastic melts, it
    welds shut or burns open. A handlebar switch that carries the whole headlamp current is the usual case. The worst
    combination counts, pressed buttons included; the inrush of lamps and motors does not.""",
    source="the rating in the harness's own text",
    formula="found where the greatest steady current, any control held > the rating; of a limiter what it takes of its "
    "winding at most speed",
    cautions="An overloaded contact may weld: what it switches then stays on with the switch off. Try it before you "
    "ride. A cold filament or a motor draws many times its rated current for an instant, and welds a small contact.",
    says={
        **CARRIES,
        "limiter": "{part} takes at least {current} rms of its winding to limit the voltage ({with...}), "
        "rated {rating}",
        **{f"{case}-rms": says.replace("{current}", "at least {current} rms {by}") for case, says in CARRIES.items()},
    },
    fixes={
        "relay": "fit a relay[ rated {relay} or more]: its contact in the feed of what {part} feeds now, its coil "
        "switched by {part}; or fit a part rated {needed} or more, and made for such loads, in place of {part}",
        "replace": "fit a part rated {needed} or more in place of {part}",
    },
    find=find,
)
