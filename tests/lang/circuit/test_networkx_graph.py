"""The circuit as a graph that networkx can be asked about. The two examples are those of DEVELOPERS.md."""

from __future__ import annotations

from pathlib import Path

import networkx as nx
import pytest

import loomwright
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.networkx_graph import graph
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.harness import Harness

BIKE = """loom "Lamp"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah }
fuse MAIN 10 A blade at tray
switch LIGHT { off: ; on: 1 2 }
load LAMP lamp { lamp 21 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to LIGHT.1 red 1 mm2 0.50 m
wire 3 LIGHT.2 to LAMP.1 yellow 1 mm2 0.80 m
wire 4 LAMP.2 to BAT.-
"""


@pytest.fixture
def lamp() -> nx.MultiGraph[str]:
    return graph(read_text(BIKE).harness)


def demonstration(root: Path, name: str) -> Harness:
    return read_file(root / "specs" / name).harness


def test_an_edge_has_what_the_text_says(lamp: nx.MultiGraph[str]) -> None:
    assert lamp.edges["BAT.+", "MAIN.1", "wire 1"] == {
        "type": "wire",
        "a": "BAT.+",
        "b": "MAIN.1",
        "direction": "both",
        "may_open": False,
        "part": "",
        "wire": "1",
        "colour": "red",
        "length": 0.15,
        "size": 2.0,
        "fuse": None,
    }
    assert lamp.edges["MAIN.1", "MAIN.2", "MAIN"]["fuse"] == 10.0
    nothing = lamp.edges["LAMP.2", "BAT.-", "wire 4"]
    assert (nothing["colour"], nothing["length"], nothing["size"]) == ("", None, None)
    switch = next(e for _, _, e in lamp.edges(data=True) if e["part"] == "LIGHT")
    assert switch["may_open"]
    assert lamp.edges["LAMP.1", "LAMP.2", "LAMP.lamp"]["direction"] == "never"


def test_a_node_has_its_part_place_and_net(lamp: nx.MultiGraph[str]) -> None:
    assert lamp.nodes["BAT.+"]["part"] == "BAT"
    assert lamp.nodes["BAT.+"]["place"] == "tray"
    assert lamp.nodes["LAMP.1"]["place"] == ""
    assert lamp.nodes["BAT.+"]["net"] == lamp.nodes["LIGHT.1"]["net"] != lamp.nodes["LIGHT.2"]["net"]


@pytest.mark.parametrize("name", ["stock.loom", "rebuild.loom"])
def test_nets_are_what_networkx_finds_connected(name: str, root: Path) -> None:
    """networkx as the judge: the components of what joins both ways and cannot open."""
    harness = demonstration(root, name)
    found = graph(harness)
    always = nx.Graph()
    always.add_nodes_from(found)
    always.add_edges_from(
        (a, b) for a, b, e in found.edges(data=True) if e["direction"] == "both" and not e["may_open"]
    )
    nets = [{found.nodes[node]["net"] for node in component} for component in nx.connected_components(always)]
    assert all(len(each) == 1 for each in nets)
    assert len({each.pop() for each in nets}) == len(build_circuit(harness).nets.nodes)


def test_every_branch_is_one_edge(root: Path) -> None:
    harness = demonstration(root, "rebuild.loom")
    keys = [key for _, _, key in graph(harness).edges(keys=True)]
    assert sorted(keys) == sorted(build_circuit(harness).by_key)


def test_the_examples_of_the_guide(root: Path) -> None:
    found = loomwright.graph(demonstration(root, "rebuild.loom"))
    guide = (root / "DEVELOPERS.md").read_text("utf-8")
    code = guide.partition("<!-- graph examples -->")[2].partition("```python\n")[2].partition("```")[0]
    names = {"graph": found, "nx": nx}
    exec(code, names)
    assert names["copper"] == pytest.approx(sum(found.edges[edge]["length"] for edge in names["way"]))
    assert names["only"]
    for key in names["only"]:
        a, b = next((a, b) for a, b, k in found.edges(keys=True) if k == key)
        assert nx.number_connected_components(nx.restricted_view(found, [], [(a, b, key)])) > (
            nx.number_connected_components(found)
        )
