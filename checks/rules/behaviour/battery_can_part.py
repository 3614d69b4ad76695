"""An alternator that goes on feeding the loads when its battery is cut off."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Rectifier, Source
from ...findings.finding import Finding, Level
from ...protection.isolation import joined_to, openings, way_back
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.circuit.branch import Supply
    from ...protection.isolation import Opening


def find(study: Study) -> Iterator[Finding]:
    protection, circuit = study.protection, study.circuit
    if protection.shorted:
        return  # `dead-short` says it, and nothing can be said of what feeds what
    batteries = [s for s in protection.sources if s.kind == "battery"]
    poles = {protection.feed_pole(s) for s in batteries}
    for supply in protection.sources:
        part = study.harness.parts.get(supply.name)
        if supply.kind != "machine" or _limits_itself(part):
            continue
        pole = protection.feed_pole(supply)
        whole = joined_to(circuit, [pole], shut=protection.returns)
        near = next((each for each in whole if each in poles), None)
        if near is None:
            continue  # `no-charge` says it
        battery = next(s.name for s in batteries if protection.feed_pole(s) == near)
        for opening in openings(circuit, way_back(whole, near)):
            left = joined_to(circuit, [pole], without=opening.opened, shut=protection.returns)
            if poles & left.keys():
                continue
            kept = joined_to(circuit, poles, without=opening.opened, shut=protection.returns)
            loads = _loads(study, left, kept)
            if loads:
                yield _finding(study, supply, battery, opening, loads)
                break


def _limits_itself(part: object) -> bool:
    """Whether its voltage stays bounded without a battery: a shunt regulator's does, and a dynamo's is regulated."""
    return (isinstance(part, Source) and part.what == "dynamo") or (isinstance(part, Rectifier) and part.shunt)


def _loads(study: Study, left: Collection[str], kept: Collection[str]) -> list[str]:
    """The loads that the machine then feeds by itself; not its own field, nor what lies between it and the battery's
    feed, as a charge lamp at its trio does. ``left``: the nodes joined to it, ``kept``: those to a battery. What
    regulates it consumes nothing here.
    """
    return list(
        dict.fromkeys(
            branch.part
            for branch in study.circuit.branches
            if branch.branch_type.consumes
            and branch.branch_type is not BranchType.FIELD
            and ((branch.a in left and branch.b not in kept) or (branch.b in left and branch.a not in kept))
        )
    )


def _finding(study: Study, supply: Supply, battery: str, opening: Opening, loads: list[str]) -> Finding:
    part = study.harness.parts[opening.part]
    pole = study.protection.feed_pole(supply)
    opens = {"fuse": "blows", "switch": f"is in {opening.where}", "relay": "drops out"}[opening.what]
    shown = ", ".join(loads[:3]) + (f" and {len(loads) - 3} more" if len(loads) > 3 else "")
    return Finding(
        rule=RULE.name,
        level=RULE.level,
        message=f"{supply.name} charges {battery} only through {opening.part}: if {opening.part} {opens} with the "
        f"engine running, {supply.name} alone feeds {shown}, and its voltage runs away",
        span=part.span,
        about=tuple(dict.fromkeys((opening.part, supply.name))),
        source=RULE.source,
        remedy=f"connect {pole} to the battery's side of {opening.part}, through a fuse of its own near {battery}",
    )


RULE = Rule(
    name="battery-can-part",
    level=Level.WARNING,
    family="behaviour",
    catches="an alternator that feeds the loads and charges only through a fuse, switch or relay that can open",
    why="""The battery holds the voltage of the whole system. When the one fuse between it and the alternator blows with
    the engine running, or a switch parts the two, the alternator goes on alone, and its voltage jumps far above what
    lamps and boxes are made for: all bulbs go at once, and with them the ignition box. A dynamo's
    regulator and a shunt regulator limit the voltage by themselves, and are not meant here. A charging fuse that
    carries nothing else leaves the loads on the battery.""",
    source="common practice, no source: an alternator never runs without its battery",
    formula="""found where one fuse, a position of one switch, or one relay that drops out parts the machine's + from
every battery's, and a consumer other than its field and regulator stays connected to the machine""",
    cautions="Never take a lead off the battery with the engine running.",
    find=find,
)
