"""Contact-breaker points without a condenser across them."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.editing.proposals import MoveEnd, Proposal
from ...behaviour.points import Points, points_of_coils
from ...findings.finding import Finding, Level
from ...fixes.new_parts import condenser_across
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    every = tuple(points_of_coils(study.behaviour, study.copper, study.judging))
    condensers = [branch for branch in study.circuit.branches if branch.branch_type is BranchType.CAPACITOR]
    lacking = [points for points in every if not any(_is_across(study, each, points) for each in condensers)]
    spare = [each for each in condensers if not any(_is_across(study, each, points) for points in every)]
    places: dict[tuple[End, End], tuple[Branch, End]] = {}
    # The feed of one coil is that of others: a condenser there is theirs only whose points it is not at.
    for at_the_points in (True, False):
        for points in lacking:
            taken = {condenser.key for condenser, _ in places.values()}
            free = [each for each in spare if each.key not in taken]
            if points.ends not in places and (place := _misplaced(study, points, free, at_the_points)):
                places[points.ends] = place
    for points in lacking:
        misplaced = places.get(points.ends)
        fixes = tuple(_moved(study, points, *misplaced) if misplaced else _fitted(study, points))
        yield _found(points, misplaced, fixes)


def _is_across(study: Study, condenser: Branch, points: Points) -> bool:
    """Whether copper connects a condenser to both contacts of some points."""
    joined = study.copper.bare
    return {joined.of(condenser.a), joined.of(condenser.b)} == {joined.of(end) for end in points.ends}


def _misplaced(
    study: Study, points: Points, condensers: list[Branch], at_the_points: bool
) -> tuple[Branch, End] | None:
    """A condenser that is connected to a coil of these points, on their side of it or on the other, and where it is."""
    joined = study.copper.bare
    broken = {joined.of(end) for end in points.ends}
    rails = {joined.of(supply.minus) for supply in study.circuit.supplies}
    rails |= {joined.of(node) for supply in study.circuit.supplies for node in supply.plus}
    ends = [node for coil in points.coils for node in (coil.a, coil.b) if joined.of(node) not in rails]
    for each in condensers:
        for node in ends:
            there = joined.of(node) in (joined.of(each.a), joined.of(each.b))
            if there and (joined.of(node) in broken) is at_the_points:
                return each, node
    return None


def _moved(study: Study, points: Points, condenser: Branch, at: End) -> Iterator[Proposal]:
    """The lead of a condenser moved to the contact that it misses, where its other lead is on the other contact and one
    wire alone goes from it to where it does not belong.
    """
    joined = study.copper.bare
    for end, other in ((condenser.a, condenser.b), (condenser.b, condenser.a)):
        missed = [contact for contact in points.ends if not joined.same(contact, other)]
        wires = [study.harness.wires[segment.wire] for segment in study.circuit.pieces_at(end)]
        if len(missed) != 1 or len(wires) != 1 or not joined.same(end, at):
            continue
        (wire,) = wires
        far = wire.b.node if wire.a.node == end else wire.a.node
        says = f"move wire {wire.name}, the lead of {condenser.part}, from {far} to {missed[0]}"
        yield Proposal(says, (MoveEnd(wire.name, far, missed[0]),))


def _fitted(study: Study, points: Points) -> Iterator[Proposal]:
    a, b = points.ends
    returns = study.protection.returns
    plus, minus = (b, a) if (a in returns) is (study.circuit.return_sign == "-") else (a, b)
    says = f"fit a condenser of 0.2 to 0.3 uF, 400 V or more: one lead on {a}, the other on {b}"
    if fix := condenser_across(study, points.switch, plus, minus, says):
        yield fix


def _found(points: Points, misplaced: tuple[Branch, str] | None, fixes: tuple[Proposal, ...]) -> Finding:
    a, b = points.ends
    coils = tuple(dict.fromkeys(coil.part for coil in points.coils))
    condenser, at = (misplaced[0].part, misplaced[1]) if misplaced else ("", "")
    case = "misplaced" if misplaced else "none"
    return RULE.found(
        case,
        points.span,
        facts={"points": points.switch, "coils": coils, "condenser": condenser, "at": at, "a": a, "b": b},
        about=(points.switch, *coils, *([condenser] if misplaced else [])),
        fix="inside" if fixes else case,
        proposals=fixes,
    )


RULE = Rule(
    name="missing-condenser",
    level=Level.WARNING,
    family="behaviour",
    catches="points that break the current of an ignition coil, with no condenser from one contact to the other",
    why="""When points open, the coil's current goes on and arcs across the gap. A condenser across the points carries
    it for that moment; without one, or with one on the feed side of the coil, the points burn within hours and the
    spark is too weak to start a cold engine.""",
    source="common practice, no source; 0.2 to 0.3 uF from memory",
    cautions="Points and coil reach several hundred volts on the low side: do not touch them while the engine turns.",
    says={
        "none": "{points} breaks the current of {coils} and has no condenser across its contacts",
        "misplaced": "{points} breaks the current of {coils} and has no condenser across its contacts: {condenser} is "
        "connected to {at}",
    },
    fixes={
        "inside": "or, where one is inside the distributor or the coil, add it to the file as a `capacitor`",
        "misplaced": "find out where each lead of {condenser} belongs: one on {a}, the other on {b}",
        "none": "look for a condenser of 0.2 to 0.3 uF, 400 V or more, on {a} and {b}; where one is inside the "
        "distributor or the coil, add it to the file as a `capacitor`",
    },
    find=find,
)
