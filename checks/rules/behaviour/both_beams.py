"""Both filaments of one headlamp bulb at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ...behaviour.counterexample import found
from ...behaviour.lamp_roles import bulbs_of_two_beams, watts_of
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour, volts = study.behaviour, study.harness.volts
    controls = behaviour.circuit.controls
    for dip, main in bulbs_of_two_beams(study.circuit):
        with study.judging(main.part):
            asked = behaviour.all_of(behaviour.connected(dip.key), behaviour.connected(main.key))
            space = behaviour.space(asked)
            # Who holds the flasher for the main beam means it, and lets go: what springs back is at rest.
            at_rest = space.at_rest([name for name in space.names if name in controls and controls[name].momentary])
            shown = (space.where(asked) & space.possible & space.plausible & at_rest).shown()
            if shown is None:
                continue
            watts = [watts_of(lamp, volts) for lamp in (dip, main)]
            told = found(
                RULE.name,
                RULE.level,
                f"{dip.key} and {main.key} are filaments of one bulb and are on at once",
                main.span,
                about=(dip.part,),
                shown=shown,
                path=behaviour.loop(shown, main),
                source=RULE.source,
                remedy=f"join either {dip.a} or {main.a} to the feed in each position of the dip switch, never both",
            )
            figures = tuple(Figure(b.key, w, "W") for b, w in zip((dip, main), watts, strict=True) if w is not None)
            yield replace(told, figures=figures)


RULE = Rule(
    name="both-beams",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="dipped and main filament of one bulb on at the same time, with no button held",
    why="""A headlamp bulb is made for one filament at a time. With both it has twice the heat: the glass blisters, the
    holder's contacts and the reflector go, and dip switch and wires carry twice the current. The flash of the main
    beam with a button lasts a second and is no fault; separate bulbs that add up are made for it.""",
    source="common practice, no source",
    formula="""found where, in a plausible combination with everything that springs back at rest, the only
       dip-beam and the only main-beam of one lamp, filaments with a terminal in common, are both joined to a source""",
    cautions="Let the bulb cool before it is touched: it is hotter than usual.",
    find=find,
)
