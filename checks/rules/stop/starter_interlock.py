"""A starter that turns the engine over in gear."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour.interlocks import starters
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    controls = study.circuit.controls
    if "gearbox" not in controls and "clutch" not in controls:
        for name, _ in starters(study.behaviour.network)[:1]:
            yield RULE.found(
                "not-sensed",
                study.harness.parts[name].span,
                facts={"starter": name},
                level=Level.NOTE,
                about=(name,),
            )
        return
    for lock in study.properties.interlocks:
        if lock.proof.ended != "refuted":
            continue
        stand = lock.danger == "stand"
        yield RULE.found(
            "past" if lock.fitted else "stand" if stand else "gear",
            study.harness.parts[lock.starter].span,
            facts={
                "starter": lock.starter,
                "fitted": tuple(lock.fitted),
                "switches": tuple(controls["stand"].switches) if stand else (),
            },
            level=Level.ERROR if lock.fitted else Level.WARNING,
            about=(lock.starter, *lock.fitted),
            shown=lock.proof.shown,
            path=lock.proof.path,
            fix="stand" if stand else "gear",
        )


RULE = Rule(
    name="starter-interlock",
    level=Level.ERROR,
    family="stop",
    stage=Stage.FUNCTION,
    catches="a starter that turns the engine over in gear with the clutch out, or in gear with the stand down",
    why="""A starter that turns the engine over in gear moves the motorcycle: off its stand, or into a person in front
    of it. Where a switch is fitted to prevent that and the wiring bypasses it, the rider trusts a switch that does not
    work: an error. Keep the motorcycle in neutral for every trial, with nobody in front of it.""",
    source="Loomwright's analysis: every combination of the controls",
    says={
        "not-sensed": "{starter} turns the engine over in any gear: the harness senses neither gearbox nor clutch",
        "past": "{starter} turns the engine over in spite of {fitted}",
        "stand": "{starter} turns the engine over in gear on the stand",
        "gear": "{starter} turns the engine over in gear",
    },
    fixes={
        "not-sensed": "fit a neutral switch or a clutch switch in the circuit of {starter}; older motorcycles had none",
        "stand": "feed the relay coil of {starter} through {switches} as well while in gear",
        "gear": "feed the relay coil of {starter} through the neutral switch, with the clutch switch in parallel",
    },
    find=find,
)
