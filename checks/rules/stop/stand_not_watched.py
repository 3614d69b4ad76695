"""An ignition that the stand switch does not cut off."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour import Question, feed_keys
from ...behaviour.interlocks import in_gear
from ...behaviour.proof import fed_path
from ...behaviour.stopping import ignition_parts
from ...findings.finding import Finding, Level, Stage
from ...fixes.interlocks import band_end, live_end, opens_at
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour, network = study.behaviour, study.behaviour.network
    if "stand" not in network.circuit.controls:
        return
    gear = in_gear(network)
    down: list[Question] = [behaviour.control("stand", "down"), *([gear] if gear else [])]
    while_ = behaviour.all_of(*down)
    for part in ignition_parts(network):
        with study.judging(part.name):
            shown = behaviour.may(behaviour.runs(part.name), while_)
            if shown is None:
                continue
            controls = network.circuit.controls
            switches = controls["stand"].switches
            neutral = controls["gearbox"].switches if gear else ()
            closed_down = tuple(each for each in switches if not opens_at(study, each, "stand", "down"))
            to_ground = any(live_end(study, switch) is not None for switch in (*switches, *neutral))
            yield RULE.found(
                "live",
                part.span,
                facts={
                    "ignition": part.name,
                    "switches": tuple(switches),
                    "neutral": tuple(neutral),
                    "closed_down": closed_down,
                    "band": band_end(study, negative="the switch", positive="the coil"),
                },
                fix="closes-down" if closed_down else "to-ground" if to_ground else "in-feed",
                about=(part.name, *switches),
                shown=shown,
                path=fed_path(behaviour.logic, shown, feed_keys(network, part)),
            )
            return


RULE = Rule(
    name="stand-not-watched",
    level=Level.WARNING,
    family="stop",
    stage=Stage.FUNCTION,
    catches="an ignition that stays live with the stand down and in gear, although a switch senses the stand",
    why="""A stand left down digs in at the first left-hand bend. Some laws allow a stand that does not fold up by
    itself where the engine cannot drive the motorcycle with the stand out: the switch serves that purpose, and a switch
    that only lights a lamp does not. Local law decides.""",
    source="Regulation (EU) 168/2013 with Delegated Regulation (EU) 44/2014, which took over from Directive "
    "2009/78/EC (from memory, confidence high); local law decides",
    says={"live": "{ignition} stays live"},
    cautions="""A contact that opens in the feed of an ignition stops the engine on the road: seal its relay and plugs
    and fasten them. Try it on the centre stand, in neutral first, with nobody in front of the motorcycle.""",
    fixes={
        "to-ground": "feed {ignition} through the contact of a relay; feed the coil of that relay from the same wire, "
        "and ground it through {switches}[ and, in parallel, through {neutral}], with a diode before each switch, its "
        "band (cathode) towards {band}; never connect a switch that closes to ground into the feed itself: it would "
        "short the feed",
        "closes-down": "{closed_down} {closed_down:closes|close} with the stand down, so that it must not ground a "
        "relay that feeds {ignition}: fit a switch that closes with the stand up; or feed {ignition} through the break "
        "contact (30-87a) of a relay, feed its coil from the same wire and ground it through {closed_down} alone, with "
        "a diode before the switch, its band (cathode) towards {band}",
        "in-feed": "feed {ignition} through {switches}[, with {neutral} in parallel], each rated for the current of "
        "{ignition}",
    },
    find=find,
)
