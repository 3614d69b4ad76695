"""A brake that does not light the stop lamp by itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch import Branch
from ...behaviour import BATTERY, Question
from ...behaviour.keys import engine, key_on, keys
from ...behaviour.lamp_roles import BRAKES, of_role
from ...behaviour.stopping import ignition_parts
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...behaviour.cases import Cases, Space


def find(study: Study) -> Iterator[Finding]:
    lamps = list(of_role(study.circuit, "stop-lamp"))
    exchanged = {one.lamp for one in study.misfed if one.exchanged}  # its own rule says what to swap
    turning: list[Branch] = []
    for lamp in lamps:
        with study.judging(lamp.part):
            turning += [lamp] if _needs_the_engine(study, lamp) else []
    for lamp in turning:
        yield RULE.found(
            "windings",
            lamp.span,
            facts={"lamp": lamp.key, "terminal": study.protection.feed_end(lamp)},
            level=Level.NOTE,
            about=(lamp.part,),
        )
    for brake in BRAKES:
        if brake in study.circuit.controls:
            for lamp in lamps:
                if lamp in exchanged:
                    continue
                with study.judging(lamp.part):
                    yield from _unlit(study, lamp, brake, lamp in turning)
        elif lamps:
            yield RULE.found(
                "no-switch",
                lamps[0].span,
                facts={"lamp": lamps[0].key, "terminal": study.protection.feed_end(lamps[0]), "brake": brake},
                level=Level.NOTE,
                about=(lamps[0].part,),
            )


def _needs_the_engine(study: Study, lamp: Branch) -> bool:
    """Whether windings feed a lamp and a battery, though there is one, never does: it is made so."""
    if not any(supply.kind == "battery" for supply in study.circuit.supplies):
        return False
    behaviour = study.behaviour
    by_battery, by_winding = behaviour.live(lamp.key, BATTERY), behaviour.live(lamp.key, frozenset({"winding"}))
    return bool(behaviour.holds_in(by_winding)) and not behaviour.holds_in(by_battery)


def _unlit(study: Study, lamp: Branch, brake: str, turning: bool) -> Iterator[Finding]:
    """A duty: with the key on and that brake pressed, the lamp is live, whatever the other brake does."""
    behaviour = study.behaviour
    asked: list[Question] = [key_on(behaviour.network), behaviour.control(brake, "press")]
    if turning or not any(supply.kind == "battery" for supply in study.circuit.supplies):
        asked.append(engine("running"))
    live, while_ = behaviour.live(lamp.key), behaviour.all_of(*asked)
    runs = tuple(behaviour.runs(part.name) for part in ignition_parts(behaviour.network))
    keyless = not keys(behaviour.network)
    space = behaviour.space(live, while_, *(runs if keyless else ()))
    among = space.where(while_) & space.possible & space.plausible
    if keyless:
        among &= _awake(space, live, runs)
    lit = space.where(live)
    shown = (among - space.must(lit, among) - lit).shown()
    if shown is None:
        return
    switches = study.circuit.controls[brake].switches
    yield RULE.found(
        "not-lit",
        lamp.span,
        facts={"lamp": lamp.key, "terminal": study.protection.feed_end(lamp), "switches": tuple(switches)},
        about=(lamp.part, *switches),
        shown=shown,
    )


def _awake(space: Space, live: Question, runs: tuple[Question, ...]) -> Cases:
    """Where there is no key: what wakes the supply is whatever lets the engine run, or the brakes light the lamp."""
    here = [name for name in BRAKES if name in space]
    awake = space.where(live)
    for question in runs:
        awake |= space.where(question)
    return (awake & space.possible).whatever((*here, *space.unset))


RULE = Rule(
    name="stop-lamp-controls",
    level=Level.WARNING,
    family="behaviour",
    catches="a brake switch that does not light every stop lamp by itself with the key on",
    why="""Traffic behind sees by the stop lamp alone that a motorcycle brakes. Laws ask that either brake lights it
    without the other. A switch in series with the other brake switch, or behind the light switch, passes a quick
    look and fails on the road. Local law decides.""",
    source="UN R53 6.4 and 49 CFR 571.108: either brake lights the stop lamp (from memory); local law decides",
    cautions="Try the stop lamp with each brake by itself before every ride on a rewired motorcycle.",
    says={
        "windings": "{lamp} is fed by the engine's windings alone: no brake lights it while the engine is off",
        "no-switch": "{lamp} has no switch that `senses {brake}`",
        "not-lit": "{switches} {switches:does|do} not light {lamp} by {switches:itself|themselves}",
    },
    fixes={
        "windings": "feed {terminal} from the battery, unless the motorcycle was built like this",
        "no-switch": "fit a switch that `senses {brake}` between the feed behind the key and {terminal}, unless the "
        "motorcycle was built without one",
        "not-lit": "connect {switches} between the feed behind the key and {terminal}, in parallel with the other "
        "brake switch",
    },
    find=find,
)
