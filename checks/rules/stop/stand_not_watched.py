"""An ignition that does not mind the stand."""

from __future__ import annotations

from collections.abc import Iterator

from ...behaviour import Question, feed_keys
from ...behaviour.counterexample import found
from ...behaviour.properties import fed_path, ignition_parts, in_gear
from ...findings.finding import Finding, Level, Stage
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
            switches = network.circuit.controls["stand"].switches
            yield found(
                RULE.name,
                RULE.level,
                f"{part.name} runs with the stand down",
                part.span,
                about=(part.name, *switches),
                shown=shown,
                path=fed_path(behaviour.logic, shown, feed_keys(network, part)),
                source=RULE.source,
                remedy=f"feed the ignition through {' and '.join(switches)}, and past it through the neutral switch",
            )
            return


RULE = Rule(
    name="stand-not-watched",
    level=Level.WARNING,
    family="stop",
    stage=Stage.FUNCTION,
    catches="a sensed stand, and an ignition that is live with it down and in gear",
    why="""A stand left down digs in at the first left-hand bend. Some laws let a stand that does not fold up by itself
    pass where the engine cannot drive the machine with the stand out: that is what the switch is for, and a
    switch that only lights a lamp does not do it. Local law decides.""",
    source="Regulation (EU) 168/2013 with Delegated Regulation (EU) 44/2014, which took over from Directive 2009/78/EC "
    "(from memory, confidence high); local law decides",
    find=find,
)
