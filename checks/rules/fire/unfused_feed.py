"""A feed without a fuse, farther from the battery than is allowed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from ....lang.quantities.quantity import Quantity
from ...findings.finding import Figure, Finding, Level
from ...fixes.new_parts import fused
from ...protection.sustained_fault import SustainedFault
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    protection = study.protection
    allowed = protection.profile.bare_distance
    farthest: dict[str, SustainedFault] = {}
    for sustained_fault in protection.sustained_faults.values():
        if sustained_fault.protected or sustained_fault.conductor.key in protection.cranking_path.feed:
            continue
        if protection.distances.of(sustained_fault) > allowed:
            wire = sustained_fault.conductor.owner
            if wire not in farthest or protection.distances.of(sustained_fault) > protection.distances.of(
                farthest[wire]
            ):
                farthest[wire] = sustained_fault
    starting = {protection.circuit.by_key[key].owner for key in protection.cranking_path.feed}
    # One fuse answers for all behind the first wire that needs it: what fits the thinnest of them.
    rated: dict[str, float] = {}
    for sustained_fault in farthest.values():
        first = _first(protection.distances.way(sustained_fault), starting)
        rated[first] = min(rated.get(first, math.inf), _carries(study, sustained_fault))
    for sustained_fault in farthest.values():
        wire = sustained_fault.conductor.owner
        first = _first(protection.distances.way(sustained_fault), starting)
        fixes = tuple(fused(study, first, rated[first], allowed))
        distance = protection.distances.of(sustained_fault)
        way = protection.distances.way(sustained_fault)
        yield RULE.found(
            "known" if protection.distances.lengths_known(sustained_fault) else "at-least",
            sustained_fault.conductor.span,
            facts={
                "wire": wire,
                "pole": way[0],
                "distance": Quantity(distance, "m"),
                "allowed": Quantity(allowed, "m"),
                "first": first,
            },
            about=(wire,),
            path=way,
            figures=(Figure("distance along the wire", distance, "m"), Figure("allowed", allowed, "m")),
            source=f"{protection.profile.source('bare_distance')}; profile {protection.profile.title}",
            fix="fused" if fixes else "wire" if first in study.harness.wires else "part",
            proposals=fixes,
            group=first,
            rank=distance,
        )


def _first(way: tuple[str, ...], starting: set[str]) -> str:
    """The first wire or part on the way from the pole that is not the starter's too."""
    return next((name for name in way[1:] if name not in starting), way[-1])


def _carries(study: Study, sustained_fault: SustainedFault) -> float:
    """The ampacity in A of a conductor; 0 where it is not known."""
    segment = sustained_fault.conductor.segment
    carries = study.conductors.of(segment).judged_by if segment is not None else None
    amps = carries.amps if carries is not None else None
    return amps or 0.0


FUSE_IT: Final = "feeds, and fit a fuse or breaker for it within {allowed} of {pole}, measured along the wire"


RULE = Rule(
    name="unfused-feed",
    level=Level.ERROR,
    family="fire",
    catches="a feed that no fuse protects and that ends more than 0.178 m from the battery along the wire",
    why="""A chafed feed without a fuse carries the full short-circuit current of the battery, hundreds of amperes,
    until the wire itself burns through; its insulation, its neighbours and the tank burn first. A charging lead counts
    too: the alternator or dynamo limits its own current, but the battery feeds the lead backwards. Only the path from
    the battery to the starter motor is exempt, because no usual fuse carries its current; any other wire on the same
    stud is not.""",
    source="33 CFR 183.455: ungrounded conductors are protected at their source of power; where that is not "
    "practical, within 7 in (0.178 m) along the conductor, 40 in (1.016 m) where sheathed all the way. Boat law is "
    "the closest law with distances; no such law for motorcycles was found",
    formula="""the conductor itself is taken out
exposure = greatest current from all feed poles to either of its ends: a battery has no limit, an alternator or dynamo
           its own, a fuse or tripping output its rating, contacts are closed in any position, loads do not conduct
found    where the exposure is infinite and
           shortest way from the pole to its nearer end + its own length > 0.178 m""",
    cautions="Take the battery's grounded lead off first, before any work on a feed without a fuse, and put it on "
    "last.",
    says={
        "known": "wire {wire} has no fuse between it and {pole}, and ends {distance} from it, at most {allowed} is "
        "allowed",
        "at-least": "wire {wire} has no fuse between it and {pole}, and ends at least {distance} from it, at most "
        "{allowed} "
        "is allowed",
    },
    fixes={
        "fused": "",
        "wire": f"find out what wire {{first}} {FUSE_IT}; a sleeve does not replace it",
        "part": f"find out what {{first}} {FUSE_IT}; a sleeve does not replace it",
    },
    find=find,
)
