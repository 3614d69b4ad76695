"""A machine that the battery does not always get its current from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch_types import BranchType
from ....lang.editing.proposals import Proposal, SwapWords, swap
from ....lang.model.parts import Regulator
from ....lang.quantities.quantity import shown as digits
from ...behaviour.counterexample import found
from ...behaviour.keys import engine, key_on, not_stopped
from ...findings.finding import Finding, Level
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
                    yield found(
                        RULE.name,
                        RULE.level,
                        f"{machine.name} is joined the wrong way round: {crossed}",
                        machine.span,
                        about=(machine.name,),
                        source=RULE.source,
                        remedy=f"or swap the two on the `output` line of {machine.name}, where the + side comes first",
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
                    yield found(
                        RULE.name,
                        RULE.level,
                        f"{turned.key} is the wrong way round: current passes it from {turned.a} to {turned.b} only, "
                        f"so {machine.name} never reaches the battery",
                        turned.span,
                        about=(machine.name, turned.part),
                        source=RULE.source,
                        remedy=_why(study, turned),
                        proposals=_turn_round(study, turned),
                    )
                    continue
                yield found(
                    RULE.name,
                    RULE.level,
                    f"the {what} of {machine.name} at {node} does not reach the battery",
                    machine.span,
                    about=(machine.name, *(name for name, _ in shown.shown)),
                    shown=shown,
                    source=RULE.source,
                    remedy=f"connect {node} to the battery past every switch, with a fuse of its own near the battery"
                    if what == "output"
                    else f"connect {node} to the battery's ground by a wire that nothing can open",
                )


def _crossed(study: Study, machine: Supply, batteries: list[Supply]) -> str | None:
    """Which side of the machine copper, fuses and meters join to the wrong pole of a battery, if they do."""
    same_net = study.protection.same_net
    for battery in batteries:
        for side, node, pole in (("-", machine.minus, battery.plus[0]), ("+", machine.plus[0], battery.minus)):
            if same_net(node, pole):
                return f"{node}, its {side} side, goes to {pole}"
    return None


def _turned(behaviour: Behaviour, shown: Combination, ends: list[tuple[str, str]]) -> Branch | None:
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
    first, last = (node.rpartition(".")[2] for node in (turned.b, turned.a))
    part = study.harness.parts[turned.part]
    if not isinstance(part, Regulator):
        return (swap(turned.a, turned.b),)
    volts = f" {digits(part.cut_out_volts)} V" if part.cut_out_volts is not None else ""
    write = f"write `cut-out{volts}: {first} {last}`, or swap the wires where it is fitted so"
    return Proposal(write, (SwapWords(turned.part, "cut-out", first, last),)), swap(turned.a, turned.b)


def _why(study: Study, turned: Branch) -> str:
    if not isinstance(study.harness.parts[turned.part], Regulator):
        return ""
    if study.circuit.return_sign == "-":
        order = "with a negative ground the machine stands first and the battery second"
    else:
        order = "with a positive ground the battery's - stands first and the machine's - second"
    return f"it is written the way that current goes, and {order}"


RULE = Rule(
    name="no-charge",
    level=Level.ERROR,
    family="behaviour",
    catches="engine running, key on, and the output or the return of the machine not joined to the battery",
    why="""A machine that is cut off from the battery while it runs charges nothing, and the volts of a field machine
    rise until something gives: lamps first, electronics next. A switch in the charging lead, or a return
    through a part that can be taken off, does that one day.""",
    source="ours: every combination of the controls is gone through",
    find=find,
)
