"""Lines in a channel: whatever comes in from above and below, nothing lies on anything else."""

from __future__ import annotations

from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from loomwright.render.schematic.routing import CLEARANCE, Crossing, Routed, route


@st.composite
def channels(draw: st.DrawFn) -> list[Crossing]:
    """Nets with pins that are far enough apart on each edge, at places that may coincide across the channel."""
    count = draw(st.integers(1, 9))
    edges: dict[str, list[tuple[float, int]]] = {}
    for edge in ("above", "below"):
        gaps = draw(st.lists(st.integers(9, 40), max_size=14))
        x, pins = 0.0, []
        for gap in gaps:
            x += gap
            pins.append((x, draw(st.integers(0, count - 1))))
        edges[edge] = pins
    found = []
    for net in range(count):
        tops = tuple(x for x, owner in edges["above"] if owner == net)
        bottoms = tuple(x for x, owner in edges["below"] if owner == net)
        if tops or bottoms:
            found.append(Crossing(f"n{net}", tops, bottoms))
    return found


def uprights(routed: Routed, crossings: list[Crossing]) -> list[tuple[str, float, float, float]]:
    """Every upright line: net, x, and the levels between which it runs (-1 is the upper edge)."""
    found = []
    for trunk in routed.trunks:
        found += [(trunk.net, x, -1.0, float(trunk.level)) for x in trunk.tops]
        found += [(trunk.net, x, float(trunk.level), float(routed.levels)) for x in trunk.bottoms]
    named = {trunk.net for trunk in routed.trunks}
    joints = {c.net: {*c.tops, *c.bottoms} for c in crossings}
    found = [(n, x, a, b) for n, x, a, b in found if x in joints[n]]  # the short joint of a parted line apart
    for crossing in crossings:
        if crossing.net not in named:
            top = -1.0 if crossing.tops else float(routed.levels)
            bottom = float(routed.levels) if crossing.bottoms else -1.0
            found.append((crossing.net, crossing.span[0], top, bottom))
    for net in named:
        halves = sorted((t.level, t) for t in routed.trunks if t.net == net)
        for (upper, a), (lower, b) in pairwise(halves):
            found += [(net, x, float(upper), float(lower)) for x in set(a.bottoms) & set(b.tops)]
    return found


@given(channels())
def test_no_two_nets_share_a_stretch(crossings: list[Crossing]) -> None:
    routed = route(crossings)
    for a, b in combinations(routed.trunks, 2):
        if a.level == b.level:
            assert a.right + CLEARANCE <= b.left or b.right + CLEARANCE <= a.left
    for (net, x, top, bottom), (other, y, head, foot) in combinations(uprights(routed, crossings), 2):
        if net != other and abs(x - y) < CLEARANCE:
            assert min(bottom, foot) <= max(top, head), f"{net} and {other} run side by side at {x} and {y}"


@given(channels())
def test_every_pin_is_reached_by_one_line_of_its_net(crossings: list[Crossing]) -> None:
    routed = route(crossings)
    for crossing in crossings:
        trunks = [t for t in routed.trunks if t.net == crossing.net]
        if crossing.straight:
            assert not trunks
            continue
        assert {x for t in trunks for x in t.tops} >= set(crossing.tops)
        assert {x for t in trunks for x in t.bottoms} >= set(crossing.bottoms)
        if len(trunks) > 1:
            upper, lower = sorted(trunks, key=lambda t: t.level)
            assert set(upper.bottoms) & set(lower.tops), "the halves of a parted line are joined"


def test_lines_in_each_others_way_are_parted() -> None:
    # Each comes from above where the other goes below: no order of two levels helps.
    routed = route([Crossing("a", (10,), (50,)), Crossing("b", (50,), (10,))])
    assert sorted(t.net for t in routed.trunks) in (["a", "a", "b"], ["a", "b", "b"])


def test_nets_apart_share_a_level_and_crossings_are_counted() -> None:
    routed = route([Crossing("a", (10,), (50,)), Crossing("b", (80,), (120,)), Crossing("c", (30,), (30,))])
    assert routed.levels == 1
    assert routed.crossed == 1  # c passes a


def test_a_parted_line_that_comes_and_goes_at_one_place() -> None:
    """Its halves share two places, and only the joint puts one above the other."""
    crossings = [Crossing("a", (10.0, 60.0), (10.0, 40.0)), Crossing("b", (40.0, 10.5), (60.0, 80.0))]
    routed = route(crossings)
    assert {trunk.net for trunk in routed.trunks} == {"a", "b"}
    turned = [Crossing("a", (10.0, 60.0), (10.0, 40.0)), Crossing("b", (40.0,), (60.0,))]
    assert len(route(turned).trunks) == 3
