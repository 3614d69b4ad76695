"""Walks, cheapest paths, cycles and disjoint sets, judged by networkx."""

from __future__ import annotations

import math
from itertools import pairwise

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.search.cheapest import cheapest, distances, nearest
from loomwright.lang.search.disjoint_set import DisjointSet
from loomwright.lang.search.walks import back, closure, find_cycle, hops, reachable, shortest

NODES = "abcdefgh"
node = st.sampled_from(NODES)
Edges = list[tuple[str, str, float]]
weights = st.sampled_from([0.0, 0.5, 1.0, 1.5, 2.0, 7.0])
directed = st.lists(st.tuples(node, node, weights), max_size=20)


def graph(edges: Edges) -> nx.DiGraph[str]:
    """The graph as the library wants it: of parallel edges the cheapest."""
    made: nx.DiGraph[str] = nx.DiGraph()
    made.add_nodes_from(NODES)
    for a, b, weight in edges:
        made.add_edge(a, b, weight=min(weight, made.get_edge_data(a, b, {"weight": math.inf})["weight"]))
    return made


class Steps:
    """The same graph as these searches want it: edges by their numbers."""

    def __init__(self, edges: Edges) -> None:
        self.edges = edges

    def step(self, here: str) -> list[tuple[str, int]]:
        return [(b, i) for i, (a, b, _) in enumerate(self.edges) if a == here]

    def near(self, here: str) -> list[str]:
        return [b for a, b, _ in self.edges if a == here]

    def before(self, edge: int, there: str) -> str:
        assert self.edges[edge][1] == there
        return self.edges[edge][0]

    def weight(self, edge: int) -> float:
        return self.edges[edge][2]

    def along(self, total: float, edge: int) -> float:
        return total + self.weight(edge)

    def joined(self, path: tuple[int, ...], starts: str) -> str:
        """The node at which a path ends that begins at one of some nodes; it must hang together."""
        if not path:
            return starts[0]
        assert self.edges[path[0]][0] in starts
        assert all(self.edges[i][1] == self.edges[k][0] for i, k in pairwise(path))
        return self.edges[path[-1]][1]


def levels(edges: Edges, starts: str) -> dict[str, int]:
    found: dict[str, int] = nx.multi_source_dijkstra_path_length(graph(edges), set(starts), weight=None)
    return found


@given(directed)
def test_what_can_be_reached_and_in_how_many_steps_is_as_networkx_says(edges: Edges) -> None:
    steps, expected = Steps(edges), levels(edges, "ab")
    found = reachable("ab", steps.step)
    assert found.keys() == closure("ab", steps.near) == expected.keys()
    assert hops("ab", steps.near) == expected
    assert list(found) == list(hops("ab", steps.near))  # the nearest first
    for there in found:
        way = tuple(back(found.__getitem__, there, steps.before))[::-1]
        assert len(way) == expected[there]
        assert not way or steps.joined(way, "ab") == there


@given(directed, st.sets(node), st.sets(node))
def test_walls_are_met_and_not_passed_and_a_search_ends_with_the_first_node_that_is_wanted(
    edges: Edges, walls: set[str], wanted: set[str]
) -> None:
    steps = Steps(edges)
    kept = [edge for edge in edges if edge[0] not in walls]
    found = reachable("ab", steps.step, stop_at=walls)
    assert found.keys() == levels(kept, "ab").keys()
    part = reachable("ab", steps.step, stop_at=walls, until=wanted)
    assert list(part.items()) == list(found.items())[: len(part)]
    if part.keys() & wanted:
        assert list(part)[-1] in wanted or wanted & set("ab")
        assert not part.keys() & wanted - {list(part)[-1]} - set("ab")
    else:
        assert part == found


@given(directed, st.sets(node), st.sets(node))
def test_the_shortest_path_is_as_short_as_that_of_networkx(edges: Edges, goals: set[str], walls: set[str]) -> None:
    steps = Steps(edges)
    kept = levels([edge for edge in edges if edge[0] not in walls], "ab")
    path = shortest("ab", goals.__contains__, steps.step, stop_at=walls)
    expected = min((kept[goal] for goal in goals & kept.keys()), default=None)
    assert (None if path is None else len(path)) == expected
    if path:
        assert steps.joined(path, "ab") in goals
        assert not walls & {edges[i][0] for i in path}


@given(directed)
def test_distances_are_those_of_networkx(edges: Edges) -> None:
    steps = Steps(edges)
    expected = nx.multi_source_dijkstra_path_length(graph(edges), {"a", "b"})
    found = distances("ab", steps.step, steps.along)
    assert found == pytest.approx(expected)
    assert list(found.values()) == sorted(found.values())
    for there, total, by in nearest("ab", steps.step, steps.along):
        if by is not None:
            assert total == pytest.approx(found[edges[by][0]] + steps.weight(by))
            assert edges[by][1] == there


@given(directed, st.sets(node))
def test_the_cheapest_path_costs_what_networkx_says(edges: Edges, goals: set[str]) -> None:
    steps = Steps(edges)
    lengths = nx.multi_source_dijkstra_path_length(graph(edges), {"a", "b"})
    found = cheapest("ab", goals.__contains__, steps.step, steps.along)
    expected = min((lengths[goal] for goal in goals & lengths.keys()), default=None)
    if found is None:
        assert expected is None
    else:
        total, path = found
        assert total == pytest.approx(expected)
        assert total == pytest.approx(sum(map(steps.weight, path)))
        assert not path or steps.joined(path, "ab") in goals


@given(directed)
def test_a_bottleneck_is_the_least_that_still_joins(edges: Edges) -> None:
    """Of a path that costs no more than its dearest edge: with all dearer edges out there is still a way."""
    steps = Steps(edges)
    found = cheapest("a", "h".__contains__, steps.step, lambda total, i: max(total, steps.weight(i)))
    limits = [
        w for w in sorted({w for *_, w in edges}) if nx.has_path(graph([e for e in edges if e[2] <= w]), "a", "h")
    ]
    assert (None if found is None else found[0]) == (limits[0] if limits else None)


def test_an_edge_of_infinite_cost_is_none() -> None:
    steps = Steps([("a", "b", 1.0), ("b", "c", 1.0)])
    assert distances("a", steps.step, lambda total, i: total + 1.0 if total < 1.0 else math.inf) == {"a": 0.0, "b": 1.0}
    assert cheapest("a", "c".__contains__, steps.step, lambda *_: math.inf) is None


@given(st.lists(st.tuples(node, node), max_size=12))
def test_a_cycle_is_found_where_networkx_finds_one(edges: list[tuple[str, str]]) -> None:
    steps = Steps([(a, b, 0.0) for a, b in edges])
    found = find_cycle(NODES, steps.near)
    assert (found is None) == nx.is_directed_acyclic_graph(nx.DiGraph(edges))
    if found is not None:
        assert len(set(found)) == len(found)
        assert all((a, b) in edges for a, b in pairwise((*found, found[0])))


@given(st.lists(st.tuples(node, node), max_size=9))
def test_disjoint_sets_are_the_components_of_networkx(edges: list[tuple[str, str]]) -> None:
    merged = DisjointSet(NODES)
    for a, b in edges:
        merged.merge(a, b)
    components: nx.Graph[str] = nx.Graph(edges)
    components.add_nodes_from(NODES)
    for each in nx.connected_components(components):
        assert len({merged.leader(member) for member in each}) == 1
    assert len({merged.leader(member) for member in NODES}) == nx.number_connected_components(components)
