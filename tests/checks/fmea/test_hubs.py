"""A network in blocks: where it falls apart, what the inverse of each is, and what is an island."""

from __future__ import annotations

from typing import Any

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.dc.islands import first_nodes, islands_of
from loomwright.checks.fmea import hubs
from loomwright.checks.fmea.hubs import LARGEST, MANY, ByBlock, blocks_of, by_block, inverse_of

Pairs = list[tuple[int, int]]


def ends(pairs: Pairs) -> tuple[Any, Any]:
    both = np.array(pairs, dtype=np.intp).reshape(-1, 2)
    return both[:, 0], both[:, 1]


@st.composite
def networks(draw: st.DrawFn) -> tuple[int, Pairs]:
    """A number of nodes, and which of them are joined."""
    size = draw(st.integers(1, 40))
    node = st.integers(0, size - 1)
    return size, draw(st.lists(st.tuples(node, node), max_size=60))


def test_circuits_that_share_two_nodes_are_a_block_each() -> None:
    circuits = MANY + 1
    pairs = [(0, 2 + i) for i in range(circuits)]
    pairs += [(2 + i, 2 + circuits + i) for i in range(circuits)]
    pairs += [(2 + circuits + i, 1) for i in range(circuits)]
    label = blocks_of(2 + 2 * circuits, *ends(pairs), [])
    assert label[:2].tolist() == [-1, -1]
    assert [label[2 + i] == label[2 + circuits + i] for i in range(circuits)] == [True] * circuits
    assert set(label[2:].tolist()) == set(range(circuits))


@pytest.mark.parametrize("shape", ["path", "ring", "tree", "grid"])
def test_whatever_its_shape_no_block_is_large(shape: str) -> None:
    made = {
        "path": nx.path_graph(1000),
        "ring": nx.cycle_graph(1000),
        "tree": nx.random_labeled_tree(1000, seed=1),
        "grid": nx.convert_node_labels_to_integers(nx.grid_2d_graph(4, 250)),
    }[shape]
    label = blocks_of(1000, *ends(list(made.edges)), [])
    assert np.bincount(label[label >= 0]).max() <= LARGEST
    assert np.count_nonzero(label < 0) < 150  # most nodes are in blocks


@given(networks(), st.data())
def test_blocks_touch_each_other_at_hubs_alone(network: tuple[int, Pairs], data: st.DataObject) -> None:
    size, pairs = network
    poles = data.draw(st.lists(st.integers(0, size - 1), max_size=3, unique=True))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(hubs, "MANY", 3)
        patch.setattr(hubs, "LARGEST", 5)
        label = blocks_of(size, *ends(pairs), poles)
    assert all(label[pole] == -1 for pole in poles)
    assert all(label[a] == label[b] or -1 in (label[a], label[b]) for a, b in pairs)
    assert np.bincount(label[label >= 0], minlength=1).max() <= 5
    sorted_ = by_block(label, *ends(pairs))
    count = sorted_.sizes.size - 1
    assert sorted(place for block in range(count + 1) for place in sorted_[block].tolist()) == list(range(len(pairs)))
    for block in range(count):
        assert all(block in (label[pairs[place][0]], label[pairs[place][1]]) for place in sorted_[block].tolist())
    assert all(label[pairs[place][0]] == label[pairs[place][1]] == -1 for place in sorted_[count].tolist())


@given(st.lists(st.integers(0, 5), max_size=40), st.lists(st.integers(0, 4), max_size=12))
def test_what_is_in_some_blocks_is_listed_block_after_block(blocks: list[int], asked: list[int]) -> None:
    """Of five blocks; what is in a sixth is in none of them. A block may be asked for twice."""
    sorted_ = ByBlock(np.array(blocks, dtype=np.intp), 5)
    expected = [[place for place, block in enumerate(blocks) if block == each] for each in range(5)]
    assert [sorted_[block].tolist() for block in range(5)] == expected
    assert sorted_.sizes.tolist() == [len(each) for each in expected]
    places, which = sorted_.of(np.array(asked, dtype=np.intp))
    assert places.tolist() == [place for block in asked for place in expected[block]]
    assert which.tolist() == [turn for turn, block in enumerate(asked) for _ in expected[block]]


@given(networks())
def test_islands_are_those_of_another_library(network: tuple[int, Pairs]) -> None:
    size, pairs = network
    judge: nx.Graph[int] = nx.Graph(pairs)
    judge.add_nodes_from(range(size))
    firsts = sorted(min(island) for island in nx.connected_components(judge))
    found = first_nodes(size, *ends(pairs)).tolist()
    assert sorted(set(found)) == firsts
    assert all(found[a] == found[b] for a, b in pairs)
    plain = islands_of(size, pairs)
    assert all((plain[a] == plain[b]) is (found[a] == found[b]) for a in range(size) for b in range(size))


def test_the_inverse_of_a_matrix_in_blocks() -> None:
    rng = np.random.default_rng(1)
    label = np.array([0, 1, 1, 2, 0, 1, 2, -1])
    nodes_of = ByBlock(np.where(label < 0, 3, label), 3)
    matrix = np.zeros((8, 8))
    for nodes in (nodes_of[0], nodes_of[1], nodes_of[2]):
        matrix[np.ix_(nodes, nodes)] = rng.random((nodes.size, nodes.size)) + 3.0 * np.eye(nodes.size)
    rows, columns = np.nonzero(matrix)
    halves = np.concatenate((rows, rows)), np.concatenate((columns, columns))
    found = inverse_of(nodes_of, label, *halves, np.tile(matrix[rows, columns] / 2.0, 2)).toarray()
    assert found[:7, :7] == pytest.approx(np.linalg.inv(matrix[:7, :7]), abs=1e-12)
    assert not found[7].any()
