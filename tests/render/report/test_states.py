"""The named states on paper: the three formats say the same, and say what they do not know."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest

from loomwright.checks.operation.operating_points import StateTable, state_tables
from loomwright.checks.operation.operation import Operation
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.lang.model.parts import Source
from loomwright.render.report.states import states_csv, states_json, states_text

SPECS = Path(__file__).parents[3] / "specs"
TEXT = """
loom "One lamp"
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 5 A blade at tray
switch KEY 20 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tray { dip 55 W: 1 2; unknown: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.2 m
wire 2 MAIN.2 to KEY.1 red 1 mm2 0.2 m
wire 3 KEY.2 to LAMP.1 blue 1 mm2 0.2 m
wire 4 LAMP.2 to FRAME black 1 mm2 0.2 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m
state parked { KEY off }
state lit { KEY on }
"""


def tables(text: str = TEXT) -> list[StateTable]:
    reading = read_text(text.strip() + "\n")
    assert reading.mistakes == ()
    return list(state_tables(Operation(build_circuit(reading.harness)), profile_named("boat-law")))


def test_a_terminal_gets_volts_amps_watts_and_shares() -> None:
    found = states_text(tables())
    assert found == (
        "parked\n"
        "  everything at rest\n"
        "source       V   A mean     W   %\n"
        "────────────────────────────────────\n"
        "BAT      12.60   0.0000   0.0\n"
        "  the battery supplies no current\n"
        "\n"
        "lit\n"
        "  KEY on\n"
        "source       V   A mean      W   %\n"
        "─────────────────────────────────────\n"
        "BAT      12.53     4.65   58.3\n"
        "load               V   A mean      W     %\n"
        "──────────────────────────────────────────────────────\n"
        "LAMP.dip       12.32     4.65   57.3   101   live\n"
        "LAMP.unknown   12.32        ?      ?         no rating\n"
        "fuse   A rms   rating    %\n"
        "──────────────────────────\n"
        "MAIN    4.65      5 A   93\n"
        "hottest wires   A rms    drop   degC   to limit\n"
        "───────────────────────────────────────────────\n"
        "1                4.65   28 mV     45       40 K\n"
        "2                4.65   28 mV     45       40 K\n"
        "3                4.65   28 mV     45       40 K\n"
        "4                4.65   28 mV     45       40 K\n"
        "  the battery supplies 4.65 A\n"
        "\n"
        "V of a source, A mean and W: means over the time that the circuits of coils are closed and open. V\n"
        "of a load: while they are closed. rms behind a row: there V and A are rms, since a winding supplies\n"
        "them. A rms of fuses and wires: what heats them. drop: the greatest. % of a load: of its A at its\n"
        "rated voltage, of a resistor: of its W; of a source: of the most that it delivers at this speed. at\n"
        "most: a regulator lowers the field current.\n"
    )


def test_json_holds_every_wire_and_the_balance() -> None:
    found = json.loads(states_json(tables()))
    lit = found["states"][1]
    assert lit["settings"] == {"KEY": "on"}
    assert lit["battery_amps"] == pytest.approx(4.65, abs=0.01)  # 55 W / 12 V * (12.32 / 12)^0.55
    assert [w["name"] for w in lit["wires"]] == ["1", "2", "3", "4", "5"]
    assert next(row for row in lit["loads"] if row["name"] == "LAMP.unknown")["unrated"] is True
    assert lit["fuses"][0]["share"] == pytest.approx(lit["fuses"][0]["amps"] / 5.0, rel=1e-5)


def test_every_figure_says_of_what_it_is_an_average() -> None:
    """Means fill a battery, rms warms copper; on a winding V and A are rms."""
    harness = read_file(SPECS / "small" / "magneto-single.loom").harness
    found = list(state_tables(Operation(build_circuit(harness)), profile_named("boat-law"), ["riding"]))
    (riding,) = json.loads(states_json(found))["states"]
    averages = {(kind, row["average"]) for kind in ("sources", "loads", "wires") for row in riding[kind] if row["amps"]}
    assert averages == {("sources", "rms"), ("loads", "rms"), ("wires", "rms")}
    lit = json.loads(states_json(tables()))["states"][1]
    averages = {(kind, row["average"]) for kind in ("sources", "loads", "fuses", "wires") for row in lit[kind]}
    assert averages == {("sources", "mean"), ("loads", "mean"), ("fuses", "rms"), ("wires", "rms")}
    assert states_csv(found).splitlines()[0].endswith(",word,average")


def test_direction_is_told_where_it_means_something() -> None:
    """Lamps and coils on positive ground show magnitudes; a battery that takes, and an LED backwards, do not."""
    reading = read_file(SPECS / "small" / "six-volt-dynamo.loom")
    operation = Operation(build_circuit(reading.harness))
    (riding,) = state_tables(operation, profile_named("boat-law"), ["riding"])
    assert all(row.volts >= 0.0 and row.amps >= 0.0 and row.watts >= 0.0 for row in riding.loads)
    assert next(row for row in riding.loads if row.name == "HEAD.main").volts == pytest.approx(6.7, abs=0.1)
    assert next(row for row in riding.sources if row.name == "BAT").amps < 0.0
    backwards = tables(
        TEXT + "load TELL led at tray { lit 1 W: 1 2 }\nwire x FRAME to TELL.1 grey 1 mm2 0.1 m\n"
        "wire y KEY.2 to TELL.2 grey 1 mm2 0.1 m"
    )
    assert next(row for row in backwards[1].loads if row.name == "TELL.lit").volts == pytest.approx(-12.4, abs=0.2)


def test_csv_has_one_line_for_each_thing_in_each_state() -> None:
    rows = list(csv.DictReader(io.StringIO(states_csv(tables()))))
    lit = {(row["kind"], row["name"]): row for row in rows if row["state"] == "lit"}
    assert float(lit["source", "BAT"]["amps"]) == pytest.approx(float(lit["fuse", "MAIN"]["amps"]), rel=1e-5)
    assert float(lit["wire", "3"]["volts"]) == pytest.approx(0.028, abs=0.001)
    assert lit["load", "LAMP.dip"]["word"] == "live"
    assert lit["fuse", "MAIN"]["rating"] == "5.0"


def test_a_state_without_numbers_says_why() -> None:
    harness = read_text(TEXT.strip() + "\n").harness
    battery = harness.parts["BAT"]
    assert isinstance(battery, Source)
    broken = replace(harness, parts={**harness.parts, "BAT": replace(battery, ohms=0.0)})
    found = list(state_tables(Operation(build_circuit(broken)), profile_named("boat-law")))
    assert "no numbers: BAT has no resistance" in states_text(found)
    assert json.loads(states_json(found))["states"][0]["problem"].startswith("BAT has no resistance")


def magneto(winding: str) -> str:
    text = (SPECS / "small" / "magneto-single.loom").read_text("utf-8").replace("winding light 65 W", winding)
    text = text.replace("state riding", "state idling { STOP run, LIGHTS low, engine idling }\nstate riding")
    reading = read_text(text)
    assert reading.mistakes == ()
    return states_text(list(state_tables(Operation(build_circuit(reading.harness)), profile_named("boat-law"))))


def test_a_winding_and_its_lamps_in_volts_and_amps_rms() -> None:
    """With a limiter of 13.5 V, whose lamps get that less what the wires lose."""
    text = magneto("winding light 65 W 0.6 ohm open 24 V short 7 A")
    riding = " ".join(text.partition("riding\n")[2].partition("braking\n")[0].split())
    assert "MAG.light 13.6" in riding
    assert "HEAD.dip 13.4" in riding
    assert "live, rms REAR.tail 13.4" in riding
    assert "LIMIT limits the voltage and draws" in riding
    assert "left out" not in text


def test_what_only_watts_tell_is_rough_and_leaves_out_idling() -> None:
    text = " ".join(magneto("winding light 65 W").split())
    assert (
        "left out: alternating current of MAG.light, since the file does not state open-circuit voltage and "
        "short-circuit current of MAG.light "
        "left out with it: HEAD.dip, HEAD.main, REAR.tail, REAR.stop to measure: resistance with the engine "
        "stopped and its plug off; open-circuit voltage with a meter on AC volts"
    ) in text
    assert (
        "from its W alone, and so a rough figure: MAG.light; measure its open-circuit voltage and short-circuit current"
    ) in text


def test_a_winding_of_which_nothing_is_known_is_left_out_everywhere() -> None:
    assert magneto("winding light").count("left out: alternating current of MAG.light") == 3  # but not while it stands


def test_a_starter_cable_is_judged_for_the_time_that_it_turns() -> None:
    """110 A for 30 s warm 16 mm2 by 8 K (the adiabatic equation), not by the 70 K of a continuous current."""
    reading = read_file(SPECS / "stock.loom")
    operation = Operation(build_circuit(reading.harness))
    (cranking,) = state_tables(operation, profile_named("boat-law"), ["cranking"])
    cable = next(row for row in cranking.wires if row.name == "3")
    assert cable.celsius is not None
    amps, area = cable.amps, 16.0
    rise = (234.5 + cable.ambient) * (2.718281828 ** (amps**2 * 30.0 / (226.0**2 * area**2)) - 1.0)
    assert cable.celsius - cable.ambient == pytest.approx(rise, rel=0.02)


def test_a_wire_where_no_current_is_allowed_stands_first() -> None:
    """33 CFR 183.425, table 5: at 80 degC in an engine room class A has nothing left: the worst wire of all."""
    text = """
loom "A lamp's feed through the engine room"
place tray
place engine
route tray engine 0.5 m ambient 80 degC
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
load LAMP lamp at engine { dip 55 W: 1 2 }
wire 1 BAT.+ to LAMP.1 red 2.5 mm2
wire 2 LAMP.2 to BAT.- black 2.5 mm2 0.2 m class C
state on { }
"""
    (found,) = tables(text)
    (hot, cool) = found.wires
    assert (hot.celsius, hot.margin) == (None, 0.0)
    assert cool.margin is not None
    assert cool.margin > 0.0
    shown = states_text([found]).splitlines()
    place = next(i for i, line in enumerate(shown) if line.startswith("hottest wires"))
    assert shown[place + 2].split() == ["1", f"{hot.amps:.2f}", *f"{hot.lost * 1e3:.0f} mV over 80 none".split()]


def weak_field(ohms: float, seat: float) -> tuple[StateTable, ...]:
    """A harness with a resistance in the lead to the field, and a heated seat of ``amps`` A."""
    text = (SPECS / "rules" / "sense-error" / "edge-near-limit.loom").read_text(encoding="utf-8")
    through = f"load DROP heater at tray {{ pad {ohms} ohm: 1 2 }}\nwire 10 REG.DF to DROP.1 brown/white 2 mm2 0.2 m\n"
    text = text.replace("wire 10 REG.DF to", f"{through}wire 10B DROP.2 to").replace("pad 3.2 A", f"pad {seat} A")
    return tuple(tables(text))


def test_what_a_weak_field_allows_is_said_not_to_be_solved() -> None:
    """Told where a machine gives a larger share of its amps than its field has of its volts, in text and as data."""
    (riding,) = weak_field(8.0, 14.0)
    assert riding.weak_fields == ("RECT",)
    said = "  output may be lower than shown where the field is weak: RECT; that is not calculated\n"
    assert said in states_text([riding])
    assert json.loads(states_json([riding]))["states"][0]["weak_fields"] == ["RECT"]


@pytest.mark.parametrize(("ohms", "seat"), [(8.0, 3.2), (0.8, 14.0)], ids=["little is asked", "the field is full"])
def test_a_field_that_is_enough_is_not_told(ohms: float, seat: float) -> None:
    (riding,) = weak_field(ohms, seat)
    assert riding.weak_fields == ()
    assert "weak field" not in states_text([riding])


def test_a_resistor_shows_its_share_of_watts_and_a_held_control_its_seconds() -> None:
    """10 ohm on 12.5 V are 15.7 W: 1,570 % of 1 W. While a button is held the heading says after how long."""
    resistor = (
        "resistor R 10 ohm 1 W at tray\nwire x KEY.2 to R.1 grey 1 mm2 0.1 m\nwire y R.2 to FRAME black 1 mm2 0.1 m\n"
    )
    button = "switch HOLD 20 A momentary at tray { rest: ; press: 1 2 }\nwire z MAIN.2 to HOLD.1 red 1 mm2 0.1 m\n"
    _, lit, held = tables(f"{TEXT}{resistor}{button}state held {{ KEY on, HOLD press }}\n")
    row = next(row for row in lit.loads if row.name == "R")
    assert row.share == pytest.approx(row.volts**2 / 10.0, rel=1e-6)
    assert (lit.seconds, held.seconds) == (None, 30.0)
    assert "hottest wires, after 30 s" in states_text([held])


def test_points_that_are_open_say_what_their_coil_draws_when_they_are_closed() -> None:
    """12.6 V over 4 ohm of the primary: 3.15 A, less what battery and wires take."""
    file = SPECS / "small" / "points-single.loom"
    operation = Operation(build_circuit(read_file(file).harness))
    found = {table.name: table for table in state_tables(operation, profile_named("boat-law"))}
    (row,) = found["key-on"].points
    assert (row.points, row.position) == ("POINTS", "open")
    ((coil, amps),) = row.closed
    assert coil == "COIL.primary"
    assert 3.0 < amps < 3.15
    assert "  POINTS open; where the engine stops with POINTS closed, COIL.primary draws 3.08 A\n" in states_text(
        [found["key-on"]]
    )
    assert found["put-away"].points == ()  # no current either way
    assert found["riding"].points == ()  # the engine opens and closes them
