"""The least cut, judged by networkx."""

from __future__ import annotations

import math

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.search.cuts import Arc, Cut, both_ways, cut_before

NODES = "abcdefg"
pairs = st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)).filter(lambda pair: pair[0] != pair[1])
ratings = st.one_of(st.sampled_from([5.0, 7.5, 10.0, 15.0, 20.0, 30.0]), st.just(math.inf))


def least_cut(arcs: list[Arc], source: str, target: str) -> Cut:
    """The least cut between two nodes of a whole graph."""
    into: dict[object, list] = {}
    for tail, head, step in both_ways(arcs):
        into.setdefault(head, []).append((tail, step))
    return cut_before(lambda node: into.get(node, ()), source, target)


@st.composite
def networks(draw: st.DrawFn) -> list[Arc]:
    ends = draw(st.lists(pairs, min_size=1, max_size=14))
    return [Arc(a, b, draw(ratings), f"F{i}", draw(st.booleans())) for i, (a, b) in enumerate(ends)]


def directed(arcs: list[Arc]) -> nx.DiGraph:
    """The same network as the library wants it: parallel arcs added up."""
    graph = nx.DiGraph()
    graph.add_nodes_from(NODES)
    for arc in arcs:
        for tail, head in [(arc.tail, arc.head)] + [(arc.head, arc.tail)] * arc.both:
            old = graph.get_edge_data(tail, head, {"capacity": 0.0})["capacity"]
            graph.add_edge(tail, head, capacity=old + arc.amps)
    return graph


@given(networks())
def test_least_cut_is_that_of_networkx(arcs: list[Arc]) -> None:
    try:
        expected = nx.minimum_cut_value(directed(arcs), "a", "g")
    except nx.NetworkXUnbounded:
        expected = math.inf
    cut = least_cut(arcs, "a", "g")
    assert cut.amps == pytest.approx(expected)


@given(networks())
def test_the_arcs_named_are_a_cut_of_that_size(arcs: list[Arc]) -> None:
    cut = least_cut(arcs, "a", "g")
    if math.isinf(cut.amps):
        assert cut.names == ()
        return
    named = [arc for arc in arcs if arc.name in cut.names]
    assert sum(arc.amps for arc in named) == pytest.approx(cut.amps)
    rest = directed([arc for arc in arcs if arc.name not in cut.names])
    assert not nx.has_path(rest, "a", "g")


def test_devices_in_series_take_the_least_and_parallel_feeds_add() -> None:
    series = [Arc("a", "b", 30.0, "MAIN", both=True), Arc("b", "g", 10.0, "BRANCH", both=True)]
    assert least_cut(series, "a", "g") == least_cut(series[::-1], "a", "g")
    assert least_cut(series, "a", "g").names == ("BRANCH",)
    parallel = [Arc("a", "g", 10.0, "LEFT", both=True), Arc("a", "g", 15.0, "RIGHT", both=True)]
    cut = least_cut(parallel, "a", "g")
    assert (cut.amps, cut.names) == (25.0, ("LEFT", "RIGHT"))


def test_of_two_least_cuts_the_one_nearer_to_the_target_is_named() -> None:
    arcs = [Arc("a", "b", 20.0, "MAIN", both=True), Arc("b", "g", 20.0, "BRANCH", both=True)]
    assert least_cut(arcs, "a", "g").names == ("BRANCH",)
