"""Parts and wires that a fix adds: a fuse, a splice, a diode, a condenser, with their leads, as lines of the text.

A new lead is as thick as what it joins, and short. Nothing is proposed where a size, a place or a rating that decides
is not known: the rule then says what to measure or to find out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from ...lang.circuit.ids import End
from ...lang.diagnostics.messages import plainly_listed
from ...lang.editing.proposals import AddLine, Change, MoveEnd, Proposal
from ...lang.model.parts import Connector, Ground, Splice
from ...lang.quantities.quantity import shown
from ...lang.vocabulary.colours import Colour
from ..protection.isolation import joined_to
from ..tables.contacts import conductors_a_crimp, contacts_for
from ..tables.fuses import largest_rating_within
from .new_leads import size_at
from .thicker import carries_its_loads, large_enough

if TYPE_CHECKING:
    from ...lang.model.wires import Segment, Wire
    from ...lang.quantities.size import Size
    from ..study import Study

LEAD: Final = 0.1
"""m of a new lead to a part beside what it joins (ours)."""
_NEAR: Final = 0.15
"""m of a new lead from a battery's pole to a fuse: within what the law allows (ours)."""
_SPLICE, _DIODE, _CONDENSER = "SP", "D", "COND"


# --- names, places and lines -----------------------------------------------------------------------------------------
def unused(study: Study, name: str) -> str:
    """A name that no part and no wire has, as near to ``name`` as can be."""
    taken = {*study.harness.parts, *study.harness.wires}
    numbers = (f"{name}-{number}" for number in range(2, len(taken) + 3))
    return name if name not in taken else next(each for each in numbers if each not in taken)


def at_place(study: Study, part: str, *, can_seal: bool) -> str:
    """The words that put a new part where another one is, sealed where water comes; empty where no place is known."""
    found = study.harness.parts.get(part)
    place = found.place if found is not None else None
    if place is None:
        return ""
    return f" sealed at {place}" if can_seal and study.harness.places[place].wet else f" at {place}"


def lead(name: str, a: str, b: str, colour: Colour | None, size: Size, metres: float = LEAD) -> AddLine:
    """The line of a new wire."""
    return AddLine(f"wire {name} {a} to {b} {colour or 'black'} {size.text} {shown(metres)} m")


def lead_along(study: Study, name: str, a: End, part: str, b: End, colour: Colour | None, size: Size) -> AddLine:
    """The line of a new wire from a new part beside ``part`` to ``b``: short where both are at one place, else without
    a length, which the routes give or `not-judged` asks for.
    """
    parts = study.harness.parts
    if parts[part].place == parts[b.part].place:
        return lead(name, a, b, colour, size)
    return AddLine(f"wire {name} {a} to {b} {colour or 'black'} {size.text}")


def colour_at(study: Study, node: End) -> Colour | None:
    """The colour that most wires at a terminal have."""
    colours = [segment.colour for segment in study.circuit.pieces_at(node) if segment.colour]
    return max(dict.fromkeys(colours), key=colours.count, default=None)


def free(study: Study, node: End) -> End | None:
    """A terminal that is the same as ``node`` by copper and takes one wire more: itself, else a splice or a ground;
    ``None`` where there is neither.
    """
    parts = study.harness.parts
    own = parts.get(node.part)
    full = 1 if isinstance(own, Connector) and own.sealed else conductors_a_crimp()
    if node in parts or len(study.circuit.pieces_at(node)) < full:
        return node
    beside = (each for each in study.copper.bare.beside(node) if isinstance(parts.get(each), Splice | Ground))
    return next(beside, None)


# --- colours ---------------------------------------------------------------------------------------------------------
def clashes(study: Study, name: str, colour: Colour, *, besides: Sequence[str] = ()) -> bool:
    """Whether a wire in another colour would be mistaken for a neighbour at one of its ends, or change its colour in a
    splice there; ``besides`` are parts that do not count.
    """
    wire = study.harness.wires[name]
    return any(end.part not in besides and _clash_at(study, wire, end.node, colour) for end in _ends(wire))


def _ends(wire: Wire) -> Iterator[End]:
    for segment in wire.segments:
        yield segment.a
        yield segment.b


def _clash_at(study: Study, wire: Wire, node: End, colour: Colour) -> bool:
    name = node.part
    part = study.harness.parts.get(name)
    if part is None or isinstance(part, Ground):
        return False
    if isinstance(part, Splice):
        return any(p.colour not in (colour, None) for p in study.circuit.pieces_at(node) if p.wire != wire.name)
    beside = [End(name, terminal) for terminal in part.terminals]
    if isinstance(part, Connector):
        beside = [End(name, f"{way}{node.half}") for way in part.numbers]
    elif len(beside) < 3:
        return False  # nothing but one thing lies between two terminals
    return any(
        segment.colour == colour and segment.wire != wire.name
        for other in beside
        if other != node
        for segment in study.circuit.pieces_at(other)
    )


# --- a fuse ----------------------------------------------------------------------------------------------------------
def fused(study: Study, name: str, amps: float, within: float) -> Iterator[Proposal]:
    """A fuse beside the battery in a feed that nothing protects: the largest blade within ``amps`` A, where it carries
    what flows. ``within``: this many m from the pole a conductor may be without.

    Nothing where the wire starts elsewhere and its length is written, or where a machine feeds it from its other end:
    then one fuse is not enough.
    """
    wire = study.harness.wires.get(name)
    bare = [
        fault
        for piece in (wire.segments if wire else ())
        if (fault := study.conductors.of(piece).protected_by) is not None and not fault.protected
    ]
    rating = largest_rating_within("blade", amps)
    if wire is None or wire.size is None or not bare or not rating:
        return
    pole, near = min(
        (study.protection.distances.origin(each) for each in bare), key=lambda each: each[1] not in _nodes(wire)
    )
    if near not in _nodes(wire) or (wire.length is not None and not _beside(study, pole.part, near)):
        return
    keys = [each.conductor.key for each in bare]
    if not all(carries_its_loads(study, key, rating) for key in keys) or _charges(study, wire, near, keys):
        return
    fuse, feed = unused(study, f"F-{name}"), unused(study, f"{name}-feed")
    where = f"within {shown(within)} m of {pole.part}, measured along the wire"
    yield Proposal(
        f"fit a fuse of {shown(rating)} A in wire {name} {where}",
        (
            AddLine(f"fuse {fuse} {shown(rating)} A blade{at_place(study, pole.part, can_seal=True)}"),
            MoveEnd(name, near, f"{fuse}.2"),
            lead(feed, pole, f"{fuse}.1", wire.colour, wire.size, min(_NEAR, within)),
        ),
    )


def _nodes(wire: Wire) -> tuple[End, End]:
    return wire.a.node, wire.b.node


def _beside(study: Study, part: str, node: End) -> bool:
    """Whether a terminal is at the place of a part."""
    parts = study.harness.parts
    return parts[part].place == parts[node.part].place


def _charges(study: Study, wire: Wire, near: str, keys: Sequence[str]) -> bool:
    """Whether an alternator or a dynamo is connected to the end of a wire that is not the one near the battery."""
    far = wire.b.node if wire.a.node == near else wire.a.node
    beyond = joined_to(study.circuit, [far], without=keys, both_ways=True)
    machines = [supply for supply in study.circuit.supplies if supply.kind == "machine"]
    return any(plus in beyond for supply in machines for plus in supply.plus)


# --- a splice --------------------------------------------------------------------------------------------------------
def spliced(study: Study, node: End) -> Proposal | None:
    """All wires that end at a terminal joined at a new splice, and one wire, enough for all, brought to the terminal.

    ``None`` where a wire only runs through, a size is not known, or the terminal takes no wire that is enough.
    """
    segments = study.circuit.pieces_at(node)
    wires = [study.harness.wires.get(segment.wire) for segment in segments]
    if not all(wire is not None and (wire.a.node == node) != (wire.b.node == node) for wire in wires):
        return None
    part = node.part
    size = _for_all(study, node, segments)
    place = at_place(study, part, can_seal=True)
    if size is None or not _taken(study, part, size) or not place:
        return None
    splice = unused(study, f"{_SPLICE}-{part}")
    names = [segment.wire for segment in segments]
    colour = colour_at(study, node)
    changes: list[Change] = [AddLine(f"splice {splice}{place}")]
    changes += [MoveEnd(name, node, splice) for name in names]
    changes.append(lead(unused(study, f"{names[0]}-lead"), splice, node, colour, size))
    sealed = ", sealed with adhesive-lined heat-shrink," if " sealed" in place else ","
    says = f"join wires {plainly_listed(names)} in a splice, {splice}{sealed} and run one wire of {size.text} to {node}"
    return Proposal(says, tuple(changes))


def _for_all(study: Study, node: str, segments: Sequence[Segment]) -> Size | None:
    """The size that carries what some wires carry together, and what protects them; no less than the thickest."""
    thickest = size_at(study, (node,))
    if thickest is None or any(segment.size is None for segment in segments):
        return None
    loadings = [study.conductors.of(segment) for segment in segments]
    amps = sum(loading.short_time.amps for loading in loadings)
    faults = (loading.protected_by for loading in loadings)
    amps = max(amps, *(e.amps for e in faults if e is not None and e.protected and e.known), 0.0)
    enough = large_enough(study, next(segment for segment in segments if segment.size is thickest), amps)
    if enough is None:
        return None
    return max((thickest, enough), key=lambda size: size.area)


def _taken(study: Study, part: str, size: Size) -> bool:
    """Whether the contacts of a connector take a wire; what is no connector is not asked."""
    found = study.harness.parts.get(part)
    fitting = contacts_for(found.amps) if isinstance(found, Connector) and found.amps else ()
    return not fitting or any(contact.takes(size.area) for contact in fitting)


# --- parts across two terminals --------------------------------------------------------------------------------------
def diode_across(study: Study, part: str, plus: End, minus: End, says: str) -> Proposal | None:
    """A diode of 1 A between two terminals of a part that block while ``plus`` is the feed's side."""
    name = unused(study, f"{_DIODE}-{part}")
    line = f"diode {name} 1 A{at_place(study, part, can_seal=False)}"
    leads = _leads(study, name, (("K", plus), ("A", minus)))
    return Proposal(says, (AddLine(line), *leads)) if leads else None


def condenser_across(study: Study, part: str, plus: End, minus: End, says: str) -> Proposal | None:
    """A condenser of 0.22 uF, 400 V between two contacts of points."""
    name = unused(study, f"{_CONDENSER}-{part}")
    line = f"capacitor {name} 0.22 uF 400 V{at_place(study, part, can_seal=False)} for ignition"
    leads = _leads(study, name, (("+", plus), ("-", minus)))
    return Proposal(says, (AddLine(line), *leads)) if leads else None


def _leads(study: Study, name: str, ends: Sequence[tuple[str, End]]) -> tuple[AddLine, ...]:
    """A short lead from each terminal of a new part; none where one finds no room or no size to go by. At a terminal
    that is mounted, the size is that of the wires at the other.
    """
    found: list[AddLine] = []
    for terminal, node in ends:
        at = free(study, node)
        size = size_at(study, (node,)) or size_at(study, [each for _, each in ends])
        if at is None or size is None:
            return ()
        wire = unused(study, f"{name.lower()}-{'+-'.find(terminal) + 1 or terminal.lower()}")
        colour = colour_at(study, at) or colour_at(study, node)
        found.append(lead(wire, End(name, terminal), at, colour, size))
    return tuple(found)
