"""Relays, latches or outputs that chatter."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.ids import owner_of
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
            thing = condition.thing
            coil = network.circuit.coil_of(condition.part)
            yield RULE.found(
                "logic",
                network.harness.parts[condition.part].span,
                facts={"name": thing},
                about=(condition.part,),
                shown=shown,
                path=behaviour.loop(shown, coil) if coil is not None else (),
                fix="unit" if condition.item else "relay",
            )
    yield from _by_numbers(study, {network.conditions[bit].part for bit in told})


def _by_numbers(study: Study, told: set[str]) -> Iterator[Finding]:
    """States and worst combinations that never settle, since what is switched on pulls down what holds it on."""
    harness = study.harness
    for case in study.operation.restless:
        owners = tuple(dict.fromkeys(owner_of(name) for name in case.parts))
        if told.issuperset(owners):
            continue
        told |= set(owners)
        moment = case.moments[0]
        yield RULE.found(
            "low-voltage",
            harness.parts[owners[0]].span,
            facts={"names": case.parts, "part": owners[0]},
            level=Level.WARNING,
            about=owners,
            state=case.state,
            combination=() if case.state else moment.differing,
            source="Loomwright's limit: pull-in, drop-out and working voltage as in the tables of relays and shares",
        )


RULE = Rule(
    name="relay-chatter",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a combination in which relays, latches or outputs chatter; where only the voltage says so: a warning",
    why="""A relay that opens its own feed chatters: its contacts burn, and its load is on half of the time. Every
    combination of switches in which a relay, a latch or an output cannot settle is found.""",
    source="Loomwright's analysis: a condition is settled when everything that it depends on agrees with it",
    cautions="A relay that chatters burns its contacts and may weld: switch it off at once, and do not touch it while "
    "it is live.",
    says={
        "logic": "{name} chatters[ ({when})]; once on it cuts its own feed, once off it restores it",
        "low-voltage": "{names} {names:chatters|chatter}: the current while {names:it is|they are} on drops the "
        "voltage below what holds {names:it|them}",
    },
    fixes={
        "relay": "move the feed of the coil of {name} to a point that the contacts of {name} do not open",
        "unit": "move the feed or the inputs of {name} to points that {name} itself does not switch",
        "low-voltage": "feed {part} by a separate wire from the battery's fuse, or use thicker wires where the voltage "
        "drops",
    },
    find=find,
)
