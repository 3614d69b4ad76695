"""Following the current: the way that a finger takes over the diagram, drawn up by hand for a small harness."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.checks.behaviour import Behaviour
from loomwright.checks.behaviour.trace import Trace, UnknownThingError, things, trace
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.render.report.asked import trace_asked
from loomwright.render.report.trace import trace_text

ROOT = Path(__file__).resolve().parents[3]
MOTORCYCLES = [*sorted((ROOT / "specs").glob("*.loom")), *sorted((ROOT / "specs" / "small").glob("*.loom"))]
HARNESS = """\
loom "a horn by relay, and a brake lamp"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 15 A blade at tray
splice SP1 at tray
switch KEY 15 A key at tray { off: ; on: 30 15 }
switch HOOT 2 A momentary at tray { rest: ; press: 1 2 }
relay K 30 A at tray { coil 85 ohm: 85 86; pulled: 30 87 }
load HORN horn at tray { horn 4 A: 1 2 }
load SPARE lamp at tray { spare 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to SP1 red 2.5 mm2 0.2 m
wire 3 SP1 to K.30 red 2.5 mm2 0.2 m
wire 4 K.87 to HORN.1 green 1.5 mm2 0.5 m
wire 5 HORN.2 to FRAME black 1.5 mm2 0.3 m
wire 6 BAT.- to FRAME black 6 mm2 0.3 m
wire 7 SP1 to KEY.30 red 1.5 mm2 0.5 m
wire 8 KEY.15 to K.85 brown 1 mm2 0.5 m
wire 9 K.86 to HOOT.1 brown/white 1 mm2 0.5 m
wire 10 HOOT.2 to FRAME black 1 mm2 0.5 m
state riding { KEY on }
"""
TO_THE_HORN = ("BAT.+", "wire 1", "MAIN", "wire 2", "wire 3", "K 30-87", "wire 4")
HORN_WAY = (*TO_THE_HORN, "HORN.horn", "wire 5", "wire 6", "BAT.-")


@pytest.fixture(scope="module")
def behaviour() -> Behaviour:
    reading = read_text(HARNESS, "horn.loom")
    assert reading.mistakes == ()
    return Behaviour.of(build_circuit(reading.harness))


def test_an_element_with_the_controls_that_it_takes(behaviour: Behaviour) -> None:
    (found,) = trace(behaviour, "HORN.horn")
    assert found.said == "live"
    assert found.combination == (("KEY", "on"), ("HOOT", "press"))
    assert found.way == HORN_WAY
    assert trace(behaviour, "HORN") == (found,)


def test_settings_that_do_not_bring_it_about_name_some_that_do(behaviour: Behaviour) -> None:
    (found,) = trace(behaviour, "HORN", {"KEY": "off"})
    assert found.way == ()
    assert found.elsewhere == (("KEY", "on"), ("HOOT", "press"))
    (allowed,) = trace(behaviour, "HORN", {"KEY": "on"})
    assert allowed.way == HORN_WAY
    (at_rest,) = trace(behaviour, "HORN", {"KEY": "on"}, rest=True)
    assert at_rest.way == ()
    assert at_rest.elsewhere == (("KEY", "on"), ("HOOT", "press"))


def test_what_nothing_feeds(behaviour: Behaviour) -> None:
    (found,) = trace(behaviour, "SPARE")
    assert found == Trace(thing="SPARE.spare", said="live")
    assert found.never


def test_a_terminal_is_fed_or_returned(behaviour: Behaviour) -> None:
    (fed,) = trace(behaviour, "K.85")
    assert (fed.thing, fed.said, fed.combination) == ("K.85", "fed", (("KEY", "on"),))
    assert fed.way == ("BAT.+", "wire 1", "MAIN", "wire 2", "wire 7", "KEY 30-15", "wire 8", "K.85")
    (returned,) = trace(behaviour, "K.86")
    assert (returned.said, returned.combination) == ("returned", (("HOOT", "press"),))
    assert returned.way == ("K.86", "wire 9", "HOOT 1-2", "wire 10", "wire 6", "BAT.-")


def test_a_wire_is_asked_about_at_its_ends(behaviour: Behaviour) -> None:
    assert [(found.thing, found.said) for found in trace(behaviour, "2")] == [("MAIN.2", "fed"), ("SP1", "fed")]


def test_a_part_without_consumers_is_asked_about_at_its_terminals(behaviour: Behaviour) -> None:
    assert [(found.thing, found.said) for found in trace(behaviour, "HOOT")] == [
        ("HOOT.1", "returned"),
        ("HOOT.2", "returned"),
    ]


def test_a_battery_is_asked_about_at_its_poles(behaviour: Behaviour) -> None:
    assert trace_text(behaviour, trace(behaviour, "BAT"), anywhere=True) == (
        "BAT.+: fed always\n    BAT.+\nBAT.-: grounded always\n    BAT.-\n"
    )


def test_what_has_no_wire_is_never_fed() -> None:
    reading = read_text(HARNESS + "splice LONE at tray\nsource AUX battery at tray\n", "horn.loom")
    spare = Behaviour.of(build_circuit(reading.harness))
    assert trace_text(spare, trace(spare, "LONE"), anywhere=True) == "LONE: never fed\nLONE: never grounded\n"
    assert [(found.thing, found.said) for found in trace(spare, "AUX")] == [("AUX.+", "fed"), ("AUX.-", "returned")]
    assert trace(spare, "AUX.+") == trace(spare, "AUX")[:1]
    with pytest.raises(UnknownThingError):
        trace(spare, "AUX.B")


@pytest.mark.parametrize("file", MOTORCYCLES, ids=lambda each: each.stem)
def test_every_name_that_is_offered_can_be_traced(file: Path) -> None:
    circuit = build_circuit(read_file(str(file)).harness)
    with pytest.raises(UnknownThingError) as caught:
        things(circuit, "no such thing")
    assert caught.value.known or not circuit.harness.parts
    for name in caught.value.known:
        assert any(things(circuit, name)), name


def test_of_a_winding_the_direct_current_alone_is_spoken_of() -> None:
    circuit = build_circuit(read_file(str(ROOT / "specs" / "small" / "magneto-single.loom")).harness)
    behaviour = Behaviour.of(circuit)
    note = "direct current (of alternating current only the path to a load is traced)"
    assert trace_text(behaviour, trace(behaviour, "LIMIT"), anywhere=True) == "".join(
        f"{terminal}: never {said} {note}\n"
        for terminal in ("LIMIT.59", "LIMIT.31")
        for said in ("fed with", "connected to the grounded pole of a source of")
    )


def test_an_unknown_name_tells_the_known_ones(behaviour: Behaviour) -> None:
    with pytest.raises(UnknownThingError) as caught:
        trace(behaviour, "HRON")
    assert {"HORN", "HORN.horn", "HORN.1", "SP1", "7"} <= set(caught.value.known)


def test_as_text(behaviour: Behaviour) -> None:
    assert trace_text(behaviour, trace(behaviour, "HORN")).splitlines() == [
        "HORN.horn: live with KEY on and HOOT press",
        "    BAT.+",
        "    wire 1     red 2.5 mm2 0.15 m   horn.loom:12",
        "    MAIN       fuse 15 A            horn.loom:5",
        "    wire 2     red 2.5 mm2 0.2 m    horn.loom:13",
        "    SP1        splice               horn.loom:6",
        "    wire 3     red 2.5 mm2 0.2 m    horn.loom:14",
        "    K 30-87    contact              horn.loom:9",
        "    wire 4     green 1.5 mm2 0.5 m  horn.loom:15",
        "    HORN.horn  horn                 horn.loom:10",
        "    wire 5     black 1.5 mm2 0.3 m  horn.loom:16",
        "    FRAME      ground               horn.loom:4",
        "    wire 6     black 6 mm2 0.3 m    horn.loom:17",
        "    BAT.-",
    ]
    assert trace_text(behaviour, trace(behaviour, "SPARE")) == "SPARE.spare: never live\n"
    assert trace_text(behaviour, trace(behaviour, "HORN", {"KEY": "off"})) == (
        "HORN.horn: not live in this setting; it is with KEY on and HOOT press\n"
    )
    assert trace_text(behaviour, trace(behaviour, "MAIN.1")).startswith("MAIN.1: fed whatever the controls do\n")


# --- what is remembered -----------------------------------------------------------------------------------------------
HOLDING = """\
loom "a relay that holds itself in"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 15 A blade at tray
splice SP at tray
splice SP-K at tray
switch KEY 15 A key at tray { off: ; on: 30 15 }
switch PRESS 2 A momentary at tray { rest: ; press: 1 2 }
relay K 30 A at tray { coil 85 ohm: 85 86; pulled: 30 87 }
load LAMP lamp at tray { lamp 5 W: 1 2 }
load HORN horn at tray { horn 4 A: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red 2.5 mm2 0.2 m
wire 3 KEY.15 to SP red 2.5 mm2 0.2 m
wire 4 SP to LAMP.1 red 1 mm2 0.2 m
wire 5 LAMP.2 to FRAME black 1 mm2 0.2 m
wire 6 SP to PRESS.1 red 1 mm2 0.2 m
wire 7 PRESS.2 to K.85 red 1 mm2 0.2 m
wire 8 K.86 to FRAME black 1 mm2 0.2 m
wire 9 SP to K.30 red 1 mm2 0.2 m
wire 10 K.87 to SP-K red 1 mm2 0.2 m
wire 11 SP-K to K.85 red 1 mm2 0.2 m
wire 12 SP-K to HORN.1 red 1 mm2 0.2 m
wire 13 HORN.2 to FRAME black 1 mm2 0.2 m
wire 14 BAT.- to FRAME black 6 mm2 0.2 m
state on { KEY on }
"""


def test_what_holds_a_relay_in_is_said_of_what_depends_on_it_alone() -> None:
    behaviour = Behaviour.of(build_circuit(read_text(HOLDING, "holding.loom").harness))
    released = {"KEY": "on", "PRESS": "rest"}
    (horn,) = trace(behaviour, "HORN", released)
    assert horn.held == (("K", "pulled"),), "with the button released, only a relay that is pulled already feeds it"
    assert "    as long as K is pulled\n" in trace_text(behaviour, (horn,))
    (pressed,) = trace(behaviour, "HORN", {"KEY": "on", "PRESS": "press"})
    assert "K 30-87" in pressed.way
    assert pressed.held == (("K", "pulled"),), (
        "the path that is shown is by its contact, though the button feeds it too"
    )
    (lamp,) = trace(behaviour, "LAMP", released)
    assert (lamp.held, "as long as" in trace_text(behaviour, (lamp,))) == ((), False)


@pytest.mark.parametrize("file", ["stock", "rebuild"])
def test_a_lamp_that_the_battery_feeds_needs_no_excited_alternator(file: str) -> None:
    harness = read_file(str(ROOT / "specs" / f"{file}.loom")).harness
    behaviour = Behaviour.of(build_circuit(harness))
    settings = dict(harness.states["riding-dip"].settings)
    (lamp,) = trace(behaviour, "HEAD.dip", settings, rest=True)
    assert (lamp.way[0], lamp.held) == ("BAT.+", ())
    (field,) = trace(behaviour, "ALT field", settings, rest=True)
    assert (field.way[0], field.held) == ("RECT.D+", (("RECT", "excited"),)), "the trio gives nothing before"


@pytest.mark.parametrize(
    ("file", "said"),
    [
        ("rebuild", "in series with other loads with KEY on\n    how many volts they leave it, `states` shows\n"),
        ("stock", "not in series with other loads in this setting; it is with KEY on and engine off\n"),
    ],
)
def test_a_charge_lamp_is_not_called_live_for_what_is_in_series_with_it(file: str, said: str) -> None:
    """It is dark while the alternator charges: both its ends are fed, and only volts tell."""
    circuit = build_circuit(read_file(ROOT / "specs" / f"{file}.loom").harness)
    behaviour = Behaviour.of(circuit)
    riding = dict(circuit.harness.states["riding-dip"].settings)
    assert trace_text(behaviour, trace(behaviour, "WARN.charge", riding, rest=True)).startswith(f"WARN.charge: {said}")


@pytest.mark.parametrize(
    ("name", "state", "said", "passed"),
    [
        ("WARN.charge", "riding-dip", "dead in this setting: the loads in series with it leave it 0 V", set()),
        (
            "WARN.charge",
            "key-on",
            "live in this setting, in series with loads that leave it 10.7 V",
            {"D-CHG", "WARN.charge", "ALT field"},
        ),
        ("ALT field", "key-on", "fed in this setting, in series with loads that leave it 1.14 V", {"WARN.charge"}),
        ("RECT.D+", "key-on", "fed in this setting, in series with loads that leave it 1.15 V", {"D-CHG"}),
        ("HEAD.main", "riding-dip", "not live in this setting; it is with KEY on and DIP high", set()),
        ("SP-KILL", "parked", "not fed in this setting; it is with KEY on and KILL run", set()),
    ],
)
def test_in_a_state_volts_tell_what_loads_in_series_leave(name: str, state: str, said: str, passed: set[str]) -> None:
    """The first current of the field comes through the charge lamp: "not fed" would hide that."""
    text = trace_asked(read_file(ROOT / "specs" / "rebuild.loom").harness, name, state, None)
    first, *way = text.splitlines()
    assert first == f"{name}: {said}"
    assert passed <= {line.strip().split("  ")[0] for line in way}
    assert bool(way) is bool(passed)


@pytest.mark.parametrize(("name", "said"), [("ALT field", "live"), ("REG.D+", "fed"), ("14", "fed")])
def test_the_first_current_of_a_field_comes_besides_what_its_machine_feeds(name: str, said: str) -> None:
    """By copper alone wire 14 seems to bring D+ to the lamp, and the lamp's current to the field is missed."""
    harness = read_file(ROOT / "specs" / "stock.loom").harness
    text = trace_asked(harness, name, None, None)
    heads = [line for line in text.splitlines() if not line.startswith(" ")]
    for main, also in zip(heads[::2], heads[1::2], strict=True):
        thing = main.split(":")[0]
        assert main.startswith(f"{thing}: {said} when KEY on, engine idling or running")
        assert also == f"{thing}: also in series with other loads when KEY on, engine off or cranking"
    besides = text.split("also in series")[1]
    assert all(f"\n    {each} " in besides for each in ("D-CHG", "WARN.charge", "wire 14.2"))


@pytest.mark.parametrize("name", ["C-KEY.1", "C-LEFT.3", "C-PANEL.7"])
def test_a_way_of_a_plug_is_traced_on_either_side(name: str) -> None:
    """It is the name that every list prints: "never fed" of a live pin gets it pulled."""
    harness = read_file(ROOT / "specs" / "stock.loom").harness
    told = trace_asked(harness, name, None, None)
    assert told == "".join(trace_asked(harness, f"{name}{side}", None, None) for side in "sp")
    heads = [line for line in told.splitlines() if not line.startswith(" ")]
    said = {"C-KEY.1": "fed always", "C-LEFT.3": "fed when KEY on", "C-PANEL.7": "grounded always"}[name]
    assert heads == [f"{name}{side}: {said}" for side in "sp"]


@pytest.mark.parametrize("name", ["ALT field", "REG.D+"])
def test_with_controls_as_in_a_state_the_answer_is_that_of_the_state(name: str) -> None:
    harness = read_file(ROOT / "specs" / "stock.loom").harness
    first, *_ = trace_asked(harness, name, None, "KEY on, engine off").splitlines()
    assert first == f"{name}: in series with other loads with KEY on and engine off"
    assert trace_asked(harness, name, None, "KEY off, engine off") == (
        f"{name}: not {'live' if name == 'ALT field' else 'fed'} in this setting; it is with engine idling, "
        "as long as RECT is excited\n"
    )
    assert "also" not in "".join(trace_asked(harness, end, None, None) for end in ("BAT.+", "BAT.-", "FRAME", "ALT.U"))


def test_a_latch_that_a_state_does_not_name_is_cleared_in_it() -> None:
    """As `states` has it: nobody pressed the button of the turn lamps before."""
    circuit = build_circuit(read_file(ROOT / "specs" / "rebuild.loom").harness)
    behaviour = Behaviour.of(circuit)

    def traced(state: str, **moved: str) -> str:
        settings = {**dict(circuit.harness.states[state].settings), **moved}
        return trace_text(behaviour, trace(behaviour, "FL.turn", settings, rest=True))

    elsewhere = "it is with KEY on and TURN rest, as long as CTRL.left is set"
    assert traced("riding-dip") == f"FL.turn: not live in this setting; {elsewhere}\n"
    set_by_the_button = "FL.turn: live with KEY on and TURN left\n    as long as CTRL.left is set\n    BAT.+\n"
    assert traced("riding-dip", TURN="left").startswith(set_by_the_button)
    named = "FL.turn: live with KEY on and TURN rest\n    as long as CTRL.left is set\n    BAT.+\n"
    assert traced("turning-left").startswith(named)
    assert trace_text(behaviour, trace(behaviour, "FL.turn", {"KEY": "on"})).startswith("FL.turn: live")
