"""How an old harness differs from its diagram; the rows of ``survey.toml`` say what each figure is and whose."""

from __future__ import annotations

from functools import cache

from ...lang.named_tuples import NamedTuple
from .sourced import rows


class SurveyFigures(NamedTuple):
    """The rows of ``survey.toml``'s table ``figures``, by name; shares of 1 but ``least_gain`` in bit and costs."""

    other_base: float
    stripe_lost: float
    stripe_other: float
    ghost: float
    unsure: float
    lead_lost: float
    lead_extra: float
    same_place: float
    near_place: float
    far_place: float
    drawn_half: float
    nothing_of: float
    nothing_like: float
    single_end: float
    mated: float
    sure: float
    most_dropped: float
    least_gain: float
    other_place: float
    other_lead: float
    asked: float


@cache
def survey_figures() -> SurveyFigures:
    return SurveyFigures(**{row["name"]: float(row["value"]) for row in rows("survey", "figures")})


@cache
def neighbours() -> dict[str, dict[str, float]]:
    """Drawn base colour -> seen base colour -> share, for the colours that it fades to."""
    found: dict[str, dict[str, float]] = {}
    for row in rows("survey", "neighbours"):
        found.setdefault(row["drawn"], {})[row["seen"]] = float(row["share"])
    return found
