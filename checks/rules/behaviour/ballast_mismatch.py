"""A ballast resistor and an ignition coil that do not fit each other."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Element, Resistor
from ....lang.quantities.quantity import Quantity, apart, shown
from ...behaviour.points import Points, points_of_coils
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.ignition import ohms_at


def find(study: Study) -> Iterator[Finding]:
    told: set[str] = set()
    for points in points_of_coils(study):
        for coil in points.coils:
            if coil.key not in told:
                told.add(coil.key)
                yield from _of_coil(study, points, coil)


def _of_coil(study: Study, points: Points, coil: Branch) -> Iterator[Finding]:
    ohms = coil.item.ohms if isinstance(coil.item, Element) else None
    if ohms is None:
        return  # not-judged lists an ignition coil without its ohms
    volts = study.harness.volts
    ballasts = _ballasts(study, points, coil)
    if not ballasts:
        least = ohms_at("primary_alone_least", volts)
        if ohms < least:
            amps, feed = volts / ohms, _feed(coil, points, study)
            yield _told(
                coil,
                (points.switch,),
                f"{coil.key} has {shown(ohms)} ohm and no ballast resistor: {shown(amps)} A through "
                f"{points.switch} while "
                "they are closed",
                (Figure("primary", ohms, "ohm"), Figure("least without a ballast", least, "ohm")),
                f"find out whether the coil is made for a ballast; if so fit one of about "
                f"{shown(ohms, 2)} ohm at {feed}, "
                "else fit a coil for the full voltage",
            )
        return
    most = ohms_at("primary_behind_ballast_most", volts)
    for ballast, behind in [(each, each.ohms) for each in ballasts if each.ohms is not None]:
        amps = volts / (ohms + behind)
        if ohms > most:
            yield _told(
                coil,
                (ballast.name,),
                f"{coil.key} has {shown(ohms)} ohm and is behind {ballast.name} ({shown(behind)} ohm): it gets "
                f"{shown(amps * ohms)} V of {shown(volts)} V",
                (Figure("primary", ohms, "ohm"), Figure("most behind a ballast", most, "ohm")),
                f"find out whether the coil is made for the full voltage; if so connect it without {ballast.name}, "
                "else fit the coil that belongs to the ballast",
            )
        elif ballast.watts is not None and amps**2 * behind > ballast.watts:
            gets, rated = apart(Quantity(amps**2 * behind, "W"), Quantity(ballast.watts, "W"))
            yield _told(
                coil,
                (ballast.name,),
                f"{ballast.name} gets {gets} with the key on and {points.switch} closed, and is rated {rated}",
                (Figure("heat", amps**2 * behind, "W"), Figure("rating", ballast.watts, "W")),
                f"fit a ballast resistor of {shown(amps**2 * behind)} W or more, on metal and away from the wires",
            )


def _ballasts(study: Study, points: Points, coil: Branch) -> list[Resistor]:
    """The resistors that copper connects to the end of a primary that is not on the points."""
    joined = study.copper.bare
    node = joined.of(_feed(coil, points, study))
    found = (
        b
        for b in study.circuit.branches
        if b.branch_type is BranchType.RESISTOR and node in (joined.of(b.a), joined.of(b.b))
    )
    parts = (study.harness.parts[branch.part] for branch in found)
    return [part for part in parts if isinstance(part, Resistor)]


def _feed(coil: Branch, points: Points, study: Study) -> str:
    joined = study.copper.bare
    broken = {joined.of(end) for end in points.ends}
    return coil.b if joined.of(coil.a) in broken else coil.a


def _told(coil: Branch, also: tuple[str, ...], message: str, figures: tuple[Figure, ...], remedy: str) -> Finding:
    return Finding(
        rule=RULE.name,
        level=RULE.level,
        message=message,
        span=coil.span,
        about=(coil.part, *also),
        figures=figures,
        source=RULE.source,
        remedy=remedy,
    )


RULE = Rule(
    name="ballast-mismatch",
    level=Level.WARNING,
    family="behaviour",
    catches="an ignition coil behind points with a ballast resistor that it is not made for, or without the one it is",
    why="""A coil that is made for a ballast resistor takes twice its current without one: points and coil burn. A coil
    for the full voltage behind a ballast gets two thirds of it, and the engine misfires when the battery is low.
    Both run well enough on the stand.""",
    source="common practice, no source; limits ours",
    formula="""no resistor on the coil: found where R(primary) < 2.2 ohm U/12 V
behind a resistor: found where R(primary) > 2.5 ohm U/12 V, or where (U/(R + R(ballast)))^2 R(ballast) > its rating""",
    cautions="A ballast melts insulation that touches it. Points and coil give several hundred volts on the low side.",
    find=find,
)
