"""Both filaments of one headlamp bulb at once."""

from __future__ import annotations

from collections.abc import Iterator

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
            # Who holds the flasher for the main beam means it, and releases it: what springs back is at rest.
            at_rest = space.at_rest([name for name in space.names if name in controls and controls[name].momentary])
            shown = (space.where(asked) & space.possible & space.plausible & at_rest).shown()
            if shown is None:
                continue
            watts = [watts_of(lamp, volts) for lamp in (dip, main)]
            yield RULE.found(
                "both",
                main.span,
                facts={"dip": dip.key, "main": main.key, "dip_terminal": dip.a, "main_terminal": main.a},
                about=(dip.part,),
                shown=shown,
                path=behaviour.loop(shown, main),
                figures=tuple(Figure(b.key, w, "W") for b, w in zip((dip, main), watts, strict=True) if w is not None),
            )


RULE = Rule(
    name="both-beams",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="dipped and main beam filament of one headlamp bulb on at the same time, with no button held",
    why="""A headlamp bulb is made for one filament at a time. With both on it gets twice the heat: the glass blisters,
    the contacts of the holder and the reflector suffer, and dip switch and wires carry twice the current. Flashing the
    main beam with a button lasts a second and is no fault; nor are two bulbs, one for each beam.""",
    source="common practice, no source",
    formula="""found where, in a plausible combination with all momentary controls released, the only
       dip-beam and the only main-beam of one lamp, filaments with a common terminal, are both connected to a source""",
    cautions="Let the bulb cool before you touch it: with both filaments on it is hotter than usual.",
    says={"both": "{dip} and {main}, filaments of one bulb, are both on"},
    fixes={
        "both": "connect only one of {dip_terminal} and {main_terminal} to the feed in each position of the dip switch"
    },
    find=find,
)
