"""A wire shorter than its route."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from ....lang.editing.proposals import Proposal, SetQuantity
from ....lang.model.wires import Wire
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import exceeds
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    harness = study.harness
    lengths = {frozenset((route.a, route.b)): route.length for route in harness.routes}
    for wire in harness.wires.values():
        needed, written = _route(wire, lengths), wire.length
        if needed is not None and written is not None and exceeds(needed, written):
            stops = list(dict.fromkeys(stop for segment in wire.segments for stop in segment.route))
            yield RULE.found(
                "short",
                wire.span,
                facts={"wire": wire.name, "length": Quantity(written, "m"), "route": Quantity(needed, "m")},
                about=(wire.name,),
                path=tuple(stops),
                figures=(Figure("written length", written, "m"), Figure("route", needed, "m")),
                proposals=(
                    Proposal(
                        f"correct the length of wire {wire.name}, or leave it out: it is then computed along the "
                        "routes, with slack",
                        (SetQuantity(wire.name, "length", ""),),
                    ),
                ),
            )


def _route(wire: Wire, lengths: Mapping[frozenset[str], float]) -> float | None:
    """The length in m of the routes that a wire runs along; 0 inside one place; ``None`` where a piece has none."""
    if not all(segment.route for segment in wire.segments):
        return None
    return sum(lengths[frozenset(pair)] for segment in wire.segments for pair in pairwise(segment.route))


RULE = Rule(
    name="short-wire",
    level=Level.WARNING,
    family="workmanship",
    catches="a wire whose written length is below the route between its ends",
    why="""A wire that is cut too short is under tension round the steering head, pulls out of its crimps, or is
    lengthened with an unplanned joint. The voltage drop is worked out from this length as well.""",
    source="the routes of the harness itself; slack is not required by this rule",
    says={"short": "wire {wire} is {length} long, and its route is {route}"},
    formula="found where the written length < the sum of the routes between the wire's ends",
    cautions="Turn the bars from lock to lock and watch the loom before you ride: a trapped wire can lock them.",
    find=find,
)
