"""What a text means: parts, wires, routes, states and claims, each from a few lines."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from itertools import pairwise
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.files.reading import library_names, read_file, read_text
from loomwright.lang.model.conditions import All, AnyOf, Condition, Not
from loomwright.lang.model.conditions import Test as IsIn
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Flasher, Fuse, Load, Part, Rectifier, Regulator, Relay, Source, Switch, Unit
from loomwright.lang.model.wires import End, Route, Wire
from loomwright.lang.resolve.routes import SLACK, TAILS, Ways, wire_length


def harness(text: str) -> Harness:
    reading = read_text(text)
    assert reading.mistakes == ()
    return reading.harness


def part(text: str) -> Part:
    (found,) = harness(f"place tray, engine, tail\n{text}\n").parts.values()
    return found


# --- statements ------------------------------------------------------------------------------------------------------
def test_nothing_written() -> None:
    empty = harness("")
    assert (empty.title, empty.volts, empty.grounded, empty.parts) == (None, 12.0, "negative", {})


def test_title_and_system() -> None:
    made = harness('loom "Fennmoor"  # invented\nsystem 6 V positive ground\nlanguage 1\n')
    assert (made.title, made.volts, made.grounded) == ("Fennmoor", 6.0, "positive")
    assert made.system_span == Span("harness.loom", 2, 1, 27)


def test_places_and_routes() -> None:
    made = harness(
        "place tray, bars\nplace tail wet\nroute tray bars 65 cm flexing\nroute bars tail 2 m ambient 85 °C\n"
    )
    assert [(p.name, p.wet) for p in made.places.values()] == [("tray", False), ("bars", False), ("tail", True)]
    assert [(r.a, r.b, r.length, r.flexing, r.ambient) for r in made.routes] == [
        ("tray", "bars", 0.65, True, None),
        ("bars", "tail", 2.0, False, 85.0),
    ]


# --- parts -----------------------------------------------------------------------------------------------------------
def test_what_every_part_may_say() -> None:
    fuse = part('fuse MAIN "the big one" kept always was OLD-MAIN for supply at tray 20 A blade')
    assert isinstance(fuse, Fuse)
    assert (fuse.label, fuse.kept, fuse.always, fuse.was) == ("the big one", True, True, "OLD-MAIN")
    assert (fuse.system, fuse.place, fuse.amps, fuse.form, fuse.blows) == ("supply", "tray", 20.0, "blade", None)
    assert fuse.terminals == ("1", "2")


def test_battery() -> None:
    battery = part("source BAT battery lithium at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }")
    assert isinstance(battery, Source)
    assert (battery.what, battery.lithium, battery.terminals) == ("battery", True, ("+", "-"))
    assert (battery.volts, battery.amp_hours, battery.ohms) == (12.6, 14.0, 0.015)


def test_alternator() -> None:
    machine = part(
        "source ALT alternator at engine for charging {\n output 280 W: B+ B-\n field 6 ohm: D+ B-\n"
        " regulated 14.2 V\n idle 90 W\n cranking 5 W\n winding light 45 W floating: 59 31\n}"
    )
    assert isinstance(machine, Source)
    assert machine.terminals == ("B+", "B-", "D+", "59", "31")
    assert machine.output is not None
    assert (machine.output.plus, machine.output.minus) == ("B+", "B-")
    assert (machine.output.watts, machine.output.idle, machine.output.cranking) == (280.0, 90.0, 5.0)
    assert machine.field_winding is not None
    assert (machine.field_winding.plus, machine.field_winding.ohms) == ("D+", 6.0)
    assert machine.regulated == 14.2
    assert [(w.name, w.terminals, w.watts, w.floating) for w in machine.windings] == [
        ("light", ("59", "31"), 45.0, True)
    ]


def test_machine_in_pieces() -> None:
    rectifier = part(
        "rectifier RECT 25 A shunt { phases: U V W; output 250 W: B+ B-; trio: D+; idle 0 W; regulated 14 V }"
    )
    assert isinstance(rectifier, Rectifier)
    assert (rectifier.phases, rectifier.trio, rectifier.shunt) == (("U", "V", "W"), "D+", True)
    assert rectifier.output is not None
    assert rectifier.output.idle == 0.0
    regulator = part(
        "regulator REG 5 A { passes: D+ DF; sense: S D-; cut-out 6.4 V: D B; shunts 13 V: 59 31; regulated 7 V }"
    )
    assert isinstance(regulator, Regulator)
    assert (regulator.passes, regulator.sense) == (("D+", "DF"), ("S", "D-"))
    assert (regulator.cut_out, regulator.cut_out_volts) == (("D", "B"), 6.4)
    assert (regulator.shunts, regulator.shunt_volts, regulator.regulated) == (("59", "31"), 13.0, 7.0)


def test_a_rated_voltage_stands_on_an_element_or_a_coil_and_a_place_on_the_part() -> None:
    rear = part("load REAR lamp at tray for lighting { tail 21 W at 6 V tail-lamp: 58 31; plate at 24 V 5 W: 58 31 }")
    assert isinstance(rear, Load)
    assert rear.places == ("tray",)
    assert [(e.watts, e.rated_volts) for e in rear.elements] == [(21.0, 6.0), (5.0, 24.0)]
    relay = part("relay K 20 A at tray { coil 20 ohm at 6 V: 86 85; pulled: 30 87 }")
    assert isinstance(relay, Relay)
    assert relay.coil is not None
    assert (relay.coil.ohms, relay.coil.rated_volts) == (20.0, 6.0)


@pytest.mark.parametrize(
    ("line", "kind", "message", "expected"),
    [
        (
            "load L lamp 21 W at 6 V { a: 1 2 }",
            "misplaced",
            "on the line of a load, `at` names its place, and no place is named `6`",
            "the rated voltage on the line of an element: `tail 21 W at 6 V lamp: 58 31`",
        ),
        (
            "relay K at 6 V { coil 20 ohm: 86 85 }",
            "misplaced",
            "on the line of a relay, `at` names its place, and no place is named `6`",
            "the rated voltage on the line of its coil: `coil 40 ohm at 6 V: 86 85`",
        ),
        (
            "load L { a 21 W at tray lamp: 1 2 }",
            "unexpected-word",
            "after `at` comes a quantity",
            "`at`, a number and `V` or `mV`",
        ),
        (
            "load L { a 21 W at 6 W lamp: 1 2 }",
            "wrong-dimension",
            "`6 W` is a power, which `a` does not have here",
            "a number and `V` or `mV`",
        ),
        ("load L { a 21 W at 6V lamp: 1 2 }", "glued-unit", "`6V` needs a space between number and unit", "`6 V`"),
        (
            "load L { a 21 W at 6 V at 12 V lamp: 1 2 }",
            "repeated",
            "the rated voltage is stated twice",
            "one of the two",
        ),
        (
            "load L { a 21 W at 0 V lamp: 1 2 }",
            "out-of-range",
            "`a` cannot have `0 V`",
            "more than 0, and no number beyond what a motorcycle has",
        ),
        ("load L { stop-lead at 6 V: 1 2 }", "unknown-word", "`at` says nothing about `stop-lead`", "`half`"),
    ],
)
def test_a_rated_voltage_in_the_wrong_place_or_form(line: str, kind: str, message: str, expected: str) -> None:
    mistakes = read_text(f'loom "T"\nplace tray\n{line}\n').mistakes
    assert (mistakes[0].kind, mistakes[0].message, mistakes[0].expected) == (kind, message, expected)


@pytest.mark.parametrize(
    ("line", "said", "expected"),
    [
        ("fuse F 0.000000999 A", "a fuse cannot have so little as `0.000000999 A`", "at least 0.000001 A"),
        ("fuse F 0.000001 A", "", ""),
        ("load L { a 0.9 mm lamp: 1 2 }", "`0.9 mm` is a length, which `a` does not have here", None),
        ("load L { a 0.00099 W lamp: 1 2 }", "`a` cannot have so little as `0.00099 W`", "at least 0.001 W"),
        ("load L { a 0.001 W lamp: 1 2 }", "", ""),
        ("resistor R 1 W 0.0009 mohm", "a resistor cannot have so little as `0.0009 mohm`", "at least 0.001 mohm"),
        ("resistor R 1 W 0.001 mohm", "", ""),
        ("capacitor C 0.0009 uF 25 V", "a capacitor cannot have so little as `0.0009 uF`", "at least 0.001 uF"),
        ("wire 1 A.1 to B.1 0.0009 mm2", "`0.0009 mm2` is no size of a conductor", "0.001 mm2 to 1000 mm2"),
        ("wire 1 A.1 to B.1 7 x 0.009 mm", "strands are a whole number, `x` and their diameter in mm", None),
        ("route tray tray2 0.09 mm", "a route cannot have so little as `0.09 mm`", "at least 0.1 mm"),
    ],
)
def test_no_quantity_is_smaller_than_a_motorcycle_has(line: str, said: str, expected: str | None) -> None:
    """Solved with the others, a resistance of 1e-12 ohm would make nonsense of every voltage."""
    read = read_text(f'loom "T"\nplace tray, tray2\n{line}\n').mistakes
    mistakes = [mistake for mistake in read if not mistake.message.startswith("no part is named")]
    assert [m.message for m in mistakes] == ([said] if said else [])
    if expected:
        assert mistakes[0].expected == expected


@pytest.mark.parametrize(
    ("text", "terminals", "facts"),
    [
        ("capacitor C 22 mF 25 V", ("+", "-"), {"farads": 0.022, "volts": 25.0}),
        ("capacitor C 25 V 0.2 µF", ("+", "-"), {"farads": 2e-7, "volts": 25.0}),
        ("diode D 3 A", ("A", "K"), {"amps": 3.0}),
        ("resistor R 5 W 48 ohm", ("1", "2"), {"ohms": 48.0, "watts": 5.0}),
        ("meter M 20 A", ("1", "2"), {"amps": 20.0}),
        ("fuse F glass blows 35 A", ("1", "2"), {"amps": None, "blows": 35.0, "form": "glass"}),
        ("splice SP1", (), {}),
        ("ground FRAME at tray, tail", (), {"places": ("tray", "tail")}),
        ("sensor S { signal 210 ohm: 1 2 }", ("1", "2"), {"signal": ("1", "2"), "ohms": 210.0}),
        ("connector C1 6 ways 10 A sealed { spare: 5 6 }", tuple("123456"), {"ways": 6, "spare": ("5", "6")}),
    ],
)
def test_small_parts(text: str, terminals: tuple[str, ...], facts: dict[str, object]) -> None:
    made = part(text)
    assert made.terminals == terminals
    assert {fact: getattr(made, fact) for fact in facts} == facts


def test_switches() -> None:
    key = part("switch KEY 15 A key { off: ; on: 30 15, 30 58; park: 30 58; rests park }")
    assert isinstance(key, Switch)
    assert [(p.name, p.pairs) for p in key.positions] == [
        ("off", ()),
        ("on", (("30", "15"), ("30", "58"))),
        ("park", (("30", "58"),)),
    ]
    assert (key.rests, key.control, key.key, key.terminals) == ("park", "KEY", True, ("30", "15", "58"))
    brake = part("switch BRAKE momentary senses front-brake { rest: ; press: 1 2 }")
    assert isinstance(brake, Switch)
    assert (brake.rests, brake.control, brake.momentary) == ("rest", "front-brake", True)


def test_relay_and_flasher() -> None:
    relay = part("relay K 30 A clamped { coil 85 ohm: 86 85; released: 30 87a; pulled: 30 87; pulls 8 V; holds 1.2 V }")
    assert isinstance(relay, Relay)
    assert relay.coil is not None
    assert (relay.coil.plus, relay.coil.minus, relay.coil.ohms, relay.clamped) == ("86", "85", 85.0, True)
    assert (relay.released, relay.pulled) == ((("30", "87a"),), (("30", "87"),))
    assert (relay.pulls, relay.holds) == (8.0, 1.2)
    flasher = part("flasher F 42 W to 84 W thermal { flash: 49 49a; pilot: C; supply: 49 31 }")
    assert isinstance(flasher, Flasher)
    assert (flasher.watts, flasher.how, flasher.pilot) == ((42.0, 84.0), "thermal", "C")
    one = part("flasher F 42 W { flash: 49 49a }")
    assert isinstance(one, Flasher)
    assert one.watts == (42.0, 42.0)


def test_loads() -> None:
    head = part("load HEAD lamp tell-tale { dip 55 W dip-beam needs 9 V: 56b 31; aux 1 A duty 60 %: 58 31 }")
    assert isinstance(head, Load)
    dip, aux = head.elements
    assert (dip.name, dip.plus, dip.minus, dip.watts, dip.needs) == ("dip", "56b", "31", 55.0, 9.0)
    assert (dip.what, dip.roles, dip.duty) == ("lamp", ("tell-tale", "dip-beam"), 1.0)
    assert (aux.amps, aux.duty, aux.roles, head.terminals) == (1.0, 0.6, ("tell-tale",), ("56b", "31", "58"))
    box = part("load BOX ignition { stop-lead: 2 31 }")
    assert isinstance(box, Load)
    assert (box.what, box.stop_lead, box.elements, box.is_ignition) == ("ignition", ("2", "31"), (), True)


def test_a_unit() -> None:
    unit = part(
        "unit CTRL for ignition {\n supply 60 mA asleep 0 mA: 30 31\n supply hot 1 A: 30b 31\n"
        " input left grounded: I1\n input crank signal: P P-\n input key fed: K\n"
        " latch on: set when left and key, cleared when not key\n"
        " output fan 10 A trips 15 A from hot holds 5 s: FN when on or (left and not key)\n"
        " output coil grounded clamped flashing: C\n common: SG\n common: SH\n stop-lead: S SG\n}"
    )
    assert isinstance(unit, Unit)
    assert [(s.name, s.plus, s.minus, s.amps, s.asleep) for s in unit.supplies] == [
        ("", "30", "31", 0.06, 0.0),
        ("hot", "30b", "31", 1.0, None),
    ]
    assert [(i.name, i.terminal, i.mode, i.back) for i in unit.inputs] == [
        ("left", "I1", "grounded", None),
        ("crank", "P", "signal", "P-"),
        ("key", "K", "fed", None),
    ]
    (latch,) = unit.latches
    assert _names(latch.set_when) == ("and", "left", "key")
    assert _names(latch.cleared_when) == ("not", "key")
    fan, coil = unit.outputs
    assert (fan.amps, fan.trips, fan.supply, fan.holds) == (10.0, 15.0, "hot", 5.0)
    assert fan.when is not None
    assert _names(fan.when) == ("or", "on", ("and", "left", ("not", "key")))
    assert (coil.when, coil.grounded, coil.clamped, coil.flashing, coil.supply) == (None, True, True, True, "")
    assert (unit.commons, unit.stop_lead, unit.is_ignition) == (("SG", "SH"), ("S", "SG"), True)


def _names(condition: Condition) -> object:
    if isinstance(condition, IsIn):
        return condition.control if not condition.position else f"{condition.control} {condition.position}"
    if isinstance(condition, Not):
        return ("not", _names(condition.term))
    return ("and" if isinstance(condition, All) else "or", *map(_names, condition.terms))


# --- patterns --------------------------------------------------------------------------------------------------------
def test_a_pattern_and_the_parts_own_lines_add_up() -> None:
    made = harness(
        "load A turn-left for signals as turn { glow 1 W led tell-tale: P 31 }\n"
        "pattern load turn-lamp lamp { other 5 W: L 31 }\npattern load turn { turn 21 W lamp: L 31 }\n"
    )
    load = made.parts["A"]
    assert isinstance(load, Load)
    assert [(e.name, e.what, e.roles, e.watts) for e in load.elements] == [
        ("turn", "lamp", ("turn-left",), 21.0),
        ("glow", "led", ("turn-left", "tell-tale"), 1.0),
    ]
    assert (load.pattern, load.terminals) == ("turn", ("L", "31", "P"))


def test_a_word_of_the_pattern_holds_for_the_parts_own_lines() -> None:
    made = harness(
        "pattern load tail lamp tail-lamp for lighting { tail 5 W: 58 31 }\nload R as tail { plate 5 W: 59 31 }\n"
    )
    load = made.parts["R"]
    assert isinstance(load, Load)
    assert [(e.what, e.roles) for e in load.elements] == [("lamp", ("tail-lamp",))] * 2
    assert load.system == "lighting"


# --- wires -----------------------------------------------------------------------------------------------------------
BIKE = """
place tray, headstock, bars, engine
place tail wet
route tray headstock 0.60 m
route headstock bars 0.40 m flexing
route tray engine 0.40 m ambient 85 degC
route tray tail 0.50 m ambient 30 degC
source BAT battery at tray
fuse F1 10 A at tray
fuse F2 10 A at bars
fuse F3 10 A at engine
fuse F4 10 A
ground FRAME at headstock, tail
connector C1 4 ways at headstock
connector C2 4 ways at tray
splice SP at bars
"""


def wire(text: str) -> Wire:
    (found,) = harness(f"{BIKE}wire {text}\n").wires.values()
    return found


def test_all_that_a_wire_may_say() -> None:
    made = wire('12a BAT.+ to F1.1 class C kept solid 2.5 mm² BK/WH for supply was 9 "thick" 0.15 m')
    assert (made.name, made.a, made.b) == ("12a", End("BAT", "+"), End("F1", "1"))
    assert (str(made.colour), made.length, made.wire_class, made.kept, made.solid) == (
        "black/white",
        0.15,
        "C",
        True,
        True,
    )
    assert (made.system, made.was, made.label) == ("supply", "9", "thick")
    assert made.size is not None
    assert (made.size.text, made.size.area, made.size.standard) == ("2.5 mm2", 2.5, "metric")
    (segment,) = made.segments
    assert (segment.name, segment.length, segment.written, segment.wire_class, segment.route) == (
        "12a",
        0.15,
        True,
        "C",
        ("tray",),
    )


def test_length_follows_the_shortest_way() -> None:
    (segment,) = wire("1 F1.1 to F2.1 red").segments
    assert segment.route == ("tray", "headstock", "bars")
    assert segment.length == pytest.approx(1.0 * (1 + SLACK) + TAILS)
    assert (segment.written, segment.flexing, segment.ambient) == (False, True, 40.0)
    (hot,) = wire("1 F2.1 to F3.1 red").segments
    assert (hot.ambient, hot.route) == (85.0, ("bars", "headstock", "tray", "engine"))
    (cool,) = wire("1 F1.1 to FRAME red 0.5 m").segments
    assert (cool.ambient, cool.studs) == (30.0, ("tray", "tail"))


def test_a_wire_inside_one_place_has_its_tails() -> None:
    (segment,) = wire("1 BAT.+ to F1.1 red").segments
    assert (segment.length, segment.route, segment.flexing) == (pytest.approx(TAILS), ("tray",), False)


def test_no_place_no_length() -> None:
    (segment,) = wire("1 BAT.+ to F4.1 red").segments
    assert (segment.length, segment.route, segment.studs) == (None, (), ("tray", None))


def test_a_wire_goes_to_the_nearest_stud() -> None:
    (segment,) = wire("1 F2.1 to FRAME black").segments
    assert (segment.b, segment.studs, segment.route) == (End("FRAME"), ("bars", "headstock"), ("bars", "headstock"))


def test_a_wire_is_cut_in_each_way_that_it_runs_through() -> None:
    """The side of the end that is written first is in the socket half, and goes on from the pin."""
    made = wire("3 F3.2 to SP via C2.4 via C1.1 red")
    assert made.via == (End("C2", "4"), End("C1", "1"))
    assert [(p.name, p.a.node, p.b.node) for p in made.segments] == [
        ("3.1", "F3.2", "C2.4s"),
        ("3.2", "C2.4p", "C1.1s"),
        ("3.3", "C1.1p", "SP"),
    ]
    assert [p.length for p in made.segments] == pytest.approx([wire_length(d) for d in (0.4, 0.6, 0.4)])
    assert [p.ambient for p in made.segments] == [85.0, 40.0, 40.0]


def test_a_written_length_is_shared_as_the_ways_are() -> None:
    made = wire("3 F3.2 to SP via C2.4 via C1.1 red 3 m")
    lengths = [p.length or 0.0 for p in made.segments]
    assert sum(lengths) == pytest.approx(3.0)
    assert lengths[1] / lengths[0] == pytest.approx(wire_length(0.6) / wire_length(0.4))
    assert (made.length, {p.written for p in made.segments}) == (3.0, {True})


def test_a_written_length_is_halved_where_no_way_is_known() -> None:
    assert [p.length for p in wire("3 F4.2 to SP via C2.4 red 3 m").segments] == [1.5, 1.5]


def test_halves_of_a_way() -> None:
    assert wire("6 F1.2 to C1.4s white").b == End("C1", "4s")
    assert wire("7 C1.4p to SP white").a.node == "C1.4p"


def test_class_of_every_wire_that_does_not_say_its_own() -> None:
    made = harness(f"{BIKE}wire 1 BAT.+ to F1.1\nwire 2 BAT.+ to F1.2 class D\nwires class B\n")
    assert [p.wire_class for p in made.segments] == ["B", "D"]
    assert [w.wire_class for w in made.wires.values()] == [None, "D"]
    assert wire("1 BAT.+ to F1.1").segments[0].wire_class == "A"


def test_two_ways_ask_for_a_length_only_where_one_is_missing() -> None:
    ring = "place a, b, c, d\nroute a b 1 m\nroute b d 1 m ambient 90 degC\nroute a c 1.5 m flexing\nroute c d 0.5 m\n"
    ends = "fuse F at a\nfuse G at d\n"
    (mistake,) = read_text(f"{ring}{ends}wire 1 F.1 to G.1 red\n").mistakes
    assert mistake.kind == "two-ways"
    (segment,) = harness(f"{ring}{ends}wire 1 F.1 to G.1 red 2.2 m\n").segments
    assert (segment.length, segment.ambient, segment.flexing) == (2.2, 90.0, True)


def test_mounts_and_caps() -> None:
    made = harness(f"{BIKE}mount F1.2 to FRAME through bearings\nmount F2.2 to FRAME\ncapped C1.2p\ncapped F1.1\n")
    assert [(m.part, m.terminal, m.ground, m.through) for m in made.mounts] == [
        ("F1", "2", "FRAME", "bearings"),
        ("F2", "2", "FRAME", None),
    ]
    assert [cap.end.node for cap in made.capped] == ["C1.2p", "F1.1"]


@given(
    st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7), st.integers(1, 40)), max_size=16),
    st.integers(0, 7),
    st.integers(0, 7),
)
def test_shortest_ways_are_those_of_a_graph_library(edges: list[tuple[int, int, int]], a: int, b: int) -> None:
    graph = nx.Graph()
    graph.add_nodes_from(range(8))
    span = Span("x", 1, 1, 2)
    routes = []
    for one, other, length in edges:
        if one != other and not graph.has_edge(one, other):
            graph.add_edge(one, other, length=length / 10)
            routes.append(Route(str(one), str(other), length / 10, span))
    way = Ways(routes).between(str(a), str(b))
    if not nx.has_path(graph, a, b):
        assert way is None
        return
    assert way is not None
    assert way.distance == pytest.approx(nx.shortest_path_length(graph, a, b, weight="length"))
    ways = [p for p in nx.all_simple_paths(graph, a, b) if _length(graph, p) < way.distance + 1e-6] if a != b else [[a]]
    assert way.tied == (len(ways) > 1)
    assert [int(place) for place in way.places] in ways


def _length(graph: nx.Graph, path: list[int]) -> float:
    return sum(graph.edges[one, other]["length"] for one, other in pairwise(path))


# --- states and claims -----------------------------------------------------------------------------------------------
CONTROLS = """
switch KEY key { off: ; on: 1 2 }
switch KILL for ignition { run: 1 2; stop: }
switch LEVER senses front-brake { rest: ; press: 1 2 }
unit CTRL { supply 1 mA: 30 31; input a fed: A; latch left: set when a, cleared when not a }
source BAT battery
load COIL ignition { primary 3 ohm: 15 1 }
load HEAD lamp { dip 55 W: 56b 31; main 60 W: 56a 31 }
fuse F1 10 A
wire 3 BAT.+ to F1.1
state riding { KEY on, LEVER press; engine running, CTRL.left set }
"""


def test_states_set_controls() -> None:
    """A sensed quantity is one control, whatever senses it."""
    (state,) = harness(CONTROLS).states.values()
    assert state.settings == (("KEY", "on"), ("front-brake", "press"), ("engine", "running"), ("CTRL.left", "set"))


def test_a_state_may_go_over_lines() -> None:
    made = harness(CONTROLS + "state two {\n    KEY on  # lit\n    KILL stop, engine idling\n}\nstate three { }\n")
    assert made.states["two"].settings == (("KEY", "on"), ("KILL", "stop"), ("engine", "idling"))
    assert made.states["three"].settings == ()


def test_expectations() -> None:
    made = harness(
        CONTROLS
        + "expect in riding without F1, 3: HEAD.dip live, HEAD.main dead, BAT at most 1 mA, COIL at least 11.5 V, "
        + "BAT at least 0 W\n"
        + "expect whenever KEY on and (LEVER press or not engine off or CTRL.left cleared) without BAT: COIL live\n"
    )
    first, second = made.expectations
    assert (first.state, first.without, first.whenever) == ("riding", ("F1", "3"), None)
    assert [(c.part, c.element, c.how, c.value, c.unit) for c in first.claims] == [
        ("HEAD", "dip", "live", None, None),
        ("HEAD", "main", "dead", None, None),
        ("BAT", None, "at most", 0.001, "A"),
        ("COIL", None, "at least", 11.5, "V"),
        ("BAT", None, "at least", 0.0, "W"),
    ]
    assert (second.state, second.without) == (None, ("BAT",))
    assert second.whenever is not None
    assert _names(second.whenever) == (
        "and",
        "KEY on",
        ("or", "front-brake press", ("not", "engine off"), "CTRL.left cleared"),
    )
    assert isinstance(second.whenever, All)
    assert isinstance(second.whenever.terms[1], AnyOf)


def test_waivers_and_conversion() -> None:
    made = harness(
        CONTROLS
        + 'waive voltage-drop for 3, HEAD because "sense lead" until 2027-05-01\n'
        + 'waive undecided for OLD because "gone"\n'
        + 'converts "stock.loom"\nremoved OLD-A, OLD-B\n'
        + 'changes HEAD, COIL because "LEDs"\nloses OLD-HORN because "law"\n'
    )
    first, second = made.waivers
    assert (first.rule, first.names, first.because) == ("voltage-drop", ("3", "HEAD"), "sense lead")
    assert (first.until, second.until, second.names) == (date(2027, 5, 1), None, ("OLD",))
    assert made.conversion.converts == "stock.loom"
    assert [r.names for r in made.conversion.removed] == [("OLD-A", "OLD-B")]
    assert [(d.how, d.names, d.because) for d in made.conversion.declared] == [
        ("changes", ("HEAD", "COIL"), "LEDs"),
        ("loses", ("OLD-HORN",), "law"),
    ]


# --- other files -----------------------------------------------------------------------------------------------------
def test_use(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every statement of another file, once, however often and by whatever name it is used."""
    (tmp_path / "bike" / "options").mkdir(parents=True)
    (tmp_path / "bike" / "main.loom").write_text(
        'use "options/grips.loom"\nuse "./options/../options/grips.loom"\nuse "options/horn.loom"\nplace tray\n'
    )
    (tmp_path / "bike" / "options" / "grips.loom").write_text('use "horn.loom"\nfuse F-GRIPS 5 A at tray\n')
    (tmp_path / "bike" / "options" / "horn.loom").write_text("fuse F-HORN 5 A at tray\n")
    monkeypatch.chdir(tmp_path)
    reading = read_file("bike/main.loom")
    assert reading.mistakes == ()
    assert set(reading.harness.parts) == {"F-GRIPS", "F-HORN"}
    assert list(reading.texts) == ["bike/main.loom", "bike/options/grips.loom", "bike/options/horn.loom"]
    assert reading.harness.parts["F-HORN"].span.file == "bike/options/horn.loom"


def test_two_files_that_use_a_third_make_no_circle(tmp_path: Path) -> None:
    (tmp_path / "main.loom").write_text('use "a.loom"\nuse "b.loom"\n')
    (tmp_path / "a.loom").write_text('use "c.loom"\n')
    (tmp_path / "b.loom").write_text('use "c.loom"\nuse "a.loom"\n')
    (tmp_path / "c.loom").write_text("place tray\n")
    reading = read_file(tmp_path / "main.loom")
    assert reading.mistakes == ()
    assert list(reading.harness.places) == ["tray"]


def test_a_circle_of_three(tmp_path: Path) -> None:
    for one, other in (("main", "a"), ("a", "b"), ("b", "main")):
        (tmp_path / f"{one}.loom").write_text(f'use "{other}.loom"\nplace {one}\n')
    reading = read_file(tmp_path / "main.loom")
    assert [m.kind for m in reading.mistakes] == ["use-cycle"]
    assert set(reading.harness.places) == {"main", "a", "b"}


def test_a_link_that_leads_out_is_outside(tmp_path: Path) -> None:
    (tmp_path / "bike").mkdir()
    (tmp_path / "secret.loom").write_text("place secret\n")
    (tmp_path / "bike" / "link.loom").symlink_to(tmp_path / "secret.loom")
    (tmp_path / "bike" / "main.loom").write_text('use "link.loom"\n')
    reading = read_file(tmp_path / "bike" / "main.loom")
    assert [m.kind for m in reading.mistakes] == ["outside-use"]
    assert "secret" not in "".join(reading.texts.values())


def test_a_file_that_cannot_be_used_blames_no_other_line(tmp_path: Path) -> None:
    (tmp_path / "main.loom").write_text('use "gone.loom"\nfuse F at tray\nwire 1 F.1 to HORN.1\nload H as horn\n')
    reading = read_file(tmp_path / "main.loom")
    assert [m.kind for m in reading.mistakes] == ["unreadable-use"]


def test_mistakes_of_a_used_file_stand_there(tmp_path: Path) -> None:
    (tmp_path / "main.loom").write_text('use "a.loom"\nplace tray\nfuse X 5 at tray\n')
    (tmp_path / "a.loom").write_text("\nfuse F 5 at tray\nfuse X 5 A at tray\n")
    reading = read_file(tmp_path / "main.loom")
    assert [(Path(m.span.file).name, m.span.line, m.kind) for m in reading.mistakes] == [
        ("main.loom", 3, "missing-unit"),
        ("a.loom", 2, "missing-unit"),
        ("a.loom", 3, "duplicate-name"),
    ]


@pytest.mark.parametrize("name", library_names())
def test_patterns_that_come_with_the_tool(name: str) -> None:
    """Each file is sound, and each of its patterns makes a part; no machine's path is reported."""
    reading = read_text(f"use {name}\n")
    assert reading.mistakes == ()
    assert list(reading.texts)[1] == f"library/{name}.loom"
    patterns = [
        line.split()[1:3] for line in reading.texts[f"library/{name}.loom"].split("\n") if line.startswith("pattern")
    ]
    assert patterns
    made = harness(f"use {name}\n" + "".join(f"{kind} P-{pattern} as {pattern}\n" for kind, pattern in patterns))
    assert len(made.parts) == len(patterns)
    assert all(part.terminals for part in made.parts.values())


def test_no_pattern_comes_twice() -> None:
    assert harness("\n".join(f"use {name}" for name in library_names())).parts == {}


# --- mistakes --------------------------------------------------------------------------------------------------------
def test_every_mistake_in_one_run_in_order_and_once() -> None:
    lines = ["place tray"] + [f"fuse F{number} {number + 1} at tray" for number in range(50)]
    reading = read_text("\n".join(lines))
    assert [m.span.line for m in reading.mistakes] == list(range(2, 52))
    assert set(reading.harness.parts) == {f"F{number}" for number in range(50)}


def test_the_nearest_name_is_asked_for_twenty_times() -> None:
    reading = read_text(
        "place tray\nfuse F 5 A at tray\n" + "\n".join(f"fuse F{number} 5 A at try" for number in range(30))
    )
    assert [m.nearest for m in reading.mistakes] == ["tray"] * 20 + [None] * 10


def test_import_is_light(root: Path) -> None:
    """Reading a harness loads neither Pint nor a graph or number library, nor Lark, whose tables are kept."""
    code = (
        "import sys\nfrom loomwright.lang.files.reading import read_text\nread_text('place a\\nplace , b')\n"
        "assert not {'pint', 'networkx', 'numpy', 'difflib', 'graphviz', 'lark'} & set(sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_a_row_after_use_is_told_to_be_a_line_each() -> None:
    (mistake,) = read_text('loom "Bike"\nuse relays, lamps\n', "bike.loom").mistakes
    assert mistake.remedy == "write a line for each: `use relays`, and so on"
