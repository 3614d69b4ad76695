"""A named state that no settled condition of the harness ever has."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.statements import State
from ...behaviour import TooWideError, too_wide
from ...behaviour.histories import NEVER, why_impossible
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for name, state in study.harness.states.items():
        if not study.is_asked_at(state.span):
            continue
        try:
            why = why_impossible(study.logic, state.settings)
        except TooWideError as wide:
            yield RULE.found("unproved", state.span, facts={"state": name, "why": too_wide(wide)}, level=Level.NOTE)
            continue
        if why is not None:
            signal = _of_turning_engine(study, state)
            yield RULE.found(
                "impossible",
                state.span,
                facts={"state": name, "signal": signal, **why.facts},
                about=(why.part,),
                state=name,
                fix="running" if signal else "impossible",
            )


def _of_turning_engine(study: Study, state: State) -> str:
    """The first signal that a state with the engine at rest asks for, and only a turning engine gives; else empty."""
    network = study.behaviour.network
    signals = (each for each, at in state.settings if network.is_signal(each) and at == "active")
    return next(signals, "") if dict(state.settings).get("engine", "off") == "off" else ""


RULE = Rule(
    name="impossible-state",
    level=Level.ERROR,
    family="coverage",
    stage=Stage.TOPOLOGY,
    catches="a named state that the harness never reaches, whatever relays, latches and alternators did before",
    why="""A state that can never occur proves nothing: a lamp could be expected both live and dead in it. The rest
    of such a state is not checked; it is one error, reported at the state, and `states`, `faults` and `suspect` refuse
    it, too.""",
    source="Loomwright's analysis: every combination of the controls",
    says={
        "unproved": "state {state} was not proved to be possible: {why}",
        "impossible": f"state {{state}} is impossible: {NEVER}; the rest of it was not checked",
    },
    fixes={
        "unproved": "try on the motorcycle whether state {state} is possible",
        "running": "write `engine running` in state {state}: {signal} is a signal, which only a turning engine "
        "produces",
        "impossible": "remove {asked} from state {state}, or add the switch positions that {asked:it needs|they need}",
    },
    find=find,
)
