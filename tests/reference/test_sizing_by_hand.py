"""Sizes that are proposed, against published tables and arithmetic on paper.

33 CFR 183.425 table 5 (insulation of 90 degC for class B, 30 degC ambient) in A: 18 AWG 20, 16 AWG 25, 14 AWG 30, 12
AWG 40, 10 AWG 55, 8 AWG 70. IEC 60364-5-54 annex A for what a conductor stands briefly.
"""

from __future__ import annotations

import math
from datetime import date

import pytest

from loomwright.checks.sizing.sized import SizedFuse, SizedWire, Sizing
from loomwright.checks.sizing.sizing import sizing
from loomwright.checks.tables.profiles import Profile, profile_named
from loomwright.checks.tables.short_time import short_time
from loomwright.lang.files.reading import read_text

# 30 degC everywhere, as the table is for; class B so that its column is that of 90 degC.
BENCH = """loom "bench"
wires class B
place tray, end
route tray end {metres:g} m ambient {ambient:g} degC
source BAT battery at tray {{ voltage 12.6 V; capacity 14 Ah; resistance 1 mohm }}
ground FRAME at tray, end
fuse MAIN {fuse:g} A blade at tray
switch SW {contact:g} A key at tray {{ off: ; on: 1 2 }}
load LOAD {what} at end {{ x {rating}: 1 2 }}
wire 1 BAT.+ to MAIN.1 red 10 mm2 0.15 m
wire 2 MAIN.2 to SW.1 red 10 mm2 0.10 m
wire 3 SW.2 to LOAD.1 red 10 mm2 {length}
wire 4 LOAD.2 to FRAME black 10 mm2 0.10 m
wire 5 BAT.- to FRAME black 16 mm2 0.10 m
state on {{ SW on }}
"""


def sized(profile: Profile | None = None, **facts: object) -> Sizing:
    known: dict[str, object] = {
        "metres": 1.0,
        "ambient": 30.0,
        "fuse": 100.0,
        "contact": 200.0,
        "what": "heater",
        "rating": "10 A",
        "length": "",
        "more": "",
    }
    known |= facts
    reading = read_text(BENCH.format(**known) + str(known["more"]), "bench.loom")
    assert [m.message for m in reading.mistakes] == []
    return sizing(reading, today=date(2026, 1, 1), profile=profile or profile_named("boat-law"), thinner=True)


def wire(found: Sizing, name: str) -> SizedWire:
    return next(each for each in found.wires if each.name == name)


def fuse(found: Sizing) -> SizedFuse:
    return next(each for each in found.fuses if each.name == "MAIN")


@pytest.mark.parametrize(
    ("rating", "blade"),
    [("2 A", 3.0), ("7.5 A", 10.0), ("11 A", 15.0), ("18.5 A", 25.0), ("22 A", 30.0), ("30 A", 40.0)],
)
def test_a_fuse_is_the_least_sold_that_is_loaded_to_80_percent(rating: str, blade: float) -> None:
    """Blades are sold in 1, 2, 3, 4, 5, 7.5 and 10 to 40 A by fives. A heater takes 5 % more at 12.6 than at 12 V."""
    amps = float(rating.removesuffix(" A")) * 12.6 / 12.0
    sold = [1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40]
    by_hand = next(each for each in sold if amps <= 0.80 * each)
    assert by_hand == blade
    assert fuse(sized(rating=rating)).proposed == blade


@pytest.mark.parametrize(
    ("rating", "blade", "gauge", "square"),
    [
        ("11 A", 15.0, "18 AWG", 1.0),
        ("18.5 A", 25.0, "16 AWG", 1.5),
        ("22 A", 30.0, "14 AWG", 2.5),
        ("30 A", 40.0, "12 AWG", 4.0),
        ("37 A", 50.0, "10 AWG", 6.0),
    ],
)
def test_a_wire_is_protected_by_its_fuse(rating: str, blade: float, gauge: str, square: float) -> None:
    """Table 5: 15 A is within 20 A of 18 AWG, 25 within 25 of 16, 30 within 30 of 14, 40 within 40 of 12, 50 within 55
    of 10. A metric size counts as the largest gauge not above it: 1.5 mm2 as 16 AWG, 2.5 as 14, 4 as 12, 6 as 10.
    """
    found = sized(profile_named("boat-law-10-percent"), rating=rating, metres=0.2)
    assert fuse(found).proposed == blade
    sized_wire = wire(found, "3")
    assert sized_wire.awg is not None
    assert sized_wire.metric is not None
    assert (sized_wire.awg.text, sized_wire.metric.area) == (gauge, square)
    assert sized_wire.decides is not None
    assert sized_wire.decides.reason in ("fuse", "mechanical", "current")


def test_a_return_carries_what_a_fault_behind_the_fuse_sends_back() -> None:
    """A fault to the frame draws up to the rating of its fuse continuously, 20 A, though the load takes 14.7: at 40
    degC 16 AWG carries 25 sqrt(50 / 60) = 22.8 A, 18 AWG 18.3 A. No fuse is chosen for a return, so it is chosen for
    the fuse.
    """
    assert 20 * math.sqrt(50 / 60) < 20 <= 25 * math.sqrt(50 / 60)
    found = sized(rating="14 A", metres=0.2)
    assert fuse(found).proposed == 20.0
    for name in ("4", "5"):
        back = wire(found, name)
        (fault,) = [need for need in back.needs if need.says.startswith("returns a fault behind MAIN 20 A")]
        assert fault.awg is not None
        assert fault.awg.text == "16 AWG"
        assert back.awg is not None
        # The battery's own lead is no thinner than the main feed, 1.5 mm2 now: 14 AWG is the first gauge not below.
        assert back.awg.text == ("16 AWG" if name == "4" else "14 AWG")


def test_a_hot_route_asks_for_more_and_says_so() -> None:
    """sqrt((90 - 70) / (90 - 30)) = 0.577: 14 AWG carries 30 * 0.577 = 17.3 A, 12 AWG 23.1 A; 20 A needs 12."""
    assert 30 * math.sqrt(20 / 60) < 20 <= 40 * math.sqrt(20 / 60)
    hot = wire(sized(rating="14 A", ambient=70.0, metres=0.2), "3")
    assert hot.awg is not None
    assert hot.awg.text == "12 AWG"
    assert hot.decides is not None
    assert hot.decides.reason == "fuse"
    assert hot.decides.says.endswith("at 70 degC")


def test_a_bundle_asks_for_more_where_the_profile_does() -> None:
    """Table 5 note 2: 4 to 6 conductors 0.60. 14 AWG then carries 30 * 0.6 = 18 A, 12 AWG 24 A: 20 A needs 12 AWG."""
    more = "splice A at tray\nsplice B at end\n" + "".join(f"wire x{n} A to B red 1 mm2\n" for n in range(3))
    found = wire(sized(profile_named("boat-law")._replace(bundle=True), rating="14 A", metres=0.2, more=more), "3")
    assert found.awg is not None
    assert found.awg.text == "12 AWG"
    assert found.decides is not None
    assert "among 4 in a bundle" in found.decides.says


@pytest.mark.parametrize(("profile", "gauge"), [("boat-law-3-percent", "10 AWG"), ("boat-law-10-percent", "16 AWG")])
def test_the_worked_pump_of_the_marine_trade(profile: str, gauge: str) -> None:
    """A pump of 10 A, 11 ft out and 10 ft back: 10 AWG at 3 %, 16 AWG at 10 % (a marine catalogue's worked example).

    One gauge there and back in the example, where only wire counts; here each way has its own, and fuse, switch and
    ends lose some as well. So the thicker of the two is that gauge or the next, and the other at most one step off.
    """
    foot = 0.3048
    text = BENCH.replace("LOAD.2 to FRAME black 10 mm2 0.10 m", f"LOAD.2 to BAT.- black 10 mm2 {10 * foot:.3f} m")
    facts: dict[str, object] = {"metres": 1.0, "ambient": 30.0, "fuse": 15.0, "contact": 200.0}
    facts |= {"what": "heater", "rating": "10 A", "length": f"{11 * foot:.3f} m"}
    found = sizing(
        read_text(text.format(**facts)), today=date(2026, 1, 1), profile=profile_named(profile), thinner=True
    )
    order = ["18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG"]
    steps = sorted(order.index(each.text) for name in ("3", "4") if (each := wire(found, name).awg) is not None)
    assert len(steps) == 2
    assert steps[1] - order.index(gauge) in (0, 1)
    assert abs(steps[0] - order.index(gauge)) <= 1
    decides = wire(found, "3").decides
    assert decides is not None
    assert decides.reason == ("drop" if profile.endswith("3-percent") else decides.reason)


def test_drop_decides_by_the_sum_of_the_loop() -> None:
    """20 A over 4 m there and 0.1 m back within 5 %: the wire may lose 0.63 V less what fuse, switch and posts lose.

    ISO 6722 at 20 degC: 4 mm2 4.71, 6 mm2 3.14, 8 mm2 2.38 mohm/m; 4.1 m (ends count 50 mm each) at 21 A lose 0.41,
    0.27 and 0.20 V. So 4 mm2 is not far from enough, and no more than 8 mm2 can be needed.
    """
    found = wire(sized(rating="20 A", length="4 m"), "3")
    assert found.metric is not None
    assert 4.0 <= found.metric.area <= 8.0
    assert found.decides is not None
    assert found.decides.reason == "drop"
    assert "LOAD.x in on may lose 5 %" in found.decides.says


def test_a_starter_is_judged_for_thirty_seconds() -> None:
    """k of class B, from 100 degC, by IEC 60364-5-54 annex A: 226 sqrt(ln((234.5 + final) / (234.5 + 100))).

    110 A for 30 s need 110 * sqrt(30) / k mm2; the next metric size is taken where drop asks for no more.
    """
    basis = short_time("B")
    by_hand = 226 * math.sqrt(math.log((234.5 + basis.final) / (234.5 + basis.initial)))
    assert basis.k == pytest.approx(by_hand, rel=0.01)
    text = """loom "starter"
wires class B
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 1 mohm }
ground FRAME at tray
fuse MAIN 10 A blade at tray
switch START 150 A momentary at tray { rest: ; press: 1 2 }
load STARTER motor at tray for starting { armature 110 A: 30 31 }
wire 1 BAT.+ to START.1 red 25 mm2 0.1 m
wire 2 START.2 to STARTER.30 red 25 mm2 0.1 m
wire 3 STARTER.31 to BAT.- black 25 mm2 0.1 m
"""
    found = sizing(read_text(text), today=date(2026, 1, 1), profile=profile_named("boat-law"), thinner=True)
    needed = 110 * math.sqrt(30) / by_hand
    sizes = [each for each in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25) if each >= needed]
    for name in ("1", "2", "3"):
        chosen = wire(found, name)
        assert chosen.metric is not None
        assert chosen.metric.area == sizes[0]
        assert chosen.decides is not None
        assert chosen.decides.reason == "held"


def test_a_dead_short_asks_for_a_wire_that_stands_what_the_fuse_lets_through() -> None:
    """A strip fuse of 30 A passes, at its last published point, (6 * 30)^2 * 1 s = 32.4 kA2s (ISO 8820-5).

    Continuously, 30 A need 16 AWG of class D (33 CFR 183.425 table 5, column 125 degC: 30 A), 1.31 mm2. Of the short it
    stands (k S)^2 with k from IEC 60364-5-54 annex A, so that S must be 180 / k: more.
    """
    text = BENCH.replace("MAIN {fuse:g} A blade", "MAIN {fuse:g} A strip").replace("class B", "class D")
    facts: dict[str, object] = {"metres": 0.2, "ambient": 30.0, "fuse": 30.0, "contact": 300.0}
    facts |= {"what": "heater", "rating": "22 A", "length": ""}
    found = sizing(
        read_text(text.format(**facts)),
        today=date(2026, 1, 1),
        profile=profile_named("boat-law-10-percent"),
        thinner=True,
    )
    basis = short_time("D")
    k = 226 * math.sqrt(math.log((234.5 + basis.final) / (234.5 + 150)))
    needed = 6 * 30 * math.sqrt(1.0) / k
    assert needed > 1.5
    chosen = wire(found, "3")
    assert fuse(found).proposed == 30.0
    assert chosen.metric is not None
    assert chosen.metric.area == min(size for size in (1.5, 2.0, 2.5, 3.0, 4.0) if size >= needed)
    assert chosen.decides is not None
    assert chosen.decides.reason == "dead short"
    assert "MAIN passes 32,400 A2s" in chosen.decides.says


def test_a_wire_of_less_than_1_a_needs_no_18_gauge() -> None:
    """33 CFR 183.425(d) leaves out wires of electronics that carry less than 1 A; that others need no more is a choice
    of ours: 0.5 A of a lamp here, 1.5 A in the test below. The fuse must be small enough for the wire all the same:
    1 A, far within what 0.35 mm2 carries.
    """
    found = wire(sized(what="led", rating="0.5 A"), "3")
    assert found.metric is not None
    assert found.decides is not None
    assert (found.metric.text, found.decides.says) == (
        "0.35 mm2",
        "under 1 A, 0.35 mm2 (Loomwright's limit)",
    )


def test_nothing_is_thinner_than_18_gauge_unless_the_shop_says_so() -> None:
    """33 CFR 183.425(d) to (g): 18 AWG (0.823 mm2) in a sheath. So 1 mm2, and 0.75 is no metric size for it."""
    found = wire(sized(what="led", rating="1.5 A"), "3")
    assert found.metric is not None
    assert found.awg is not None
    assert (found.metric.text, found.awg.text) == ("1 mm2", "18 AWG")
    assert found.decides is not None
    assert found.decides.reason == "mechanical"
    house = wire(sized(what="led", rating="1.5 A", more="house smallest 0.5 mm2\n"), "3")
    assert house.metric is not None
    assert house.metric.text == "0.5 mm2"
