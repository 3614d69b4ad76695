"""A load that is fed and has no ground return."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ....lang.circuit.branch import Branch
from ....lang.circuit.ids import End
from ....lang.model.parts import Element
from ....lang.quantities.quantity import Quantity
from ...behaviour import DIRECT, Behaviour
from ...findings.facts import Fact
from ...findings.finding import Finding, Level, Stage
from ...fixes.lost_returns import against, cut_off_body, idle_sensors, may_be_charge_lamp, too_weak
from ...fixes.new_leads import ground_leads, home, size_at
from ...protection.isolation import joined_to, way_back
from ...rule import Rule
from ...study import Study

_Remedy = tuple[str | None, Mapping[str, Fact]]
"""The case of what to do, and the facts that its words name."""


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    for branch in behaviour.consumers:
        if not study.is_asked_at(branch.span):
            continue
        with study.judging(branch.part):
            if branch.branch_type.in_series or not behaviour.wired(branch):
                continue
            live, at_a = behaviour.live(branch.key), behaviour.fed(branch.a)
            fed = behaviour.any_of(at_a, behaviour.fed(branch.b))
            space = behaviour.space(live, fed)
            returned = space.where(behaviour.driven_either_way(branch.a, branch.b)) | space.where(live)
            if returned & space.possible:
                continue
            shown = (space.where(fed) & space.possible).shown()
            if shown is None:
                continue
            through = behaviour.reached_through_loads(branch.key)
            in_row = branch.made_for(study.harness.volts) < study.harness.volts
            if in_row and behaviour.holds_in(through):
                continue  # made to be in a row: whether they share the volts well is for wrong-voltage to tell
            if _lit_between(behaviour, branch):
                continue  # a tell-tale between two circuits, lit through the loads of the other one, is made so
            hot = branch.a if space.where(at_a).holds_at(shown) else branch.b
            end = branch.b if hot == branch.a else branch.a
            cut_off, there = cut_off_body(study, end), _way_there(study, end)
            ground = home(study, end)
            grounds = (
                not there
                and not cut_off
                and not in_row
                and not may_be_charge_lamp(study, branch, end)
                and not idle_sensors(study, branch, end)
                and end not in study.protection.feeds
                and bool(ground)
                and not _feeds_others(study, branch, end)
            )
            size = size_at(study, (hot, *study.copper.bare.beside(end)))
            proposals = tuple(ground_leads(study, end, ground, (size,), "a ground wire")) if grounds else ()
            if cut_off:
                remedy: _Remedy = "cut-off", {"body": cut_off}
            else:
                remedy = (None, {}) if proposals else _remedy(study, branch, end, there, grounds=grounds)
            fix, on_the_way = remedy
            yield RULE.found(
                "through-loads" if behaviour.holds_in(through) else "no-return",
                branch.span,
                facts={"load": branch.key, "end": end, "ground": ground, **on_the_way},
                about=(branch.part,),
                shown=shown,
                path=behaviour.feed(shown, hot),
                fix=fix,
                proposals=proposals,
                subject=f"ground {cut_off}" if cut_off else "",
            )


def _lit_between(behaviour: Behaviour, branch: Branch) -> bool:
    """Whether a tell-tale is on by what comes through other loads in some combination that a rider meets with."""
    if not isinstance(branch.item, Element) or "tell-tale" not in branch.item.roles:
        return False
    space = behaviour.space(behaviour.reached_through_loads(branch.key))
    reached = space.where(behaviour.reached_through_loads(branch.key, DIRECT))
    return behaviour.works_through_loads(reached & space.possible & space.plausible, branch)


def _feeds_others(study: Study, branch: Branch, end: End) -> bool:
    """Whether another load is fed by what comes out of this one, and by nothing else: a ground there would end that."""
    behaviour = study.behaviour
    here = {end, *joined_to(study.circuit, [end], past=study.protection.feeds)}
    beyond = [other.b if other.a in here else other.a for other in _others(study, branch, here)]
    return any(not behaviour.holds_in(behaviour.fed(node)) for node in beyond)


def _others(study: Study, branch: Branch, nodes: set[str]) -> list[Branch]:
    """The loads besides one that have one end at some nodes and the other elsewhere."""
    loads = study.behaviour.consumers
    return [other for other in loads if other.key != branch.key and (other.a in nodes) != (other.b in nodes)]


def _way_there(study: Study, end: End) -> tuple[Branch, ...]:
    """The branches from an end to a return pole, past no feed and no consumer, whatever way diodes point and contacts
    stand; empty where none leads there.
    """
    protection = study.protection
    reached = joined_to(study.circuit, [end], past=protection.feeds)
    to = next((node for node in reached if node in protection.returns), None)
    return tuple(reversed(tuple(way_back(reached, to)))) if to is not None else ()


def _remedy(
    study: Study, branch: Branch, end: End, way: tuple[Branch, ...], *, grounds: bool
) -> tuple[str, dict[str, Fact]]:
    """The case of what to do, and what is on the way. A charge lamp leads on to its machine, one between two circuits
    to the other one, and what another feed reaches, or what is made for less than the system has, must not be grounded:
    there the fix says what to find out.
    """
    sensors = idle_sensors(study, branch, end)
    if sensors and not may_be_charge_lamp(study, branch, end):
        return "sensor", {"sensors": sensors}
    if way:
        return _on_the_way(study, branch, end, way)
    rated, system = branch.made_for(study.harness.volts), study.harness.volts
    if rated < system:
        return "in-series", {"rated": Quantity(rated, "V"), "system": Quantity(system, "V")}
    if grounds:
        return "ground", {}
    if may_be_charge_lamp(study, branch, end):
        return "charge-lamp", {}
    return ("feed" if end in study.protection.feeds else "unknown"), {}


def _on_the_way(study: Study, branch: Branch, end: End, way: tuple[Branch, ...]) -> tuple[str, dict[str, Fact]]:
    """What is in the way of the current from an end to the return pole: what points against it, or contacts."""
    if blocking := against(study, end, way):
        return "too-weak" if too_weak(study, branch, blocking) else "blocked", {"blocking": blocking}
    contacts = tuple(each.key for each in way if each.guard is not None)
    return ("contacts", {"contacts": contacts}) if contacts else ("open", {})


RULE = Rule(
    name="floating-ground",
    level=Level.ERROR,
    family="ground",
    stage=Stage.TOPOLOGY,
    catches="a load that is fed in some combination of the controls and has no ground return in any of these",
    why="""A load without a ground return is off, or its current returns through the loads beside it: two lamps glow in
    series, or a lamp comes on with the brake. A load that is meant to work in series with a field winding, a resistor
    or a sensor is not reported. A return through other loads is reported and named.""",
    source="Loomwright's analysis: every combination of the controls",
    cautions="A wire that should be grounded and is not may be live through a load: measure it against the battery's "
    "grounded pole before you touch or cut it.",
    says={
        "no-return": "{load} is fed and has no ground return",
        "through-loads": "{load} is fed and has no ground return[ ({when})]: its current returns through other loads",
    },
    fixes={
        "ground": "fit a ground wire from {end} to {ground}",
        "charge-lamp": "find out where {end} belongs: a charge lamp is connected to D+ or the field of its alternator "
        "or dynamo, through the regulator where there is one, and never to ground",
        "feed": "find out where {end} belongs: a feed is connected to it too, and grounding it would short that feed",
        "in-series": "find out what {load} belongs in series with: it is rated {rated}, and the system is {system}",
        "unknown": "find out where {end} belongs: measure whether it is ever live before you ground it",
        "blocked": "check which way round {blocking} {blocking:is|are} fitted: the only path from {end} to ground is "
        "blocked there, and a ground wire at {end} would bypass {blocking:it|them}",
        "too-weak": "find out where {end} belongs: the only path from {end} to ground is through {blocking}, which "
        "{blocking:is|are} not rated for the current of {load}",
        "cut-off": "connect {body} to the battery first: {end} leads to {body}",
        "sensor": "find out where {sensors} {sensors:belongs|belong}: nothing is connected there, and a warning lamp "
        "is grounded by its switch; a ground wire at {end} would keep {load} on",
        "contacts": "find out why {contacts} never {contacts:closes|close} while {load} is fed",
        "open": "follow the wires from {end} to ground: that path is never closed while {load} is fed",
    },
    find=find,
)
