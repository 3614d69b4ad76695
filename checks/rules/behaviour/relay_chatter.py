"""Relays or logic that never come to rest."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...behaviour import Shows
from ...behaviour.properties import shown_for_sure
from ...findings.finding import Finding, Level
from ...logic.counterexample import found
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...logic.state_space import StateSpace
    from ...logic.truth_tables import Table


def find(study: Study) -> Iterator[Finding]:
    logic = study.logic
    network = logic.network
    told: set[str] = set()
    for name in network.conditions:
        with study.judging(network.conditions[name].part):
            if name not in network.remembers or name in told:
                continue
            scope = logic.scope(Shows(name))
            restless = _restless(scope)
            moving = restless & (scope.expressions[name] ^ scope.at(name, "yes"))
            shown = shown_for_sure(logic, scope, moving, anywhere=scope.some(moving, scope.bits))
            if shown is None:
                continue
            here = scope.some(1 << shown.index, scope.bits) & restless
            told |= {bit for bit in scope.bits if here & (scope.expressions[bit] ^ scope.at(bit, "yes"))}
            condition = network.conditions[name]
            thing = f"{condition.part}.{condition.item}" if condition.item else condition.part
            coil = network.circuit.by_key.get(f"{condition.part} coil")
            yield found(
                RULE.name,
                Level.ERROR,
                f"{thing} chatters: as soon as it changes, it undoes what made it change",
                network.harness.parts[condition.part].span,
                about=(condition.part,),
                shown=logic.plainly(shown),
                path=logic.loop(shown, coil) if coil is not None else (),
                source=RULE.source,
                remedy=f"move the feed of what switches {thing} to a point that its own contact does not open",
            )
    yield from _by_numbers(study, {network.conditions[bit].part for bit in told})


def _restless(scope: StateSpace) -> Table:
    """Where something never settles, without the conditions in which what does settle has not done so yet.

    What is on, or off, however all that still moves stands, takes that condition and keeps it: a relay that a button
    pulls in chatters no more for another one that does.
    """
    here: Table = scope.chattering
    while True:
        before = here
        for bit in scope.bits:
            wanted = scope.expressions[bit]
            for position, so in (("yes", here & wanted), ("no", scope.without(here, wanted))):
                surely = scope.without(here, scope.some(scope.without(here, so), scope.bits))
                here = scope.without(here, surely) | (surely & scope.at(bit, position))
        if here == before:
            return here


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
    catches="a combination in which relays or outputs have no settled condition; where only numbers say so: a warning",
    why="""A relay that opens its own feed buzzes like a bell: contacts burn, and what it feeds gets half the
    current. Every state that relays, latches and outputs can be in is asked whether it can stay.""",
    source="ours: a condition is settled when everything that it depends on agrees with it",
    find=find,
)
