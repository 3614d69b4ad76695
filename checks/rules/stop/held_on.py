"""A load that stays live after its button is released, or its switch is back at rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Element, Load
from ...behaviour import Joined
from ...behaviour.properties import shown_for_sure
from ...findings.finding import Finding, Level
from ...logic import Combination, SwitchingLogic
from ...logic.counterexample import found
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    logic = study.logic
    controls = logic.circuit.controls
    momentary = {name for name, control in controls.items() if control.momentary}
    kept = [c for c in controls.values() if not (c.momentary or c.key or c.sensed) and c.name != "engine"]
    for part in study.harness.parts.values():
        if not isinstance(part, Load):
            continue
        for element in part.elements:
            with study.judging(part.name):
                branch = logic.circuit.by_key[f"{part.name}.{element.name}"]
                scope = logic.scope(Joined(branch.key))
                relays = [bit for bit in scope.bits if logic.network.conditions[bit].kind == "pulled"]
                if not relays:
                    continue
                moved = [name for name in scope.by_name if name in momentary]
                asked = [("every button is released", moved)] if moved else []
                asked += [(f"{c.name} is back at {c.rest}", [c.name]) for c in kept if c.name in scope.by_name]
                told = next((f for when, names in asked for f in _held(logic, part, branch, names, when)), None)
                if told is not None:
                    yield told
                    break


def _held(logic: SwitchingLogic, part: Load, branch: Branch, moved: list[str], when: str) -> Iterator[Finding]:
    """The load is live with some controls back at rest, and is not as long as none of them has moved a relay."""
    scope = logic.scope(Joined(branch.key))
    relays = [bit for bit in scope.bits if logic.network.conditions[bit].kind == "pulled"]
    table = Joined(branch.key).table(scope)
    at_rest = scope.some(table & scope.unmoved(moved), (*scope.bits, *scope.free))
    rest = scope.rest(moved)
    held = table & scope.counted & scope.lasting & rest  # what a timer holds ends by itself
    # That every button is released is said; of the other controls only those that matter are told.
    shown = shown_for_sure(logic, scope, held & (held ^ (held & at_rest)), anywhere=held | (scope.full ^ rest))
    if shown is None:
        return
    is_starter = part.system == "starting" and isinstance(branch.item, Element) and branch.item.what == "motor"
    keeps = [bit.rpartition(" ")[0] for bit in relays if shown.positions[bit] == "yes"]
    yield found(
        RULE.name,
        Level.ERROR if is_starter else Level.WARNING,
        f"{branch.key} stays live after {when}: {' and '.join(keeps)} holds itself in",
        part.span,
        about=(part.name, *keeps),
        shown=replace(shown, held=tuple(bit for bit in shown.held if bit not in relays)),
        path=logic.loop(shown, branch),
        source=RULE.source,
        remedy=f"move the feed of the coil of {keeps[0]} to a point that its own contact does not feed"
        + _held_by(logic, shown, keeps),
    )


def _held_by(logic: SwitchingLogic, shown: Combination, relays: list[str]) -> str:
    """The way between the contact and the coil of the first relay that its own contact holds in."""
    for relay in relays:
        coil = logic.circuit.by_key[f"{relay} coil"]
        way = logic.loop(shown, coil)
        contacts = [b.key for b in logic.circuit.branches if b.branch_type is BranchType.CONTACT and b.part == relay]
        for place in (way.index(key) for key in contacts if key in way):
            first, last = sorted((place, way.index(coil.key)))
            return f": {' - '.join(way[first : last + 1])}"
    return ""


RULE = Rule(
    name="held-on",
    level=Level.ERROR,
    family="stop",
    catches="a load that a relay holds live after its button is released or its switch is back: a starter motor an "
    "error, all else a warning",
    why="""A wire from a relay's contact back to its coil makes it hold itself in: one touch of the button and the
    horn sounds until the key is off, or the starter keeps turning with the engine running and flies apart.
    Latches of a control unit are made to be pressed and are not meant here.""",
    source="ours: what occurs with and without a button or a switch having been moved is compared",
    find=find,
)
