"""Where the end of a load belongs that has no ground return: a charge lamp's to the field of its alternator or dynamo,
a warning lamp's to its switch, and what leads to a body of ground that is cut off is in order but for that.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import End
from ...lang.model.parts import Connector, Diode, Element, Splice, Switch
from ..dc.devices import rated
from ..protection.isolation import joined_to, way_back

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ..study import Study


# --- bodies that are cut off -----------------------------------------------------------------------------------------
def grounded_poles(study: Study) -> tuple[End, ...]:
    """The pole of each battery that the system grounds; without one, that of the first source."""
    circuit = study.circuit
    forward = circuit.return_sign == "-"
    poles = tuple(s.minus if forward else s.plus[0] for s in circuit.supplies if s.kind == "battery")
    return poles or ((circuit.ground,) if circuit.ground else ())


def cut_off_body(study: Study, end: End) -> str:
    """The body of ground that an end leads to, where nothing connects that body to the battery; empty without one.

    Past no consumer but a field winding, which is in the path of a charge lamp, and past no diode that is against it.
    """
    poles = grounded_poles(study)
    joined = study.copper.switched
    cut = [body for body in study.copper.bodies if not any(joined.same(body, pole) for pole in poles)]
    if not poles or not cut:
        return ""
    past_lamp = _reached(study, [end])
    for start in (end, *(far for near, far in _fields(study) if near in past_lamp)):
        reached = _reached(study, [start])
        for body in cut:
            if body in reached and not against(study, start, reversed(tuple(way_back(reached, body)))):
                return body
    return ""


def _reached(study: Study, ends: Iterable[End]) -> dict[str, Branch | None]:
    """What some ends lead to, past no ground that is connected and nothing that a battery feeds: a second + of an
    alternator (D+) is no such feed.
    """
    joined, protection = study.copper.switched, study.protection
    fed = {joined.of(protection.feed_pole(source)) for source in protection.sources if source.kind == "battery"}
    past = {node for node in protection.feeds if joined.of(node) in fed}
    return joined_to(study.circuit, ends, past=past | protection.returns)


def _fields(study: Study) -> Iterator[tuple[End, End]]:
    """The ends of each field winding, either way round."""
    for branch in study.circuit.branches:
        if branch.branch_type is BranchType.FIELD:
            yield branch.a, branch.b
            yield branch.b, branch.a


def against(study: Study, end: End, way: Iterable[Branch]) -> tuple[str, ...]:
    """The parts on a way from an end to ground that block the current there: diodes that point the other way."""
    found, node = [], end
    for each in way:
        leaves = each.a == node
        node = each.other_end(node)
        # Where + is the ground the current comes out of it, against the way that is gone here.
        if each.branch_type.joined is Direction.FORWARD and leaves != (study.circuit.return_sign == "-"):
            found.append(each.owner)
    return tuple(dict.fromkeys(found))


# --- tell-tales ------------------------------------------------------------------------------------------------------
def tells(branch: Branch) -> bool:
    return isinstance(branch.item, Element) and "tell-tale" in branch.item.roles


def may_be_charge_lamp(study: Study, branch: Branch, end: End) -> bool:
    """Whether a tell-tale may be the charge lamp: its end leads to a field, or nothing says what else it is.

    It is another one where its end is shared with another load, which would then be fed through it, or where some
    other tell-tale leads to the field.
    """
    if not tells(branch) or not any(_fields(study)):
        return False
    fields = _field_groups(study)
    if _leads_to(study, end, fields):
        return True
    return not _shared(study, branch, end) and not any(
        other is not branch and tells(other) and _leads_to_one(study, other, fields)
        for other in study.behaviour.consumers
    )


def _field_groups(study: Study) -> frozenset[End]:
    """The groups of terminals, joined by copper and contacts, at which a field winding gets its feed."""
    joined = study.copper.switched
    poles = {joined.of(pole) for supply in study.circuit.supplies for pole in (supply.plus[0], supply.minus)}
    bodies = {joined.of(body) for body in study.copper.bodies}
    return frozenset(joined.of(near) for near, _ in _fields(study)) - bodies - poles


def _leads_to(study: Study, end: End, groups: frozenset[End]) -> bool:
    joined = study.copper.switched
    reached = _reached(study, [end]).keys()
    return any(not reached.isdisjoint(joined.members.get(group, (group,))) for group in groups)


def _leads_to_one(study: Study, branch: Branch, groups: frozenset[End]) -> bool:
    return any(_leads_to(study, end, groups) for end in (branch.a, branch.b))


def _shared(study: Study, branch: Branch, end: End) -> bool:
    """Whether the end of a load is joined to that of another one: no resistor beside it, which has both its ends."""
    joined = study.copper.bare
    own = {joined.of(branch.a), joined.of(branch.b)}
    return any(
        not other.branch_type.in_series and own != {joined.of(other.a), joined.of(other.b)}
        for other in study.behaviour.consumers
        if other is not branch and (joined.same(other.a, end) or joined.same(other.b, end))
    )


def idle_sensors(study: Study, branch: Branch, end: End) -> tuple[End, ...]:
    """The terminals of switches that sense something and are connected to nothing, where a tell-tale with an end of its
    own may belong to one of them.
    """
    if not tells(branch) or _shared(study, branch, end):
        return ()
    parts, found = study.harness.parts, []
    capped = {each.end.node for each in study.harness.capped}
    for part in parts.values():
        if isinstance(part, Switch) and part.senses:
            nodes = [End(part.name, terminal) for terminal in part.terminals]
            found += [node for node in nodes if node not in capped and _leads_nowhere(study, node)]
    return tuple(found)


def _leads_nowhere(study: Study, node: End) -> bool:
    """Whether nothing but plugs and splices is joined to a terminal."""
    parts = study.harness.parts
    others = (each for each in study.copper.bare.beside(node) if each != node)
    return all(isinstance(parts.get(each.part), Connector | Splice) for each in others)


# --- diodes ----------------------------------------------------------------------------------------------------------
def too_weak(study: Study, load: Branch, diodes: Iterable[str]) -> bool:
    """Whether some diodes are not rated for what a load draws, so that none of them was ever meant to be its return."""
    amps = rated(load, study.circuit).amps or 0.0
    parts = (study.harness.parts.get(name) for name in diodes)
    return any(isinstance(part, Diode) and part.amps is not None and part.amps < amps for part in parts)
