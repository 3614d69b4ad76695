"""Relays, units and machines settle by their volts, or the parts that do not are named."""

from __future__ import annotations

from dataclasses import replace

import pytest
from random_harness import AT, alternator, battery, harness, load, switch, wire

from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.memory import Memory
from loomwright.checks.dc.relay_fixed_point import UnsettledError
from loomwright.checks.operation.operation import Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.model.conditions import Test as IsIn
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import (
    Coil,
    Field,
    Fuse,
    Ground,
    Latch,
    Output,
    Part,
    Regulator,
    Relay,
    Source,
    Unit,
    UnitInput,
    UnitOutput,
    UnitSupply,
)
from loomwright.lang.model.wires import Wire

GROUND = Ground(kind="ground", name="G", span=AT)


def operation(parts: list[Part], wires: list[tuple[str, str, float]]) -> Operation:
    """Parts joined by wires given as (end, end, mm2), 0.3 m each."""
    made: list[Wire] = [wire(str(i), a, b, area, 0.3) for i, (a, b, area) in enumerate(wires)]
    return Operation(build_circuit(harness([*parts, GROUND], made)))


def relay(ohms: float = 85.0, **more: float) -> Relay:
    coil = Coil(plus="86", minus="85", span=AT, ohms=ohms)
    return Relay(kind="relay", name="K", span=AT, coil=coil, pulled=(("30", "87"),), amps=150.0, **more)  # type: ignore[arg-type]


def starter(amps: float, ohms: float) -> Operation:
    """A starter whose relay is fed by the battery that it pulls down."""
    return operation(
        [battery(ohms=ohms), switch("START", 5.0), relay(12.0), load("M", "motor", amps=amps)],
        [
            ("BAT.+", "START.1", 1.5),
            ("START.2", "K.86", 1.5),
            ("K.85", "G", 1.5),
            ("BAT.+", "K.30", 16),
            ("K.87", "M.1", 16),
            ("M.2", "G", 16),
            ("BAT.-", "G", 16),
        ],
    )


def test_a_relay_pulls_and_stays_pulled_below_its_pull_in() -> None:
    """12 V: in at 8.04, out at 1.2; while the starter turns the coil has some 7 V and holds."""
    point = starter(110.0, 0.045).at({"START": "on"})
    assert point.memory.pulled == {"K"}
    assert 1.2 < point.across("K coil") < 8.04
    assert point.amps("M.x") > 95.0


def test_a_relay_that_cannot_hold_is_named() -> None:
    """The starter takes all the volts there are: the relay drops out, the volts come back, and so on without end."""
    with pytest.raises(UnsettledError, match="K keeps switching on and off") as raised:
        starter(900.0, 0.2).at({"START": "on"})
    assert raised.value.parts == ("K",)


def test_what_does_not_settle_is_solved_once() -> None:
    """The search for the worst combination comes to the same one again and again."""
    chattering = starter(900.0, 0.2)
    counts = set()
    for _ in range(3):
        with pytest.raises(UnsettledError, match="K keeps switching on and off"):
            chattering.at({"START": "on"})
        counts.add(chattering.network.tally.situations)
    assert len(counts) == 1


def test_hundreds_of_relays_that_pull_their_battery_down_come_to_rest() -> None:
    """All of them in, the volts are too few to hold any; all of them out, enough to pull in all. Some stay in."""
    count = 240
    relays: list[Part] = [replace(relay(1200.0, pulls=10.0, holds=8.0), name=f"K{i}") for i in range(count)]
    lamps = [replace(load("L", "heater", amps=1.0), name=f"L{i}") for i in range(count)]
    wires = [("BAT.-", "G", 70.0)]
    for i in range(count):
        wires += [(f"K{i}.86", "BAT.+", 1), (f"K{i}.85", "G", 1), (f"K{i}.30", "BAT.+", 1)]
        wires += [(f"K{i}.87", f"L{i}.1", 1), (f"L{i}.2", "G", 1)]
    found = operation([battery(ohms=0.03), *relays, *lamps], wires)
    point = found.at({})
    assert 60 < len(point.memory.pulled) < 150
    assert 8.0 < point.across("K0 coil") < 10.0  # enough for those that are in, too little for those that are out
    assert found.network.tally.situations < 20


def test_a_relay_pulled_before_stays_in_what_a_released_one_would_not_pull() -> None:
    found = operation([battery(volts=6.0), relay()], [("BAT.+", "K.86", 1), ("K.85", "G", 1), ("BAT.-", "G", 6)])
    assert found.at({}).memory.pulled == frozenset()
    assert found.at({}, Memory(pulled=frozenset({"K"}))).memory.pulled == {"K"}


def test_a_relay_has_its_own_pull_in() -> None:
    parts: list[Part] = [battery(volts=6.0), relay(pulls=5.0)]
    assert operation(parts, [("BAT.+", "K.86", 1), ("K.85", "G", 1), ("BAT.-", "G", 6)]).at({}).memory.pulled == {"K"}


# --- machines --------------------------------------------------------------------------------------------------------
def charging(*, lamp: bool, field: bool = True) -> Operation:
    parts: list[Part] = [
        battery(),
        switch("KEY", 20.0, key=True),
        alternator(field=field),
        load("HEAD", "lamp", watts=55),
    ]
    wires = [
        ("BAT.+", "KEY.1", 4),
        ("BAT.-", "G", 6),
        ("ALT.B+", "BAT.+", 4),
        ("ALT.B-", "G", 4),
        ("KEY.2", "HEAD.1", 1.5),
        ("HEAD.2", "G", 1.5),
    ]
    if lamp:
        parts.append(load("WARN", "lamp", watts=3))
        wires += [("KEY.2", "WARN.1", 1), ("WARN.2", "ALT.D+", 1)]
    return operation(parts, wires)


def test_a_field_must_be_fed_before_the_machine_charges() -> None:
    on = {"KEY": "on", "engine": "running"}
    with_lamp, without = charging(lamp=True).at(on), charging(lamp=False).at(on)
    assert with_lamp.memory.excited == {"ALT"}
    assert with_lamp.amps("BAT") < 0.0
    assert with_lamp.across("BAT") == pytest.approx(14.15, abs=0.1)
    assert without.memory.excited == frozenset()
    assert without.amps("BAT") > 3.5


def test_the_charge_lamp_goes_out_when_d_plus_feeds_itself() -> None:
    found = charging(lamp=True)
    assert found.at({"KEY": "on"}).across("WARN.x") > 8.0
    assert abs(found.at({"KEY": "on", "engine": "running"}).across("WARN.x")) < 0.3


def test_an_excited_machine_feeds_on_with_the_key_off() -> None:
    found = charging(lamp=True)
    running = found.at({"KEY": "on", "engine": "running"})
    assert found.at({"engine": "running"}, running.memory).memory.excited == {"ALT"}
    assert found.at({"engine": "running"}).memory.excited == frozenset()


def test_a_machine_without_field_needs_none_and_gives_nothing_with_the_engine_off() -> None:
    found = charging(lamp=False, field=False)
    assert found.at({"KEY": "on", "engine": "running"}).amps("ALT") > 4.0
    assert found.at({"KEY": "on"}).amps("ALT") == 0.0


def test_a_machine_gives_no_more_than_its_watts() -> None:
    """60 W at idle are 4.2 A, whatever the loads ask."""
    found = charging(lamp=False, field=False)
    idling = found.at({"KEY": "on", "engine": "idling"})
    assert idling.amps("ALT") == pytest.approx(60.0 / 14.2, rel=0.02)


def test_a_field_behind_a_regulator_elsewhere_is_no_second_pole() -> None:
    """At D+ the machine gives current; at the terminal that a regulator feeds it only takes some."""
    assert charging(lamp=True).circuit.supplies[1].plus == ("ALT.B+", "ALT.D+")
    parts: list[Part] = [
        battery(),
        alternator(field=True),
        Regulator(
            kind="regulator", name="REG", span=AT, amps=5.0, passes=("D", "DF"), sense=("D", "E"), regulated=14.2
        ),
    ]
    wires = [
        ("BAT.+", "ALT.B+", 4.0),
        ("BAT.-", "G", 6.0),
        ("ALT.B-", "G", 4.0),
        ("BAT.+", "REG.D", 1.0),
        ("REG.DF", "ALT.D+", 1.0),
        ("REG.E", "G", 1.0),
    ]
    found = operation(parts, wires)
    assert found.circuit.supplies[1].plus == ("ALT.B+",)
    point = found.at({"engine": "running"})
    assert point.memory.excited == {"ALT"}
    assert point.amps("ALT field") > 2.0
    assert point.amps("BAT") < 0.0


def test_a_machine_whose_field_is_cut_stops_giving() -> None:
    """Excited before, and no current in its field now: it turns and gives nothing."""
    found = charging(lamp=True)
    running = found.at({"KEY": "on", "engine": "running"})
    cut = found.damaged(frozenset({"ALT field"})).at(running.positions, running.memory)
    assert running.memory.excited == {"ALT"}
    assert cut.memory.excited == frozenset()
    assert cut.amps("BAT") > 3.5


def dynamo(*without: str) -> Operation:
    """A dynamo with its field, sense and sense ground at a regulator, some wires of it left out by their far ends."""
    source = Source(
        kind="source",
        name="GEN",
        span=AT,
        what="dynamo",
        output=Output(plus="B", minus="E", span=AT, watts=150.0),
        field_winding=Field(plus="F", minus="E", span=AT, ohms=4.0),
    )
    regulator = Regulator(
        kind="regulator",
        name="REG",
        span=AT,
        amps=10.0,
        passes=("D", "F"),
        sense=("S", "G"),
        cut_out=("D", "A"),
        regulated=14.2,
    )
    wires = [
        ("GEN.B", "REG.D", 4.0),
        ("REG.F", "GEN.F", 1.0),
        ("REG.A", "BAT.+", 4.0),
        ("BAT.-", "G", 6.0),
        ("GEN.E", "G", 4.0),
        ("REG.D", "REG.S", 1.0),
        ("REG.G", "G", 1.0),
        ("BAT.+", "HEAD.1", 1.5),
        ("HEAD.2", "G", 1.5),
    ]
    return operation([battery(), source, regulator, load("HEAD", "lamp", watts=55)], wires)


def test_the_contact_of_a_cut_out_loses_next_to_nothing() -> None:
    """A closed contact, and no diode: 14.2 V less the wires at the battery, which charges."""
    point = dynamo().at({"engine": "running"})
    assert point.across("GEN") - point.across("BAT") == pytest.approx(0.06, abs=0.03)
    assert point.amps("BAT") < 0.0
    assert abs(dynamo().at({}).amps("REG cut-out")) < 1e-5  # at rest it is open


def test_a_dynamo_without_its_field_wire_gives_nothing() -> None:
    found = dynamo()
    running = found.at({"engine": "running"})
    cut = found.damaged(frozenset({"wire 1"})).at(running.positions, running.memory)
    assert running.amps("GEN") > 4.0
    assert cut.amps("GEN") == 0.0


@pytest.mark.parametrize("lead", ["wire 5", "wire 6"])
def test_a_regulator_that_feels_nothing_lets_the_machine_give_all_it_can(lead: str) -> None:
    """The sense lead or its ground off: either way there is nothing between the two."""
    found = dynamo().damaged(frozenset({lead})).at({"engine": "running"})
    assert found.across("BAT") > 15.5


def test_a_regulator_holds_the_volts_where_it_feels_them() -> None:
    """A sense lead behind a loaded wire drives the machine up by what that wire loses."""
    source = Source(
        kind="source",
        name="GEN",
        span=AT,
        what="dynamo",
        output=Output(plus="B", minus="E", span=AT, watts=300.0),
        field_winding=None,
        regulated=None,
    )
    regulator = Regulator(
        kind="regulator", name="REG", span=AT, amps=5.0, passes=("B", "F"), sense=("S", "E"), regulated=14.0
    )
    parts: list[Part] = [battery(), source, regulator, load("HEAD", "lamp", watts=100)]
    wires = [
        ("BAT.+", "GEN.B", 4),
        ("BAT.-", "G", 6),
        ("GEN.E", "G", 4),
        ("GEN.B", "HEAD.1", 0.35),
        ("HEAD.2", "G", 2.5),
        ("HEAD.1", "REG.S", 1),
        ("REG.E", "G", 1),
    ]
    fielded = replace(source, field_winding=Field(plus="B", minus="F", span=AT, ohms=6.0))
    parts[1] = fielded
    point = operation(parts, [*wires, ("GEN.F", "REG.F", 1), ("REG.B", "G", 1)]).at({"engine": "running"})
    assert point.volts("REG.S") - point.volts("REG.E") == pytest.approx(14.0, abs=2e-3)
    assert point.across("GEN") > 14.15


# --- units -----------------------------------------------------------------------------------------------------------
def unit() -> Unit:
    cancelled = IsIn("cancel", "", AT)
    return Unit(
        kind="unit",
        name="U",
        span=AT,
        supplies=(UnitSupply(name="", plus="30", minus="31", span=AT, amps=0.06, asleep=0.001),),
        inputs=(
            UnitInput(name="left", terminal="L", mode="grounded", span=AT),
            UnitInput(name="cancel", terminal="C", mode="grounded", span=AT),
        ),
        outputs=(UnitOutput(name="turn", terminal="O", span=AT, when=IsIn("on", "", AT), amps=5.0),),
        latches=(Latch(name="on", set_when=IsIn("left", "", AT), cleared_when=cancelled, span=AT),),
    )


def latched() -> Operation:
    parts: list[Part] = [
        battery(),
        switch("KEY", key=True),
        unit(),
        switch("LEFT"),
        switch("CANCEL"),
        load("T", "led", watts=3),
    ]
    return operation(
        parts,
        [
            ("BAT.+", "KEY.1", 2),
            ("KEY.2", "U.30", 2),
            ("U.31", "G", 2),
            ("U.L", "LEFT.1", 1),
            ("LEFT.2", "G", 1),
            ("U.C", "CANCEL.1", 1),
            ("CANCEL.2", "G", 1),
            ("U.O", "T.1", 1),
            ("T.2", "G", 1),
            ("BAT.-", "G", 6),
        ],
    )


def test_a_latch_is_set_remembered_and_cleared() -> None:
    found = latched()
    pressed = found.at({"KEY": "on", "LEFT": "on"})
    assert pressed.memory.latched == {"U.on"}
    assert pressed.amps("T.x") > 0.2
    let_go = found.at({"KEY": "on"}, pressed.memory)
    assert let_go.memory.latched == {"U.on"}
    assert found.at({"KEY": "on", "CANCEL": "on"}, let_go.memory).memory.latched == frozenset()
    assert found.at({}, let_go.memory).memory.latched == frozenset()


def test_a_state_may_set_a_latch() -> None:
    point = latched().at({"KEY": "on", "U.on": "set"})
    assert point.amps("T.x") > 0.2


def test_a_unit_sleeps_with_the_key_out() -> None:
    parts: list[Part] = [battery(), switch("KEY", key=True), unit(), Fuse(kind="fuse", name="F", span=AT, amps=5.0)]
    found = operation(parts, [("BAT.+", "F.1", 2), ("F.2", "U.30", 2), ("U.31", "G", 2), ("BAT.-", "G", 6)])
    assert found.at({}).amps("BAT") == pytest.approx(1e-3, rel=0.02)
    assert found.at({"KEY": "on"}).amps("BAT") == pytest.approx(60e-3, rel=0.02)


# --- what has no numbers ---------------------------------------------------------------------------------------------
def test_a_battery_without_resistance_is_an_error_that_says_what_one_has() -> None:
    with pytest.raises(UnsolvableError, match=r"BAT has no resistance.*14 Ah has some 14.3 mohm"):
        operation([battery(ohms=0.0)], [("BAT.-", "G", 6)]).at({})


def test_two_batteries_joined_hard_have_a_current_and_no_matrix_breaks() -> None:
    """12.6 against 12.0 V behind 15 mohm: the lower one takes its charge, 0.05 C at the regulated volts, no more."""
    other = replace(battery(volts=12.0), name="AUX")
    found = operation([battery(), other], [("BAT.+", "AUX.+", 6), ("BAT.-", "AUX.-", 6), ("BAT.-", "G", 6)])
    point = found.at({})
    assert point.amps("AUX") == pytest.approx(-0.05 * 14 * 0.6 / 2.2, rel=0.03)


def test_islands_have_their_own_zero_and_solve() -> None:
    """A second battery with a lamp, connected to nothing; a lamp in the air; a wire to nowhere."""
    other = replace(battery(), name="AUX")
    found = operation(
        [battery(), other, load("A", "lamp", watts=5), load("B", "lamp", watts=5)],
        [("AUX.+", "A.1", 1), ("AUX.-", "A.2", 1), ("BAT.-", "G", 6), ("B.1", "B.2", 1)],
    )
    point = found.at({})
    assert point.amps("A.x") == pytest.approx(5 / 12.0, rel=0.05)
    assert point.volts("AUX.-") == pytest.approx(0.0, abs=1e-6)
    assert point.amps("B.x") == 0.0


def test_nothing_at_all() -> None:
    assert Operation(build_circuit(Harness(file="empty.loom"))).at({}).differing == ()
