"""A wire on the feed side that carries more than its rating."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.diagnostics.diagnostic import Note
from ....lang.quantities.quantity import Quantity
from ...conductors.loading import StatorLead, stator_leads
from ...findings.finding import Figure, Finding, Level, Stage
from ...fixes.overloads import overloaded
from ...fixes.sizes import thicker
from ...fixes.thicker import NO_SIZE, chattering, no_size, thicker_for
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for overload in study.conductors.overloaded():
        if overload.loading.side != "return":
            yield overloaded(RULE, study, overload, "short-time" if overload.held else "continuous")
    yield from (_stator_lead(study, lead) for lead in stator_leads(study.alternating, study.conductors))


def _stator_lead(study: Study, lead: StatorLead) -> Finding:
    """A wire between a winding and what it feeds: its current is alternating, and its least value is known."""
    segment, load, limit = lead.segment, lead.load, lead.ampacity.amps or 0.0
    needed = 1.1 * load.amps  # flat-topped currents are a tenth more (0.816 to 0.741)
    protection = study.protection
    proposals = thicker_for(study, segment, needed)
    note = f"{load.machine} is a shunt regulator: the true current in wire {segment.wire} is higher at any load"
    return RULE.found(
        "stator-lead",
        segment.span,
        facts={
            "wire": segment.wire,
            "size": segment.size.text if segment.size else "",
            "current": Quantity(load.amps, "A"),
            "by": load.by,
            "limit": Quantity(limit, "A"),
            "chattering": chattering(study),
        },
        level=Level.ERROR if lead.certain else Level.WARNING,
        fix="stator-lead" if proposals else no_size(study),
        about=(segment.wire,),
        state=load.state,
        figures=(Figure("current, rms", load.amps, "A"), Figure("rated continuous", limit, "A")),
        source=f"{load.source}; {lead.ampacity.source}; {lead.ampacity.why}; profile {protection.profile.title}",
        proposals=proposals,
        notes=(Note(note, study.harness.parts[load.machine].span),) if load.shunt else (),
        group=f"stator {load.machine}",
        rank=-lead.share,
    )


RULE = Rule(
    name="thin-conductor",
    level=Level.ERROR,
    family="fire",
    stage=Stage.CONSEQUENCE,
    catches="a wire that carries more than its continuous rating, or, while a control is held, more than its "
    "short-time rating for 30 s",
    why="""A wire that is too thin for its load gets hot every time it is used, and no fuse blows. Its insulation
    softens, then turns brittle, and the first chafe ends in a short. The worst combination of switches counts, and few
    people think of it: every lamp, the horn and the brake together.""",
    source="33 CFR 183.425 table 5 for continuous current; the adiabatic equation of IEC 60364-5-54 for the current "
    "while a control is held or the engine cranks",
    formula="""found where current, momentary controls at rest > ampacity
   or where current, any control held, or cranking > the greater of ampacity and what heats the wire in 30 s from the
      temperature that it has with the controls released to that of its class, no heat lost
in the named states and in the combination that loads the wire most; between a stator and its rectifier at least
0.741 (three leads) or 1.11 (two) times the rated direct current, rms; on a winding the rated current of its loads.
An error where figures that were read find it, which may be higher than the limit shown, and a warning where only
figures from memory do""",
    cautions="Never fit a larger fuse because of a wire that gets warm, and never hide it in a bundle: find out why.",
    says={
        "continuous": "wire {wire} ({size}) carries {current}, rated {limit} continuous",
        "short-time": "wire {wire} ({size}) carries {current}, rated {limit} short-time",
        "stator-lead": "wire {wire} ({size}) carries at least {current} rms {by}, rated {limit} continuous",
    },
    fixes={
        "continuous": "",
        "short-time": "or fit a relay near the load, so that wire {wire} carries only its coil current",
        "stator-lead": "",
        **NO_SIZE,
    },
    find=find,
    fix=thicker,
)
