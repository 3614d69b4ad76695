"""A regulator that does not sense the battery's voltage."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.ids import End
from ....lang.editing.proposals import Proposal, SwapWords
from ....lang.model.parts import Regulator
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import exceeds
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from ...tables.device_constants import law_source, laws


def find(study: Study) -> Iterator[Finding]:
    limit = laws().sense_error_volts
    batteries = [s for s in study.circuit.supplies if s.kind == "battery"]
    if not batteries:
        return
    for part in study.harness.parts.values():
        if not isinstance(part, Regulator) or part.sense is None:
            continue
        top, bottom = (End(part.name, terminal) for terminal in part.sense)
        known = study.operation.network.index
        if top not in known or bottom not in known:
            continue
        worst = None
        for point, history in study.operation.left_before.ways:
            if point.engine != "running" or point.momentary or not point.flow.situation.machines:
                continue
            felt = point.volts(top) - point.volts(bottom)
            battery = point.across(batteries[0].name)
            error = abs(felt - battery)
            if error > limit and (worst is None or exceeds(error, abs(worst[0] - worst[1]))):
                worst = (felt, battery, point, history)
        if worst is None:
            continue
        felt, battery, point, history = worst
        turned = abs(felt + battery) <= limit
        first, second = part.sense
        yield RULE.found(
            "reversed" if turned else "wrong-voltage",
            part.span,
            facts={
                "regulator": part.name,
                "plus": top,
                "minus": bottom,
                "sensed": Quantity(felt, "V"),
                "battery": batteries[0].name,
                "actual": Quantity(battery, "V"),
                "limit": Quantity(limit, "V"),
                "history": history,
            },
            fix="reversed" if turned else "shared" if _shared(part) else "wrong-voltage",
            about=(part.name,),
            state=point.state,
            figures=(
                Figure("at the sense terminals", felt, "V"),
                Figure("battery", battery, "V"),
                Figure("allowed difference", limit, "V"),
            ),
            source=str(law_source("sense_error_volts")),
            proposals=(
                Proposal(
                    f"write `sense: {second} {first}`, the + side first",
                    (SwapWords(part.name, "sense", first, second),),
                ),
            )
            if turned
            else (),
        )


def _shared(part: Regulator) -> bool:
    """Whether what the regulator senses is a terminal that feeds the field or the cut-out, too: a separate lead to
    the battery would bridge the cut-out, and carry the field's current.
    """
    live = {terminal for pair in (part.passes, part.cut_out) if pair is not None for terminal in pair}
    return part.sense is not None and not live.isdisjoint(part.sense)


RULE = Rule(
    name="sense-error",
    level=Level.WARNING,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    catches="a voltage at a regulator's sense terminals that differs from the battery's by over 0.3 V while riding",
    why="""A regulator holds steady the voltage that it senses. At the far end of a wire that feeds lamps as well it
    senses too little, and charges the battery at a voltage that is too high by as much: at 15 V a battery boils dry and
    lamps fail early. A drop of 0.5 V in an old key is enough. A sense lead that is not connected is worse: the
    alternator or dynamo then runs unregulated at full output.""",
    source="0.3 V: Loomwright's limit",
    formula="found where |voltage between the sense terminals - voltage of the battery| > 0.3 V, engine running",
    cautions="An overcharged battery gives off explosive gas and acid; stop the engine if it swells or smells.",
    says={
        "wrong-voltage": "{regulator} senses {sensed} while {battery} has {actual}[ with {history}], at most {limit} "
        "apart is allowed: it regulates to the wrong voltage",
        "reversed": "{regulator} has its sense terminals reversed: {plus}, its + side, is at the - side of {battery}",
    },
    fixes={
        "wrong-voltage": "feed {plus} from {battery} by a wire that carries no other current, through a fuse of 2 A at "
        "{battery} and a contact that the key closes, and return {minus} to the other pole by a wire that carries no "
        "other current; mark that fuse: without it {battery} is overcharged",
        "shared": "make the drop between {regulator} and {battery} smaller: thicker wires, fewer, clean contacts; set "
        "the regulator higher by the drop of a diode; or fit a regulator with a separate sense terminal. Do not "
        "connect {plus} straight to {battery}: it does not only sense",
        "reversed": "check first which pole of the battery is grounded: with a positive ground the frame side is +",
    },
    find=find,
)
