"""A contact that carries more than it is rated for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Connector, Diode, Meter, Regulator, Relay, Switch, Unit, UnitOutput
from ....lang.quantities.quantity import Quantity, apart, shown
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...ac.stator_leads import Alternating


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
    for name, (share, branch, rating) in worst.items():
        peak = study.operation.loading(branch.key).held
        carried, rated = apart(Quantity(peak.amps, "A"), Quantity(rating, "A"))
        yield Finding(
            rule=RULE.name,
            level=Level.ERROR,
            message=f"{_words(branch)} is rated {rated} and carries {carried}",
            span=branch.span,
            about=tuple(dict.fromkeys((branch.part, name))),
            state=peak.state,
            combination=peak.combination,
            figures=(
                Figure("current", peak.amps, "A"),
                Figure("rating", rating, "A"),
                Figure("share", share * 100, "%"),
            ),
            source=RULE.source,
            remedy=_remedy(study, branch, peak.amps),
        )


def _alternating(study: Study) -> Iterator[Finding]:
    """Plugs and switches between a winding and what it feeds, by the least rms current."""
    worst: dict[str, tuple[float, Alternating, float]] = {}
    for load in study.alternating.values():
        rating, branch = _rating(study, load.branch), load.branch
        name = branch.key if branch.branch_type is BranchType.WAY else branch.part
        if rating and load.amps > rating and load.amps / rating > worst.get(name, (0.0,))[0]:
            worst[name] = (load.amps / rating, load, rating)
    for name, (share, load, rating) in worst.items():
        carried, rated = apart(Quantity(load.amps, "A"), Quantity(rating, "A"))
        yield Finding(
            rule=RULE.name,
            level=Level.ERROR,
            message=f"{_words(load.branch)} is rated {rated} and carries at least {carried} rms {load.by}",
            span=load.branch.span,
            about=tuple(dict.fromkeys((load.branch.part, name))),
            state=load.state,
            figures=(
                Figure("current, rms", load.amps, "A"),
                Figure("rating", rating, "A"),
                Figure("share", share * 100, "%"),
            ),
            source=f"{RULE.source}; {load.source}",
            remedy=_replace(load.branch, load.amps),
        )


def _remedy(study: Study, branch: Branch, amps: float) -> str:
    """A relay takes the current off what only says when: a switch, or an output of a unit."""
    if isinstance(study.harness.parts.get(branch.part), Switch | Unit):
        return f"fit a relay for {shown(amps)} A or more behind {branch.part}, or replace it by a part of that rating"
    return _replace(branch, amps)


def _replace(branch: Branch, amps: float) -> str:
    return f"fit a part rated {shown(amps)} A or more in place of {branch.part}"


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


def _words(branch: Branch) -> str:
    if branch.branch_type is BranchType.WAY:
        return f"way {branch.key}"
    if branch.branch_type is BranchType.CONTACT:
        return f"contact {branch.key.partition(' #')[0]}"
    return branch.key


RULE = Rule(
    name="overloaded-contact",
    level=Level.ERROR,
    family="fire",
    stage=Stage.CONSEQUENCE,
    catches="a switch, relay, meter, way, diode, regulator or output above its rating in its worst combination",
    why="""A contact above its rating gets hot each time it is used: its spring loses its force, its plastic melts, it
    welds shut or burns open. A switch in the bars that carries the headlamp itself is the old classic. The worst
    combination counts, pressed buttons included; what a lamp or a motor takes in its first moment does not.""",
    source="the rating that the harness's own text gives",
    formula="found where the greatest steady current, any control held > the rating",
    cautions="A contact that works too hard may weld: then its switch stops nothing. Try it before you ride.",
    find=find,
)
