"""What a house states about colours, sizes and connectors, on cases near the edges of its words."""

from __future__ import annotations

import pytest
from checked_text import about, findings

LAMPS = """
load TAIL lamp at tail {{ tail 5 W tail-lamp: 58 31; stop 21 W stop-lamp: 54 31 }}
switch STOP 5 A momentary senses rear-brake at bars {{ rest: ; press: 1 2 }}
wire t KEY.2 to TAIL.58 {tail} 1 mm2
wire s STOP.2 to TAIL.54 {stop} 1 mm2
wire f KEY.2 to STOP.1 {feed} 1 mm2 {traits}
wire r TAIL.31 to FRAME {ground} 1 mm2 0.1 m
"""


def lamps(house: str, **colours: str) -> list[str]:
    """The wires that the shop's rules find fault with; the bench's own are black for ground and red for the feed."""
    known = {"tail": "grey", "stop": "pink", "feed": "orange", "ground": "black", "traits": ""}
    return about("house-colour", LAMPS.format(**(known | colours)) + house)


# --- colours ---------------------------------------------------------------------------------------------------------
def test_a_house_that_says_nothing_finds_nothing() -> None:
    assert lamps("") == []
    assert findings("house-size", LAMPS.format(tail="grey", stop="pink", feed="red", ground="black", traits="")) == ()


@pytest.mark.parametrize(
    ("colour", "found"),
    [("pink", []), ("pink/white", []), ("violet", ["s"]), ("light-blue", ["s"]), ("white/pink", ["s"])],
)
def test_a_role_has_its_base_colour_and_the_stripe_is_free(colour: str, found: list[str]) -> None:
    assert lamps("house colour pink for stop-lamp\n", stop=colour) == found


@pytest.mark.parametrize(("colour", "found"), [("pink/white", []), ("pink", ["s"]), ("pink/black", ["s"])])
def test_a_stated_stripe_is_asked_for(colour: str, found: list[str]) -> None:
    assert lamps("house colour pink/white for stop-lamp\n", stop=colour) == found


def test_one_of_several_colours_will_do() -> None:
    assert lamps("house colour pink for stop-lamp\nhouse colour blue for stop-lamp\n", stop="blue") == []


def test_only_the_wires_of_that_lamp_are_asked() -> None:
    """Behind the brake switch hangs more than one thing, and the feed before it is no stop lamp's own."""
    assert lamps("house colour violet for stop-lamp\n") == ["s"]
    assert lamps("house colour violet for tail-lamp\n") == ["t"], "KEY.2 feeds a switch as well, by wire f"


def test_a_wire_that_feeds_two_roles_may_have_the_colour_of_either() -> None:
    both = """
load A lamp at bars { x 5 W tail-lamp: 1 2 }
load B lamp at bars { x 5 W plate-lamp: 1 2 }
splice SP at bars
switch LIGHTS 5 A at bars { off: ; on: 1 2 }
wire w1 KEY.2 to LIGHTS.1 red 1 mm2
wire w2 LIGHTS.2 to SP grey 1 mm2 0.1 m
wire w3 SP to A.1 grey 1 mm2 0.1 m
wire w4 SP to B.1 grey 1 mm2 0.1 m
wire w5 A.2 to FRAME black 1 mm2 0.1 m
wire w6 B.2 to FRAME black 1 mm2 0.1 m
"""
    grey, blue = "house colour grey for tail-lamp\n", "house colour blue for plate-lamp\n"
    assert about("house-colour", both + grey + blue) == []
    assert about("house-colour", both + grey) == [], "the plate lamp has no colour, so what feeds both is not judged"
    assert about("house-colour", both.replace("A.1 grey", "A.1 blue") + grey) == []
    assert about("house-colour", both.replace("grey", "white") + grey + blue) == ["w2", "w3", "w4"]


def test_two_switches_that_feed_one_lamp_are_both_its_own() -> None:
    text = (
        LAMPS
        + """
switch FRONT 5 A momentary senses front-brake at bars {{ rest: ; press: 1 2 }}
wire q KEY.2 to FRONT.1 orange 1 mm2
wire p FRONT.2 to TAIL.54 {stop} 1 mm2
"""
    )
    violet = text.format(tail="grey", stop="violet", feed="orange", ground="black", traits="")
    assert about("house-colour", violet + "house colour pink for stop-lamp\n") == ["s", "p"]


def test_a_tell_tale_hangs_on_the_wires_of_what_it_shows() -> None:
    shown = LAMPS.replace(
        "wire f",
        "load T led at bars {{ x 1 W tell-tale: 1 2 }}\nwire y TAIL.54 to T.1 {stop} 1 mm2 0.8 m\n"
        "wire z T.2 to FRAME black 1 mm2 0.1 m\nwire f",
    )
    text = shown.format(tail="grey", stop="violet", feed="orange", ground="black", traits="")
    assert about("house-colour", text + "house colour pink for stop-lamp\n") == ["s", "y"]
    assert about("house-colour", text + "house colour pink for tell-tale\n") == []


def test_a_system_is_what_the_wire_says_else_what_hangs_on_it() -> None:
    assert lamps("house colour blue for lighting\n") == [], "nothing says what any of these is for"
    assert lamps("house colour blue for lighting\n", traits="for lighting") == ["f"]
    assert lamps("house colour orange for lighting\n", traits="for lighting") == []
    horn = """
load HORN horn at bars for signals { horn 3 A: 1 2 }
switch PUSH 5 A momentary at bars { rest: ; press: 1 2 }
wire h KEY.2 to PUSH.1 red 1 mm2
wire i PUSH.2 to HORN.1 grey 1 mm2 0.1 m
wire j HORN.2 to FRAME black 1 mm2 0.1 m
"""
    assert about("house-colour", horn + "house colour turquoise for signals\n") == ["i"]


@pytest.mark.parametrize(("ground", "found"), [("black", []), ("black/white", []), ("brown", ["r"]), ("grey", ["r"])])
def test_grounds(ground: str, found: list[str]) -> None:
    assert lamps("house colour black for ground\n", ground=ground) == found


@pytest.mark.parametrize(("feed", "found"), [("black", ["f"]), ("black/red", []), ("orange", [])])
def test_a_fed_wire_in_just_the_colour_of_the_grounds(feed: str, found: list[str]) -> None:
    assert lamps("house colour black for ground\n", feed=feed) == found
    if found:
        (said,) = findings(
            "house-colour",
            LAMPS.format(tail="grey", stop="pink", feed=feed, ground="black", traits="")
            + "house colour black for ground\n",
        )
        assert said.message == "wire f is fed, and is black, this shop's colour for ground"


def test_grounds_of_a_positive_ground() -> None:
    text = """
system 12 V positive ground
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
load LAMP lamp at tray { lamp 5 W: 1 2 }
wire b BAT.- to MAIN.1 brown 2 mm2 0.15 m
wire l MAIN.2 to LAMP.2 brown 2 mm2 0.15 m
wire r LAMP.1 to FRAME red 2 mm2 0.15 m
wire g BAT.+ to FRAME red 6 mm2 0.15 m
"""
    assert about("house-colour", text + "house colour red for ground\n", bench=False) == []
    assert about("house-colour", text + "house colour brown for ground\n", bench=False) == ["b", "l", "r", "g"]


def test_what_is_kept_is_not_asked() -> None:
    text = LAMPS.replace("wire s STOP.2 to TAIL.54 {stop} 1 mm2", "wire s STOP.2 to TAIL.54 {stop} 0.5 mm2 kept")
    said = text.format(tail="grey", stop="violet", feed="orange", ground="black", traits="")
    assert about("house-colour", said + "house colour pink for stop-lamp\n") == []
    assert about("house-size", said + "house smallest 1 mm2\n") == []


# --- sizes -----------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("smallest", "size", "found"),
    [
        ("0.75 mm2", "0.75 mm2", []),
        ("0.75 mm2", "18 AWG", []),
        ("0.75 mm2", "20 AWG", ["x"]),
        ("20 AWG", "0.5 mm2", ["x"]),
        ("1 mm2", "14 x 0.30 mm", []),
        ("14 x 0.30 mm", "0.9 mm2", ["x"]),
    ],
)
def test_sizes_of_every_form(smallest: str, size: str, found: list[str]) -> None:
    text = f"splice SP at bars\nwire x KEY.2 to SP grey {size}\nhouse smallest {smallest}\n"
    assert about("house-size", text) == found


# --- connectors ------------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("family", "connector", "found"),
    [
        ("10 A sealed", "4 ways 10 A sealed", []),
        ("10 A sealed", "4 ways 10 A", ["C1"]),
        ("10 A", "4 ways 10 A sealed", ["C1"]),
        ("10 A sealed", "4 ways sealed", []),
        ("10 A sealed", "4 ways 15 A sealed", ["C1"]),
        ("4 ways 10 A", "4 ways 10 A", []),
        ("4 ways 10 A", "6 ways 10 A", ["C1"]),
        ("4 ways", "4 ways 25 A", []),
        ("10 A sealed", "4 ways 15 A kept", []),
    ],
)
def test_families(family: str, connector: str, found: list[str]) -> None:
    assert about("house-connector", f"connector C1 {connector} at bars\nhouse connector {family}\n") == found


def test_one_of_several_families_will_do() -> None:
    text = "connector C1 4 ways 25 A at bars\nhouse connector 10 A sealed\nhouse connector 25 A\n"
    assert about("house-connector", text) == []
    (said,) = findings("house-connector", text.replace("C1 4 ways 25 A", "C1 4 ways 15 A"))
    assert said.message == "C1 (4 ways 15 A open) is not a type that this shop uses: 10 A sealed and 25 A open"
