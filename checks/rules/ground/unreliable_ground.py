"""A return that hangs on a joint nobody should rely on."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Regulator
from ...behaviour import AtPole, Linked, Question, stop_lead
from ...behaviour.properties import starters
from ...findings.finding import Finding, Level
from ...fixes.new_leads import ground_leads, ground_size, size_at
from ...logic import ANY
from ...logic.counterexample import found
from ...logic.switching_network import JOINED, OPEN
from ...rule import Rule
from ...study import Examination


def find(examination: Examination) -> Iterator[Finding]:
    conduction = examination.conduction
    network = conduction.network
    if not network.joints:
        return
    grave = dict(_grave(examination))
    for key, joint in network.joints.items():
        lost: list[str] = []
        worst = Level.WARNING
        for name, question, level in _returns(examination, grave):
            scope = conduction.scope(question)
            if key not in scope:
                continue
            table = question.table(scope) & scope.counted
            hidden = (*scope.bits, *scope.free)
            with_it = scope.some(table & scope.at(key, JOINED), hidden)
            without = scope.some(table & scope.at(key, OPEN), hidden)
            if with_it & (with_it ^ without) and name not in lost:
                lost.append(name)
                worst = max(worst, level)
        if lost:
            through = key.rpartition(" through ")[2]
            yield found(
                RULE.name,
                worst,
                f"{_listed(lost)} {'is' if len(lost) == 1 else 'are'} returned through {through} and nothing else",
                joint.span,
                about=(joint.part, *(name.partition(".")[0].partition(" ")[0] for name in lost)),
                source=RULE.source,
                remedy=f"fit a ground wire beside the {through}, from {joint.a} to {joint.b}",
                proposals=tuple(
                    ground_leads(
                        examination,
                        joint.a,
                        joint.b,
                        (size_at(examination, _terminals(examination, joint.part)), ground_size(examination)),
                        f"a ground wire beside the {through}",
                    )
                ),
            )


def _terminals(examination: Examination, part: str) -> tuple[str, ...]:
    found = examination.harness.parts.get(part)
    return tuple(f"{part}.{terminal}" for terminal in found.terminals) if found is not None else ()


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _grave(examination: Examination) -> Iterator[tuple[str, Level]]:
    """What must never lose its return: starters."""
    for _, key in starters(examination.conduction.network):
        yield key, Level.ERROR


def _returns(examination: Examination, grave: dict[str, Level]) -> Iterator[tuple[str, Question, Level]]:
    """Every terminal that has to find its way back: name, question, and how bad it is without."""
    conduction = examination.conduction
    for branch in conduction.consumers:
        level = grave.get(branch.key, Level.WARNING)
        for node in (branch.a, branch.b):
            yield branch.key, AtPole(node, feed=False, kinds=ANY), level
    for part in examination.harness.parts.values():
        if lead := stop_lead(part):
            stops = Linked(f"{part.name}.{lead[0]}", f"{part.name}.{lead[1]}")
            yield f"the stop lead of {part.name}", stops, Level.ERROR
        if isinstance(part, Regulator):
            for terminal in dict.fromkeys((*(part.sense or ()), *(part.shunts or ()))):
                yield part.name, AtPole(f"{part.name}.{terminal}", feed=False), Level.ERROR
    batteries = [supply for supply in conduction.circuit.supplies if supply.kind == "battery"]
    for supply in conduction.circuit.supplies:
        if supply.kind == "machine":
            for battery in batteries:
                yield f"{supply.name}'s return", Linked(battery.minus, supply.minus), Level.ERROR


RULE = Rule(
    name="unreliable-ground",
    level=Level.WARNING,
    family="ground",
    catches="a joint (bearings, paint, rubber, hinge) without which some terminal is no longer returned",
    why="""Steering-head bearings, painted brackets and rubber mounts carry current when they are new and clean,
    and arc and pit as they do. The lamp flickers, the bearing wears, and one day the stop switch grounds
    nothing. A wire beside the joint costs nothing.""",
    source="common practice, no source",
    find=find,
)
