"""Straps between a body of ground that is cut off and the battery: where to, and thick enough for what will go through.

A starter's current returns straight to the battery's pole: a strap to another body would send it on through the lead of
that one, which was never made for it. What such a strap must withstand is what the rules of overloaded returns will ask
of it once it is there; it is no thinner than the lead that feeds the starter (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from ...lang.model.wires import Segment
from ...lang.records import dataclass
from ...lang.resolve.routes import Ways
from ...lang.vocabulary.words import DEFAULT_AMBIENT, DEFAULT_WIRE_CLASS
from ..conductors.standard_sizes import Standard, smallest, standard_of
from ..dc.devices import rated
from ..protection.warming import short_time_limit
from .new_leads import ground_size

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.ids import End
    from ...lang.quantities.size import Size
    from ..study import Study


@dataclass(frozen=True, slots=True)
class Strap:
    """A strap from a body to ``to``: its ``size``, ``None`` where nothing says how thick; ``starters`` are the parts
    whose current it carries.
    """

    to: End
    size: Size | None
    starters: tuple[str, ...]


def strap(study: Study, bodies: Sequence[End], home: End, pole: End) -> Strap:
    """The strap that connects some bodies, joined with each other, to the battery: to its ``pole`` where a starter is
    on them, else to the body ``home``.
    """
    armatures = starters_on(study, bodies)
    to = pole if armatures else home
    like = _feed(study) if armatures else ground_size(study)
    continuous, cranking = _amps(study, bodies, armatures)
    enough = _enough(study, _lead(study, bodies[0], to), standard_of(like), continuous, cranking)
    known = [size for size in (like, enough) if size is not None]
    # A starter of unknown current is judged by its feed: without one of known size nothing says how thick.
    unknown = like is None and any(rated(branch, study.circuit).amps is None for branch in armatures)
    size = None if unknown or enough is None else max(known, key=lambda each: each.area)
    return Strap(to, size, tuple(dict.fromkeys(branch.part for branch in armatures)))


def starters_on(study: Study, bodies: Sequence[End]) -> list[Branch]:
    """The starters whose current returns by some bodies."""
    forward = study.circuit.return_sign == "-"
    armatures = study.protection.cranking_path.armatures
    return [each for each in armatures if _is_on(study, (each.b if forward else each.a,), bodies)]


def _is_on(study: Study, ends: Iterable[End], bodies: Iterable[End]) -> bool:
    """Whether wires, fuses or contacts join one of some ends to one of some bodies."""
    bodies = tuple(bodies)
    return any(study.copper.switched.same(end, body) for end in ends for body in bodies)


def _feed(study: Study) -> Size | None:
    """The thinnest wire that feeds a starter from the battery: the whole current goes through each."""
    feeds = (study.circuit.by_key[key].segment for key in sorted(study.protection.cranking_path.feed))
    sizes = [segment.size for segment in feeds if segment is not None and segment.size is not None]
    return min(sizes, key=lambda size: size.area, default=None)


def _amps(study: Study, bodies: Sequence[End], armatures: Sequence[Branch]) -> tuple[float, float]:
    """The most A that return by some bodies continuously, and with the starters: what is on them all on at once, or
    what a machine gives whose return they are.
    """
    circuit = study.circuit
    loads = sum(
        rated(branch, circuit).amps or 0.0
        for branch in circuit.branches
        if branch.branch_type.consumes and branch not in armatures and _is_on(study, (branch.a, branch.b), bodies)
    )
    gives = sum(
        (supply.output.watts or 0.0) / study.harness.volts
        for supply in circuit.supplies
        if supply.output is not None and _is_on(study, (supply.minus,), bodies)
    )
    continuous = max(loads, gives)
    return continuous, continuous + sum(rated(branch, circuit).amps or 0.0 for branch in armatures)


def _enough(study: Study, lead: Segment, standard: Standard, continuous: float, cranking: float) -> Size | None:
    """The least standard size that carries some A continuously, and some for the time of cranking, on a lead's route;
    ``None`` where none does.
    """
    protection = study.protection
    seconds = protection.profile.cranking_seconds

    def carries(area: float) -> bool:
        found = protection.ampacities.judged(lead, area)
        if found is None or found.amps is None or found.amps < continuous:
            return False
        limit = short_time_limit(protection.ampacities, lead, seconds, before=continuous, area=area)
        return limit >= cranking

    return smallest(standard, carries)


def _lead(study: Study, body: End, to: End) -> Segment:
    """The wire that a strap will be: along the routes from the nearest stud, of the class of all wires."""
    parts = study.harness.parts
    ways = Ways(study.harness.routes)
    between = [ways.between(here, there) for here in parts[body.part].places for there in parts[to.part].places]
    way = min((each for each in between if each is not None), key=lambda each: each.distance, default=None)
    return Segment(
        wire="strap",
        a=body,
        b=to,
        span=parts[body.part].span,
        route=way.places if way is not None else (),
        ambient=way.ambient if way is not None else DEFAULT_AMBIENT,
        flexing=way.flexing if way is not None else False,
        wire_class=next(_classes(study), DEFAULT_WIRE_CLASS),
    )


def _classes(study: Study) -> Iterator[str]:
    """The class of each wire whose own line says none."""
    for wire in study.harness.wires.values():
        if wire.wire_class is None:
            yield from (segment.wire_class for segment in wire.segments)
