"""Harnesses that are sound by construction draw no error or warning of fire or build; sizes forward make others so.

What is allowed is written down here by hand from 33 CFR 183.425 table 5, insulation of 90 degC, in A at 30 degC: 18 AWG
20, 16 AWG 25, 14 AWG 30, 12 AWG 40, 10 AWG 55; at 40 degC sqrt(50 / 60) of that.
"""

from __future__ import annotations

import math
from datetime import date

import hand_made
import random_harness
from hypothesis import given, settings
from hypothesis import strategies as st
from outside import PROFILE

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.run import Report, catalogue, check
from loomwright.checks.sizing.sizing import sizing
from loomwright.checks.sizing.trial import resized
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness, Reading

TODAY = date(2026, 1, 1)
AMPACITY = {1.0: 20, 1.5: 25, 2.5: 30, 4.0: 40, 6.0: 55}
BLADES = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50)
COLOURS = ("red", "orange", "yellow", "green", "blue", "violet", "grey", "white", "pink", "turquoise")
KINDS = ("lamp", "led", "horn", "heater", "electronics", "solenoid")

branches = st.tuples(
    st.sampled_from(KINDS),
    st.floats(0.05, 8.0).map(lambda amps: round(amps, 2)),
    st.floats(0.1, 1.5).map(lambda metres: round(metres, 2)),
    st.booleans(),
    st.booleans(),
)
"""A load: what it is, its A, how far away it is, whether a plug is on the way, whether its switch is momentary."""


def blade(amps: float) -> float:
    """The least blade loaded to 80 % at most, with a twentieth for a battery above nominal volts."""
    return next(each for each in BLADES if amps * 1.1 <= 0.8 * each)


def square(amps: float) -> float:
    """The thinnest size of the table that carries this much continuously at 40 degC."""
    return next(area for area, most in AMPACITY.items() if most * math.sqrt(50 / 60) >= amps)


def harness_text(loads: list[tuple[str, float, float, bool, bool]], areas: dict[str, float] | None = None) -> str:
    """A battery, a main fuse, a splice, and fuse, switch and return for each load; ``areas`` spoils some wires."""
    total = sum(amps for _, amps, _, _, _ in loads)
    main = blade(total)
    lines = [
        'loom "sound"',
        "wires class B",
        "place tray",
        "source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }",
        "ground FRAME at tray",
        f"fuse MAIN {main:g} A blade at tray",
        "splice BUS at tray",
    ]

    def wire(name: str, ends: str, colour: str, area: float, metres: float) -> None:
        area = (areas or {}).get(name, area)
        lines.append(f"wire {name} {ends} {colour} {area:g} mm2 {metres:g} m")

    wire("b", "BAT.+ to MAIN.1", "red", square(main), 0.15)
    wire("m", "MAIN.2 to BUS", "red/white", square(main), 0.1)
    wire("g", "BAT.- to FRAME", "black", 6.0, 0.2)
    for number, ((what, amps, metres, plug, momentary), colour) in enumerate(zip(loads, COLOURS, strict=False)):
        own = blade(amps)
        area = square(own)
        via = f" via C{number}.1" if plug and area <= 2.0 and amps < 8.0 else ""
        lines += [
            f"fuse F{number} {own:g} A blade at tray",
            f"switch S{number} 20 A {'momentary ' if momentary else ''}at tray {{ rest: ; on: 1 2 }}",
            f"load L{number} {what} at tray {{ x {amps:g} A: 1 2 }}",
            *([f"connector C{number} 1 ways 10 A at tray"] if via else []),
        ]
        wire(f"{number}a", f"BUS to F{number}.1", f"{colour}/red", square(main), 0.1)
        wire(f"{number}b", f"F{number}.2 to S{number}.1", colour, area, 0.2)
        wire(f"{number}c", f"S{number}.2 to L{number}.1{via}", f"{colour}/black", area, metres)
        wire(f"{number}d", f"L{number}.2 to FRAME", "black", area, 0.2)
    return "\n".join(lines) + "\n"


def untoward(report: Report) -> list[str]:
    families = {rule.name: rule.family for rule in catalogue()}
    assert not report.mistakes
    assert not report.unchecked
    return [
        f"{finding.rule}: {finding.message}"
        for finding in report.findings
        if finding.level > Level.NOTE and families[finding.rule] in ("fire", "workmanship")
    ]


loads = st.lists(branches, min_size=1, max_size=5).filter(lambda found: sum(each[1] for each in found) < 34.0)


@given(loads)
def test_a_harness_that_is_sound_draws_no_alarm(given_loads: list[tuple[str, float, float, bool, bool]]) -> None:
    assert untoward(check(read_text(harness_text(given_loads)), today=TODAY)) == []


@st.composite
def spoilt(draw: st.DrawFn) -> Reading:
    """The same with some wires of any size."""
    given_loads = draw(loads)
    names = ["b", "m", "g", *(f"{number}{letter}" for number in range(len(given_loads)) for letter in "abcd")]
    areas = draw(st.dictionaries(st.sampled_from(names), st.sampled_from([0.35, 0.5, 0.75, 1.0, 2.5, 6.0, 16.0])))
    states = "".join(f"state s{n} {{ S{n} on }}\n" for n in range(len(given_loads)) if draw(st.booleans()))
    return read_text(harness_text(given_loads, areas) + states)


@given(spoilt())
def test_sizes_forward_make_it_sound_and_never_worse_and_come_to_an_end(reading: Reading) -> None:
    profile = profile_named("boat-law")
    before = check(reading, today=TODAY)
    found = sizing(reading, today=TODAY, profile=profile)
    new = Reading(harness=resized(reading.harness, found.sizes, found.ratings), mistakes=(), texts=reading.texts)
    after = check(new, today=TODAY)
    known = {(f.rule, f.span): f.level for f in before.findings}
    assert [f.message for f in after.findings if f.level > known.get((f.rule, f.span), -1)] == []
    fire = {rule.name for rule in catalogue() if rule.family == "fire"}
    assert [f.message for f in after.findings if f.level is Level.ERROR and f.rule in fire] == []
    again = sizing(new, today=TODAY, profile=profile)
    assert (again.sizes, again.ratings) == ({}, {})
    for wire in found.wires:
        assert wire.left or wire.short_of or wire.decides is not None
        if wire.proposed is not None and not wire.left and not wire.short_of:
            assert all(need.fits(wire.proposed.area) for need in wire.needs), wire.name


@given(hand_made.harnesses() | random_harness.harnesses())
@settings(max_examples=20 if PROFILE == "thorough" else 8)
def test_whatever_is_wired_to_whatever_sizing_comes_to_an_end(harness: Harness) -> None:
    profile = profile_named("boat-law")
    found = sizing(Reading(harness=harness, mistakes=(), texts={}), today=TODAY, profile=profile)
    new = Reading(harness=resized(harness, found.sizes, found.ratings), mistakes=(), texts={})
    again = sizing(new, today=TODAY, profile=profile)
    assert (again.sizes, again.ratings) == ({}, {})
