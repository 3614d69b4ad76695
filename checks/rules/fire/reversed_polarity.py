"""A polarised element that is only ever fed backwards."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType, Direction
from ....lang.editing.proposals import swap
from ....lang.model.parts import Capacitor, Element, Load, Relay, Switch, UnitOutput
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

CONDENSER: Final = 1e-5
"""Farads below which a capacitor is a condenser of points or a suppressor, which has no polarity (ours)."""


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    for branch in behaviour.circuit.branches:
        with study.judging(branch.part):
            case = _case(study, branch)
            if case is None:
                continue
            backwards = behaviour.driven(branch.b, branch.a)
            if behaviour.holds_in(behaviour.driven(branch.a, branch.b)):
                continue
            shown = behaviour.may(backwards)
            if shown is None:
                continue
            look = f"look at {branch.part} and write `clamp diode` or `clamp resistor` on its line; with a diode "
            yield RULE.found(
                case,
                branch.span,
                facts={"element": branch.key, "plus": branch.a, "minus": branch.b},
                level=Level.NOTE if case == "clamp" else None,
                about=(branch.part,),
                shown=shown,
                path=behaviour.feed(shown, branch.b),
                proposals=(swap(branch.a, branch.b, first=look if case == "clamp" else ""),),
            )


def _case(study: Study, branch: Branch) -> str | None:
    """What an element does that is fed backwards; ``None`` where it has no polarity."""
    part = study.harness.parts.get(branch.part)
    if branch.branch_type.joined is not Direction.NEVER:
        return None
    if branch.branch_type is BranchType.CAPACITOR:
        known = part.farads if isinstance(part, Capacitor) else None
        return "element" if known is None or known >= CONDENSER else None
    if branch.branch_type.as_load is Direction.FORWARD:
        return "element"
    if isinstance(part, Relay) and part.clamped and branch.branch_type is BranchType.COIL:
        return {"diode": "diode", None: "clamp"}.get(part.clamp)
    if branch.branch_type is BranchType.IGNITION and _is_a_box(study, branch):
        return "element"
    return None


def _is_a_box(study: Study, branch: Branch) -> bool:
    """Whether an ignition element is electronics: a coil is known by its ohms, its duty, or by points that cut it off.

    A coil makes sparks either way round; what has a kill wire, or takes watts between feed and ground, is a box.
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


BACKWARDS: Final = "{element} is fed backwards[ ({when})]: its + side is {plus}, and the feed is connected to {minus}"


RULE = Rule(
    name="reversed-polarity",
    level=Level.ERROR,
    family="fire",
    stage=Stage.TOPOLOGY,
    catches="a polarised element that is fed backwards, and never the right way round",
    why="""A light-emitting diode fed backwards stays off, electronics fed backwards are destroyed, and an electrolytic
    capacitor fed backwards bursts. An ignition box is electronics too; the diode inside a relay shorts the feed of a
    coil that is connected the wrong way round. A condenser below 10 uF is taken
    to have no polarity: look at its case for a + or a band. The first terminal of an element is its + side, whatever
    the polarity of the ground.""",
    source="Loomwright's analysis: every combination of the controls",
    formula="""found where, in a possible combination, a led, electronics, an ignition box, a unit's supply, a capacitor
      or the coil of a relay with a diode has the + of a source connected to its - and the - to its +, and in no
      combination the other way round""",
    cautions="An electrolytic capacitor fed backwards bursts: never connect it to try.",
    says={
        "element": BACKWARDS,
        "diode": f"{BACKWARDS}; its diode shorts the feed",
        "clamp": f"{BACKWARDS}; if its clamp is a diode, that shorts the feed",
    },
    find=find,
)
