"""An alternator or dynamo that is not always connected to the battery."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.editing.proposals import Proposal, SwapWords, swap
from ....lang.model.parts import Regulator, Source
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.quantity import shown as digits
from ...behaviour.keys import engine, key_on, not_stopped
from ...findings.finding import Finding, Level
from ...fixes.charging import charging_fuse, old_lead
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch, Supply
    from ...behaviour import Behaviour, Combination


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    supplies = behaviour.circuit.supplies
    batteries = [supply for supply in supplies if supply.kind == "battery"]
    machines = [supply for supply in supplies if supply.kind == "machine"]
    if not batteries:
        return
    network = behaviour.network
    while_ = behaviour.all_of(engine("running"), key_on(network), not_stopped(network))
    for machine in machines:
        with study.judging(machine.name):
            out = behaviour.any_of(*(behaviour.joined(machine.plus[0], battery.plus[0]) for battery in batteries))
            back = behaviour.any_of(*(behaviour.joined(battery.minus, machine.minus) for battery in batteries))
            for question, what, node in ((out, "output", machine.plus[0]), (back, "return", machine.minus)):
                shown = behaviour.fails(question, while_)
                if shown is None:
                    continue
                if (crossed := _crossed(study, machine, batteries)) is not None:
                    side, terminal, pole = crossed
                    yield RULE.found(
                        "reversed",
                        machine.span,
                        facts={"machine": machine.name, "terminal": terminal, "side": side, "pole": pole},
                        about=(machine.name,),
                        proposals=(
                            swap(
                                machine.plus[0],
                                machine.minus,
                                first=f"find out which side of {machine.name} is +; then ",
                            ),
                        ),
                    )
                    break
                ends = [(machine.plus[0], battery.plus[0]) for battery in batteries]
                if what == "return":
                    ends = [(battery.minus, machine.minus) for battery in batteries]
                if (turned := _turned(behaviour, shown, ends)) is not None:
                    yield RULE.found(
                        "turned",
                        turned.span,
                        facts={"part": turned.key, "start": turned.a, "end": turned.b, "machine": machine.name},
                        about=(machine.name, turned.part),
                        fix=_order(study, turned),
                        proposals=_turn_round(study, turned),
                    )
                    continue
                part, rating = study.harness.parts[machine.name], charging_fuse(study, machine)
                is_dynamo = isinstance(part, Source) and part.what == "dynamo"
                yield RULE.found(
                    what,
                    machine.span,
                    facts={
                        "machine": machine.name,
                        "terminal": node,
                        "old": old_lead(study, node),
                        "rating": Quantity(rating, "A") if rating is not None else "",
                    },
                    fix="cut-out" if is_dynamo and what == "output" else what,
                    about=(machine.name, *(name for name, _ in shown.shown)),
                    shown=shown,
                )


def _crossed(study: Study, machine: Supply, batteries: list[Supply]) -> tuple[str, str, str] | None:
    """The side of the alternator or dynamo that copper, fuses and meters connect to the wrong pole of a battery, if
    they do: its sign, its terminal, and the pole.
    """
    same_net = study.protection.same_net
    for battery in batteries:
        for side, node, pole in (("-", machine.minus, battery.plus[0]), ("+", machine.plus[0], battery.minus)):
            if same_net(node, pole):
                return side, node, pole
    return None


def _turned(behaviour: Behaviour, shown: Combination, ends: list[tuple[End, End]]) -> Branch | None:
    """The cut-out or diode that stands against the current, where only that keeps the two ends of a way apart."""
    for branch in behaviour.circuit.branches:
        if branch.branch_type in (BranchType.CUT_OUT, BranchType.DIODE):
            for start, end in ends:
                against = behaviour.all_of(behaviour.joined(start, branch.b), behaviour.joined(branch.a, end))
                space = behaviour.space(against)
                here = space.where(against) & space.possible
                for control in space.controls:
                    here &= space.at(control, shown.positions.get(control, space.rest_of(control)))
                if here:
                    return branch
    return None


def _turn_round(study: Study, turned: Branch) -> tuple[Proposal, ...]:
    """The cut-out written the other way round, or the wires swapped where it is fitted so; a diode's wires swapped."""
    first, last = turned.b.terminal, turned.a.terminal
    part = study.harness.parts[turned.part]
    if not isinstance(part, Regulator):
        return (swap(turned.a, turned.b),)
    volts = f" {digits(part.cut_out_volts)} V" if part.cut_out_volts is not None else ""
    write = f"write `cut-out{volts}: {first} {last}`, or swap the wires where it really is fitted so"
    return Proposal(write, (SwapWords(turned.part, "cut-out", first, last),)), swap(turned.a, turned.b)


def _order(study: Study, turned: Branch) -> str:
    """The fix that tells in which order the terminals of a cut-out are written; a diode's are marked on it."""
    if not isinstance(study.harness.parts[turned.part], Regulator):
        return "diode"
    return "negative-ground" if study.circuit.return_sign == "-" else "positive-ground"


RULE = Rule(
    name="no-charge",
    level=Level.ERROR,
    family="behaviour",
    catches="engine running, key on, and the output or the return of an alternator or dynamo not connected to the "
    "battery",
    why="""An alternator or dynamo that is disconnected from the battery while it runs does not charge it, and with a
    wound field its voltage rises until lamps and then electronics fail. A switch in the charging lead, or a return
    through a part that can be removed, does that sooner or later.""",
    source="Loomwright's analysis: every combination of the controls",
    cautions="An alternator with a wound field that runs without its battery can destroy bulbs and electronics: stop "
    "the engine before you look for the open place, and measure with the engine off first.",
    says={
        "reversed": "{machine} is the wrong way round: {terminal}, its {side} side, is connected to {pole}",
        "turned": "{part} is the wrong way round: it conducts from {start} to {end} only, so {machine} cannot charge "
        "the battery",
        "output": "{terminal}, the output of {machine}, is not connected to the battery",
        "return": "{terminal}, the return of {machine}, is not connected to the battery",
    },
    fixes={
        "reversed": "or swap the two on the `output` line of {machine}, where the + side comes first",
        "diode": "",
        "negative-ground": "write `cut-out` in the direction of the current: with a negative ground first the "
        "terminal of the dynamo, then that of the battery",
        "positive-ground": "write `cut-out` in the direction of the current: with a positive ground first the - "
        "of the battery, then the - of the dynamo",
        "output": "[take {old} off {terminal}, remove it or insulate the end, and ]connect {terminal} straight to the "
        "battery by a wire rated for its full output, with its own fuse[ of {rating}] near the battery",
        "cut-out": "connect {terminal} to the battery through its cut-out, with a fuse[ of {rating}] near the battery; "
        "without a cut-out the battery drives the dynamo",
        "return": "connect {terminal} straight to the grounded terminal of the battery, with no switch and no fuse in "
        "the wire",
    },
    find=find,
)
