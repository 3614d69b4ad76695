"""Exposure, sides and cranking conductors, judged by networkx on the whole graph with nothing reduced."""

from __future__ import annotations

import math
from dataclasses import replace

import networkx as nx
import pytest
from hand_made import AT, battery, dynamo, frame, fuse, harness, harnesses, lamp, splice, switch, unit, wire
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.branch import Branch
from loomwright.lang.circuit.branch_types import BranchType, Direction
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Fuse, Part, Position, Switch, UnitOutput


# --- on random harnesses ---------------------------------------------------------------------------------------------
def network(circuit: Circuit, without: Branch) -> nx.DiGraph:
    """The whole graph of a fault current, one conductor out, as the definition has it."""
    protection = Protection(circuit)
    graph = nx.DiGraph()
    parts = circuit.harness.parts

    def add(tail: str, head: str, amps: float) -> None:
        if tail not in protection.returns and head not in protection.returns:
            old = graph.get_edge_data(tail, head, {"capacity": 0.0})["capacity"]
            graph.add_edge(tail, head, capacity=old + amps)

    for branch in circuit.branches:
        if branch is without or branch.branch_type.joined is Direction.NEVER:
            continue
        amps = math.inf
        if branch.branch_type is BranchType.FUSE:
            amps = parts[branch.part].amps  # type: ignore[attr-defined]
        elif isinstance(branch.item, UnitOutput) and branch.item.trips is not None:
            amps = branch.item.trips
        forward, backward = (branch.a, branch.b), (branch.b, branch.a)
        if branch.branch_type.joined is Direction.FORWARD and circuit.return_sign == "+":
            forward, backward = backward, forward
        add(*forward, amps)
        if branch.branch_type.joined is Direction.BOTH:
            add(*backward, amps)
    graph.add_edge("POLES", protection.feed_pole(circuit.supplies[0]), capacity=math.inf)
    graph.add_edge("POLES", protection.feed_pole(circuit.supplies[1]), capacity=60.0 / 15.0)
    return graph


def most(graph: nx.DiGraph, node: str) -> float:
    if node not in graph:
        return 0.0
    try:
        return float(nx.maximum_flow_value(graph, "POLES", node))
    except nx.NetworkXUnbounded:
        return math.inf


@given(harnesses())
def test_exposure_is_the_greatest_flow_with_the_conductor_out(given_harness: Harness) -> None:
    circuit = build_circuit(given_harness)
    protection = Protection(circuit)
    if protection.shorted:
        assert protection.sustained_faults == {}
        return
    for branch in circuit.branches:
        if branch.segment is None or {branch.a, branch.b} & protection.returns:
            continue
        graph = network(circuit, branch)
        expected = max(most(graph, branch.a), most(graph, branch.b))
        found = protection.sustained_faults.get(branch.segment.name)
        assert (found.amps if found else 0.0) == pytest.approx(expected), branch.key
        assert (protection.side(branch) == "feed") == (found is not None) == (expected > 0)
        if found and found.protected:
            named = [limit.amps for limit in found.limits]
            assert sum(amps for amps in named if amps is not None) == pytest.approx(expected)


@given(harnesses())
def test_distance_is_the_shortest_way_past_no_device(given_harness: Harness) -> None:
    circuit = build_circuit(given_harness)
    protection = Protection(circuit)
    graph = nx.DiGraph()
    for branch in circuit.branches:
        metres = branch.segment.length if branch.segment else 0.0
        for near, far in [(branch.a, branch.b), (branch.b, branch.a)]:
            allowed = branch.branch_type.joined is Direction.BOTH and branch.branch_type is not BranchType.FUSE
            one_way = branch.branch_type.joined is Direction.FORWARD and getattr(branch.item, "trips", None) is None
            first = branch.a if circuit.return_sign == "-" else branch.b
            if (allowed or (one_way and near == first)) and not {near, far} & protection.returns:
                old = graph.get_edge_data(near, far, {"weight": math.inf})["weight"]
                graph.add_edge(near, far, weight=min(old, metres))
    pole = protection.feed_pole(circuit.supplies[0])
    for sustained_fault in protection.sustained_faults.values():
        if sustained_fault.protected:
            continue
        lengths = nx.single_source_dijkstra_path_length(graph, pole)
        branch = sustained_fault.conductor
        nearer = min(lengths.get(branch.a, math.inf), lengths.get(branch.b, math.inf))
        assert protection.distances.of(sustained_fault) == pytest.approx(nearer + branch.segment.length)
        way = protection.distances.way(sustained_fault)
        assert way[0] == "BAT"
        assert way[-1] == branch.owner


@given(harnesses(), st.sampled_from([5.0, 10.0, 20.0]))
def test_a_smaller_fuse_never_raises_an_exposure(given_harness: Harness, amps: float) -> None:
    smaller = replace(
        given_harness,
        parts={
            name: replace(part, amps=min(part.amps, amps)) if isinstance(part, Fuse) and part.amps else part
            for name, part in given_harness.parts.items()
        },
    )
    before = Protection(build_circuit(given_harness)).sustained_faults
    after = Protection(build_circuit(smaller)).sustained_faults
    assert before.keys() == after.keys()
    assert all(after[name].amps <= before[name].amps + 1e-9 for name in before)


# --- on small ones ---------------------------------------------------------------------------------------------------
def sustained_faults(*args: list) -> dict[str, tuple[float, tuple[str, ...]]]:  # type: ignore[type-arg]
    protection = Protection(build_circuit(harness(*args)))
    return {name: (found.amps, found.devices) for name, found in protection.sustained_faults.items()}


def test_a_fuse_divides_what_is_before_from_what_is_behind() -> None:
    found = sustained_faults(
        [battery(), fuse("MAIN", 15.0), lamp("L"), frame()],
        [
            wire("1", "BAT.+", "MAIN.1"),
            wire("2", "MAIN.2", "L.1"),
            wire("3", "L.2", "FRAME"),
            wire("4", "BAT.-", "FRAME"),
        ],
    )
    assert found == {"1": (math.inf, ()), "2": (15.0, ("MAIN",))}


def test_a_fuse_at_the_far_end_protects_nothing() -> None:
    """What a fault draws comes from the battery's end; a charging lead with its fuse at the machine is bare."""
    found = sustained_faults(
        [battery(), fuse("F", 20.0), dynamo(), frame()],
        [
            wire("1", "BAT.+", "F.1", 2.0),
            wire("2", "F.2", "DYN.D"),
            wire("3", "DYN.E", "FRAME"),
            wire("4", "BAT.-", "FRAME"),
        ],
    )
    assert found["1"] == (math.inf, ())
    assert found["2"] == (20.0, ("F",))


def test_a_lead_between_fuse_and_machine_takes_the_larger_of_its_two_ends() -> None:
    parts: list[Part] = [battery(), fuse("F", 3.0), dynamo(), frame()]
    wires = [
        wire("1", "BAT.+", "F.1"),
        wire("2", "F.2", "DYN.D"),
        wire("3", "DYN.E", "FRAME"),
        wire("4", "BAT.-", "FRAME"),
    ]
    protection = Protection(build_circuit(harness(parts, wires)))
    assert protection.sustained_faults["2"].amps == 60.0 / 15.0
    assert protection.sustained_faults["2"].devices == ()
    assert [limit.name for limit in protection.sustained_faults["2"].limits] == ["DYN"]


def test_feeds_side_by_side_add_and_a_machine_adds_to_a_fuse() -> None:
    found = sustained_faults(
        [battery(), fuse("A", 10.0), fuse("B", 5.0), dynamo(), splice("SP"), lamp("L"), frame()],
        [
            wire("1", "BAT.+", "A.1"),
            wire("2", "BAT.+", "B.1"),
            wire("3", "A.2", "SP"),
            wire("4", "B.2", "SP"),
            wire("5", "DYN.D", "SP"),
            wire("6", "SP", "L.1"),
            wire("7", "L.2", "FRAME"),
            wire("8", "DYN.E", "FRAME"),
            wire("9", "BAT.-", "FRAME"),
        ],
    )
    assert found["6"] == (10.0 + 5.0 + 4.0, ("A", "B"))
    assert found["3"] == (10.0, ("A",))  # out of it, 9 A come in at the splice: the fuse's end is the larger


@pytest.mark.parametrize(
    ("table", "amps", "devices"),
    [
        ({"off": [("a", "c")], "on": [("b", "c")]}, 10.0, ("A",)),  # a change-over: never both
        ({"off": [], "on": [("a", "c"), ("b", "c")]}, 15.0, ("A", "B")),
        ({"off": [("a", "c")], "on": [("a", "c"), ("b", "c")]}, 15.0, ("A", "B")),
    ],
)
def test_fuses_add_up_only_where_a_position_joins_them(
    table: dict[str, list[tuple[str, str]]], amps: float, devices: tuple[str, ...]
) -> None:
    rows = tuple(Position(name=name, pairs=tuple(pairs), span=AT) for name, pairs in table.items())
    hazard = Switch(kind="switch", name="S", span=AT, terminals=("a", "b", "c"), positions=rows, rests="off")
    found = sustained_faults(
        [battery(), fuse("A", 10.0), fuse("B", 5.0), hazard, lamp("L"), frame()],
        [
            wire("1", "BAT.+", "A.1"),
            wire("2", "BAT.+", "B.1"),
            wire("3", "A.2", "S.a"),
            wire("4", "B.2", "S.b"),
            wire("5", "S.c", "L.1"),
            wire("6", "L.2", "FRAME"),
            wire("7", "BAT.-", "FRAME"),
        ],
    )
    assert found["5"] == (amps, devices)


def test_a_wire_in_a_loop_is_fed_round_the_loop() -> None:
    found = sustained_faults(
        [battery(), fuse("A", 10.0), splice("SP1"), splice("SP2"), frame()],
        [
            wire("1", "BAT.+", "A.1"),
            wire("2", "A.2", "SP1"),
            wire("3", "SP1", "SP2"),
            wire("4", "SP1", "SP2"),
            wire("5", "BAT.-", "FRAME"),
        ],
    )
    assert found["3"] == found["4"] == (10.0, ("A",))


@pytest.mark.parametrize(("trips", "expected"), [(7.5, (7.5, ("U1.out",))), (None, (30.0, ("MAIN",)))])
def test_an_output_protects_only_with_trips(trips: float | None, expected: tuple[float, tuple[str, ...]]) -> None:
    found = sustained_faults(
        [battery(), fuse("MAIN", 30.0), unit("U1", trips), lamp("L"), frame()],
        [
            wire("1", "BAT.+", "MAIN.1"),
            wire("2", "MAIN.2", "U1.30"),
            wire("3", "U1.OUT", "L.1"),
            wire("4", "L.2", "FRAME"),
            wire("5", "U1.31", "FRAME"),
            wire("6", "BAT.-", "FRAME"),
        ],
    )
    assert found["3"] == expected


def test_a_fuse_without_a_rating_is_known_to_be_there_and_no_more() -> None:
    protection = Protection(
        build_circuit(
            harness(
                [battery(), fuse("MAIN", None), lamp("L"), frame()],
                [
                    wire("1", "BAT.+", "MAIN.1"),
                    wire("2", "MAIN.2", "L.1"),
                    wire("3", "L.2", "FRAME"),
                    wire("4", "BAT.-", "FRAME"),
                ],
            )
        )
    )
    found = protection.sustained_faults["2"]
    assert (found.protected, found.known, found.devices) == (True, False, ("MAIN",))


def test_what_joins_two_batteries_is_a_feed_and_no_return() -> None:
    protection = Protection(
        build_circuit(
            harness(
                [battery("UP"), battery("LOW"), lamp("L"), frame()],
                [
                    wire("1", "UP.+", "L.1"),
                    wire("2", "UP.-", "LOW.+"),
                    wire("3", "LOW.-", "FRAME"),
                    wire("4", "L.2", "FRAME"),
                ],
            )
        )
    )
    assert not protection.shorted
    assert protection.sustained_faults["2"].amps == math.inf
    assert protection.sustained_faults["1"].amps == math.inf
    assert "3" not in protection.sustained_faults


@pytest.mark.parametrize(("feed", "back", "grounded"), [("+", "-", "negative"), ("-", "+", "positive")])
def test_cranking_conductors_and_what_hangs_on_their_stud(feed: str, back: str, grounded: str) -> None:
    protection = Protection(
        build_circuit(
            harness(
                [battery(), switch("SOL"), lamp("M", "motor", "starting"), lamp("L"), frame()],
                [
                    wire("1", f"BAT.{feed}", "SOL.1"),
                    wire("2", "SOL.2", "M.1"),
                    wire("3", "M.2", "FRAME"),
                    wire("4", f"BAT.{back}", "FRAME"),
                    wire("5", "SOL.1", "L.1"),
                    wire("6", "L.2", "FRAME"),
                    wire("7", "M.1", "L.1"),
                ],
                grounded,
            )
        )
    )
    # 5 and 7 lie on a simple path from the pole to the motor too; 6 is the lamp's own way back
    assert {"wire 1", "wire 2", "wire 5", "wire 7"} <= protection.cranking_path.feed
    assert protection.cranking_path.returns == {"wire 3", "wire 4"}
    assert protection.sustained_faults["1"].amps == math.inf
    sides = {b.key: protection.side(b) for b in protection.circuit.branches if b.segment}
    assert {key for key, side in sides.items() if side == "return"} == {"wire 3", "wire 4", "wire 6"}


def test_a_branch_on_the_starter_stud_is_no_cranking_conductor() -> None:
    protection = Protection(
        build_circuit(
            harness(
                [battery(), switch("SOL"), lamp("M", "motor", "starting"), lamp("L"), frame()],
                [
                    wire("1", "BAT.+", "SOL.1"),
                    wire("2", "SOL.2", "M.1"),
                    wire("3", "M.2", "FRAME"),
                    wire("4", "BAT.-", "FRAME"),
                    wire("5", "SOL.1", "L.1"),
                    wire("6", "L.2", "FRAME"),
                ],
            )
        )
    )
    assert protection.cranking_path.feed == {"wire 1", "SOL 1-2", "wire 2"}
    assert protection.distances.way(protection.sustained_faults["5"]) == ("BAT", "1", "5")
    assert protection.distances.of(protection.sustained_faults["5"]) == 2.0


def test_fuses_in_a_row_are_paired() -> None:
    protection = Protection(
        build_circuit(
            harness(
                [battery(), fuse("MAIN"), fuse("A"), fuse("B"), splice("SP"), lamp("L"), frame()],
                [
                    wire("1", "BAT.+", "MAIN.1"),
                    wire("2", "MAIN.2", "SP"),
                    wire("3", "SP", "A.1"),
                    wire("4", "SP", "B.2"),
                    wire("5", "A.2", "L.1"),
                    wire("6", "L.2", "FRAME"),
                    wire("7", "BAT.-", "FRAME"),
                ],
            )
        )
    )
    assert set(protection.in_series) == {("A", "MAIN"), ("B", "MAIN")}


def test_copper_from_pole_to_pole_leaves_nothing_to_say() -> None:
    protection = Protection(
        build_circuit(harness([battery(), frame()], [wire("1", "BAT.+", "FRAME"), wire("2", "BAT.-", "FRAME")]))
    )
    assert protection.shorted
    assert protection.sustained_faults == {}
