"""Dead shorts, worked by hand from published resistances and opening times."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hand_made import battery, frame, fuse, harness, lamp, splice, wire

from loomwright.checks.protection.prospective_fault import ProspectiveFault, ProspectiveFaults, heated, not_cleared
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.model.parts import Fuse, Part
from loomwright.lang.model.wires import Wire

HOT = (234.5 + 85.0) / 254.5  # AC 43.13-1B 11-66: copper of class A, as hot as the class allows
OHMS = {1.0: 18.5e-3, 6.0: 3.14e-3}  # ISO 6722-1, ohm/m at 20 degC
FUSE_10 = 7.70e-3  # a cold 10 A blade, makers' sheets


def strong(volts: float = 12.6, ohms: float = 0.015) -> Part:
    return replace(battery(), volts=volts, ohms=ohms)


def blade(name: str, amps: float) -> Fuse:
    return replace(fuse(name, amps), form="blade")


def analysis(parts: list[Part], wires: list[Wire]) -> ProspectiveFaults:
    circuit = build_circuit(harness(parts, wires))
    return ProspectiveFaults(circuit, Protection(circuit))


def ohms(area: float, metres: float) -> float:
    """A wire and its two crimped ends, each of which counts as 50 mm more of it."""
    return OHMS[area] * HOT * (metres + 0.1)


def lit(metres: float, amps: float = 10.0, area: float = 1.0) -> list[ProspectiveFault]:
    found = analysis(
        [strong(), blade("F", amps), lamp("L"), frame()],
        [
            wire("1", "BAT.+", "F.1", 0.1, 6.0),
            wire("2", "F.2", "L.1", metres, area),
            wire("3", "L.2", "FRAME", 0.5),
            wire("4", "BAT.-", "FRAME", 0.2, 6.0),
        ],
    )
    return list(found.shorts())


def test_the_current_of_a_short_at_the_lamp() -> None:
    (short,) = lit(2.0)
    loop = 0.015 + ohms(6.0, 0.1) + FUSE_10 + ohms(1.0, 2.0) + ohms(1.0, 0.5) + ohms(6.0, 0.2)
    assert short.amps == pytest.approx(12.6 / loop, rel=1e-9)
    assert short.path == ("1", "F", "2", "3", "4")
    assert {branch.key for branch in short.loop} == {"wire 1", "wire 2", "wire 3", "wire 4"}
    assert short.seconds is not None
    assert short.seconds < 0.1  # above 600 % a 10 A blade opens within 0.1 s (ISO 8820-3)
    assert short.i2t == pytest.approx(60.0**2 * 0.1)  # and beyond the table's end the I2t stays


def test_a_long_wire_lets_the_fuse_think() -> None:
    (near,), (far,) = lit(2.0), lit(60.0)
    assert far.amps < 2.0 * 10.0 < near.amps  # at 200 % a blade may take 5 s, below that longer
    assert list(not_cleared([near], 5.0)) == []
    assert list(not_cleared([far], 5.0)) == [far]


def test_every_published_point_above_the_current_counts() -> None:
    """At 20 m a 10 A blade sees about 250 %: what it passes there is more than at its table's end."""
    (short,) = lit(20.0)
    assert 20.0 < short.amps < 35.0
    assert short.seconds is not None
    assert 0.5 < short.seconds < 5.0
    assert short.i2t == pytest.approx(max(short.amps**2 * short.seconds, 35.0**2 * 0.5))
    assert [hot.wire.key for hot in heated([short], 5.0)] == []  # (k S)2 of 1 mm2: over 9,000 A2s


def test_the_return_wire_is_in_the_loop_too() -> None:
    found = analysis(
        [strong(), blade("F", 30.0), lamp("L"), frame()],
        [
            wire("1", "BAT.+", "F.1", 0.1, 6.0),
            wire("2", "F.2", "L.1", 1.0, 6.0),
            wire("3", "L.2", "FRAME", 1.0, 0.35),
            wire("4", "BAT.-", "FRAME", 0.2, 6.0),
        ],
    )
    hot = list(heated(list(found.shorts()), 5.0))
    assert [each.wire.key for each in hot] == ["wire 3"]
    # 30 A blade, 600 %: 180^2 x 0.1 s = 3,240 A2s; k = 226 sqrt(ln(394.5 / 319.5)), IEC 60364-5-54
    assert hot[0].short.i2t >= 3240.0
    assert hot[0].stands == pytest.approx((0.35 * 103.8) ** 2, rel=0.01)


def test_without_the_batterys_numbers_nothing_is_said() -> None:
    parts: list[Part] = [battery(), blade("F", 10.0), lamp("L"), frame()]
    wires = [wire("1", "BAT.+", "F.1"), wire("2", "F.2", "L.1"), wire("3", "L.2", "FRAME"), wire("4", "BAT.-", "FRAME")]
    assert analysis(parts, wires).battery is None
    assert list(analysis(parts, wires).shorts()) == []


def test_batteries_in_series_add() -> None:
    up, low = replace(strong(6.3, 0.01), name="UP"), replace(strong(6.3, 0.02), name="LOW")
    found = analysis(
        [up, low, blade("F", 10.0), splice("SP"), lamp("L"), frame()],
        [
            wire("1", "UP.+", "F.1", 0.1),
            wire("2", "UP.-", "LOW.+", 0.1),
            wire("3", "LOW.-", "FRAME", 0.1),
            wire("4", "F.2", "L.1", 1.0),
            wire("5", "L.2", "FRAME", 0.1),
        ],
    )
    assert found.battery == pytest.approx((12.6, 0.03))


def test_a_fuse_without_published_times_is_not_judged() -> None:
    found = analysis(
        [strong(), replace(fuse("F", 10.0), form="link"), lamp("L"), frame()],
        [
            wire("1", "BAT.+", "F.1"),
            wire("2", "F.2", "L.1", 60.0),
            wire("3", "L.2", "FRAME"),
            wire("4", "BAT.-", "FRAME"),
        ],
    )
    (short,) = found.shorts()
    assert short.seconds is None
    assert math.isinf(short.i2t)
    assert list(not_cleared([short], 5.0)) == []
    assert list(heated([short], 5.0)) == []


def test_what_a_wire_withstands_by_a_row_from_memory_makes_no_error_alone() -> None:
    parts: list[Part] = [strong(ohms=0.435), replace(fuse("F", 10.0), form="glass"), lamp("L"), frame()]
    wires = [
        wire("1", "BAT.+", "F.1", 0.1, 6.0),
        wire("2", "F.2", "L.1", 0.1, 6.0),
        wire("3", "L.2", "FRAME", 0.1, 0.35),
        wire("4", "BAT.-", "FRAME", 0.1, 6.0),
    ]
    (hot,) = heated(list(analysis(parts, wires).shorts()), 5.0)
    assert hot.certain  # IEC 60127-2's 2 s at 275 %, and IEC 60364-5-54's 160 degC of class A: both read
    assert hot.wire.segment is not None
    class_f = replace(hot.wire, segment=replace(hot.wire.segment, wire_class="F"))
    assert not replace(hot, wire=class_f).certain  # 250 degC of class F: from memory
