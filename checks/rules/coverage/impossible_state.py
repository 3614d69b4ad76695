"""A named state that no settled condition of the harness ever has."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.statements import State
from ...behaviour import TooWideError, too_wide
from ...behaviour.histories import why_impossible
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for name, state in study.harness.states.items():
        try:
            told = why_impossible(study.logic, state.settings)
        except TooWideError as wide:
            yield Finding(
                rule=RULE.name,
                level=Level.NOTE,
                message=f"whether {name} can come about was not proved: {too_wide(wide)}",
                span=state.span,
                source=RULE.source,
                remedy=f"try on the motorcycle whether {name} can come about",
            )
            continue
        if told is not None:
            part, why = told
            yield Finding(
                rule=RULE.name,
                level=RULE.level,
                message=f"{name} cannot come about: {why}; nothing else was asked of it",
                span=state.span,
                about=(part,),
                state=name,
                source=RULE.source,
                remedy=_remedy(study, state, name),
            )


def _remedy(study: Study, state: State, name: str) -> str:
    network = study.behaviour.network
    signals = [each for each, at in state.settings if network.is_signal(each) and at == "active"]
    if signals and dict(state.settings).get("engine", "off") == "off":
        return f"write `engine running` in {name}: {signals[0]} is a signal, which only a turning engine gives"
    return "take the latch out of the state, or write the position of what sets and clears it"


RULE = Rule(
    name="impossible-state",
    level=Level.ERROR,
    family="coverage",
    stage=Stage.TOPOLOGY,
    catches="a named state in which no memory of relays, latches and machines ever settles",
    why="""What is expected of a state that cannot come about holds whatever is written: the lamp is live there, and
    dead as well. So nothing is asked of such a state; it is an error of its own, told once at the state, and
    `states`, `faults` and `suspect` refuse it likewise.""",
    source="ours: every combination of the controls is gone through",
    find=find,
)
