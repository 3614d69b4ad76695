"""Exact logic over every combination: the table operations, the cones, memory, and the demonstration machine."""

from __future__ import annotations

import itertools
import random
from datetime import date
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from plain_search import PlainSearch, disagreements, moments

from loomwright.checks.behaviour.keys import stop_controls
from loomwright.checks.behaviour.stopping import ignition_parts, kills
from loomwright.checks.logic import SwitchingLogic, TooWideError, load_tables
from loomwright.checks.logic.analysis import Settled
from loomwright.checks.logic.part_predicates import Live, Runs
from loomwright.checks.logic.predicates import AtPole, In, Joined, JoinedInSeries, ThroughLoads
from loomwright.checks.logic.terms import ANY, BATTERY
from loomwright.checks.logic.truth_tables import Space, Variable
from loomwright.checks.study import Study
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.search.cones import Cones

SPECS = Path(__file__).resolve().parents[3] / "specs"

POWER = """loom "Test"
place here
source BAT battery at here { voltage 12.6 V; capacity 10 Ah; resistance 15 mohm }
ground FRAME at here
fuse MAIN 10 A blade at here
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.1 m
wire 2 BAT.- to FRAME black 6 mm2 0.1 m
"""


def conduction_of(text: str) -> SwitchingLogic:
    reading = read_text(POWER + text)
    assert not reading.mistakes, reading.mistakes
    return SwitchingLogic(build_circuit(reading.harness))


def spec(name: str) -> SwitchingLogic:
    reading = read_file(SPECS / name)
    assert not reading.mistakes, reading.mistakes
    return SwitchingLogic(build_circuit(reading.harness))


def may(logic: SwitchingLogic, question: Joined | Runs | Live | AtPole, **positions: str) -> bool:
    """Whether something may hold with some controls there and the others anywhere."""
    ins = [In(name.replace("_", "-"), (position,)) for name, position in positions.items()]
    scope = logic.scope(question, *ins)
    table = question.table(scope) & scope.counted
    for at in ins:
        table &= at.table(scope)
    return bool(table)


# --- tables ----------------------------------------------------------------------------------------------------------
@st.composite
def spaces(draw: st.DrawFn) -> Space:
    sizes = draw(st.lists(st.integers(1, 4), min_size=1, max_size=4))
    return Space(Variable(f"v{i}", tuple(f"p{j}" for j in range(n))) for i, n in enumerate(sizes))


@given(spaces(), st.data())
def test_tables_are_sets(space: Space, data: st.DataObject) -> None:
    table = data.draw(st.integers(0, space.full))
    name = data.draw(st.sampled_from(list(space.stride)))
    members = {i for i in range(space.size) if (table >> i) & 1}

    def others(i: int) -> tuple[str, ...]:
        return tuple(p for n, p in space.positions(i).items() if n != name)

    some = {others(i) for i in members}
    count = len(space.by_name[name].positions)
    every = {key for key in some if sum(others(i) == key for i in members) == count}
    assert list(space.members(table)) == sorted(members)
    assert list(space.members(space.some(table, (name,)))) == [i for i in range(space.size) if others(i) in some]
    assert list(space.members(space.every(table, (name,)))) == [i for i in range(space.size) if others(i) in every]
    assert space.depends(table, name) == (space.some(table, (name,)) != space.every(table, (name,)))
    for position in space.by_name[name].positions:
        there = [i for i in range(space.size) if space.positions(i)[name] == position]
        assert list(space.members(space.at(name, position))) == there
    assert all(space.index(space.positions(i)) == i for i in range(space.size))


@given(spaces(), st.data())
def test_the_combination_shown_is_nearest_and_least(space: Space, data: st.DataObject) -> None:
    table = data.draw(st.integers(1, space.full))
    names = tuple(space.stride)

    def away(i: int) -> int:
        return sum(p != "p0" for p in space.positions(i).values())

    index = space.nearest(table, names)
    assert (table >> index) & 1
    assert away(index) == min(away(i) for i in space.members(table))
    needed = space.needed(table, index, names)
    alike = [i for i in range(space.size) if all(space.positions(i)[n] == space.positions(index)[n] for n in needed)]
    assert all((table >> i) & 1 for i in alike)
    for name in needed:  # no control is shown that the answer could do without
        fewer = [n for n in needed if n != name]
        cube = [i for i in range(space.size) if all(space.positions(i)[n] == space.positions(index)[n] for n in fewer)]
        assert not all((table >> i) & 1 for i in cube)


# --- cones -----------------------------------------------------------------------------------------------------------
@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), max_size=12), st.integers(0, 6), st.integers(0, 6))
def test_cones_are_two_disjoint_ways(pairs: list[tuple[int, int]], target: int, wall: int) -> None:
    """An edge matters where vertex-disjoint ways lead from its two ends to the start and to the target."""
    edges = [pair for pair in pairs if pair[0] != pair[1]]
    near: dict[int, list[tuple[int, int]]] = {}
    for i, (a, b) in enumerate(edges):
        near.setdefault(a, []).append((b, i))
        near.setdefault(b, []).append((a, i))
    start = 0
    if start in (target, wall):
        return
    cones = Cones(near, [frozenset({str(i)}) for i in range(len(edges))], start, wall if wall != target else None)
    alive = [(i, e) for i, e in enumerate(edges) if wall == target or wall not in e]
    graph = nx.DiGraph()
    for vertex in range(7):
        graph.add_edge((vertex, "in"), (vertex, "out"), capacity=1)
    for _, (a, b) in alive:
        graph.add_edge((a, "out"), (b, "in"), capacity=1)
        graph.add_edge((b, "out"), (a, "in"), capacity=1)
    expected = set()
    for i, ends in alive:
        trial = graph.copy()
        for end in ends:
            trial.add_edge("from", (end, "in"), capacity=1)
        for end in (start, target):
            trial.add_edge((end, "out"), "to", capacity=1)
        if nx.maximum_flow_value(trial, "from", "to") == 2:
            expected.add(str(i))
    assert cones.of(target) == expected


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), max_size=14), st.integers(1, 6))
def test_cones_with_an_edge_taken_out_are_those_of_the_graph_without_it(
    pairs: list[tuple[int, int]], wall: int
) -> None:
    edges = [(a, b) for a, b in pairs if a != b]
    labels = [frozenset({str(i)}) for i in range(len(edges))]

    def cones(out: int | None = None) -> Cones:
        near: dict[int, list[tuple[int, int]]] = {}
        for i, (a, b) in enumerate(edges):
            if i != out:
                near.setdefault(a, []).append((b, i))
                near.setdefault(b, []).append((a, i))
        return Cones(near, labels, 0, wall)

    whole = cones()
    for out, ends in enumerate(edges):
        anew = cones(out)
        for end in ends:
            left = whole.but(out, end)
            assert (end in left) == (end in anew)
            if end in anew:
                assert left.of(end) == anew.of(end)
                assert left.passed(end) == anew.passed(end)
                assert {str(i) for i in left.edges(end)} == anew.of(end)


# --- memory: two faults that a look from rest calls sound -------------------------------------------------------------
HELD_RELAY = """
switch KEY 10 A key at here { off: ; on: 30 15 }
switch START 2 A momentary at here { rest: ; press: 1 2 }
relay K 20 A at here { coil 85 ohm: 86 85; pulled: 30 87 }
load BOX ignition at here { feed 20 W: 15 31 }
wire 3 MAIN.2 to KEY.30 red 2 mm2 0.1 m
wire 4 MAIN.2 to K.30 red 2 mm2 0.1 m
wire 5 KEY.15 to START.1 red 2 mm2 0.1 m
wire 6 START.2 to K.86 white 1 mm2 0.1 m
wire 7 K.85 to FRAME black 1 mm2 0.1 m
wire 8 K.87 to BOX.15 yellow 1 mm2 0.1 m
wire 9 BOX.31 to FRAME black 1 mm2 0.1 m
wire 10 K.87 to K.86 white 1 mm2 0.1 m
"""
SELF_FED_FIELD = """
switch KEY 10 A key at here { off: ; on: 30 15 }
source ALT alternator at here { output 200 W: B+ B-; field 6 ohm: D+ B- }
load LAMP lamp at here { charge 5 W tell-tale: 1 2 }
load BOX ignition at here { feed 20 W: 15 31 }
wire 3 MAIN.2 to KEY.30 red 2 mm2 0.1 m
wire 4 MAIN.2 to ALT.B+ red 2 mm2 0.1 m
wire 5 ALT.B- to FRAME black 2 mm2 0.1 m
wire 6 KEY.15 to LAMP.1 red 1 mm2 0.1 m
wire 7 LAMP.2 to ALT.D+ brown 1 mm2 0.1 m
wire 8 ALT.D+ to BOX.15 brown 1 mm2 0.1 m
wire 9 BOX.31 to FRAME black 1 mm2 0.1 m
"""


def test_a_relay_that_holds_itself_in_keeps_the_engine_running() -> None:
    logic = conduction_of(HELD_RELAY)
    assert may(logic, Runs("BOX", BATTERY), KEY="off")
    [kill] = kills(logic)
    assert kill.proof.ended == "refuted"
    assert kill.proof.by == "battery"
    assert kill.proof.shown is not None
    assert kill.proof.shown.held == ("K pulled",)
    # From rest with the key off nothing moves, and the fault would have been called sound.
    assert logic.settle({"KEY": "off"}).conditions == {"K pulled": False}
    running = logic.settle({"KEY": "on", "START": "press"}).conditions
    assert running == {"K pulled": True}
    assert logic.settle({"KEY": "off"}, running).conditions == {"K pulled": True}


@pytest.mark.parametrize("name", ["stock", "rebuild"])
def test_what_leads_to_one_net_alone_says_the_same_as_all_that_leads_anywhere(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a large harness only the ways to the net that is asked for are gone along: here of every net, then of none."""
    tables = []
    for few in (0, 10**9):
        monkeypatch.setattr(load_tables, "FEW", few)
        logic = spec(f"{name}.loom")
        asked = [ThroughLoads(branch.key) for branch in logic.consumers]
        tables.append([question.table(logic.scope(question)) for question in asked])
    assert tables[0] == tables[1]
    assert any(tables[0])


def test_a_field_that_feeds_itself_keeps_the_engine_running() -> None:
    logic = conduction_of(SELF_FED_FIELD)
    assert not may(logic, Runs("BOX", BATTERY), KEY="off")
    assert may(logic, Runs("BOX", ANY), KEY="off")
    [kill] = kills(logic)
    assert (kill.proof.ended, kill.proof.by) == ("refuted", "machine")
    assert kill.proof.path[0] == "ALT.D+"
    assert logic.settle({"KEY": "off", "engine": "running"}).conditions == {"ALT excited": False}
    charging = logic.settle({"KEY": "on", "engine": "running"}).conditions
    assert charging == {"ALT excited": True}
    assert logic.settle({"KEY": "off", "engine": "running"}, charging).conditions == {"ALT excited": True}
    assert logic.settle({"KEY": "off"}, charging).conditions == {"ALT excited": False}


def test_what_is_taken_out_while_running_leaves_the_machine_excited() -> None:
    logic = conduction_of(SELF_FED_FIELD.replace("wire 8 ALT.D+ to BOX.15", "wire 8 KEY.15 to BOX.15"))
    without = logic.without(("1",))
    assert may(without, Runs("BOX"), KEY="on", engine="running")
    assert not may(without, Runs("BOX"), KEY="on", engine="off")
    bare = SwitchingLogic(logic.circuit.without(("1",)))
    assert not may(bare, Runs("BOX"), KEY="on", engine="running")  # a field that was never fed


def test_what_comes_through_a_field_does_not_feed_it() -> None:
    """Its return is off: what comes by the charge lamp goes on to the box, and none of it through the field."""
    logic = conduction_of(SELF_FED_FIELD.replace("wire 5 ALT.B- to FRAME black 2 mm2 0.1 m\n", ""))
    assert logic.settle({"KEY": "on", "engine": "running"}).conditions == {"ALT excited": False}


BUZZER = """
relay K 20 A at here { coil 85 ohm: 86 85; released: 30 87a }
wire 3 MAIN.2 to K.30 red 2 mm2 0.1 m
wire 4 K.87a to K.86 white 1 mm2 0.1 m
wire 5 K.85 to FRAME black 1 mm2 0.1 m
"""


def test_what_never_settles_counts_both_ways() -> None:
    logic = conduction_of(BUZZER)
    scope = logic.scope(Joined("K coil"))
    table = Joined("K coil").table(scope)
    assert scope.chattering == scope.full
    assert scope.may(table) == scope.full
    assert scope.must(table) == 0
    assert logic.settle({}).chattering == ("K pulled",)


TWO_LATCHES = """
switch TURN 1 A momentary at here { rest: ; left: 31 L; right: 31 R }
unit U at here {
    supply 10 mA: 30 31
    input l-button grounded: L
    input r-button grounded: R
    latch left: set when l-button, cleared when r-button
    latch right: set when r-button, cleared when l-button
    output left 2 A: OL when left
    output right 2 A: OR when right
}
load FL led at here { turn 3 W: 1 2 }
load FR led at here { turn 3 W: 1 2 }
wire 3 MAIN.2 to U.30 red 1 mm2 0.1 m
wire 4 U.31 to FRAME black 1 mm2 0.1 m
wire 5 TURN.L to U.L green 1 mm2 0.1 m
wire 6 TURN.R to U.R green 1 mm2 0.1 m
wire 7 TURN.31 to FRAME black 1 mm2 0.1 m
wire 8 U.OL to FL.1 green 1 mm2 0.1 m
wire 9 U.OR to FR.1 green 1 mm2 0.1 m
wire 10 FL.2 to FRAME black 1 mm2 0.1 m
wire 11 FR.2 to FRAME black 1 mm2 0.1 m
"""


def test_latches_settle_before_a_thumb_moves_on() -> None:
    """No thumb is quick enough to leave both sides set, however the button is worked."""
    logic = conduction_of(TWO_LATCHES)
    assert disagreements(PlainSearch(logic.circuit), logic, logic.consumers) == []
    scope = logic.scope(Joined("FL.turn"), Joined("FR.turn"))
    left, right = (Joined(key).table(scope) & scope.counted for key in ("FL.turn", "FR.turn"))
    assert left & scope.rest(scope.visible)
    assert right & scope.rest(scope.visible)
    assert not left & right


def test_a_latch_that_is_given_is_held_whatever_sets_or_clears_it() -> None:
    """With the button to the right the left latch is cleared; given as set it stays, and nothing keeps switching."""
    logic = conduction_of(TWO_LATCHES)
    right = {"U.left set": False, "U.right set": True}
    assert latches(logic.settle({"TURN": "right"}, {"U.left set": True})) == right
    held = logic.settle({"TURN": "right", "U.left": "set"})
    assert latches(held) == {"U.left set": True, "U.right set": True}
    assert held.chattering == ()


def latches(settled: Settled) -> dict[str, bool]:
    return {name: holds for name, holds in settled.conditions.items() if name.endswith(" set")}


# --- joints, series, windings, polarity ------------------------------------------------------------------------------
def test_an_unreliable_joint_is_open_for_a_duty_and_joined_for_a_danger() -> None:
    logic = conduction_of("""
        load LAMP lamp at here { lamp 5 W: 1 2 }
        mount LAMP.2 to FRAME through bearings
        wire 3 MAIN.2 to LAMP.1 red 1 mm2 0.1 m
    """)
    scope = logic.scope(Joined("LAMP.lamp"))
    table = Joined("LAMP.lamp").table(scope)
    assert scope.may(table) == scope.full
    assert scope.must(table) == 0


def test_batteries_in_series_are_one_source_with_taps() -> None:
    logic = conduction_of("""
        source SECOND battery at here { voltage 12.6 V; capacity 10 Ah; resistance 15 mohm }
        load LOW lamp at here { lamp 5 W: 1 2 }
        load HIGH lamp at here { lamp 5 W: 1 2 }
        load BETWEEN lamp at here { lamp 5 W: 1 2 }
        wire 3 SECOND.- to MAIN.2 red 1 mm2 0.1 m
        wire 4 LOW.1 to MAIN.2 red 1 mm2 0.1 m
        wire 5 LOW.2 to FRAME black 1 mm2 0.1 m
        wire 6 HIGH.1 to SECOND.+ red 1 mm2 0.1 m
        wire 7 HIGH.2 to FRAME black 1 mm2 0.1 m
        wire 8 BETWEEN.1 to SECOND.+ red 1 mm2 0.1 m
        wire 9 BETWEEN.2 to MAIN.2 red 1 mm2 0.1 m
    """)
    for name in ("LOW", "HIGH", "BETWEEN"):
        assert may(logic, Joined(f"{name}.lamp"))


def test_a_winding_feeds_both_ways_and_is_no_pole() -> None:
    logic = conduction_of("""
        source MAG alternator at here { winding light 40 W: 59 31 }
        load A lamp at here { lamp 5 W: 1 2 }
        load B led at here { lamp 5 W: 1 2 }
        wire 3 MAG.59 to A.1 yellow 1 mm2 0.1 m
        wire 4 MAG.31 to A.2 yellow 1 mm2 0.1 m
        wire 5 MAG.59 to B.2 yellow 1 mm2 0.1 m
        wire 6 MAG.31 to B.1 yellow 1 mm2 0.1 m
        load C lamp at here { lamp 5 W: 1 2 }
        wire 7 MAG.59 to C.1 yellow 1 mm2 0.1 m
        wire 8 MAG.59 to C.2 yellow 1 mm2 0.1 m
    """)
    assert may(logic, Joined("A.lamp"), engine="running")
    assert may(logic, Joined("B.lamp"), engine="cranking")
    assert not may(logic, Joined("A.lamp"), engine="off")
    assert not may(logic, Joined("C.lamp"), engine="running"), "both its leads are on one end"
    assert not may(logic, AtPole("A.1", feed=True))


def test_positive_ground_turns_feed_and_return_round() -> None:
    logic = spec("small/six-volt-dynamo.loom")
    assert may(logic, AtPole("KEY.15", feed=True), KEY="on")
    assert not may(logic, AtPole("KEY.15", feed=True), KEY="off")
    assert may(logic, AtPole("HEAD.31", feed=False))
    assert may(logic, Runs("COIL"), KEY="on")
    assert not may(logic, Runs("COIL"), KEY="off")


def test_a_ballast_resistor_feeds_an_ignition() -> None:
    text = """
        switch KEY 10 A key at here { off: ; on: 30 15 }
        resistor R 2 ohm 30 W at here
        load COIL ignition at here { primary 2 ohm: 15 1 }
        wire 3 MAIN.2 to KEY.30 red 1 mm2 0.1 m
        wire 4 KEY.15 to R.1 red 1 mm2 0.1 m
        wire 5 R.2 to COIL.15 red 1 mm2 0.1 m
        wire 6 COIL.1 to FRAME black 1 mm2 0.1 m
    """
    logic = conduction_of(text)
    assert not may(logic, Joined("COIL.primary"))
    assert may(logic, Runs("COIL", BATTERY), KEY="on")
    assert not may(logic, JoinedInSeries("COIL.primary"), KEY="off")  # type: ignore[arg-type]


def test_a_ballast_resistor_past_the_key_is_a_feed_and_not_a_load() -> None:
    """By hand: 12 V on 2 + 2 ohm leave half of it across the coil, far more than the 15 % below which it is dead."""
    text = """
        switch KEY 10 A key at here { off: ; on: 30 15 }
        resistor R 2 ohm 30 W at here
        load COIL ignition at here { primary 2 ohm: 15 1 }
        wire 3 MAIN.2 to KEY.30 red 1 mm2 0.1 m
        wire 4 MAIN.2 to R.1 red 1 mm2 0.1 m
        wire 5 R.2 to COIL.15 red 1 mm2 0.1 m
        wire 6 COIL.1 to FRAME black 1 mm2 0.1 m
        wire 7 KEY.15 to COIL.15 red 1 mm2 0.1 m
    """
    harness = read_text(POWER + text).harness
    [kill] = Study(harness, today=date(2026, 1, 1)).properties.kills
    assert (kill.proof.ended, kill.proof.by) == ("refuted", "battery")
    assert "R" in kill.proof.path
    high = read_text(POWER + text.replace("2 ohm 30 W", "10 kohm 1 W")).harness
    [kill] = Study(high, today=date(2026, 1, 1)).properties.kills
    assert kill.proof.ended == "holds"  # a resistor that passes a milliamp keeps nothing alive


def test_too_wide_a_question_says_so() -> None:
    lines = [f"switch S{i} 1 A at here {{ off: ; on: 1 2 }}" for i in range(24)]
    wires = [f"wire W{i} {'MAIN.2' if i == 0 else f'S{i - 1}.2'} to S{i}.1 red 1 mm2 0.1 m" for i in range(24)]
    logic = conduction_of(
        "\n".join([*lines, *wires, "load L lamp at here { lamp 5 W: 1 2 }", "wire X S23.2 to L.1 red 1 mm2 0.1 m"])
        + "\nwire Y L.2 to FRAME black 1 mm2 0.1 m\n"
    )
    with pytest.raises(TooWideError, match="24 things with 16777216 combinations"):
        logic.scope(Joined("L.lamp"))


# --- the demonstration machine and the small ones ---------------------------------------------------------------------
def cones(logic: SwitchingLogic) -> dict[frozenset[str], list[str]]:
    """The elements by the controls that their question depends on."""
    found: dict[frozenset[str], list[str]] = {}
    for branch in logic.consumers:
        names = logic.support(Joined(branch.key), AtPole(branch.a, feed=True))
        controls = frozenset(name for name in names if name in logic.circuit.controls)
        found.setdefault(controls, []).append(branch.key)
    return found


SMALL = sorted(path.relative_to(SPECS).as_posix() for path in (SPECS / "small").glob("*.loom"))


@pytest.mark.parametrize("name", ["stock.loom", "rebuild.loom", *SMALL])
def test_every_combination_that_a_question_depends_on(name: str) -> None:
    """Plain search over all positions of what matters to an element; the rest at rest, then thrown at random."""
    logic = spec(name)
    dice = random.Random(name)  # the same every time
    search = PlainSearch(logic.circuit)
    for controls, keys in cones(logic).items():
        for thrown in (False, True):
            pinned = {
                other: dice.choice(control.positions) if thrown and not control.free else control.rest
                for other, control in logic.circuit.controls.items()
                if other not in controls
            }
            branches = [logic.circuit.by_key[key] for key in keys]
            assert disagreements(search.pinned(pinned), logic, branches) == []


KILLABLE = [
    *SMALL,
    *(f"rules/{rule}/edge-{which}.loom" for rule in ("no-kill-path", "run-on") for which in ("found", "near")),
]


@pytest.mark.parametrize("name", KILLABLE)
def test_kill_proofs_by_brute_force(name: str) -> None:
    """Every stop control against every ignition part, in every combination of all controls."""
    logic = spec(name)
    network = logic.network
    proved = {(k.control, k.part): k.proof for k in kills(logic)}
    lighting = {"DIP", "LIGHTS", "HORN-BUTTON", "front-brake", "rear-brake", "oil-pressure"}
    controls = logic.circuit.controls
    judge = PlainSearch(logic.circuit).pinned({n: c.rest for n, c in controls.items() if n in lighting})
    combinations = judge.combinations()
    when = moments(judge)
    for control, part in itertools.product(stop_controls(network), ignition_parts(network)):
        held = [i for i, p in enumerate(combinations) if p[control.control] == control.position]
        by_battery = any(judge.runs(part, combinations[i], h, ("battery",)) for i in held for h in when[i])
        by_any = any(judge.runs(part, combinations[i], h) for i in held for h in when[i])
        proof = proved[control, part.name]
        assert (proof.ended == "refuted") == by_any, (control, part.name)
        if by_battery:
            assert proof.by in ("battery", "stop lead")
