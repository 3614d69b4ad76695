"""Seals, water and parts the wrong way round: what a careful electrician sees at the bench."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.runner import check
from loomwright.lang.model import Fuse, Relay, Splice
from loomwright.lang.reading import read_text

HERE = Path(__file__).parent
RULES = ("crowded-seal", "unsealed", "reversed-polarity")


def trial(name: str) -> str:
    return (HERE / f"{name}.loom").read_text("utf-8")


def said(text: str) -> list[str]:
    reading = read_text(text, "bike.loom")
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    findings = check(reading, today=date(2026, 6, 1)).findings
    return [f"{f.level.word} {f.rule}: {f.message}" for f in findings if f.rule in RULES]


def fixes(text: str) -> list[str]:
    findings = check(read_text(text, "bike.loom"), today=date(2026, 6, 1)).findings
    return [f.remedy for f in findings if f.rule in RULES]


def test_one_wire_closes_a_seal() -> None:
    text = trial("two-wires-in-sealed-way")
    assert said(text)[:2] == [
        "warning crowded-seal: 2 wires end in sealed way C1.1p; its seal closes on one",
        "warning crowded-seal: 2 wires end in sealed way C1.2p; its seal closes on one",
    ]
    assert fixes(text)[0] == "join wires 5, 6 at a splice behind C1, and bring one wire to C1.1p"
    assert [line for line in said(text.replace("10 A sealed", "10 A")) if "crowded" in line] == []


def test_a_wire_on_each_half_of_a_way_is_one_a_seal() -> None:
    text = trial("two-wires-in-sealed-way").replace("C1.1p to B.1", "A.1 to B.1").replace("B.2 to C1.2p", "B.2 to A.2")
    assert [line for line in said(text) if "crowded" in line] == []


def test_splices_relays_and_fuse_holders_in_the_wet() -> None:
    text = trial("splice-in-the-wet")
    assert said(text) == [
        "warning unsealed: relay K1 is not sealed, and water reaches tail",
        "warning unsealed: splice SP is not sealed, and water reaches tail",
    ]
    assert fixes(text)[1] == (
        "move SP to a drier place, or seal it with adhesive-lined heat-shrink and write `sealed` on its line"
    )
    sealed = text.replace("K1 20 A at", "K1 20 A sealed at").replace("splice SP at", "splice SP sealed at")
    assert said(sealed) == []
    fuse = text.replace("fuse MAIN 10 A blade at tray", "fuse MAIN 10 A blade at tail").replace("0.15 m", "1 m")
    assert "warning unsealed: the holder of fuse MAIN is not sealed, and water reaches tail" in said(fuse)
    held = fuse.replace("10 A blade", "10 A blade sealed")
    assert [line for line in said(held) if "MAIN" in line] == []


def test_what_the_new_words_say() -> None:
    text = 'loom "x"\nplace p\nsplice S sealed at p\nrelay K 5 A clamp diode sealed at p { coil 85 ohm: 1 2 }\n'
    reading = read_text(
        text + "relay L 5 A at p { coil 85 ohm: 86 85; pulled: 30 87 }\nfuse F 5 A sealed at p\nsplice T at p\n", "x"
    )
    assert [m.message for m in reading.mistakes] == []
    parts = reading.harness.parts
    splice, other, relay, plain, fuse = (parts[name] for name in ("S", "T", "K", "L", "F"))
    assert isinstance(splice, Splice)
    assert splice.sealed
    assert isinstance(other, Splice)
    assert other.sealed is False
    assert isinstance(relay, Relay)
    assert (relay.clamp, relay.clamped, relay.sealed) == ("diode", True, True)
    assert isinstance(plain, Relay)
    assert (plain.clamp, plain.clamped, plain.sealed) == (None, False, False)
    assert isinstance(fuse, Fuse)
    assert fuse.sealed
    wrong = read_text(text.replace("clamp diode", "clamp lamp"), "x")
    assert [(m.message, m.expected) for m in wrong.mistakes] == [
        ("`lamp` is no clamp that the language knows", "`clamp` and `diode` or `resistor`")
    ]


def test_an_ignition_box_the_wrong_way_round() -> None:
    text = trial("ignition-box-backwards")
    assert said(text) == [
        (
            "error reversed-polarity: BOX.feed is fed backwards: BOX.15 is its + side, and the current comes in at "
            "BOX.31 with KEY on"
        ),
        (
            "error reversed-polarity: CONV.feed is fed backwards: CONV.15 is its + side, and the current comes in at "
            "CONV.31 with KEY on"
        ),
    ]
    assert fixes(text)[0] == "swap the wires at BOX.15 and BOX.31"
    turned = text.replace("KEY.2 to BOX.15", "KEY.2 to BOX.31").replace("BOX.31 to FRAME", "BOX.15 to FRAME")
    assert [line for line in said(turned) if "BOX" in line] == []


@pytest.mark.parametrize(
    "coil",
    ["primary 4 ohm: 15 31", "primary 4 ohm duty 60 %: 15 31", "primary 20 W duty 60 %: 15 31"],
)
def test_a_coil_has_no_side(coil: str) -> None:
    """Sparks come either way round: only a box is harmed."""
    text = trial("ignition-box-backwards").replace("feed 20 W: 15 31", coil)
    assert [line for line in said(text) if "BOX" in line] == []


def test_a_coil_in_watts_behind_points_has_no_side() -> None:
    text = trial("ignition-box-backwards").replace("wire 5 BOX.31 to FRAME", "wire 5 BOX.31 to POINTS.1")
    points = "switch POINTS 5 A senses crank at tray { open: ; closed: 1 2 }\nmount POINTS.2 to FRAME\n"
    assert [line for line in said(text + points) if "BOX" in line] == []


def test_a_box_known_by_its_stop_lead() -> None:
    text = trial("ignition-box-backwards").replace("feed 20 W: 15 31 }", "feed 20 W: 15 31; stop-lead: S 31 }")
    wired = text + "switch KILL 1 A at tray for ignition { run: ; stop: 1 2 }\nwire 9 BOX.S to KILL.1 pink 1 mm2 1 m\n"
    assert any("BOX.feed is fed backwards" in line for line in said(wired + "wire 10 KILL.2 to FRAME red 1 mm2 1 m\n"))


def test_a_clamped_coil_the_wrong_way_round() -> None:
    text = trial("clamped-relay-reversed")
    backwards = "K1 coil is fed backwards: K1.86 is its + side, and the current comes in at K1.85"
    assert said(text) == [
        f"note reversed-polarity: {backwards}; if its clamp is a diode, that shorts the feed with KEY on"
    ]
    assert fixes(text) == [
        (
            "look at K1 and write `clamp diode` or `clamp resistor` on its line; with a diode swap the wires at "
            "K1.86 and K1.85"
        )
    ]
    with_diode = text.replace("30 A clamped", "30 A clamp diode")
    assert said(with_diode) == [f"error reversed-polarity: {backwards}; its diode shorts the feed with KEY on"]
    assert said(text.replace("30 A clamped", "30 A clamp resistor")) == []
    assert said(text.replace("30 A clamped", "30 A")) == []
    turned = with_diode.replace("KEY.2 to K1.85", "KEY.2 to K1.86").replace("K1.86 to FRAME", "K1.85 to FRAME")
    assert said(turned) == []


def test_with_a_positive_ground_the_clamped_coil_has_its_plus_on_ground() -> None:
    text = trial("clamped-relay-reversed").replace("30 A clamped", "30 A clamp diode")
    mirrored = (
        text.replace("negative ground", "positive ground").replace("BAT.- to FRAME", "BAT.+ to FRAME")
        .replace("BAT.+ to MAIN", "BAT.- to MAIN")
    )  # fmt: skip
    assert said(mirrored) == []
    turned = mirrored.replace("KEY.2 to K1.85", "KEY.2 to K1.86").replace("K1.86 to FRAME", "K1.85 to FRAME")
    assert [line.partition(":")[0] for line in said(turned)] == ["error reversed-polarity"]
