"""Both filaments of one headlamp bulb at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ...behaviour import Joined
from ...behaviour.lamp_roles import bulbs_of_two_beams, watts_of
from ...behaviour.properties import shown_for_sure
from ...findings.finding import Figure, Finding, Level
from ...logic.counterexample import found
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    logic, volts = study.logic, study.harness.volts
    controls = logic.circuit.controls
    for dip, main in bulbs_of_two_beams(study.circuit):
        with study.judging(main.part):
            questions = Joined(dip.key), Joined(main.key)
            scope = logic.scope(*questions)
            # Who holds the flasher for the main beam means it, and lets go: what springs back is at rest.
            at_rest = scope.rest([name for name in scope.by_name if name in controls and controls[name].momentary])
            both = scope.counted & scope.plausible & at_rest
            for question in questions:
                both &= question.table(scope)
            shown = shown_for_sure(logic, scope, both)
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
                path=logic.loop(shown, main),
                source=RULE.source,
                remedy=f"join either {dip.a} or {main.a} to the feed in each position of the dip switch, never both",
            )
            figures = tuple(Figure(b.key, w, "W") for b, w in zip((dip, main), watts, strict=True) if w is not None)
            yield replace(told, figures=figures)


RULE = Rule(
    name="both-beams",
    level=Level.WARNING,
    family="behaviour",
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
