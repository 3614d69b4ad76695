"""A ground return through nothing but a joint that nobody should rely on."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.ids import End
from ....lang.model.parts import Regulator
from ...behaviour import ANY, Question, stop_lead
from ...behaviour.interlocks import starters
from ...findings.finding import Finding, Level
from ...fixes.new_leads import ground_leads, ground_size, size_at
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    network = study.behaviour.network
    if not network.joints:
        return
    severe = dict(_severe(study))
    for key, joint in network.joints.items():
        lost: dict[str, tuple[str, Level]] = {}
        for name, part, question, level in _returns(study, severe):
            with study.judging(joint.part):
                if study.behaviour.lost_without(key, question):
                    lost[name] = (part, level)
        if lost:
            through = joint.key.through
            sizes = (size_at(study, _terminals(study, joint.part)), ground_size(study))
            leads = ground_leads(study, joint.a, joint.b, sizes, f"a ground wire beside the {through}")
            proposals = tuple(leads)
            yield RULE.found(
                "joint",
                study.circuit.by_key[key].span,
                facts={"ends": tuple(lost), "joint": through, "a": joint.a, "b": joint.b},
                level=max(level for _, level in lost.values()),
                about=(joint.part, *(part for part, _ in lost.values())),
                fix=None if proposals else "wire",
                proposals=proposals,
            )


def _terminals(study: Study, part: str) -> tuple[str, ...]:
    found = study.harness.parts.get(part)
    return tuple(End(part, terminal) for terminal in found.terminals) if found is not None else ()


def _severe(study: Study) -> Iterator[tuple[str, Level]]:
    """What must never lose its return: starters."""
    for _, key in starters(study.behaviour.network.circuit):
        yield key, Level.ERROR


def _returns(study: Study, severe: dict[str, Level]) -> Iterator[tuple[str, str, Question, Level]]:
    """Every terminal that needs a ground return: what it is called, its part, question, how bad it is without."""
    behaviour = study.behaviour
    for branch in behaviour.consumers:
        level = severe.get(branch.key, Level.WARNING)
        for node in (branch.a, branch.b):
            yield branch.key, branch.part, behaviour.grounded(node, ANY), level
    for part in study.harness.parts.values():
        if lead := stop_lead(part):
            ends = End(part.name, lead[0]), End(part.name, lead[1])
            yield f"kill wire {ends[0]}", part.name, behaviour.joined(*ends), Level.ERROR
        if isinstance(part, Regulator):
            for terminal in dict.fromkeys((*(part.sense or ()), *(part.shunts or ()))):
                yield part.name, part.name, behaviour.grounded(End(part.name, terminal)), Level.ERROR
    supplies, forward = behaviour.circuit.supplies, behaviour.circuit.return_sign == "-"
    grounded = {supply.name: supply.minus if forward else supply.plus[0] for supply in supplies}
    batteries = [supply for supply in supplies if supply.kind == "battery"]
    for supply in supplies:
        if supply.kind == "machine":
            for battery in batteries:
                back = behaviour.joined(grounded[battery.name], grounded[supply.name])
                yield grounded[supply.name], supply.name, back, Level.ERROR


RULE = Rule(
    name="unreliable-ground",
    level=Level.ERROR,
    family="ground",
    catches="a ground return that depends on a joint (bearings, paint, rubber, a hinge): an error; a warning where it "
    "is the return of a load",
    why="""Steering-head bearings, painted brackets and rubber mounts carry current while they are new and clean; it
    makes them arc and pit. The lamp flickers, the bearing wears, and one day the stop switch no longer grounds the kill
    wire.""",
    source="common practice, no source",
    cautions="Disconnect the grounded lead of the battery first. Route a ground wire past the steering with a loop, "
    "turn the bars from stop to stop, and see that it neither pulls tight nor blocks them.",
    says={"joint": "{ends} {ends:is|are} grounded only through the {joint}"},
    fixes={"wire": "fit a ground wire beside the {joint}, from {a} to {b}"},
    find=find,
)
