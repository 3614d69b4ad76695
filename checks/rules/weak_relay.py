"""A relay whose coil gets too little to pull in."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Relay
from ...lang.quantities import shown
from ..dc.settling import UnsettledError, pulls_in
from ..examination import Examination
from ..finding import Figure, Finding, Level
from ..rule import Rule
from ..tables.laws import law_source


def find(examination: Examination) -> Iterator[Finding]:
    nominal = examination.harness.volts
    operation = examination.operation
    for part in examination.harness.parts.values():
        coil = examination.circuit.by_key.get(f"{part.name} coil")
        if not isinstance(part, Relay) or coil is None:
            continue
        needed = pulls_in(part, nominal)
        for point in operation.points.values():
            across = abs(point.across(coil.key))
            if across >= needed or not point.joins.joined(coil.key):
                continue
            pulled = part.name in point.memory.pulled
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"{part.name} gets {shown(across)} V and pulls in from {shown(needed)} V: "
                + ("once it has let go it stays released" if pulled else "it stays released"),
                span=part.span,
                about=(part.name,),
                state=point.state,
                path=tuple(b.key for b, _ in point.joins.losses(coil.key)),
                figures=(Figure("across the coil", across, "V"), Figure("pulls in from", needed, "V")),
                source="the harness: its own `pulls`"
                if part.pulls is not None
                else str(law_source("relay_pull_share")),
                remedy="thicker wire to the coil, a feed nearer the battery, or a battery that sags less",
            )
            break
        else:
            for name, error in operation.unsolved.items():
                if isinstance(error, UnsettledError) and part.name in error.parts:
                    yield Finding(
                        rule=RULE.name,
                        level=Level.WARNING,
                        message=f"{part.name} keeps pulling in and letting go: what it switches on takes the volts "
                        "that hold it",
                        span=part.span,
                        about=(part.name,),
                        state=name,
                        source="the harness: its own `pulls`"
                        if part.pulls is not None
                        else str(law_source("relay_pull_share")),
                        remedy="feed the coil nearer the battery than what it switches, or a battery that sags less",
                    )
                    break


RULE = Rule(
    name="weak-relay",
    level=Level.WARNING,
    family="stop",
    catches="a relay coil below its pull-in volts in a state in which it must pull, cranking above all",
    why="""A relay that gets too little hums, chatters and burns its contacts, or does nothing, and it does so when it
    is needed most: with a cold engine, a low battery and the starter turning. Every volt lost in the key, the stop
    switch and the interlocks before the coil counts.""",
    source="pull-in at 0.67 of nominal volts where the relay does not say: makers' data sheets, 8 V for 12 V",
    formula="found where the coil is joined to a source and gets < `pulls` V (0.67 of nominal volts where left out)",
    cautions="Crank in neutral, with the bike on its stand; a relay that chatters may weld.",
    find=find,
)
