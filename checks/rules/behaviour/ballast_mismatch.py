"""A ballast resistor and an ignition coil that do not fit each other."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.model.parts import Element, Resistor
from ....lang.quantities.quantity import Quantity
from ...behaviour.points import Points, points_of_coils
from ...findings.facts import Fact
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.ignition import ohms_at
from ...tables.spares import spare_rating


def find(study: Study) -> Iterator[Finding]:
    told: set[str] = set()
    for points in points_of_coils(study.behaviour, study.copper, study.judging):
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
            yield RULE.found(
                "alone",
                coil.span,
                facts={
                    "coil": coil.key,
                    "primary": Quantity(ohms, "ohm"),
                    "least": Quantity(least, "ohm"),
                    "points": points.switch,
                    "current": Quantity(volts / ohms, "A"),
                    "system": Quantity(volts, "V"),
                    "usual": Quantity(round(ohms, 1), "ohm"),
                    **_rated(ohms * (volts / (2.0 * ohms)) ** 2),
                    "feed": _feed(coil, points, study),
                },
                about=(coil.part, points.switch),
                figures=(Figure("primary", ohms, "ohm"), Figure("least without a ballast", least, "ohm")),
            )
        return
    most = ohms_at("primary_behind_ballast_most", volts)
    for ballast, behind in [(each, each.ohms) for each in ballasts if each.ohms is not None]:
        amps = volts / (ohms + behind)
        if ohms > most:
            yield RULE.found(
                "behind",
                coil.span,
                facts={
                    "coil": coil.key,
                    "primary": Quantity(ohms, "ohm"),
                    "most": Quantity(most, "ohm"),
                    "ballast": ballast.name,
                    "resistance": Quantity(behind, "ohm"),
                    "voltage": Quantity(amps * ohms, "V"),
                    "system": Quantity(volts, "V"),
                    "feed": _feed(coil, points, study),
                },
                about=(coil.part, ballast.name),
                figures=(Figure("primary", ohms, "ohm"), Figure("most behind a ballast", most, "ohm")),
            )
        elif ballast.watts is not None and amps**2 * behind > ballast.watts:
            heat = amps**2 * behind
            yield RULE.found(
                "hot",
                coil.span,
                facts={
                    "ballast": ballast.name,
                    "resistance": Quantity(behind, "ohm"),
                    "heat": Quantity(heat, "W"),
                    "rating": Quantity(ballast.watts, "W"),
                    **_rated(heat),
                    "points": points.switch,
                },
                about=(coil.part, ballast.name),
                figures=(Figure("heat", heat, "W"), Figure("rating", ballast.watts, "W")),
            )


def _rated(heat: float) -> dict[str, Fact]:
    """The rating of a resistor that dissipates some W; empty where none is sold."""
    watts = spare_rating("resistor", heat)
    return {"sold": Quantity(watts, "W") if watts is not None else ""}


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


def _feed(coil: Branch, points: Points, study: Study) -> End:
    joined = study.copper.bare
    broken = {joined.of(end) for end in points.ends}
    return coil.b if joined.of(coil.a) in broken else coil.a


RULE = Rule(
    name="ballast-mismatch",
    level=Level.WARNING,
    family="behaviour",
    catches="points ignition: a coil of low resistance without a ballast resistor, or a coil and a ballast "
    "resistor that do not suit each other",
    why="""A coil made for a ballast resistor draws about twice its rated current without one, and the points and the
    coil burn out. A coil made for the full voltage gets about two thirds of it behind a ballast resistor, and the
    engine misfires when the battery is low. Both run well enough on the stand.""",
    source="common practice, no source; the limits are Loomwright's",
    formula="""no resistor on the coil: found where R(primary) < 2.2 ohm U/12 V
behind a resistor: found where R(primary) > 2.5 ohm U/12 V, or where (U/(R + R(ballast)))^2 R(ballast) > its rating""",
    cautions="A ballast resistor melts insulation that touches it. The primary of a coil reaches several hundred "
    "volts when the points open: do not touch it while the engine turns.",
    says={
        "alone": "{coil} has {primary} and no ballast resistor, where at least {least} is usual: it draws {current} "
        "with {points} closed",
        "behind": "{coil} has {primary} and is fed through ballast resistor {ballast} ({resistance}), where at most "
        "{most} is usual: it gets {voltage} of {system}",
        "hot": "ballast resistor {ballast} dissipates {heat} with the ignition on and {points} closed, rated {rating}",
    },
    fixes={
        "alone": "look up whether the coil is made for a ballast resistor: if so, fit one of about {usual}[, {sold} or "
        "more,] in its feed at {feed}, on metal and clear of wires; if not, fit a coil made for the full {system}",
        "behind": "look up whether the coil is made for the full {system}: if so, connect {feed} to the feed without "
        "{ballast}; if not, fit the coil that {ballast} is made for",
        "hot": "fit a ballast resistor of {resistance}[, {sold} or more,] on metal and clear of wires",
    },
    find=find,
)
