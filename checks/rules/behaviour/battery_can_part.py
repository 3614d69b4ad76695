"""An alternator that goes on feeding the loads when its battery is cut off."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Rectifier, Source
from ....lang.quantities.quantity import Quantity
from ...findings.finding import Finding, Level
from ...fixes.charging import charging_fuse, old_lead
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


NAMED: Final = 3
"""This many loads are named, the rest counted."""


def _limits_itself(part: object) -> bool:
    """Whether its voltage stays bounded without a battery: a shunt regulator's does, and a dynamo's is regulated."""
    return (isinstance(part, Source) and part.what == "dynamo") or (isinstance(part, Rectifier) and part.shunt)


def _loads(study: Study, left: Collection[str], kept: Collection[str]) -> list[str]:
    """The loads that the alternator then feeds by itself; not its own field, nor what lies between it and the battery's
    feed, as a charge lamp at its trio does. ``left``: the nodes connected to it, ``kept``: those to a battery. What
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
    rating = charging_fuse(study, supply)
    return RULE.found(
        opening.what,
        part.span,
        facts={
            "supply": supply.name,
            "pole": study.protection.feed_pole(supply),
            "old": old_lead(study, study.protection.feed_pole(supply)),
            "battery": battery,
            "device": opening.part,
            "position": opening.where,
            "rating": Quantity(rating, "A") if rating is not None else "",
            "loads": tuple(loads[:NAMED]),
            "more": len(loads) - NAMED if len(loads) > NAMED else "",
        },
        fix="part",
        about=(opening.part, supply.name),
    )


_ONLY_THROUGH: Final = "{supply} charges {battery} only through {device}: if {device} "
_ALONE: Final = (
    " with the engine running, {supply} feeds {loads}[, and {more} more,] without {battery}, and its voltage peaks "
    "(load dump)"
)

RULE = Rule(
    name="battery-can-part",
    level=Level.WARNING,
    family="behaviour",
    catches="an alternator that feeds loads and charges the battery only through a fuse, switch or relay that can open",
    why="""The battery limits the voltage of the whole system. If the one fuse between it and the alternator blows with
    the engine running, or a switch or relay opens there, the alternator feeds the loads alone. In the first moment its
    voltage peaks at up to about 100 V (a load dump), and after that it is rough: bulbs, LEDs and the ignition box are
    at risk. The
    regulator of a dynamo and a shunt regulator limit the voltage by themselves and are left out. A charging fuse that
    carries nothing else leaves the loads on the battery, and is no fault.""",
    source="common practice, no source: an alternator never runs without its battery; the peak: ISO 16750-2, load "
    "dump on 12 V, 79 V to 101 V for 40 ms to 400 ms (from memory, medium confidence)",
    formula="""found where one fuse, one position of a switch, or one relay that drops out disconnects the feed of an
alternator from every battery, and a consumer other than its field and regulator stays connected to the alternator""",
    cautions="Never disconnect the battery with the engine running.",
    says={
        "fuse": f"{_ONLY_THROUGH}blows{_ALONE}",
        "switch": f"{_ONLY_THROUGH}is in position {{position}}{_ALONE}",
        "relay": f"{_ONLY_THROUGH}drops out{_ALONE}",
    },
    fixes={
        "part": "[take {old} off {pole}, remove it or insulate the end, which stays live, and ]connect {pole} to "
        "{battery} by a wire rated for its full output, through a fuse[ of {rating}] near {battery} that carries "
        "nothing else"
    },
    find=find,
)
