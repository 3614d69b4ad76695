"""A load that stays live after its button is released, or its switch is back at rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain
from typing import TYPE_CHECKING

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import coil_of, spelled
from ....lang.model.parts import Element, Load
from ...behaviour import Behaviour
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
                asked = [("button", moved, "")] if moved else []
                asked += [("switch", [c.name], c.rest) for c in kept if c.name in space]
                held = (_held(behaviour, part, branch, names, case, rest) for case, names, rest in asked)
                first = next(chain.from_iterable(held), None)
                if first is not None:
                    yield first
                    break


def _held(
    behaviour: Behaviour, part: Load, branch: Branch, moved: list[str], case: str, position: str
) -> Iterator[Finding]:
    """The load is live with some controls back at rest, and is not as long as none of them has moved a relay.

    ``position``: of a switch that is back at rest.
    """
    asked = behaviour.connected(branch.key)
    space = behaviour.space(asked)
    relays, on = _relays(behaviour, space), space.where(asked)
    by_itself = (on & space.unmoved(moved)).whatever((*space.remembered, *space.unset))
    rest = space.at_rest(moved)
    held = on & space.possible & space.lasting & rest  # what a timer holds ends by itself
    # That every button is released is stated; of the other controls only those that matter are named.
    shown = (held - by_itself).shown(alike=held | ~rest)
    if shown is None:
        return
    is_starter = part.system == "starting" and isinstance(branch.item, Element) and branch.item.what == "motor"
    keeps = [behaviour.network.conditions[bit].part for bit in relays if shown.positions[bit] == "yes"]
    yield RULE.found(
        case,
        part.span,
        facts={
            "load": branch.key,
            "relays": tuple(keeps),
            "relay": keeps[0],
            "switch": moved[0],
            "position": position,
            "loop": _held_by(behaviour, shown, keeps),
        },
        level=Level.ERROR if is_starter else Level.WARNING,
        about=(part.name, *keeps),
        shown=replace(shown, held=tuple(bit for bit in shown.held if bit not in relays)),
        path=behaviour.loop(shown, branch),
        fix="coil",
    )


def _relays(behaviour: Behaviour, space: Space) -> list[str]:
    """The relays that matter to a question, as conditions."""
    return [name for name in space.remembered if behaviour.network.conditions[name].kind == "pulled"]


def _held_by(behaviour: Behaviour, shown: Combination, relays: list[str]) -> str:
    """The way between the contact and the coil of the first relay that its own contact holds in."""
    for relay in relays:
        coil = behaviour.circuit.by_key[coil_of(relay)]
        way = behaviour.loop(shown, coil)
        contacts = [
            b.key for b in behaviour.circuit.branches if b.branch_type is BranchType.CONTACT and b.part == relay
        ]
        for place in (way.index(key) for key in contacts if key in way):
            first, last = sorted((place, way.index(coil.key)))
            return spelled(way[first : last + 1])
    return ""


RULE = Rule(
    name="held-on",
    level=Level.ERROR,
    family="stop",
    stage=Stage.TOPOLOGY,
    catches="a load that a relay keeps live after its button is released or its switch is back at rest: an error "
    "for a starter motor, a warning for any other load",
    why="""A relay whose contact feeds its own coil holds itself in: after one touch of the button the horn sounds until
    the ignition is switched off, or the starter keeps turning with the engine running and is destroyed. A latching
    output of a control unit is not reported.""",
    source="Loomwright's analysis: every combination, with and without a button or a switch moved before",
    cautions="A starter that stays on moves the motorcycle and burns its leads: with the battery's grounded lead off, "
    "take the heavy cable off the starter motor and insulate its end; connect the battery again and try the "
    "button: the relay clicks, nothing turns. Refit the cable, the battery off again, when the relay drops out with "
    "the button.",
    says={
        "button": "{load} stays live after every button is released[ ({when})]: {relays} "
        "{relays:holds itself|hold themselves} in",
        "switch": "{load} stays live after {switch} is back at {position}[ ({when})]: {relays} "
        "{relays:holds itself|hold themselves} in",
    },
    fixes={"coil": "feed the coil of {relay} from a point that its own contact does not feed[: the loop is {loop}]"},
    find=find,
)
