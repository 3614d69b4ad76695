"""Resistances and their rank-one updates, against networkx and against solving the changed network from the start."""

from __future__ import annotations

import math

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.bench.proving.resistances import COPPER, Resistances

OHMS = st.sampled_from((0.0, 0.01, 0.69, 4.0, 62.0, 210.0, 47000.0, math.inf))


@st.composite
def networks(draw: st.DrawFn) -> tuple[int, list[tuple[int, int, float]]]:
    count = draw(st.integers(2, 9))
    point = st.integers(0, count - 1)
    return count, draw(st.lists(st.tuples(point, point, OHMS), max_size=14))


def by_networkx(count: int, edges: list[tuple[int, int, float]], a: int, b: int) -> float:
    """The resistance distance of Klein and Randic (1993) as the reference library has it."""
    graph = nx.MultiGraph()
    graph.add_nodes_from(range(count))
    graph.add_edges_from((i, j, {"ohm": max(ohms, COPPER)}) for i, j, ohms in edges if i != j and math.isfinite(ohms))
    if a == b:
        return 0.0
    if not nx.has_path(graph, a, b):
        return math.inf
    part = graph.subgraph(nx.node_connected_component(graph, a))
    return float(nx.resistance_distance(part, a, b, weight="ohm", invert_weight=True))


def pairs_of(count: int) -> tuple[np.ndarray, np.ndarray]:
    both = [(i, j) for i in range(count) for j in range(count)]
    return np.array([i for i, _ in both], dtype=np.intp), np.array([j for _, j in both], dtype=np.intp)


@given(networks())
def test_resistances_are_those_of_networkx(network: tuple[int, list[tuple[int, int, float]]]) -> None:
    count, edges = network
    a, b = pairs_of(count)
    ours = Resistances(count, edges).between(a, b)
    theirs = [by_networkx(count, edges, int(i), int(j)) for i, j in zip(a, b, strict=True)]
    np.testing.assert_allclose(ours, theirs, rtol=1e-3, atol=1e-5)


@given(networks())
def test_an_open_edge_gives_what_the_network_without_it_gives(
    network: tuple[int, list[tuple[int, int, float]]],
) -> None:
    count, edges = network
    a, b = pairs_of(count)
    updated = Resistances(count, edges).opened([[edge] for edge in range(len(edges))], a, b)
    for edge in range(len(edges)):
        fresh = Resistances(count, [e for place, e in enumerate(edges) if place != edge]).between(a, b)
        np.testing.assert_allclose(updated[edge], fresh, rtol=1e-2, atol=1e-3)


@given(networks(), st.data())
def test_two_points_that_touch_give_what_the_network_with_copper_between_them_gives(
    network: tuple[int, list[tuple[int, int, float]]], data: st.DataObject
) -> None:
    count, edges = network
    to = data.draw(st.integers(0, count - 1))
    a, b = pairs_of(count)
    updated = Resistances(count, edges).joined(range(count), to, a, b)
    for point in range(count):
        fresh = Resistances(count, [*edges, (point, to, 0.0)]).between(a, b)
        np.testing.assert_allclose(updated[point], fresh, rtol=1e-2, atol=2 * COPPER)


def test_by_hand() -> None:
    """4 ohm beside 4 + 8 ohm: 3 ohm; without the direct one 12 ohm; with the middle on the far end 2 ohm."""
    grid = Resistances(3, [(0, 2, 4.0), (0, 1, 4.0), (1, 2, 8.0)])
    a, b = np.array([0]), np.array([2])
    assert grid.between(a, b)[0] == pytest.approx(3.0)
    assert grid.opened([[0]], a, b)[0, 0] == pytest.approx(12.0)
    assert grid.joined([1], 2, a, b)[0, 0] == pytest.approx(2.0, abs=0.01)
