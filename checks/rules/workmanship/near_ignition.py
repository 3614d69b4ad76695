"""Pick-up leads on one route with the switched lead of an ignition coil."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.model.parts import Switch, Unit, UnitOutput
from ....lang.model.wires import Segment
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    harness, of = study.harness, study.circuit.nets.of
    pulses = {net for branch in study.circuit.branches for net in _pulsing(study, branch)}
    if not pulses:
        return
    beside: dict[frozenset[str], Segment] = {}
    for segment in harness.segments:
        if of[segment.a.node] in pulses:
            for stretch in _stretches(segment):
                beside.setdefault(stretch, segment)
    lengths = {frozenset((route.a, route.b)): route.length for route in harness.routes}
    for part in harness.parts.values():
        if not isinstance(part, Unit) or not part.is_ignition:
            continue
        ends = [t for given in part.inputs if given.mode == "signal" for t in (given.terminal, given.back)]
        nets = {of[end] for t in ends if t is not None and (end := End(part.name, t)) in of}
        leads = [p for p in harness.segments if of[p.a.node] in nets and not harness.bundles_of(p.wire)]
        near: dict[str, list[frozenset[str]]] = {}
        for lead in leads:  # a wire that runs through a plug has several pieces
            if stretches := [stretch for stretch in _stretches(lead) if stretch in beside]:
                near.setdefault(lead.wire, []).extend(stretches)
        if not near:
            continue
        metres = max(sum(lengths[s] for s in stretches) for stretches in near.values())
        others = tuple(dict.fromkeys(beside[s].wire for stretches in near.values() for s in stretches))
        wires = tuple(near)
        yield RULE.found(
            "beside",
            next(p.span for p in leads if p.wire == wires[0]),
            facts={"unit": part.name, "leads": wires, "wires": others, "written": ", ".join(wires)},
            about=(part.name, *wires, *others),
            figures=(Figure("side by side", metres, "m"),),
        )


def _pulsing(study: Study, branch: Branch) -> Iterator[object]:
    """The nets at the switched side of an ignition coil: what cuts it off there makes hundreds of volts on the lead."""
    if branch.branch_type is not BranchType.IGNITION:
        return
    of = study.circuit.nets.of
    ends = {of[branch.a], of[branch.b]}
    for other in study.circuit.branches:
        owner = study.harness.parts.get(other.part)
        switched: tuple[object, ...] = ()
        if isinstance(owner, Switch) and owner.senses == "crank":
            switched = (of[other.a], of[other.b])
        elif isinstance(other.item, UnitOutput) and isinstance(owner, Unit) and owner.is_ignition:
            switched = (of[End(owner.name, other.item.terminal)],)
        yield from (net for net in switched if net in ends and not _is_pole(study, net))


def _is_pole(study: Study, net: object) -> bool:
    """Whether a net is a feed or a ground; the live end of a winding is neither, since points at a magneto's coil cut
    it off as well.
    """
    of = study.circuit.nets.of
    supplies = study.circuit.supplies
    poles = [supply.minus for supply in supplies]
    poles += [pole for supply in supplies if supply.kind != "winding" for pole in supply.plus]
    return any(of[pole] == net for pole in poles)


def _stretches(segment: Segment) -> Iterator[frozenset[str]]:
    return (frozenset(pair) for pair in pairwise(segment.route))


RULE = Rule(
    name="near-ignition",
    level=Level.NOTE,
    family="workmanship",
    catches="the leads of an ignition pick-up on one route with the switched lead of a coil",
    why="""A pick-up delivers a volt or two while the engine is cranked. The switched lead of a coil jumps by hundreds
    of volts at each spark, and the lead to the plug by thousands. Induced in a pick-up lead beside it, such a pulse
    looks to the ignition box like the next turn of the crank: it fires at the wrong moment or misses. Plug leads are
    not part of a harness file: keep pick-up leads away from them as well.""",
    source="common practice, no source",
    formula="""found where a wire at a `signal` input of an ignition unit and the wire between an ignition coil and what
       switches it run along one stretch of a route, and the first is in no `twisted` or `shielded` line""",
    cautions="The voltage of an ignition coil can kill: engine and ignition off before a lead is moved.",
    says={
        "beside": "pick-up {leads:lead} of {unit} {leads:runs|run} on one route with {wires:wire}, "
        "{wires:a switched lead|switched leads} of an ignition coil"
    },
    fixes={"beside": "route {leads:wire} another way, or twist or screen them and write `twisted {written}`"},
    find=find,
)
