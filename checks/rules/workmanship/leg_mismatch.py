"""A written length that does not agree with the legs of its ends."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from ....lang.editing.proposals import Proposal, SetQuantity
from ....lang.quantities.quantity import Quantity, shown
from ....lang.quantities.ranking import exceeds
from ....lang.resolve.routes import SLACK
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.bench import bench_figure

if TYPE_CHECKING:
    from ....lang.model.harness import Harness
    from ....lang.model.wires import Wire


def find(study: Study) -> Iterator[Finding]:
    harness = study.harness
    if all(part.leg is None for part in harness.parts.values()):
        return  # nothing to disagree with
    allowed = bench_figure("leg_mismatch").value
    laid = _laid(harness)
    for wire in harness.wires.values():
        if wire.length is None or not all(segment.route for segment in wire.segments):
            continue
        ends = [end.part for segment in wire.segments for end in (segment.a, segment.b)]
        legs = {name: leg for name in ends if (leg := harness.parts[name].leg) is not None}
        if not legs:
            continue
        whole = all(name in legs for name in ends)  # a splice has none: where it lies is for whoever makes the loom
        along = sum(laid[frozenset(pair)] for segment in wire.segments for pair in pairwise(segment.route))
        computed = along + sum(legs.get(name, 0.0) for name in ends)
        if any(bundle.how == "twisted" for bundle in harness.bundles_of(wire.name)):
            computed *= 1.0 + bench_figure("twisting").value
        off = wire.length - computed
        housed = sum(harness.fitting.housed(segment.a, segment.b) for segment in wire.segments)
        spare = housed * bench_figure("service_loop").value
        too_long = whole and not wire.site_cut and exceeds(off, allowed + spare)
        if exceeds(-off, allowed) or too_long:
            yield _found(wire, computed, tuple(legs), whole=whole)


def _laid(harness: Harness) -> dict[frozenset[str], float]:
    """The length in m of a wire along each route, slack counted in."""
    slack = SLACK if harness.fitting.slack is None else harness.fitting.slack
    return {
        frozenset((route.a, route.b)): route.length * (1.0 + (slack if route.slack is None else route.slack))
        for route in harness.routes
    }


def _found(wire: Wire, computed: float, parts: tuple[str, ...], *, whole: bool) -> Finding:
    written = wire.length or 0.0
    to = f"{shown(computed)} m"
    proposal = Proposal(f"write {to} for wire {wire.name}", (SetQuantity(wire.name, "length", to),))
    return RULE.found(
        "whole" if whole else "short",
        wire.span,
        facts={
            "wire": wire.name,
            "written": Quantity(written, "m"),
            "computed": Quantity(computed, "m"),
            "parts": parts,
        },
        about=(wire.name, *parts),
        figures=(Figure("written length", written, "m"), Figure("legs and route", computed, "m")),
        proposals=(proposal,) if whole else (),
    )


RULE = Rule(
    name="leg-mismatch",
    level=Level.WARNING,
    family="workmanship",
    catches="a wire whose written length is more than 30 mm off what its legs and its route make",
    why="""The cut list goes by the written length. Where the legs of its ends say otherwise, one of the two is wrong:
    the wire sticks out of the loom in a bow, or it ends short of its terminal and the whole branch is pulled to it.""",
    source="the legs and routes of the harness itself",
    formula="""found where |written length - (legs + routes + slack)| > 30 mm, with the legs of all its ends stated
   or where written length < stated legs + routes + slack - 30 mm, not all of them stated
   a twisted wire takes 8 % more; 50 mm more are a loop at each part that plugs in by itself; a wire
   that is cut to length on the motorcycle may be longer by any length""",
    cautions="Turn the bars from lock to lock and watch the loom before you ride: a trapped wire can lock them.",
    says={
        "whole": "wire {wire} is written {written} long, its legs and its route make {computed}",
        "short": "wire {wire} is written {written} long, the legs of {parts} and its route alone make {computed}",
    },
    fixes={
        "whole": "or correct the legs of {parts}",
        "short": "measure wire {wire} and correct its length, or correct the legs of {parts}",
    },
    find=find,
)
