"""Maps of leads onto ends: the sum over all of them, and those that count, against every map written out."""

from __future__ import annotations

import math
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.survey.colours import anywhere, base_share, colour_share, fits
from loomwright.checks.survey.matching import EndClass, maps, shares_on, stray_share, total, way_share
from loomwright.checks.tables.survey import survey_figures
from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.survey.record import Lead, SeenColour
from loomwright.lang.vocabulary.colours import BASE_COLOURS, Colour

AT = Span("survey.loom", 1, 1, 2)
SOME = ("black", "white", "red", "blue")


def lead(number: int, *colours: SeenColour) -> Lead:
    return Lead("P1", number, colours, AT)


@pytest.mark.parametrize("drawn", BASE_COLOURS)
def test_what_a_colour_looks_like_sums_to_one(drawn: str) -> None:
    assert math.fsum(base_share(seen, drawn) for seen in BASE_COLOURS) == pytest.approx(1.0)
    striped = [SeenColour(seen, stripe) for seen in BASE_COLOURS for stripe in ("", *BASE_COLOURS)]
    for colour in (Colour(drawn), Colour(drawn, "white")):
        assert math.fsum(colour_share(seen, colour) for seen in striped) == pytest.approx(1.0, abs=0.01)
    assert math.fsum(map(anywhere, striped)) == pytest.approx(1.0, abs=0.05)


def test_what_was_not_seen_says_nothing() -> None:
    assert colour_share(SeenColour(None, None), Colour("red", "white")) == 1.0
    assert colour_share(SeenColour(None, "white"), Colour("red", "white")) == pytest.approx(0.87)
    assert colour_share(SeenColour("red", None), Colour("red", "white")) == base_share("red", "red")
    unsure = colour_share(SeenColour("violet", "", sure=False), Colour("green"))
    assert colour_share(SeenColour("violet"), Colour("green")) < unsure < 0.1


def test_shades_are_one_colour() -> None:
    same = colour_share(SeenColour("green"), Colour("green"))
    assert colour_share(SeenColour("light-green"), Colour("dark-green")) == same
    assert fits(SeenColour("light-green", "black"), Colour("green", "black"))
    assert not fits(SeenColour("green"), Colour("green", "black"))


def test_two_wires_in_one_way() -> None:
    black, brown = SeenColour("black"), SeenColour("brown")
    both = way_share((black, brown), (Colour("black"), Colour("brown")))
    exact = base_share("black", "black") * base_share("brown", "brown")
    crossed = base_share("black", "brown") * base_share("brown", "black")
    plain = (1 - survey_figures().ghost) ** 2
    assert both == pytest.approx(plain * (exact + crossed) / 2)
    one = way_share((black,), (Colour("black"),))
    assert way_share((black,), (Colour("black"), Colour("brown"))) < one * 0.03


_SEEN = st.tuples(st.sampled_from(SOME), st.sampled_from(("", "white", "red"))).map(lambda pair: SeenColour(*pair))
_ENDS = st.lists(
    st.tuples(st.integers(0, 3), st.sampled_from((*map(Colour, SOME), Colour("black", "white"), None))), max_size=4
)


@given(st.lists(_SEEN, max_size=4), _ENDS)
def test_the_sum_over_maps_is_that_of_all_maps_written_out(
    seen: list[SeenColour], ends: list[tuple[int, Colour | None]]
) -> None:
    leads = [lead(number, colour) for number, colour in enumerate(seen, 1)]
    by_class: dict[tuple[int, tuple[Colour | None]], list[str]] = {}
    for number, (net, colour) in enumerate(ends):
        by_class.setdefault((net, (colour,)), []).append(f"E{number}")
    classes = [EndClass(net, colours, tuple(nodes)) for (net, colours), nodes in by_class.items()]
    shares = shares_on(leads, classes)
    every: dict[tuple[int, ...], float] = {}
    places = [-1, *range(len(ends))]
    class_of = [next(n for n, c in enumerate(classes) if f"E{end}" in c.nodes) for end in range(len(ends))]
    for chosen in product(places, repeat=len(leads)):
        used = [end for end in chosen if end >= 0]
        if len(set(used)) < len(used):
            continue
        share = survey_figures().lead_lost ** (len(ends) - len(used))
        for one, end in zip(leads, chosen, strict=True):
            share *= stray_share(one) if end < 0 else colour_share(one.colours[0], ends[end][1])
        row = tuple(-1 if end < 0 else class_of[end] for end in chosen)
        every[row] = every.get(row, 0.0) + share
    orders = math.factorial(max(len(leads), len(ends), 1))
    whole, dropped = total(leads, classes, shares)
    assert whole == pytest.approx(math.fsum(every.values()) / orders)
    assert dropped == 0.0
    found = maps(leads, classes, shares, whole)
    assert math.fsum(found.shares) + found.dropped == pytest.approx(1.0)
    # What is left out is counted; more leads than ends of one colour leave out much, and then nothing is sure.
    assert found.dropped < (1e-2 if len(leads) <= len(ends) else 1.0)
    for row, share in zip(found.rows, found.shares, strict=True):
        assert share == pytest.approx(every[row] / math.fsum(every.values()))
    assert list(found.shares) == sorted(found.shares, reverse=True)


def test_a_large_plug_of_one_colour_is_bounded_and_says_what_it_dropped() -> None:
    leads = [lead(number, SeenColour("black")) for number in range(1, 13)]
    classes = [EndClass(net, (Colour("black"),), (f"E{net}",)) for net in range(12)]
    shares = shares_on(leads, classes)
    whole, dropped = total(leads, classes, shares)
    found = maps(leads, classes, shares, whole)
    assert whole > 0.0
    assert dropped < 1e-3
    assert len(found.rows) <= 3000
    assert found.dropped > 0.9  # 12! maps are all alike: nothing can be sure
