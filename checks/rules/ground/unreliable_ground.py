"""A return that hangs on a joint nobody should rely on."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Regulator
from ...behaviour import ANY, Question, stop_lead
from ...behaviour.counterexample import found
from ...behaviour.properties import starters
from ...findings.finding import Finding, Level
from ...fixes.new_leads import ground_leads, ground_size, size_at
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    network = study.behaviour.network
    if not network.joints:
        return
    grave = dict(_grave(study))
    for key, joint in network.joints.items():
        lost: dict[str, tuple[str, Level]] = {}
        for name, part, question, level in _returns(study, grave):
            with study.judging(joint.part):
                if study.behaviour.lost_without(key, question):
                    lost[name] = (part, level)
        if lost:
            through, are = key.rpartition(" through ")[2], "is" if len(lost) == 1 else "are"
            sizes = (size_at(study, _terminals(study, joint.part)), ground_size(study))
            leads = ground_leads(study, joint.a, joint.b, sizes, f"a ground wire beside the {through}")
            proposals = tuple(leads)
            yield found(
                RULE.name,
                max(level for _, level in lost.values()),
                f"{_listed(tuple(lost))} {are} returned through {through} and nothing else",
                joint.span,
                about=tuple(dict.fromkeys((joint.part, *(part for part, _ in lost.values())))),
                source=RULE.source,
                remedy="" if proposals else f"fit a ground wire beside the {through}, from {joint.a} to {joint.b}",
                proposals=proposals,
            )


def _terminals(study: Study, part: str) -> tuple[str, ...]:
    found = study.harness.parts.get(part)
    return tuple(f"{part}.{terminal}" for terminal in found.terminals) if found is not None else ()


def _listed(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _grave(study: Study) -> Iterator[tuple[str, Level]]:
    """What must never lose its return: starters."""
    for _, key in starters(study.behaviour.network):
        yield key, Level.ERROR


def _returns(study: Study, grave: dict[str, Level]) -> Iterator[tuple[str, str, Question, Level]]:
    """Every terminal that has to find its way back: what it is called, its part, question, how bad it is without."""
    behaviour = study.behaviour
    for branch in behaviour.consumers:
        level = grave.get(branch.key, Level.WARNING)
        for node in (branch.a, branch.b):
            yield branch.key, branch.part, behaviour.grounded(node, ANY), level
    for part in study.harness.parts.values():
        if lead := stop_lead(part):
            stops = behaviour.joined(f"{part.name}.{lead[0]}", f"{part.name}.{lead[1]}")
            yield f"the stop lead of {part.name}", part.name, stops, Level.ERROR
        if isinstance(part, Regulator):
            for terminal in dict.fromkeys((*(part.sense or ()), *(part.shunts or ()))):
                yield part.name, part.name, behaviour.grounded(f"{part.name}.{terminal}"), Level.ERROR
    supplies, forward = behaviour.circuit.supplies, behaviour.circuit.return_sign == "-"
    grounded = {supply.name: supply.minus if forward else supply.plus[0] for supply in supplies}
    batteries = [supply for supply in supplies if supply.kind == "battery"]
    for supply in supplies:
        if supply.kind == "machine":
            for battery in batteries:
                back = behaviour.joined(grounded[battery.name], grounded[supply.name])
                yield f"{supply.name}'s return", supply.name, back, Level.ERROR


RULE = Rule(
    name="unreliable-ground",
    level=Level.ERROR,
    family="ground",
    catches="a joint (bearings, paint, rubber, hinge) without which some terminal is no longer returned: of a load a "
    "warning",
    why="""Steering-head bearings, painted brackets and rubber mounts carry current when they are new and clean,
    and arc and pit as they do. The lamp flickers, the bearing wears, and one day the stop switch grounds
    nothing. A wire beside the joint costs nothing.""",
    source="common practice, no source",
    find=find,
)
