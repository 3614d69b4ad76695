"""Conductors, short times, laws, contacts, lamps, batteries, drops, crimps, colours: what the functions give."""

from __future__ import annotations

import math
import re

import published
import pytest

from loomwright.checks.tables import (
    batteries,
    colours,
    conductors,
    contacts,
    crimps,
    relays,
)
from loomwright.checks.tables import (
    device_constants as laws,
)
from loomwright.checks.tables import short_time as short
from loomwright.checks.tables.sourced import rows
from loomwright.lang.circuit.branch_types import BranchType

PLAIN = ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white", "pink", "turquoise"]


def test_resistance_at_and_between_and_outside_the_ladder() -> None:
    assert conductors.resistance_per_metre(1.5) == pytest.approx(12.7e-3)
    assert conductors.resistance_per_metre(1.5, tinned=True) == pytest.approx(13.0e-3)
    assert conductors.resistance_per_metre(math.sqrt(1.0 * 1.25)) == pytest.approx(math.sqrt(18.5 * 14.9) * 1e-3)
    assert conductors.resistance_per_metre(240.0) == pytest.approx(0.153e-3 / 2)
    assert conductors.resistance_per_metre(0.065) == pytest.approx(0.272)


def test_gauge_names() -> None:
    assert [conductors.awg_name(g) for g in (18, 0, -1, -3)] == ["18 AWG", "0 AWG", "00 AWG", "0000 AWG"]


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: conductors.resistance_per_metre(0.0), "above 0 mm2"),
        (lambda: conductors.resistance_per_metre(1.0, -234.5), "straight line"),
        (lambda: conductors.awg_diameter(-4), "ASTM B258"),
        (lambda: conductors.awg_diameter(57), "ASTM B258"),
        (lambda: conductors.insulation_class("I"), "none of A, B"),
        (lambda: short.k_factor("I"), "none of A, B"),
        (lambda: short.adiabatic_k(160.0, 70.0), "cannot be heated"),
        (lambda: short.adiabatic_amps(1.0, 40.0, 85.0, 0.0), "above 0 s"),
        (lambda: laws.lamp_test_volts(9.0), "6, 12 and 24 V"),
        (lambda: published.rerated("colour", 1.0), "none of current"),
        (lambda: published.rerated("light", 0.0), "above 0"),
        (lambda: batteries.rest_volts(1.1), "between 0 and 1"),
        (lambda: batteries.rest_volts(1.0, "dry"), "none of flooded"),
        (lambda: batteries.usual_resistance(0.0), "above 0 Ah"),
        (lambda: published.aircraft_volts(12.0), "14, 28, 115, 200 V"),
        (lambda: colours.shown("maroon"), "none of black"),
        (lambda: colours.shown("light-"), "none of black"),
    ],
)
def test_wrong_questions_are_refused(call: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()  # type: ignore[operator]


def test_thirty_seconds_of_cranking() -> None:
    """16 mm2 class A: k from 85 to 160 degC, k S / sqrt(30)."""
    k = short.adiabatic_k(85.0, 160.0)
    assert short.adiabatic_amps(16.0, 85.0, 160.0, 30.0) == pytest.approx(k * 16.0 / math.sqrt(30.0))
    assert short.withstand_i2t(16.0, "A") == pytest.approx(short.adiabatic_amps(16.0, 85.0, 160.0, 30.0) ** 2 * 30.0)
    assert short.adiabatic_celsius(16.0, 85.0, k * 16.0 / math.sqrt(30.0), 30.0) == pytest.approx(160.0)


def test_shares_for_every_consumer_that_has_a_state() -> None:
    """Every kind of element of the language, relay coils and unit supplies; resistors, sensors and fields have none."""
    plain = {branch_type.title for branch_type in BranchType if branch_type.consumes} - {"resistor", "sensor", "field"}
    assert set(laws.shares()) == plain
    for share in laws.shares().values():
        assert 0 < share.dead < share.works <= share.start < 1


@pytest.mark.parametrize(
    ("kind", "dead", "works", "start"),
    [("lamp", 0.20, 0.50, 0.50), ("led", 0.02, 0.50, 0.50), ("ignition", 0.15, 0.50, 0.67), ("coil", 0.10, 0.67, 0.67),
     ("horn", 0.20, 0.60, 0.60), ("electronics", 0.25, 0.60, 0.60)],
)  # fmt: skip
def test_shares_as_the_words_are_defined(kind: str, dead: float, works: float, start: float) -> None:
    share = laws.shares()[kind]
    assert (share.dead, share.works, share.start) == (dead, works, start)
    assert share.of == ("rated amps" if kind == "led" else "nominal volts")


def test_laws_as_the_analysis_is_defined() -> None:
    """What the project chose, written down a second time: a figure that slips changes every verdict."""
    assert laws.laws()._asdict() == {
        "lamp_exponent": 0.55,
        "lamp_hot_over_cold": 13.7,
        "lamp_volts_12": 13.5,
        "lamp_volts_6": 6.75,
        "lamp_volts_24": 28.0,
        "led_dark_share": 0.40,
        "led_rated_share": 0.65,
        "motor_knee_share": 0.70,
        "electronics_knee_share": 0.50,
        "least_slope": 0.01,
        "relay_pull_share": 0.67,
        "relay_drop_share": 0.10,
        "contact_volts": 0.05,
        "unrated_contact_amps": 10.0,
        "diode_volts": 0.7,
        "diode_ohms": 0.05,
        "output_volts": 0.1,
        "mount_ohms": 0.001,
        "termination_metres": 0.05,
        "battery_charge_share": 0.05,
        "gassing_cell": 2.37,
        "gassing_slope": 0.7,
        "field_start_share": 0.05,
        "sense_error_volts": 0.3,
        "most_lead_cell": 2.5,
        "most_lithium_cell": 3.65,
        "battery_least_share": 0.8,
        "battery_most_share": 1.25,
        "unequal_volts_share": 0.1,
        "standing_days": 30.0,
        "cranking_share": 0.67,
        "same_path_share": 0.05,
        "solved_classes": 4096,
        "table_bits": 22,
        "terminals_a_crimp": 2,
    }


def test_contacts_and_ends_lose_little() -> None:
    assert laws.contact_ohms(15.0) * 15.0 == pytest.approx(0.05)
    assert laws.contact_ohms(None) == laws.contact_ohms(10.0)
    assert laws.termination_ohms(16.0) < laws.termination_ohms(1.0) < 1e-3


@pytest.mark.parametrize(
    ("amps", "fits", "not_fits"),
    [(10.0, 1.0, 6.0), (15.0, 1.5, 10.0), (20.0, 2.5, 10.0), (35.0, 4.0, 16.0), (2.0, 0.35, 2.5)],
)
def test_wires_for_a_rating(amps: float, fits: float, not_fits: float) -> None:
    found = contacts.contacts_for(amps)
    assert any(contact.takes(fits) for contact in found)
    assert not any(contact.takes(not_fits) for contact in found)


def test_a_wider_contact_of_a_kind_carries_more() -> None:
    for kind in ("pin", "blade", "bullet"):
        group = sorted((each for each in contacts.contacts() if each.kind == kind), key=lambda each: each.size)
        assert len(group) >= 2
        assert [each.most_area for each in group if each.most_area > 6.0] == []  # IEC 61210: up to 6 mm2
        for each in group:
            assert each.least_area < each.most_area
            assert each.least_amps < each.most_amps
            assert each.most_amps / each.most_area <= 15.0
        amps = [each.most_amps for each in group]
        if kind != "pin":  # a sealed 1.5 mm pin is sold for a little more than a plain one of 1.6
            assert amps == sorted(amps)


def test_no_contact_of_a_hundred_amps_is_known() -> None:
    assert contacts.contacts_for(100.0) == ()


def test_two_conductors_fill_a_crimp() -> None:
    assert contacts.conductors_a_crimp() == laws.laws().terminals_a_crimp == 2


def test_volts_fall_with_charge_and_with_cold() -> None:
    for kind in batteries.KINDS:
        assert batteries.rest_volts(0.5, kind) == pytest.approx(batteries.rest_volts(0.4, kind), abs=0.25)
    table = [row["volts"] for row in rows("batteries", "load_test")]
    assert table == sorted(table, reverse=True)
    assert [row["charge"] for row in rows("batteries", "rest")] == [1.0, 0.75, 0.5, 0.25, 0.0] * 3


def test_the_pull_of_a_crimp() -> None:
    found = crimps.pull(1.0)
    assert found is not None
    assert (found.newtons, found.gauge) == (89.0, 18)
    assert crimps.pull(0.1) is None
    for area in (0.5, 1.0, 2.5, 6.0):
        commercial, military = crimps.pull(area), crimps.pull(area, "military")
        assert commercial is not None
        assert military is not None
        assert commercial.newtons < military.newtons


def test_every_colour_of_the_language_is_shown() -> None:
    assert sorted(colours.codes()) == sorted(PLAIN)
    seen = {colours.shown(prefix + plain) for plain in PLAIN for prefix in ("", "light-", "dark-")}
    assert len(seen) == 3 * len(PLAIN)
    assert all(re.fullmatch("#[0-9a-f]{6}", value) for value in seen)
    assert (colours.shown("light-blue"), colours.shown("blue"), colours.shown("dark-blue")) == (
        "#84a7dc", "#1f5fbf", "#133973",
    )  # fmt: skip


def test_bench_limits_and_relays_are_there() -> None:
    assert {limit.what for limit in published.bench_limits()} >= {"joint", "ground side", "switch", "run of wire"}
    assert {limit.share for limit in published.drop_limits()} >= {0.03, 0.05, 0.10}
    assert relays.usual_coil_ohms(6.0) == pytest.approx(85.0 / 4)
    assert relays.relay_figure("pull_in_volts").value == pytest.approx(laws.laws().relay_pull_share * 12.0, abs=0.05)
    assert relays.relay_figure("drop_out_volts").value == pytest.approx(laws.laws().relay_drop_share * 12.0)
    assert batteries.battery_figure("regulated").value == 14.2
