"""A length that does not reach."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ...lang.model import Harness, Piece
from ...lang.proposals import Proposal, SetQuantity
from ...lang.quantities import shown
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule

_ROUNDING = 1e-9


def find(examination: Examination) -> Iterator[Finding]:
    harness = examination.harness
    for wire in harness.wires.values():
        if not any(piece.written for piece in wire.pieces):
            continue
        runs = [_run(harness, piece) for piece in wire.pieces]
        written = wire.length if wire.length is not None else sum(piece.length or 0.0 for piece in wire.pieces)
        if None in runs:
            continue
        needed = sum(run for run in runs if run is not None)
        if written < needed - _ROUNDING:
            stops = list(dict.fromkeys(stop for piece in wire.pieces for stop in piece.route))
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"wire {wire.name} is {shown(written)} m long and its route is {shown(needed)} m",
                span=wire.span,
                about=(wire.name,),
                path=tuple(stops),
                figures=(Figure("written length", written, "m"), Figure("route", needed, "m")),
                source=RULE.source,
                remedy=f"measure wire {wire.name} again, or leave its length out: it is then computed along the "
                "routes, with slack",
                proposals=(
                    Proposal(
                        f"leave the length of wire {wire.name} out: it is computed along the routes, with slack",
                        (SetQuantity(wire.name, "length", ""),),
                    ),
                ),
            )


def _run(harness: Harness, piece: Piece) -> float | None:
    """The length in m of the routes that a piece runs along; 0 inside one place; ``None`` where none is known."""
    stops = piece.route
    if len(stops) < 2:
        start, end = piece.studs
        return 0.0 if start is not None and start == end else None
    total = 0.0
    for a, b in pairwise(stops):
        lengths = [route.length for route in harness.routes if {route.a, route.b} == {a, b}]
        if not lengths:
            return None
        total += min(lengths)
    return total


RULE = Rule(
    name="short-wire",
    level=Level.WARNING,
    family="build",
    catches="a wire whose written length is below the route between its ends",
    why="""A wire that is cut too short is pulled tight round the steering head, tears at its crimps, or is made
    longer with a joint that nobody planned. The figure is also what voltage drop is worked out from.""",
    source="ours: the routes of the harness itself; slack is not asked for here",
    formula="found where the written length < the sum of the routes between the wire's ends",
    cautions="Turn the bars from lock to lock and watch the loom before you ride: a trapped wire can lock them.",
    find=find,
)
