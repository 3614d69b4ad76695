"""Ground leads and straps that a fix adds: where to, how thick, and the line that says so.

A new lead is as thick as one that is there and carries the same. Its length is left out: along the routes it is
computed, and elsewhere `not-judged` asks for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.editing.proposals import AddLine, Proposal
from ...lang.model.parts import Source
from ...lang.resolve.routes import Ways
from ..protection.isolation import joined_to

if TYPE_CHECKING:
    from ...lang.quantities.size import Size
    from ..study import Study


def home(study: Study, near: End | None = None) -> str:
    """The body of ground that copper connects to a battery's grounded pole, or without one the pole itself;
    empty where there is neither.

    Of several the one for a wire from ``near``: at the place of that part, never the engine where another is, then the
    one that the parts beside it use, then the nearest along the routes.
    """
    copper, forward = study.copper, study.circuit.return_sign == "-"
    poles = [s.minus if forward else s.plus[0] for s in study.circuit.supplies if s.kind == "battery"]
    bodies = [body for body in copper.bodies if any(copper.fused.same(body, pole) for pole in poles)]
    if len(bodies) > 1 and near is not None:
        bodies.sort(key=lambda body: _remoteness(study, body, near))
    return next(iter(bodies), next(iter(poles), ""))


def _remoteness(study: Study, body: End, near: End) -> tuple[bool, bool, int, float]:
    """How little a body of ground suits a wire from a terminal, by what counts most first."""
    parts = study.harness.parts
    here, there = parts[near.part].places, parts[body.part].places
    ways = Ways(study.harness.routes)
    found = [way.distance for a in here for b in there if (way := ways.between(a, b)) is not None]
    return (
        not set(here) & set(there),
        _is_engine(study, body),
        -_used_at(study, body, here),
        min(found, default=math.inf),
    )


def _is_engine(study: Study, body: End) -> bool:
    """Whether a starter, an alternator or a dynamo is bolted to a body of ground."""
    mounted = (study.harness.parts.get(mount.part) for mount in study.harness.mounts if mount.ground == body)
    return any(
        part is not None and (part.system == "starting" or (isinstance(part, Source) and part.what != "battery"))
        for part in mounted
    )


def _used_at(study: Study, body: End, places: Iterable[str]) -> int:
    """How many parts at some places are grounded at a body, past no other body."""
    others = [each for each in study.copper.bodies if each != body]
    reached = joined_to(study.circuit, [body], shut=others, both_ways=True)
    at = set(places)
    return sum(
        bool(at & set(part.places)) and any(End(part.name, terminal) in reached for terminal in part.terminals)
        for part in study.harness.parts.values()
    )


def ground_size(study: Study) -> Size | None:
    """The size of the thickest wire on a ground: a strap is to be as thick."""
    bodies = set(study.copper.bodies)
    sizes = [p.size for p in study.harness.segments if p.size and {p.a.part, p.b.part} & bodies]
    return max(sizes, key=lambda size: size.area, default=None)


def size_at(study: Study, nodes: Iterable[str]) -> Size | None:
    """The size of the thickest wire at some terminals: what returns the same current is to be as thick."""
    segments = (segment for node in nodes for segment in study.circuit.pieces_at(node))
    return max((p.size for p in segments if p.size), key=lambda size: size.area, default=None)


def ground_leads(study: Study, a: str, b: str, sizes: Iterable[Size | None], says: str) -> Iterator[Proposal]:
    """A wire from ``a`` to ``b`` in each of some sizes, the first that is known first; ``says`` what it is for."""
    colours = [
        wire.colour
        for wire in study.harness.wires.values()
        if {wire.a.part, wire.b.part} & set(study.copper.bodies) and wire.colour
    ]
    colour = max(dict.fromkeys(colours), key=colours.count, default="black")
    name, number = "ground", 1
    while name in study.harness.wires:
        number += 1
        name = f"ground-{number}"
    known = {size.text: size for size in sizes if size is not None}
    for size in known.values():
        yield Proposal(
            f"fit {says} from {a} to {b}, {size.text}", (AddLine(f"wire {name} {a} to {b} {colour} {size.text}"),)
        )
