"""A starter that turns the engine over in gear."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour.counterexample import found
from ...behaviour.properties import starters
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    controls = study.circuit.controls
    if "gearbox" not in controls and "clutch" not in controls:
        for name, _ in starters(study.behaviour.network)[:1]:
            yield Finding(
                rule=RULE.name,
                level=Level.NOTE,
                message=f"nothing senses gearbox or clutch: {name} turns the engine over in any gear",
                span=study.harness.parts[name].span,
                about=(name,),
                source=RULE.source,
                remedy=f"fit a neutral or a clutch switch in the circuit of {name}; older motorcycles had none",
            )
        return
    for lock in study.properties.interlocks:
        if lock.proof.ended != "refuted":
            continue
        fitted, stand = " and ".join(lock.fitted), lock.danger == "stand"
        remedy = "through the neutral switch, or through the clutch switch beside it"
        if stand:
            remedy = f"in gear through {' and '.join(controls['stand'].switches)} too"
        yield found(
            RULE.name,
            Level.ERROR if lock.fitted else Level.WARNING,
            f"{lock.starter} turns the engine over "
            + (f"past {fitted}" if fitted else "in gear and with the stand down" if stand else "in gear"),
            study.harness.parts[lock.starter].span,
            about=(lock.starter, *lock.fitted),
            shown=lock.proof.shown,
            path=lock.proof.path,
            source=RULE.source,
            remedy=f"feed the relay coil of {lock.starter} {remedy}",
        )


RULE = Rule(
    name="starter-interlock",
    level=Level.ERROR,
    family="stop",
    stage=Stage.FUNCTION,
    catches="the starter live in gear with the clutch out, or in gear with the stand down",
    why="""A starter that turns the engine over in gear moves the machine: off its stand, or into whoever stands before
    it. Where a switch is fitted to prevent that and the wiring goes round it, the rider trusts it, so that
    is the graver fault. Keep the machine in neutral and off its stand for every trial.""",
    source="ours: every combination of the controls is gone through",
    find=find,
)
