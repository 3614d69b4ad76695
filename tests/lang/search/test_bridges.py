"""Bridges, islands, blocks and what lies between two nodes, judged by networkx."""

from __future__ import annotations

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.search.blocks import between, blocks
from loomwright.lang.search.bridges import bridges, islands

NODES = "abcdefg"
pairs = st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)).filter(lambda pair: pair[0] != pair[1])
Edges = list[tuple[str, str]]


def multigraph(edges: Edges) -> nx.MultiGraph[str]:
    graph: nx.MultiGraph[str] = nx.MultiGraph()
    graph.add_nodes_from(NODES)
    for i, (a, b) in enumerate(edges):
        graph.add_edge(a, b, key=i)
    return graph


def beside(edges: Edges) -> dict[str, list[tuple[str, int]]]:
    near: dict[str, list[tuple[str, int]]] = {node: [] for node in NODES}
    for i, (a, b) in enumerate(edges):
        near[a].append((b, i))
        near[b].append((a, i))
    return near


@given(st.lists(pairs, max_size=14))
def test_islands_and_bridges_are_those_of_networkx(edges: Edges) -> None:
    found = islands(NODES, edges)
    graph = multigraph(edges)
    for part in nx.connected_components(graph):
        assert len({found.island[node] for node in part}) == 1
    assert len(set(found.island.values())) == nx.number_connected_components(graph)
    for i, (a, b) in enumerate(edges):
        rest = multigraph(edges[:i] + edges[i + 1 :])
        assert (i in found.far_side) == (not nx.has_path(rest, a, b))
        if i in found.far_side:
            first, last = found.far_side[i]
            beyond = {node for node in NODES if first <= found.order[node] <= last}
            assert beyond in (nx.node_connected_component(rest, a), nx.node_connected_component(rest, b))


@given(st.lists(pairs, max_size=11))
def test_between_is_the_union_of_all_simple_paths(edges: Edges) -> None:
    graph = multigraph(edges)
    expected = {edge[2] for path in nx.all_simple_edge_paths(graph, "a", "g") for edge in path}
    assert between(edges, "a", "g") == expected


@given(st.lists(pairs, max_size=14))
def test_bridges_from_some_starts_are_those_that_cut_nodes_off_from_all_of_them(edges: Edges) -> None:
    found = {bridge.edge: bridge for bridge in bridges("ag", beside(edges).__getitem__)}
    graph = multigraph(edges)
    reached = nx.node_connected_component(graph, "a") | nx.node_connected_component(graph, "g")
    for i, (a, b) in enumerate(edges):
        rest = graph.copy()
        rest.remove_edge(a, b, key=i)
        left = nx.node_connected_component(rest, "a")
        # the second start is searched past what the first one has met: it lies beyond no bridge itself
        alone = a in reached and not nx.has_path(rest, a, b)
        assert (i in found) == alone
        if alone:
            beyond = set(found[i].beyond)
            assert {found[i].near, found[i].far} == {a, b}
            assert beyond == nx.node_connected_component(rest, found[i].far)
            assert found[i].near not in beyond
            assert beyond.isdisjoint(left) or "a" not in nx.node_connected_component(graph, a)


@given(st.lists(pairs, max_size=12))
def test_blocks_are_those_of_networkx(edges: Edges) -> None:
    found = list(blocks(beside(edges), "a"))
    simple = nx.Graph(multigraph(edges))
    expected = [c for c in nx.biconnected_components(simple) if c <= nx.node_connected_component(simple, "a")]
    assert sorted(map(sorted, (block.vertices for block in found))) == sorted(map(sorted, expected))
    for block in found:
        assert all(set(edges[i]) == set(ends) for i, ends in block.edges.items())
        assert block.entry in block.vertices
        if block.entry != "a":  # the vertex that cuts this block off from the start
            rest = simple.copy()
            rest.remove_node(block.entry)
            assert not any(nx.has_path(rest, "a", v) for v in block.vertices - {block.entry})
