"""Something polarised that is only ever fed backwards."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType, Direction
from ....lang.editing.proposals import swap
from ....lang.model.parts import Element, Load, Relay, Switch, UnitOutput
from ...behaviour.counterexample import found
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    for branch in behaviour.circuit.branches:
        with study.judging(branch.part):
            polarised = _polarised(study, branch)
            if polarised is None:
                continue
            backwards = behaviour.driven(branch.b, branch.a)
            if behaviour.holds_in(behaviour.driven(branch.a, branch.b)):
                continue
            shown = behaviour.may(backwards)
            if shown is None:
                continue
            level, consequence, first = polarised
            yield found(
                RULE.name,
                level,
                f"{branch.key} is fed backwards: {branch.a} is its + side, and the current comes in at {branch.b}"
                + consequence,
                branch.span,
                about=(branch.part,),
                shown=shown,
                path=behaviour.feed(shown, branch.b),
                source=RULE.source,
                proposals=(swap(branch.a, branch.b, first=first),),
            )


def _polarised(study: Study, branch: Branch) -> tuple[Level, str, str] | None:
    """How grave it is to feed an element backwards, what it does and what to find out first; ``None`` where it has no
    side.
    """
    if branch.branch_type.joined is not Direction.NEVER:
        return None
    if branch.branch_type.as_load is Direction.FORWARD or branch.branch_type is BranchType.CAPACITOR:
        return RULE.level, "", ""
    part = study.harness.parts.get(branch.part)
    if isinstance(part, Relay) and part.clamped and branch.branch_type is BranchType.COIL:
        if part.clamp == "diode":
            return RULE.level, "; its diode shorts the feed", ""
        if part.clamp is None:
            which = f"look at {part.name} and write `clamp diode` or `clamp resistor` on its line; with a diode "
            return Level.NOTE, "; if its clamp is a diode, that shorts the feed", which
    if branch.branch_type is BranchType.IGNITION and _is_a_box(study, branch):
        return RULE.level, "", ""
    return None


def _is_a_box(study: Study, branch: Branch) -> bool:
    """Whether an ignition element is electronics: a coil is known by its ohms, its duty, or by points that cut it off.

    A coil makes sparks either way round; what has a stop lead, or takes watts between feed and ground, is a box.
    """
    item, part = branch.item, study.harness.parts.get(branch.part)
    if not isinstance(item, Element) or item.ohms is not None or item.duty != 1.0:
        return False
    if isinstance(part, Load) and part.stop_lead is not None:
        return True
    network = study.behaviour.network
    poles = {network.net(pole) for supply in network.circuit.supplies for pole in (*supply.plus, supply.minus)}
    ends = {network.net(branch.a), network.net(branch.b)} - poles
    return not any(network.net(node) in ends for node in _cut_off(study))


def _cut_off(study: Study) -> Iterator[str]:
    """The terminals that points, or an output of a unit, cut off."""
    for branch in study.circuit.branches:
        owner = study.harness.parts.get(branch.part)
        if isinstance(owner, Switch) and owner.senses == "crank":
            yield from (branch.a, branch.b)
        if isinstance(branch.item, UnitOutput):
            yield branch.a if branch.item.grounded else branch.b


RULE = Rule(
    name="reversed-polarity",
    level=Level.ERROR,
    family="fire",
    stage=Stage.TOPOLOGY,
    catches="a polarised element fed backwards and never its own way",
    why="""A light-emitting diode fed backwards stays dark, electronics fed backwards are gone, and an electrolytic
    capacitor fed backwards bursts. An ignition box is electronics too; the diode inside a relay shorts the feed of
    a coil that is the wrong way round. The first terminal of an element is its + side, whatever the polarity of
    the ground.""",
    source="ours: every combination of the controls is gone through",
    formula="""found where, in a possible combination, a led, electronics, an ignition box, a unit's supply, a capacitor
      or the coil of a relay with a diode has the + of a source joined to its - and the - to its +, and in no
      combination the other way round""",
    cautions="An electrolytic capacitor fed backwards bursts: connect nothing to try it.",
    find=find,
)
