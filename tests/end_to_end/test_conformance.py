"""The conformance folder: our answers are those written there, and a library that knows no harness agrees with them."""

from __future__ import annotations

import json

import networkx as nx
import pytest
from conformance import FOLDER, answers, names

import loomwright
from loomwright.lang.files.reading import read_file
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Diode, Relay, Source, Switch


@pytest.mark.parametrize("name", names())
def test_we_answer_what_is_written(name: str) -> None:
    wanted, given = json.loads((FOLDER / f"{name}.json").read_text("utf-8")), answers(name)
    assert {**given, "volts": None} == {**wanted, "volts": None}
    assert given["volts"].keys() == wanted["volts"].keys()
    for state, volts in wanted["volts"].items():
        assert given["volts"][state] == pytest.approx(volts, rel=0.02)


@pytest.mark.parametrize("name", names())
def test_a_graph_library_agrees_when_each_element_is_live(name: str) -> None:
    """An element is live where copper, closed contacts and diodes the right way lead from one pole to the other by it.

    Worked out with networkx (https://networkx.org, `has_path`) on the wires alone; relays until nothing moves.
    """
    harness = read_file(FOLDER / f"{name}.loom").harness
    rows = 0
    for element, table in json.loads((FOLDER / f"{name}.json").read_text("utf-8"))["live"].items():
        for row in table:
            rows += 1
            assert (row["live"] == "yes") == live(harness, element, row["when"]), (element, row["when"])
    assert rows > 3


def live(harness: Harness, element: str, when: dict[str, str]) -> bool:
    pulled: set[str] = set()
    while True:
        graph = joined(harness, when, pulled)
        now = {
            part.name
            for part in harness.parts.values()
            if isinstance(part, Relay) and part.coil and fed(harness, graph, part.name, part.coil.plus, part.coil.minus)
        }
        if now == pulled:
            name, _, inner = element.partition(".")
            found = next(each for each in harness.parts[name].elements if each.name == inner)  # type: ignore[attr-defined]
            return fed(harness, graph, name, found.plus, found.minus)
        pulled = now


def joined(harness: Harness, when: dict[str, str], pulled: set[str]) -> nx.DiGraph:
    graph = nx.DiGraph()

    def both(a: str, b: str) -> None:
        graph.add_edge(a, b)
        graph.add_edge(b, a)

    for wire in harness.wires.values():
        both(str(wire.a), str(wire.b))
    for part in harness.parts.values():
        pairs: tuple[tuple[str, str], ...] = ()
        if part.kind == "fuse":
            pairs = (("1", "2"),)
        elif isinstance(part, Switch):
            pairs = next(p.pairs for p in part.positions if p.name == when.get(part.control, part.rests))
        elif isinstance(part, Relay):
            pairs = part.pulled if part.name in pulled else part.released
        elif isinstance(part, Diode):
            graph.add_edge(f"{part.name}.A", f"{part.name}.K")
        for a, b in pairs:
            both(f"{part.name}.{a}", f"{part.name}.{b}")
    return graph


def fed(harness: Harness, graph: nx.DiGraph, part: str, plus: str, minus: str) -> bool:
    (battery,) = (each.name for each in harness.parts.values() if isinstance(each, Source))
    ends = (f"{part}.{plus}", f"{part}.{minus}")
    if any(end not in graph for end in ends):
        return False
    return any(
        nx.has_path(graph, f"{battery}.+", a) and nx.has_path(graph, b, f"{battery}.-") for a, b in (ends, ends[::-1])
    )


def test_the_lamp_s_volts_by_hand() -> None:
    """12.6 V at rest: 21 W at the rated 12 V are 6.86 ohm of a filament; some 0.15 V are lost on the way."""
    volts = json.loads((FOLDER / "lamp-behind-two-switches.json").read_text("utf-8"))["volts"]
    assert volts["off"]["LAMP.bulb"] == 0.0
    assert 12.3 < volts["lit"]["LAMP.bulb"] < 12.6


def test_the_page_lists_every_harness() -> None:
    page = (FOLDER / "README.md").read_text("utf-8")
    assert [name for name in names() if f"`{name}`" not in page] == []
    assert len(names()) >= 7
    assert loomwright.__version__
