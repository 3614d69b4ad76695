"""Relays or logic that never come to rest."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour.counterexample import found
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour, network = study.behaviour, study.behaviour.network
    told: set[str] = set()
    for name in network.conditions:
        with study.judging(network.conditions[name].part):
            if name not in network.remembers or name in told:
                continue
            restless = behaviour.restless(name)
            if restless is None:
                continue
            shown, moving = restless
            told.update(moving)
            condition = network.conditions[name]
            thing = f"{condition.part}.{condition.item}" if condition.item else condition.part
            coil = network.circuit.by_key.get(f"{condition.part} coil")
            yield found(
                RULE.name,
                Level.ERROR,
                f"{thing} chatters: as soon as it changes, it undoes what made it change",
                network.harness.parts[condition.part].span,
                about=(condition.part,),
                shown=shown,
                path=behaviour.loop(shown, coil) if coil is not None else (),
                source=RULE.source,
                remedy=f"move the feed of what switches {thing} to a point that its own contact does not open",
            )
    yield from _by_numbers(study, {network.conditions[bit].part for bit in told})


def _by_numbers(study: Study, told: set[str]) -> Iterator[Finding]:
    """States and worst combinations that never settle, since what is switched on pulls down what holds it on."""
    harness = study.harness
    for case in study.operation.restless:
        owners = tuple(dict.fromkeys(name.partition(".")[0] for name in case.parts))
        if told.issuperset(owners):
            continue
        told |= set(owners)
        moment = case.moments[0]
        one = len(case.parts) == 1
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=f"{' and '.join(case.parts)} {'chatters' if one else 'chatter'}: the current that flows while"
            f" {'it is' if one else 'they are'} on leaves too little voltage to hold {'it' if one else 'them'}",
            span=harness.parts[owners[0]].span,
            about=owners,
            state=case.state,
            combination=() if case.state else moment.differing,
            source="Loomwright's limit: pull-in, drop-out and working voltage as in the tables of relays and shares",
            remedy=f"feed {owners[0]} by a wire of its own from the battery's fuse, or use thicker wires where the"
            " voltage is lost",
        )


RULE = Rule(
    name="relay-chatter",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a combination in which relays or outputs have no settled condition; where only numbers say so: a warning",
    why="""A relay that opens its own feed buzzes like a bell: contacts burn, and what it feeds gets half the
    current. Every state that relays, latches and outputs can be in is asked whether it can stay.""",
    source="ours: a condition is settled when everything that it depends on agrees with it",
    find=find,
)
