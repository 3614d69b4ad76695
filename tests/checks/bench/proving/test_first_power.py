"""First power: what rows say is on, what a voltmeter shows, and that each open they claim to show is noticed."""

from __future__ import annotations

import random
import re
from functools import cache
from pathlib import Path

import ngspice
import pytest
from outside import require_tool

from loomwright.checks.bench.proving.first_power import first_power
from loomwright.checks.bench.proving.moments import FirstPower, Moment
from loomwright.checks.bench.proving.watching import Watched
from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.operation.load_status import load_status
from loomwright.checks.tables.proving import lamp_watts
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.ids import End
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).resolve().parents[4] / "specs"
DEMONSTRATIONS = ("rebuild.loom", "stock.loom")


@cache
def power(name: str) -> FirstPower:
    return first_power(build_circuit(read_file(str(SPECS / name)).harness))


def of(text: str) -> FirstPower:
    return first_power(build_circuit(read_text(text, "bike.loom").harness))


def rows(found: FirstPower, sheet: str) -> list[tuple[str, str, str, float | None, float | None]]:
    return [
        (
            m.row.do,
            m.row.expected.words,
            f"{m.row.red} {m.row.black}".strip(),
            m.row.expected.least,
            m.row.expected.most,
        )
        for m in found.moments
        if m.row.sheet == sheet
    ]


# --- (a), (b): fuses
ONE_FUSE = """loom "One fuse"
place here
source BAT battery at here for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at here
fuse F 10 A blade at here
switch S 10 A at here { off: ; on: 1 2 }
load H heater at here { heater 24 W: 1 2 }
wire 1 BAT.+ to F.1 red 4 mm2 0.2 m
wire 2 F.2 to S.1 red 4 mm2 0.2 m
wire 3 S.2 to H.1 red 4 mm2 0.2 m
wire 4 H.2 to FRAME black 4 mm2 0.2 m
wire 5 BAT.- to FRAME black 4 mm2 0.2 m
"""


def test_the_lamp_across_the_clips_by_hand() -> None:
    """24 W at 12 V are 6 ohm. A lamp of 55 W at its rated 12 V has 2.6 ohm; at less it is colder and has less. Let it
    have R at V: V = 12.6 R / (R + 6). With R between a third and all of 2.6 ohm, V is between 1.6 and 3.8.
    """
    all_off, loaded, fuse_in = rows(of(ONE_FUSE), "fuse F")
    assert all_off == ("lamp across the clips of F, every control at rest", "", "F.1 F.2", 0.0, 0.5)
    assert loaded[0] == "S on"
    assert loaded[3] is not None
    assert loaded[4] is not None
    middle = (loaded[3] + loaded[4]) / 2
    assert 12.6 * 0.87 / 6.87 < middle < 12.6 * 2.62 / 8.62
    assert fuse_in[1] == "F is in, 10 A"


def test_a_short_behind_the_fuse_lights_the_lamp_and_an_open_does_not() -> None:
    found = of(ONE_FUSE)
    assert found.pinched([End("F", "2"), End("S", "2")]) == {End("F", "2"), End("S", "2")}
    moment = next(m for m in found.moments if m.row.do == "S on")
    by_key = moment.watched.point.circuit.by_key
    opened = moment.watched.shown([by_key["wire 3"]], moment.bands, looking=False)
    assert opened == {"wire 3"}


@pytest.mark.parametrize(("volts", "watts"), [(6.0, 35.0), (12.0, 55.0), (24.0, 70.0)])
def test_the_lamp_is_the_trades_for_the_system(volts: float, watts: float) -> None:
    assert lamp_watts(volts) == watts


def test_fuses_come_in_order_of_supply() -> None:
    names = [fuse.name for fuse in power("stock.loom").motorcycle.fuses]
    assert names[0] == "MAIN"  # all others are behind it
    assert set(names) == {"MAIN", "F-IGN", "F-HEAD", "F-TURN", "F-STOP", "F-TAIL"}
    assert power("rebuild.loom").motorcycle.fuses[0].name == "MAIN"


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_volts_across_the_lamp_are_those_of_ngspice(name: str) -> None:
    program = require_tool("ngspice")
    lamps = [m for m in power(name).moments if m.row.sheet.startswith("fuse ") and m.row.expected.way == "volts"]
    loaded = [m for m in lamps if m.row.expected.least]
    for moment in random.Random(name).sample(loaded, min(3, len(loaded))):
        point = moment.watched.point
        assert ngspice.compare(program, point.circuit, point.flow) == [], moment.row.do


# --- (c): controls
def test_each_control_is_moved_there_and_back() -> None:
    told = {do: (words, where) for do, words, where, *_ in rows(power("rebuild.loom"), "each control there and back")}
    assert told["in gear: hold BRAKE-REAR at press, then release"] == ("on: REAR.stop", "")
    assert told["in gear: DIP to high, and back"] == ("on: HEAD.main, WARN.main; out: HEAD.dip", "")
    assert told["in gear: hold TURN at left, then release"] == ("on: FL, RL, WARN.left", "")
    assert told["in gear: KILL to stop, and back"] == ("", "IGN.15 BAT.-")
    moved = " ".join(told)
    for control in power("rebuild.loom").motorcycle.hands:
        assert all(switch in moved for switch in control.switches), control.name


def test_the_starter_must_not_crank_in_gear_and_its_relay_is_measured() -> None:
    for name, end in (("rebuild.loom", "STARTER-RELAY.87"), ("stock.loom", "K-START.87")):
        told = {row[0]: row[2:] for row in rows(power(name), "each control there and back")}
        assert told["in gear: hold START at press, then release: the starter must not crank"] == (
            f"{end} BAT.-",
            0.0,
            1.0,
        )
        where, least, most = told["in neutral: hold START at press, then release"]
        assert where == f"{end} BAT.-"
        assert least is not None
        assert most is not None
        assert least < 12.6 < most


def test_a_latch_shows_the_open_in_its_own_wire() -> None:
    """What a button set stays set: only from before does an open in its wire show."""
    assert {"wire 154.1", "TURN 31-L", "TURN 31-C"} <= power("rebuild.loom").shown


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_the_moves_keep_their_limit(name: str) -> None:
    found = power(name)
    assert len(rows(found, "each control there and back")) <= 40
    assert found.dropped == []
    assert found.untold == []


# --- the gear
def on(words: str) -> set[str]:
    """What a row says is on."""
    said = next(part for part in words.split("; ") if part.startswith("on: "))
    return set(said.removeprefix("on: ").split(", "))


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_each_row_is_worked_out_in_the_gear_that_it_says(name: str) -> None:
    """In gear only while the starter cable is off; in neutral whenever the engine may turn."""
    found = power(name)
    gearbox = found.motorcycle.gearbox
    assert gearbox is not None
    for moment in found.moments:
        do = moment.row.do
        is_neutral = moment.watched.point.positions[gearbox.name] == "neutral"
        if moment.row.sheet == "engine running":
            assert "in neutral" in do, do
            assert is_neutral, do
        elif moment.row.sheet in ("the battery", "no fuse in") or do.startswith("NEUTRAL to neutral"):
            continue
        else:
            assert ("in neutral" in do) == is_neutral, do
            assert ("in gear" in do) == (not is_neutral), do
        if moment.watched.point.engine != "off":
            assert is_neutral, do


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_the_neutral_lamp_is_on_in_the_rows_in_neutral_alone(name: str) -> None:
    found = power(name)
    (key_on,) = rows(found, "key on")
    assert key_on[0] == "in gear, KEY on"
    assert "WARN.neutral" not in on(key_on[1])
    idling = next(row for row in rows(found, "engine running") if row[0] == "engine idling, in neutral")
    assert "WARN.neutral" in on(idling[1])
    assert idling[1].endswith("; all else off")
    # The same as the named state, which is in neutral: what it has live is on.
    point = found.motorcycle.operation.at(found.motorcycle.operation.positions("idling"))
    lit = {n for n, word in Watched(found.motorcycle.operation, point).lit.items() if word == "live"}
    assert on(idling[1]) == lit


def test_the_gear_is_changed_before_the_starter_cable_goes_on() -> None:
    crank = next(row for row in rows(power("stock.loom"), "engine running") if "cranks" in row[0])
    assert crank[:2] == (
        "battery off, gearbox in neutral, starter cable on, battery on; START press: the engine cranks and starts",
        "STARTER turns",
    )


def test_the_clutch_switch_is_tried_in_gear_where_neutral_cannot_crank_in_its_place() -> None:
    told = {row[0]: row[2:] for row in rows(power("stock.loom"), "each control there and back")}
    where, least, _ = told["in gear, with START press: hold CLUTCH at in, then release"]
    assert where == "K-START.87 BAT.-"
    assert least is not None
    assert least > 10.0


# --- the battery, and before any fuse
@pytest.mark.parametrize(
    ("system", "battery", "least"),
    [
        (12, "voltage 12.6 V", 12.4),
        (12, "capacity 14 Ah", 12.4),
        (12, "voltage 12.9 V", 12.7),
        (6, "voltage 6.3 V", 6.2),
        (24, "capacity 20 Ah", 24.9),
        (12, "lithium", 13.2),
    ],
)
def test_the_battery_is_read_by_itself_before_anything_is_judged_by_its_volts(
    system: int, battery: str, least: float
) -> None:
    """Lead 12.65 V full and 12.45 V three quarters full, lithium 13.3 V and 13.2 V: see `batteries.toml`."""
    whole = ONE_FUSE.replace("place here", f"place here\nsystem {system} V negative ground")
    words = f"battery{' lithium' if battery == 'lithium' else ''} at here"
    facts = "capacity 14 Ah" if battery == "lithium" else battery
    text = re.sub(r"battery at here for supply \{.*\}", f"{words} for supply {{ {facts} }}", whole)
    found = of(text)
    do = "BAT at rest for an hour, no lead on it; if it reads less, charge it first"
    assert rows(found, "the battery") == [(do, "", "BAT.+ BAT.-", least, None)]
    assert found.moments[0].of_battery
    assert not any(moment.of_battery for moment in found.moments[1:])


def test_without_a_battery_none_is_read() -> None:
    assert rows(power("small/magneto-single.loom"), "the battery") == []


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_an_untried_loom_gets_a_lamp_before_a_meter(name: str) -> None:
    lamp, meter = rows(power(name), "no fuse in")
    assert lamp[:2] == (
        (
            "all fuses out, in gear, every other control at rest, all leads of BAT.+ on; test lamp between BAT.- and "
            "the bunch of its leads"
        ),
        "the lamp stays out",
    )
    do = "in place of the lamp a meter that has its own fuse, in its highest range first; then all leads of BAT.- on"
    assert meter == (do, "", "", 0, 0.01)


LEAKY = f"""{ONE_FUSE}load CLOCK heater at here {{ heater WATTS W: 1 2 }}
wire 6 BAT.+ to CLOCK.1 red 1 mm2 0.2 m
wire 7 CLOCK.2 to FRAME black 1 mm2 0.2 m
"""


@pytest.mark.parametrize(
    ("watts", "words"), [("2.4", "the lamp stays out"), ("12", "the lamp is not at full brightness")]
)
def test_what_draws_without_a_fuse_is_allowed_for(watts: str, words: str) -> None:
    """Of the 4.6 A of a 55 W lamp 0.2 A make no glow, 1 A may; the meter's limit is half as much again."""
    lamp, meter = rows(of(LEAKY.replace("WATTS", watts)), "no fuse in")
    assert lamp[1] == words
    assert meter[4] == pytest.approx(1.5 * 12.6 * float(watts) / 144.0, rel=0.03)


# --- (d): the engine
def test_the_engine_is_stopped_by_each_control_alone_and_charges() -> None:
    told = {row[0]: row[1:] for row in rows(power("stock.loom"), "engine running")}
    for control in ("KEY off", "KEY park", "KILL stop"):
        assert told[f"engine idling, in neutral, {control}; then start it again"][0] == "the engine stops"
    assert told["engine fast, as on the road, in neutral"] == ("", "BAT.+ BAT.-", 13.8, 14.6)  # the text says 14.2 V
    first = next(row for row in rows(power("stock.loom"), "engine running") if row[0] == "engine idling, in neutral")
    assert "WARN.charge" not in first[1]
    assert "WARN.oil" not in first[1]


def test_each_coil_is_asked_where_an_engine_runs_on_one_of_them() -> None:
    do = "engine idling, in neutral; a drop of water on the exhaust pipe of each cylinder, near the head"
    found = power("stock.loom")
    (moment,) = (moment for moment in found.moments if moment.row.do == do)
    assert moment.row.expected.words == "it hisses on each: COIL-LEFT and COIL-RIGHT fire"
    assert (moment.row.about, moment.at) == (("COIL-LEFT", "COIL-RIGHT"), {"COIL-LEFT", "COIL-RIGHT"})
    own = [b for b in found.motorcycle.faults if b.owner in ("27", "28", "30", "31", "33", "34", "35", "36")]
    assert len(own) == 12
    asked = moment.watched.shown(own, at=moment.at)
    assert asked == {b.key for b in own}
    others = [each for each in found.moments if each is not moment]
    assert not any(each.watched.shown(own, each.bands, looking=each.looking) for each in others)
    assert not [m for m in power("small/capacitor-single.loom").moments if "exhaust pipe" in m.row.do]


COILS_ALONE = (
    (SPECS / "stock.loom").read_text(encoding="utf-8").replace("wire 29 SP-KILL to IGN.15", "wire 29 SP-IGN to IGN.15")
)
"""The stop switch cuts the coils alone, and the box stays fed: many are wired so."""


def test_a_box_that_stays_fed_does_not_keep_an_engine_alive_whose_coils_are_cut() -> None:
    found = of(COILS_ALONE)
    told = {moment.row.do: moment for moment in found.moments}
    stopped = told["engine idling, in neutral, KILL stop; then start it again"].row
    assert (stopped.expected.words, stopped.sheet) == ("the engine stops", "engine running")
    at_rest = told["in gear: KILL to stop, and back"].row
    assert (at_rest.red, at_rest.black) == ("COIL-LEFT.15", "BAT.-")
    assert (at_rest.expected.least, at_rest.expected.most) == (0.0, 1.0)
    assert found.untold == []


def test_a_stop_that_leaves_one_coil_fed_is_said_to_stop_nothing() -> None:
    found = of(COILS_ALONE.replace("wire 28 SP-KILL to COIL-RIGHT.15", "wire 28 SP-IGN to COIL-RIGHT.15"))
    assert found.untold == ["KILL stop: the engine would run on, by COIL-RIGHT and IGN"]


def test_without_a_battery_the_running_engine_is_the_first_power() -> None:
    found = power("small/magneto-single.loom")
    assert found.moments[0].row.sheet == "engine running"
    assert all("fuse" not in moment.row.sheet for moment in found.moments)
    told = {moment.row.do: moment.row.expected.words for moment in found.moments}
    assert told["LIGHTS to low, and back"] == "on: HEAD.dip, REAR.tail"
    assert "wire 8" in found.shown  # dip beam, on alternating current


def test_a_key_that_grounds_a_magneto_is_on_for_first_power_and_stops_the_engine() -> None:
    found = power("small/six-volt-magneto.loom")
    assert found.motorcycle.base["KEY"] == "on"
    told = {moment.row.do: moment.row.expected.words for moment in found.moments}
    assert told["engine idling, in neutral, KEY off; then start it again"] == "the engine stops"
    assert told["hold HORN-BUTTON at press, then release"] == "on: HORN"
    assert found.untold == []


def test_with_a_battery_what_only_a_winding_feeds_is_tried_with_the_engine_running() -> None:
    found = power("small/six-volt-magneto.loom")
    assert [row[:2] for row in rows(found, "engine running, each control there and back")] == [
        ("LIGHTS to low, and back", "on: HEAD.dip, REAR.tail"),
        ("LIGHTS to high, and back", "on: HEAD.main, REAR.tail"),
    ]
    assert rows(power("stock.loom"), "engine running, each control there and back") == []


def test_no_control_is_moved_there_and_back_that_stops_the_engine() -> None:
    told = [moment.row.do for moment in power("small/capacitor-single.loom").moments]
    assert [do for do in told if "KILL" in do] == ["engine idling, in neutral, KILL stop; then start it again"]


def test_nothing_is_moved_besides_that_a_move_does_without() -> None:
    """With the stand down the run relay is out already; which beam is on does not matter to the ignition."""
    told = {row[0]: row[2:] for row in rows(power("small/electric-start.loom"), "each control there and back")}
    assert told["in gear, with STAND up: KILL to stop, and back"] == ("BOX.15 BAT.-", 0.0, 1.0)


def test_a_box_on_an_exciter_is_nothing_to_be_seen() -> None:
    first, *_ = rows(power("small/trail-bike.loom"), "engine running")
    assert first[:2] == ("engine idling, in neutral", "everything is off")


@pytest.mark.parametrize("name", ["points-single", "six-volt-dynamo"])
def test_points_are_open_in_what_is_worked_out(name: str) -> None:
    motorcycle = power(f"small/{name}.loom").motorcycle
    assert motorcycle.points == {"POINTS": True}
    assert power("stock.loom").motorcycle.points == {}


def test_a_positive_ground_is_read_with_the_leads_the_other_way_round() -> None:
    found = power("small/six-volt-dynamo.loom")
    assert found.motorcycle.live_pole == "BAT.-"
    lamp = rows(found, "no fuse in")[0][0]
    assert lamp.endswith("all leads of BAT.- on; test lamp between BAT.+ and the bunch of its leads")
    assert "MAIN.2 MAIN.1" in {row[2] for row in rows(found, "fuse MAIN")}


# --- what is claimed
def noticed(moment: Moment, key: str) -> bool:
    """Whether a harness without that branch, solved from the start, looks or reads otherwise: the slow way."""
    watched = moment.watched
    hurt = watched.operation.damaged(frozenset((key,)))
    try:
        point = hurt.at(watched.point.positions, watched.before or watched.point.memory)
    except UnsolvableError:
        return True
    for band in moment.bands:
        if not band.least - 0.05 <= point.volts(band.red) - point.volts(band.black) <= band.most + 0.05:
            return True
    if not moment.looking:
        return False
    for branch in watched.elements.branches:
        before, after = load_status(watched.point, branch.key), load_status(point, branch.key)
        if branch.key == key or (before and after and before.word != after.word):
            return True
    return Watched(hurt, point).running != watched.running


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_what_is_claimed_to_show_is_noticed_in_the_harness_without_it(name: str) -> None:
    found = power(name)
    for key in random.Random(name).sample(sorted(found.shown), 12):
        assert any(noticed(moment, key) for moment in found.moments if key in moment.watched.point.circuit.by_key), key


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_what_is_not_claimed_is_not_noticed(name: str) -> None:
    found = power(name)
    left = [branch.key for branch in found.motorcycle.faults if branch.key not in found.shown]
    assert left
    for key in left[:4]:
        for moment in found.moments:
            if key in moment.watched.point.circuit.by_key:
                watched = moment.watched
                assert not watched.shown([watched.point.circuit.by_key[key]], moment.bands, looking=moment.looking)
