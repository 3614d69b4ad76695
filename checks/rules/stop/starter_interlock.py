"""A starter that turns the engine over in gear."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.quantities.quantity import Quantity
from ...behaviour.interlocks import starters
from ...findings.finding import Finding, Level, Stage
from ...fixes.interlocks import band_end, coil_through, grounded, grounded_ends, live_end, opens_at, relay_in
from ...rule import Rule
from ...study import Study
from ...tables.spares import spare_rating

if TYPE_CHECKING:
    from ....lang.editing.proposals import Proposal
    from ...behaviour.interlocks import Interlock
    from ...findings.facts import Fact


def find(study: Study) -> Iterator[Finding]:
    controls = study.circuit.controls
    if "gearbox" not in controls and "clutch" not in controls:
        for name, _ in starters(study.behaviour.network.circuit)[:1]:
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
        fix, facts, proposals = _fixed(study, lock)
        yield RULE.found(
            "past" if lock.fitted else "stand" if lock.danger == "stand" else "gear",
            study.harness.parts[lock.starter].span,
            facts={"starter": lock.starter, "fitted": tuple(lock.fitted), **facts},
            level=Level.ERROR if lock.fitted else Level.WARNING,
            about=(lock.starter, *lock.fitted),
            shown=lock.proof.shown,
            path=lock.proof.path,
            fix=fix,
            proposals=proposals,
        )


def _fixed(study: Study, lock: Interlock) -> tuple[str, dict[str, Fact], tuple[Proposal, ...]]:
    """Which fix, with its facts: a switch that closes to ground works on the ground side of a relay's coil."""
    controls = study.circuit.controls
    stand, neutral, clutch = (controls[n].switches if n in controls else () for n in ("stand", "gearbox", "clutch"))
    switches = stand if lock.danger == "stand" else (*neutral, *clutch)
    coil = relay_in(study, lock.proof.path)
    backs = [end for end in (coil.a, coil.b) if grounded(study, end)] if coil is not None else []
    rating = spare_rating("diode", study.operation.loading(coil.key).held.amps) if coil is not None else None
    lives = [live for switch in switches if (live := live_end(study, switch)) is not None]
    off = [end for switch in clutch if live_end(study, switch) for end in grounded_ends(study, switch)]
    closed_down = tuple(each for each in stand if not opens_at(study, each, "stand", "down"))
    facts: dict[str, Fact] = {
        "closed_down": closed_down,
        "to_switch": band_end(study, negative="the switch", positive="the coil"),
        "to_stand": band_end(study, negative=" and ".join(map(str, lives)), positive=" and ".join(map(str, off))),
        "coil": f"the coil of {coil.part}" if coil is not None else lock.starter,
        "switches": tuple(switches),
        "lives": tuple(str(live) for live in lives),
        "off": tuple(str(end) for end in off),
        "diode": Quantity(rating, "A") if rating is not None else "",
        "back": backs[0] if backs else "",
    }
    if lock.fitted:
        return "past", facts, ()
    if lock.danger == "stand" and closed_down:
        return "closes-down", facts, ()
    if coil is None or len(lives) != len(switches):
        return "open", facts, ()
    if lock.danger == "stand":
        return ("clutch" if off else "open"), facts, ()
    proposals = tuple(coil_through(study, coil, neutral[0])) if len(neutral) == 1 and not clutch else ()
    return ("moved" if proposals else "ground" if backs else "open"), facts, proposals


RULE = Rule(
    name="starter-interlock",
    level=Level.ERROR,
    family="stop",
    stage=Stage.FUNCTION,
    catches="a starter that turns the engine over in gear with the clutch out, or in gear with the stand down",
    why="""A starter that turns the engine over in gear moves the motorcycle: off its stand, or into a person in front
    of it. Where a switch is fitted to prevent that and the wiring bypasses it, the rider trusts a switch that does not
    work: an error.""",
    source="Loomwright's analysis: every combination of the controls",
    cautions="""Work on it with the grounded lead of the battery off. Try it with the rear wheel clear of the ground
    and nobody in front of the motorcycle: first in neutral, then in gear, where the starter must not turn.""",
    says={
        "not-sensed": "{starter} turns the engine over in any gear: the harness senses neither gearbox nor clutch",
        "past": "{starter} turns the engine over in spite of {fitted}",
        "stand": "{starter} turns the engine over in gear on the stand",
        "gear": "{starter} turns the engine over in gear",
    },
    fixes={
        "not-sensed": "fit a neutral switch or a clutch switch in the circuit of {starter}; older motorcycles had none",
        "past": "find what closes the circuit of {coil} past {fitted}, and disconnect it",
        "moved": "connect the switch of the clutch lever, where it has one, between {back} and ground, too: it must "
        "close with the lever pulled",
        "ground": "disconnect {back} from ground and connect it to {lives}, each through a diode[ of {diode}] with its "
        "band (cathode) towards {to_switch}",
        "clutch": "disconnect {off} from ground and connect it to {lives} through a diode[ of {diode}] with its band "
        "(cathode) towards {to_stand}",
        "closes-down": "{closed_down} {closed_down:closes|close} with the stand down: fit a switch that closes with "
        "the stand up, and let it open the circuit of {coil}",
        "open": "let {switches} open the circuit of {coil}: a switch that closes to ground goes into the ground side "
        "of a relay's coil, never into a feed",
    },
    find=find,
)
