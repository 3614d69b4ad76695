"""A load that stays live after its button is released, or its switch is back at rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Element, Load
from ...behaviour import Behaviour
from ...behaviour.counterexample import found
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...behaviour import Combination
    from ...behaviour.cases import Space


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    controls = behaviour.circuit.controls
    momentary = {name for name, control in controls.items() if control.momentary}
    kept = [c for c in controls.values() if not (c.momentary or c.key or c.sensed) and c.name != "engine"]
    for part in study.harness.parts.values():
        if not isinstance(part, Load):
            continue
        for element in part.elements:
            with study.judging(part.name):
                branch = behaviour.circuit.by_key[f"{part.name}.{element.name}"]
                space = behaviour.space(behaviour.connected(branch.key))
                if not _relays(behaviour, space):
                    continue
                moved = [name for name in space.names if name in momentary]
                asked = [("every button is released", moved)] if moved else []
                asked += [(f"{c.name} is back at {c.rest}", [c.name]) for c in kept if c.name in space]
                told = next((f for when, names in asked for f in _held(behaviour, part, branch, names, when)), None)
                if told is not None:
                    yield told
                    break


def _held(behaviour: Behaviour, part: Load, branch: Branch, moved: list[str], when: str) -> Iterator[Finding]:
    """The load is live with some controls back at rest, and is not as long as none of them has moved a relay."""
    asked = behaviour.connected(branch.key)
    space = behaviour.space(asked)
    relays, on = _relays(behaviour, space), space.where(asked)
    by_itself = (on & space.unmoved(moved)).whatever((*space.remembered, *space.unset))
    rest = space.at_rest(moved)
    held = on & space.possible & space.lasting & rest  # what a timer holds ends by itself
    # That every button is released is said; of the other controls only those that matter are told.
    shown = (held - by_itself).shown(alike=held | ~rest)
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
        path=behaviour.loop(shown, branch),
        source=RULE.source,
        remedy=f"move the feed of the coil of {keeps[0]} to a point that its own contact does not feed"
        + _held_by(behaviour, shown, keeps),
    )


def _relays(behaviour: Behaviour, space: Space) -> list[str]:
    """The relays that matter to a question, as conditions."""
    return [name for name in space.remembered if behaviour.network.conditions[name].kind == "pulled"]


def _held_by(behaviour: Behaviour, shown: Combination, relays: list[str]) -> str:
    """The way between the contact and the coil of the first relay that its own contact holds in."""
    for relay in relays:
        coil = behaviour.circuit.by_key[f"{relay} coil"]
        way = behaviour.loop(shown, coil)
        contacts = [
            b.key for b in behaviour.circuit.branches if b.branch_type is BranchType.CONTACT and b.part == relay
        ]
        for place in (way.index(key) for key in contacts if key in way):
            first, last = sorted((place, way.index(coil.key)))
            return f": {' - '.join(way[first : last + 1])}"
    return ""


RULE = Rule(
    name="held-on",
    level=Level.ERROR,
    family="stop",
    stage=Stage.TOPOLOGY,
    catches="a load that a relay holds live after its button is released or its switch is back: a starter motor an "
    "error, all else a warning",
    why="""A wire from a relay's contact back to its coil makes it hold itself in: one touch of the button and the
    horn sounds until the key is off, or the starter keeps turning with the engine running and flies apart.
    Latches of a control unit are made to be pressed and are not meant here.""",
    source="ours: what occurs with and without a button or a switch having been moved is compared",
    find=find,
)
