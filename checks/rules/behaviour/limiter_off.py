"""A limiter that is not across the winding it should limit, and a field regulator that is bypassed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations
from typing import Final

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.model.parts import Regulator, Source
from ...behaviour import Question
from ...behaviour.field_regulators import bypassed, field_ends, passes
from ...findings.facts import Fact
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

SOUND: Final = 1.05
"""Of the voltage that it is made for, up to which a lamp needs no limiter (ours, as in overvoltage)."""


def find(study: Study) -> Iterator[Finding]:
    yield from _limiters(study)
    yield from _field_regulators(study)


def _field_regulators(study: Study) -> Iterator[Finding]:
    """The machines that run unregulated, since nothing is between their field and its full voltage."""
    joined = study.copper.fused
    for regulator, machine in bypassed(study.circuit, study.copper):
        enters, leaves = passes(regulator)
        plus, _ = field_ends(machine)
        facts: dict[str, Fact] = {
            "regulator": regulator.name,
            "machine": machine.name,
            "enters": enters,
            "leaves": leaves,
        }
        path: tuple[str, ...] = (enters, leaves)
        if joined.same(enters, leaves):
            case = "jumper"
        else:
            poles = [pole for supply in study.circuit.supplies for pole in supply.plus if pole != plus]
            at = next((node for node in (enters, *poles) if joined.same(plus, node)), "")
            case, path = "bypassed" if at else "fed-past", (plus, *([at] if at else []))
            loose = tuple(end for end in (enters, leaves) if not study.copper.wires_at(end))
            facts |= {"terminal": plus, "at": at, "loose": loose}
        yield RULE.found(case, regulator.span, facts=facts, about=(regulator.name, machine.name), path=path, fix=case)


def _limiters(study: Study) -> Iterator[Finding]:
    parts = study.harness.parts.values()
    windings = [
        [End(part.name, terminal) for terminal in terminals]
        for part in parts
        if isinstance(part, Source)
        for terminals in (*(winding.terminals for winding in part.windings), part.phases)
    ]
    joined = study.copper.switched
    for part in parts:
        if not isinstance(part, Regulator) or not part.shunts:
            continue
        ends = [End(part.name, terminal) for terminal in part.shunts]
        if not any(study.copper.wires_at(end) for end in ends):
            continue  # unused-part says so
        pairs = (pair for nodes in windings for pair in permutations(nodes, 2))
        if any(joined.same(ends[0], one) and joined.same(ends[1], other) for one, other in pairs):
            yield from _parted(study, part, ends)
            continue
        loose = tuple(end for end in ends if not any(joined.same(end, node) for nodes in windings for node in nodes))
        yield RULE.found(
            "not-connected" if loose else "not-across",
            part.span,
            facts={"limiter": part.name, "ends": tuple(ends), "loose": loose},
            about=(part.name,),
            fix="across",
        )


def _parted(study: Study, part: Regulator, ends: Sequence[End]) -> Iterator[Finding]:
    """A limiter that a contact parts from its winding while lamps are on that, and get more than they are made for."""
    high = study.winding_lamps.highest if study.winding_lamps is not None else {}
    behaviour = study.behaviour

    def across(a: End, b: End, winding: Branch) -> Question:
        both = ((winding.a, winding.b), (winding.b, winding.a))
        each = (behaviour.all_of(behaviour.joined(a, one), behaviour.joined(b, other)) for one, other in both)
        return behaviour.any_of(*each)

    for winding in (b for b in study.circuit.branches if b.branch_type is BranchType.WINDING):
        held = across(ends[0], ends[1], winding)
        with study.judging(part.name):
            if not behaviour.holds_in(held):
                continue  # it is another winding's
            for lamp in (b for b in study.circuit.branches if b.key in high):
                if high[lamp.key].share <= SOUND:
                    continue
                lit = across(lamp.a, lamp.b, winding)
                space = behaviour.space(lit, held)
                shown = ((space.where(lit) & space.possible & space.plausible) - space.where(held)).shown()
                if shown is not None:
                    yield RULE.found(
                        "parted",
                        part.span,
                        facts={"limiter": part.name, "winding": winding.key, "lamp": lamp.key},
                        about=(part.name,),
                        shown=shown,
                        fix="ahead",
                    )
                    return


RULE = Rule(
    name="limiter-off",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a limiter (`shunts`) whose two terminals are not across one winding in any switch position, or are "
    "disconnected from it while a lamp there gets too much, or a field regulator that is bypassed",
    why="""Without its limiter the voltage of a winding rises with the engine speed. The lamps of a small motorcycle
    then burn out within a ride, and as each one fails the voltage at the others rises further. A field that gets its
    full voltage past its regulator makes an alternator or dynamo run unregulated at full output: the battery boils, and
    bulbs and electronics fail.""",
    source="Loomwright's analysis: which terminals wires, fuses and contacts connect to a winding or a field",
    cautions="Do not run the engine to see what happens without its limiter: lamps and boxes are destroyed at the "
    "first high revolutions.",
    says={
        "not-connected": "{limiter} does not limit any winding: {loose} {loose:is|are} not connected to one",
        "not-across": "{limiter} does not limit any winding: {ends} are not the two ends of one",
        "parted": "{limiter} does not limit {winding}[ ({when})], and {lamp} is connected to it",
        "jumper": "{regulator} does not regulate {machine}: {enters} and {leaves} are connected to each other, so "
        "{machine} runs unregulated at full output",
        "bypassed": "{regulator} does not regulate {machine}: {terminal} (field) is connected to {at}, so {machine} "
        "runs unregulated at full output",
        "fed-past": "{regulator} does not regulate {machine}: {terminal} (field) gets its feed past it, so {machine} "
        "runs unregulated at full output",
    },
    fixes={
        "across": "connect {ends} to the two ends of the winding that feeds the lamps",
        "ahead": "connect {limiter} straight across {winding}, ahead of every switch",
        "jumper": "disconnect {enters} from {leaves}",
        "bypassed": "disconnect {terminal} from {at} and connect it to {loose}",
        "fed-past": "disconnect {terminal} from its feed and connect it to {loose}",
    },
    find=find,
)
