"""What each fuse feeds: by hand, and as switching logic has it when the fuse is out."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.checks.behaviour import Behaviour
from loomwright.checks.bench.fed_by import FedBy, FuseOut, all_fed, fed_by, without_fuse
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.files.reading import read_file, read_text

SPECS = Path(__file__).parents[3] / "specs"
BIKE = """loom "bike"
place tray
source BAT battery at tray
ground FRAME at tray
fuse MAIN 20 A at tray
fuse F1 10 A at tray
fuse F2 5 A at tray
switch S 5 A at tray { off: ; on: 1 2 }
load LAMP lamp at tray { dip 55 W: 1 3; main 60 W: 2 3 }
load HORN horn at tray { horn 3 A: 1 2 }
wire 1 BAT.+ to MAIN.1 red 4 mm2
wire 2 MAIN.2 to F1.1 red 4 mm2
wire 3 MAIN.2 to F2.1 red 4 mm2
wire 4 F1.2 to S.1 red 1 mm2
wire 5 S.2 to LAMP.1 blue 1 mm2
wire 6 F2.2 to LAMP.2 white 1 mm2
wire 7 LAMP.3 to FRAME black 1 mm2
wire 8 MAIN.2 to HORN.1 green 1 mm2
wire 9 HORN.2 to FRAME black 1 mm2
wire 10 BAT.- to FRAME black 4 mm2
"""


def circuit(text: str) -> Circuit:
    reading = read_text(text, "bike.loom")
    assert reading.mistakes == ()
    return build_circuit(reading.harness)


def told(found: FedBy) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return found.fuses, tuple(str(branch.key) for branch in found.elements)


def named(circuit: Circuit) -> dict[str, FedBy]:
    return {each.fuse: each for each in fed_by(circuit)}


def test_a_fuse_feeds_up_to_the_next_one_through_switches_that_are_open_at_rest() -> None:
    found = named(circuit(BIKE))
    assert list(found) == ["MAIN", "F1", "F2"]
    assert told(found["MAIN"]) == (("F1", "F2"), ("HORN.horn",))
    assert told(found["F1"]) == ((), ("LAMP.dip",))
    assert told(found["F2"]) == ((), ("LAMP.main",))


def test_which_way_round_a_fuse_is_written_does_not_matter() -> None:
    turned = BIKE.replace("MAIN.1", "MAIN.x").replace("MAIN.2", "MAIN.1").replace("MAIN.x", "MAIN.2")
    assert told(named(circuit(turned))["MAIN"]) == (("F1", "F2"), ("HORN.horn",))


def test_with_a_positive_ground_the_feed_is_the_other_pole() -> None:
    text = BIKE.replace('loom "bike"', 'loom "bike"\nsystem 12 V positive ground')
    text = text.replace("BAT.+", "BAT.x").replace("BAT.-", "BAT.+").replace("BAT.x", "BAT.-")
    found = named(circuit(text))
    assert told(found["MAIN"]) == (("F1", "F2"), ("HORN.horn",))
    assert without_fuse(circuit(text)) == ("1",)


def test_a_fuse_in_the_ground_lead_feeds_nothing() -> None:
    text = BIKE.replace(
        "wire 10 BAT.- to FRAME", "fuse FG 30 A at tray\nwire 11 FG.2 to FRAME black 4 mm2\nwire 10 BAT.- to FG.1"
    )
    found = named(circuit(text))["FG"]
    assert (found.side, told(found)) == ("return", ((), ()))


def test_a_fuse_that_no_battery_reaches_says_so() -> None:
    text = BIKE + "fuse ALONE 5 A at tray\nload X lamp at tray { lamp 5 W: 1 2 }\nwire 20 ALONE.2 to X.1 red 1 mm2\n"
    found = named(circuit(text))["ALONE"]
    assert (found.side, told(found)) == ("elsewhere", ((), ()))


def test_a_fuse_between_two_feeds_feeds_both_ways() -> None:
    found = named(
        circuit(BIKE + "fuse LOOP 5 A at tray\nwire 30 LOOP.1 to F1.2 red 1 mm2\nwire 31 LOOP.2 to F2.2 red 1 mm2\n")
    )
    assert set(told(found["LOOP"])[1]) == {"LAMP.dip", "LAMP.main"}


def test_wires_without_a_fuse_are_those_straight_from_the_battery() -> None:
    assert without_fuse(circuit(BIKE)) == ("1",)
    motor = "load M motor at tray { motor 90 A: 1 2 }\nwire 41 M.2 to FRAME black 16 mm2\n"
    past = circuit(f"{BIKE}{motor}wire 40 BAT.+ to M.1 red 16 mm2\n")
    assert without_fuse(past) == ("1", "40")


@pytest.mark.parametrize("name", ["stock", "rebuild"])
def test_what_a_fuse_feeds_is_dead_without_it_and_all_else_is_switched_by_that(name: str) -> None:
    """Switching logic is asked, over every combination of the controls, with the battery as the only source."""
    whole = build_circuit(read_file(str(SPECS / f"{name}.loom")).harness)
    found = named(whole)
    battery = frozenset({"battery"})
    sound = Behaviour.of(whole)
    out = FuseOut(sound)

    def lit(behaviour: Behaviour) -> set[str]:
        return {b.key for b in behaviour.consumers if behaviour.may(Behaviour.connected(b.key, battery)) is not None}

    before = lit(sound)
    for fuse in found:
        lost = before - lit(sound.without([fuse]))
        fed = all_fed(found, fuse)
        also = {branch.key for branch in out.off(fuse, fed)}
        assert before & fed <= lost, fuse
        assert also == lost - fed, fuse
    everything = {"F-IGN"} if name == "stock" else {"F-KEY", "F-CTRL"}
    assert {fuse for fuse in found if out.off(fuse, all_fed(found, fuse))} == everything


def test_what_a_relay_switches_is_off_without_the_fuse_of_its_coil() -> None:
    relay = circuit(
        BIKE.replace(
            "load HORN horn", "relay K 30 A at tray { coil 85 ohm: 86 85; pulled: 30 87 }\nload HORN horn"
        ).replace("wire 8 MAIN.2 to HORN.1", "wire 8 MAIN.2 to K.30")
        + "wire 50 K.87 to HORN.1 green 1 mm2\nwire 51 F1.2 to K.86 red 1 mm2\nwire 52 K.85 to FRAME black 1 mm2\n"
    )
    found = named(relay)
    out = FuseOut(Behaviour.of(relay))
    assert [b.key for b in out.off("F1", all_fed(found, "F1"))] == ["HORN.horn"]
    assert out.off("F2", all_fed(found, "F2")) == ()
