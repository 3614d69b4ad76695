"""A wire in another colour than the shop uses for its function."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.circuit import Circuit
from ....lang.circuit.ids import End, piece_of
from ....lang.circuit.paths import steps_over
from ....lang.editing.proposals import SetWord, for_wires
from ....lang.model.parts import Element
from ....lang.model.statements import HouseColour
from ....lang.model.wires import Wire
from ....lang.search.walks import reachable
from ....lang.vocabulary.colours import Colour
from ....lang.vocabulary.shop import GROUND_FUNCTION
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study

_NEUTRAL = "tell-tale"
"""A tell-tale is connected to the wires of what it shows: it counts only where no other load is connected."""


def find(study: Study) -> Iterator[Finding]:
    house = study.harness.house.colours
    if not house:
        return
    stated: dict[str, list[HouseColour]] = {}
    for each in house:
        stated.setdefault(each.function, []).append(each)
    for wire in study.harness.wires.values():
        if wire.kept or wire.colour is None:
            continue
        functions = _functions(study, wire, stated)
        allowed = [each for function in functions for each in stated[function]]
        if allowed and not any(_fits(wire.colour, each.colour) for each in allowed):
            colour = allowed[0].colour
            colours = tuple(dict.fromkeys(str(each.colour) for each in allowed))
            yield RULE.found(
                "function",
                wire.span,
                facts={"wire": wire.name, "colour": str(wire.colour), "colours": colours, "functions": functions},
                about=(wire.name,),
                source=_stated(allowed[0]),
                proposals=(for_wires(f"use {colour}", (wire.name,), (_set(wire, colour),)),),
            )
        elif not allowed and (taken := _ground_colour(study, wire, stated)):
            yield RULE.found(
                "ground",
                wire.span,
                facts={"wire": wire.name, "colour": str(wire.colour)},
                about=(wire.name,),
                source=_stated(taken),
            )


def _set(wire: Wire, colour: Colour) -> SetWord:
    return SetWord(wire.name, str(wire.colour), str(colour))


def _fits(colour: Colour, stated: Colour) -> bool:
    """Whether a wire's colour is the one stated; a stripe is free where none is stated."""
    return stated.base == colour.base and stated.stripe in ("", colour.stripe)


def _stated(line: HouseColour) -> str:
    return f"this shop's `house colour` line, {line.span.file}:{line.span.line}"


# --- what a wire does ------------------------------------------------------------------------------------------------
def _functions(study: Study, wire: Wire, stated: dict[str, list[HouseColour]]) -> tuple[str, ...]:
    """The functions of a wire for which the shop has colours; none where the loads on it do not agree."""
    if wire.a.node in study.protection.returns:
        return (GROUND_FUNCTION,) if GROUND_FUNCTION in stated else ()
    feeds = study.protection.feeds
    consumers = _fed_by(study, wire) if wire.a.node in feeds else ()
    roles = [set(b.item.roles) if isinstance(b.item, Element) else set() for b in consumers]
    if not all(found == {_NEUTRAL} for found in roles):
        roles = [found - {_NEUTRAL} for found in roles if found != {_NEUTRAL}]
    if roles and all(found & stated.keys() for found in roles):
        return tuple(sorted(set().union(*roles) & stated.keys()))
    if wire.system is not None:
        return (wire.system,) if wire.system in stated else ()
    systems = {study.harness.parts[branch.part].system for branch in consumers}
    return tuple(system for system in systems if system in stated) if len(systems) == 1 else ()


def _fed_by(study: Study, wire: Wire) -> tuple[Branch, ...]:
    """The consumers that a wire is there for.

    All that are connected to its copper where nothing else is fed from there, whichever contact feeds it; else those
    beyond it, where beyond one of its ends there are only copper and consumers.
    """
    circuit, own = study.circuit, frozenset(piece_of(segment) for segment in wire.segments)
    net = _copper(circuit, wire.a.node, frozenset())
    touching = {branch.key: branch for node in sorted(net) for branch in circuit.at.get(node, ())}
    others = [b for b in touching.values() if not b.branch_type.conductor and not b.branch_type.consumes]
    if others and not any(_leads_on(study, branch, net) for branch in others):
        return tuple(branch for branch in touching.values() if branch.branch_type.consumes)
    for end in (wire.a.node, wire.b.node):
        beyond = _copper(circuit, end, own)
        hanging = {b.key: b for node in sorted(beyond) for b in circuit.at.get(node, ()) if not b.branch_type.conductor}
        both = {wire.a.node, wire.b.node} <= beyond
        if hanging and not both and all(branch.branch_type.consumes for branch in hanging.values()):
            return tuple(hanging.values())
    return ()


def _copper(circuit: Circuit, start: End, without: frozenset[str]) -> frozenset[str]:
    """All that copper alone joins to a node, fuses and contacts left out, and some branches by their keys."""
    copper = steps_over(circuit, lambda branch: branch.branch_type.conductor and branch.key not in without)
    return frozenset(reachable([start], copper))


def _leads_on(study: Study, branch: Branch, net: frozenset[str]) -> bool:
    """Whether a contact, fuse or the like is fed from a net: no feed pole reaches its other side past the net."""
    protection = study.protection
    far = {branch.a, branch.b} - net  # one end at most: the other is on the net

    def step(node: str) -> Iterator[tuple[End, Branch]]:
        for each in study.circuit.at.get(node, ()):
            for near, other in protection.ways(each):
                if near == node and other not in net:
                    yield other, each

    poles = sorted({protection.feed_pole(s) for s in protection.sources} - net)
    met = reachable(poles, step, until=far)
    return bool(far) and far.isdisjoint(met)


def _ground_colour(study: Study, wire: Wire, stated: dict[str, list[HouseColour]]) -> HouseColour | None:
    """The shop's colour for ground, where a wire that is fed has just that one."""
    feeds = study.protection.feeds
    if wire.a.node not in feeds:
        return None
    return next((each for each in stated.get(GROUND_FUNCTION, ()) if each.colour == wire.colour), None)


RULE = Rule(
    name="house-colour",
    level=Level.WARNING,
    family="workmanship",
    catches="a wire in another colour than the shop uses for its function, or a fed wire in the colour for ground",
    why="""A loom is traced by its colours first and by its drawing second. In a shop that uses one colour for each
    function, one wire of another colour costs an evening of tracing, and a fed wire in the colour of the grounds gets
    connected to the frame at the next repair: a short circuit. Only the functions that the shop has stated are
    checked, and no wires that are kept from an old harness.""",
    source="the shop's own `house colour` lines; without such a line nothing is checked",
    formula="""function  ground: joined by copper to the return pole
          else, where a feed pole reaches the wire, the role of the elements that are connected to its copper, if
          nothing else is fed from there, or of those beyond it, if only copper is beyond; all of them must agree
          else the system after the wire's `for`, else that of all these elements
found     where the base colour is none that the shop states for the function; with a stripe stated, the stripe too
    or    where a wire that a feed pole reaches has exactly the colour stated for ground""",
    says={
        "function": "wire {wire} is {colour}; this shop uses {colours} for {functions}",
        "ground": "wire {wire} is fed, and is {colour}, this shop's colour for ground",
    },
    fixes={
        "function": "or fit sleeves of that colour at both ends",
        "ground": "use another colour than {colour} for wire {wire}",
    },
    cautions="A colour proves nothing: measure a wire before you rely on its colour.",
    find=find,
)
