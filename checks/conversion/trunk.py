"""The order in which somebody works along a motorcycle: from one end of its harness to the other, place by place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import networkx as nx

    from ...lang.model.harness import Harness


def along(harness: Harness) -> tuple[str, ...]:
    """Every place once. The trunk is the longest way that the routes give, begun at that end which the text names
    first; a branch is worked through where it leaves the trunk. Places without a route come last, as the text has them.

    Of routes that close a loop the longest is passed over.
    """
    import networkx as nx

    order = {place: i for i, place in enumerate(harness.places)}
    graph = nx.Graph()
    graph.add_nodes_from(order)
    graph.add_weighted_edges_from((route.a, route.b, route.length) for route in harness.routes)
    tree = nx.minimum_spanning_tree(graph)
    found: list[str] = []
    for part in sorted(
        nx.connected_components(tree), key=lambda part: (len(part) == 1, min(map(order.__getitem__, part)))
    ):
        trunk = longest_way(tree, part, order)
        last = {place: (place in trunk, order[place]) for place in part}
        found += nx.dfs_preorder_nodes(tree, trunk[0], sort_neighbors=_sorted_by(last))
    return tuple(found)


def _sorted_by(key: dict[str, tuple[bool, int]]) -> Callable[[Iterable[str]], list[str]]:
    return lambda places: sorted(places, key=key.__getitem__)


def longest_way(tree: nx.Graph, part: set[str], order: Mapping[str, int]) -> list[str]:
    """The longest way in one part of a tree; of ways alike in length that which the text names first."""
    import networkx as nx

    def farthest(start: str) -> str:
        lengths: dict[str, float] = nx.single_source_dijkstra_path_length(tree, start)
        return min(lengths, key=lambda place: (-round(lengths[place], 6), order[place]))

    one = farthest(min(part, key=order.__getitem__))
    ends = sorted((one, farthest(one)), key=order.__getitem__)
    way: list[str] = nx.dijkstra_path(tree, *ends)
    return way
