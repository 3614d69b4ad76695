"""Fuses and breakers: when they open, what they pass, their resistance, ratings and colours.

Figures are read from ``fuses.toml``. Currents in A, times in s, I2t in A2s, resistances in ohm. ``form`` is a word of
the language: blade, strip, glass, torpedo, link or breaker; ``None`` where the text does not say.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from functools import cache, lru_cache

from ...lang.named_tuples import NamedTuple
from ...lang.quantities.quantity import shown
from .sourced import Cited, figure, rows

UL_ENDS = 2.0
"""Times the rating at which UL 248-14 ends."""

FORMS = ("blade", "strip", "glass", "torpedo", "link", "breaker")


class OpeningPoint(NamedTuple):
    """A published pair of limits: at ``multiple`` of the rating it opens after ``least`` and within ``most`` s."""

    multiple: float
    least: float
    most: float
    cited: Cited


class Opening(NamedTuple):
    """When a fuse opens at a current.

    ``least`` s: not before; ``most`` s: not after, ``inf`` where it may carry the current continuously, ``None`` where
    nothing is published for the form. ``within`` is false beyond the ends of the published table; ``why`` says how the
    answer was found.
    """

    least: float
    most: float | None
    within: bool
    why: str
    cited: Cited | None


class LetThrough(NamedTuple):
    """The I2t in A2s that a fuse passes: at least (it has not opened before) and at most."""

    least: float
    most: float
    cited: Cited


@cache
def opening_points(form: str, rating: float) -> tuple[OpeningPoint, ...]:
    """The published opening times of a form at a rating in A, by rising multiple; empty where none is published.

    A blade above 40 A is the large body (type E of ISO 8820-3); glass above 30 A may take twice as long at 200 % (UL
    248-14), and above 10 A its table ends there, since IEC 60127-2 goes no further. Raises ``ValueError`` for an
    unknown form or a rating that is not above zero.
    """
    if form not in FORMS:
        raise ValueError(f"fuse form {form!r} is none of {', '.join(FORMS)}")
    if not rating > 0.0:
        raise ValueError(f"a fuse's rating must be above 0 A, found {rating}")
    table = {row["form"]: row["opening"] for row in rows("fuses", "forms")}.get(form)
    if table is None:
        return ()
    if form == "blade" and rating > _figure("largest_ordinary_blade"):
        table = "blade-large"
    points = [
        OpeningPoint(float(row["multiple"]), float(row["least"]), float(row["most"]), row.cited)
        for row in rows("fuses", table)
    ]
    if table == "glass" and rating > _figure("largest_iec_glass"):
        points = [point for point in points if point.multiple <= UL_ENDS]
    if table == "glass" and rating > _figure("largest_quick_glass"):
        slow = _figure("slow_glass_factor")
        points = [OpeningPoint(p.multiple, p.least, p.most * slow, p.cited) if p.multiple == 2.0 else p for p in points]
    return tuple(points)


def ends_early(form: str, rating: float) -> bool:
    """Whether nothing is published of a form at a rating in A for currents as of a dead short: glass above 10 A."""
    points = opening_points(form, rating)
    return bool(points) and points[-1].multiple <= UL_ENDS


@lru_cache(maxsize=4096)
def opening(form: str | None, rating: float, amps: float) -> Opening:
    """When a fuse of ``form`` and ``rating`` A opens at ``amps`` A.

    Between two published points straight on logarithmic scales of current and time; above the last, the same I2t as
    there; below the first it need not open. Where the form is not said, the slower of blade and glass. Raises
    ``ValueError`` for an unknown form or a rating that is not above zero.
    """
    if form is None:
        found = [opening(known, rating, amps) for known in ("blade", "glass")]
        known_times = [each for each in found if each.most is not None]
        slower = max(known_times, key=lambda each: each.most or 0.0)
        only = "" if len(known_times) == len(found) else "taken as a blade, "
        least = min(each.least for each in found)
        return Opening(least, slower.most, slower.within, f"form not written: {only}{slower.why}", slower.cited)
    points = opening_points(form, rating)
    if not points:
        return Opening(0.0, None, False, f"no opening times are published for a {form}", None)
    multiple = round(amps / rating, 9)  # 1.35 times a rating is meant as just that
    times = (
        f"{shown(multiple)} times the rating of a {form} fuse"
        if form != "breaker"
        else f"{shown(multiple)} times a breaker's rating"
    )
    first, last = points[0], points[-1]
    if multiple < first.multiple:
        why = f"{times}: below {shown(first.multiple)} it need not open"
        return Opening(math.inf, math.inf, False, why, first.cited)
    if multiple > last.multiple and ends_early(form, rating):
        why = f"{times}: the table ends at {shown(last.multiple)} for so large a {form} fuse"
        return Opening(0.0, None, False, why, last.cited)
    if multiple > last.multiple:
        less = (last.multiple / multiple) ** 2
        why = f"{times}: beyond the table's end at {shown(last.multiple)}, the same I2t as there"
        return Opening(last.least * less, last.most * less, False, why, last.cited)
    place = bisect_right([point.multiple for point in points], multiple) - 1
    lower = points[place]
    if lower.multiple == multiple or place + 1 == len(points):
        return Opening(lower.least, lower.most, True, f"{times}: as published", lower.cited)
    upper = points[place + 1]
    share = math.log(multiple / lower.multiple) / math.log(upper.multiple / lower.multiple)
    why = f"{times}: between the published {shown(lower.multiple)} and {shown(upper.multiple)}"
    return Opening(
        _between(lower.least, upper.least, share), _between(lower.most, upper.most, share), True, why, upper.cited
    )


def largest_i2t(form: str | None, rating: float, seconds: float = 5.0) -> float | None:
    """The most I2t in A2s that a fuse passes at any published point that opens within ``seconds``.

    Beyond the table's end it stays constant, so this bounds every greater current too. ``None`` where no point is so
    quick or none is published. Where the form is not said, the larger of blade and glass.
    """
    if form is None:
        found = [largest_i2t(known, rating, seconds) for known in ("blade", "glass")]
        return max((each for each in found if each is not None), default=None)
    quick = [p for p in opening_points(form, rating) if p.most <= seconds]
    return max(((p.multiple * rating) ** 2 * p.most for p in quick), default=None)


def short_i2t(form: str | None, rating: float) -> LetThrough | None:
    """The I2t in A2s that a fuse passes in a dead short: the end of its published table.

    What decides between two fuses in series: they are selective where the branch's ``most`` is below the main's
    ``least`` (0 where none is published). ``None`` where no times are published. Where the form is not said, the widest
    of blade and glass.
    """
    if form is None:
        found = [each for known in ("blade", "glass") if (each := short_i2t(known, rating)) is not None]
        widest = max(found, key=lambda each: each.most)
        return LetThrough(min(each.least for each in found), widest.most, widest.cited)
    points = opening_points(form, rating)
    if not points or ends_early(form, rating):
        return None
    last = points[-1]
    square = (last.multiple * rating) ** 2
    return LetThrough(square * last.least, square * last.most, last.cited)


def continuous_amps(amps: float | None, blows: float | None) -> float | None:
    """The continuous rating in A: as written, else half of what blows it, as old British glass fuses are marked."""
    if amps is not None or blows is None:
        return amps
    return blows * _figure("marked_by_blowing")


@lru_cache(maxsize=4096)
def cold_resistance(rating: float) -> float:
    """The resistance in ohm of a cold fuse of ``rating`` A.

    Typical ordinary blades; between two of them straight on logarithmic scales; outside, the same drop at rated current
    as at the end. Other forms have no table here and are taken alike (ours). Raises ``ValueError`` for a rating that is
    not above zero.
    """
    if not rating > 0.0:
        raise ValueError(f"a fuse's rating must be above 0 A, found {rating}")
    points = [(float(row["amps"]), float(row["milliohms"]) / 1e3) for row in rows("fuses", "cold")]
    place = bisect_right([amps for amps, _ in points], rating)
    if place == 0 or place == len(points):
        amps, ohms = points[0 if place == 0 else -1]
        return ohms * amps / rating
    (low, more), (high, less) = points[place - 1], points[place]
    return _between(more, less, math.log(rating / low) / math.log(high / low))


@cache
def ratings(form: str) -> tuple[float, ...]:
    """The ratings in A that a form is sold in, rising; empty for a link, which has none.

    ``blade`` has the ordinary and the large body together. Raises ``ValueError`` for an unknown form.
    """
    if form not in FORMS:
        raise ValueError(f"fuse form {form!r} is none of {', '.join(FORMS)}")
    bodies = ("blade", "blade-large") if form == "blade" else (form,)
    return tuple(
        sorted({float(amps) for row in rows("fuses", "ratings") if row["form"] in bodies for amps in row["amps"]})
    )


def largest_rating_within(form: str | None, amps: float) -> float | None:
    """The largest rating sold of a form (blade where not said) not above ``amps`` A; ``None`` below the least."""
    return max((rating for rating in ratings(form or "blade") if rating <= amps), default=None)


def colour(form: str, rating: float) -> str | None:
    """The body colour of a blade (ordinary to 40 A, large above) or torpedo fuse; ``None`` where there is no code."""
    body = "blade-large" if form == "blade" and rating > _figure("largest_ordinary_blade") else form
    return next((r["colour"] for r in rows("fuses", "colours") if r["form"] == body and r["amps"] == rating), None)


def _between(lower: float, upper: float, share: float) -> float:
    """Straight on a logarithmic scale; 0 and infinity stay what they are, which is the careful answer for both."""
    if lower == 0.0 or upper == 0.0:
        return 0.0
    if math.isinf(lower) or math.isinf(upper):
        return math.inf
    return float(lower * (upper / lower) ** share)


def _figure(name: str) -> float:
    return figure("fuses", name).value
