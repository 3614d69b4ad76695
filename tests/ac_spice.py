"""Networks with coils for ngspice: sines behind resistance and inductance, run until they have settled.

Each law is written from its published description; a lamp is a filament that follows the mean square of its volts
with a time constant of several periods, so that it is only steady after some of those.
"""

from __future__ import annotations

import math
import random
import re
import subprocess
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from loomwright.checks.ac.coils import Coil, coils, impedance, star_phase
from loomwright.checks.ac.wound import Periodic, Wound, rms
from loomwright.checks.dc import device_models as laws

if TYPE_CHECKING:
    from collections.abc import Sequence

    from loomwright.checks.dc.device_models import Curve

HERTZ = 100.0
LAMP_PERIODS = 5
"""Periods in which a filament comes to about two thirds of where it goes."""

PERIODS = 60
STEPS = 400


@dataclass(frozen=True)
class Settled:
    """Of the last two periods: rms and mean V of each node, rms A of each coil, mean A of each law; ``met``: rms and
    mean V of each sum of nodes that was asked for.
    """

    rms_volts: np.ndarray
    mean_volts: np.ndarray
    coil_amps: np.ndarray
    law_amps: np.ndarray
    met: tuple[tuple[float, float], ...] = ()


def _expression(curve: Curve, v: str) -> str:
    parts = [f"{curve.offset!r}", f"{curve.slope!r}*{v}"]
    for knee in curve.breakpoints:
        beyond = f"({v}-({knee.volts!r}))"
        parts.append(f"({knee.slope!r})*{'max' if knee.up else 'min'}(0,{beyond})")
    return "+".join(parts)


WAYS = (("gear", "1e-5", STEPS), ("trap", "1e-4", STEPS), ("gear", "1e-3", 3 * STEPS))
"""Ways of integrating, tolerances and steps a period, tried in turn: where diodes meet open coils one may give up."""


def netlist(wound: Wound, how: tuple[str, str, int] = WAYS[0], sums: Sequence[np.ndarray] = ()) -> str:
    lines = ["* coils"]
    n = len(wound.siemens)
    for i in range(n):
        joined = (j for j in range(i + 1, n) if wound.siemens[i, j])
        lines.extend(f"r{i}_{j} n{i} n{j} {-1.0 / float(wound.siemens[i, j])!r}" for j in joined)
        to_earth = float(wound.siemens[i].sum())
        if to_earth > 1e-6:
            lines.append(f"rt{i} n{i} 0 {1.0 / to_earth!r}")
    for i, curve in enumerate(wound.curves):
        a, b = f"n{wound.tops[i]}", f"n{wound.bottoms[i]}"
        lines.append(f"vl{i} {a} l{i} 0")
        if curve.filament is None:
            lines.append(f"bl{i} l{i} {b} I={_expression(curve, f'V(l{i},{b})')}")
            continue
        volts, amps = curve.filament.volts, curve.filament.amps
        lines += [
            f"bq{i} 0 q{i} I=V({a},{b})*V({a},{b})",
            f"rq{i} q{i} 0 1",
            f"cq{i} q{i} 0 {LAMP_PERIODS / HERTZ!r} ic={volts**2 / 4!r}",
            f"bl{i} l{i} {b} I=V(l{i},{b})*{amps / volts!r}*min(13.7,pow(V(q{i})/{volts**2!r}+1e-12,-0.225))",
        ]
    coils_ = wound.coils
    for k in range(coils_.count):
        peak, angle = (
            abs(complex(coils_.volts[k])),
            math.degrees(math.atan2(coils_.volts[k].imag, coils_.volts[k].real)),
        )
        lines += [
            f"vc{k} x{k} n{coils_.bottoms[k]} sin(0 {peak!r} {HERTZ} 0 0 {angle!r})",
            f"rc{k} x{k} y{k} {float(coils_.ohms[k])!r}",
            f"lc{k} y{k} z{k} {float(coils_.reactance[k, k]) / (2 * math.pi * HERTZ)!r}",
            f"vi{k} z{k} n{coils_.tops[k]} 0",
        ]
        for j in range(k):
            mutual = float(coils_.reactance[k, j])
            if mutual:
                share = mutual / math.sqrt(float(coils_.reactance[k, k] * coils_.reactance[j, j]))
                lines.append(f"kc{k}_{j} lc{k} lc{j} {share!r}")
    for k, weights in enumerate(sums):
        each = "+".join(f"({float(weight)!r})*V(n{i})" for i, weight in enumerate(weights) if weight)
        lines.append(f"bs{k} s{k} 0 V={each or '0'}")
    end, period = PERIODS / HERTZ, 1.0 / HERTZ
    asked = [f"rms v(n{i})" for i in range(n)] + [f"avg v(n{i})" for i in range(n)]
    asked += [f"rms i(vi{k})" for k in range(coils_.count)] + [f"avg i(vl{i})" for i in range(len(wound.curves))]
    asked += [f"{what} v(s{k})" for k in range(len(sums)) for what in ("rms", "avg")]
    span = f"from={end - 2 * period!r} to={end!r}"
    measured = [f"meas tran m{k} {each} {span}" for k, each in enumerate(asked)]
    return "\n".join(
        [
            *lines,
            f".options gmin=1e-12 reltol={how[1]} abstol=1e-9 vntol=1e-7 itl4=200 method={how[0]}",
            ".control",
            f"tran {period / how[2]!r} {end!r} {end - 2 * period!r} {period / how[2]!r} uic",
            *measured,
            ".endc",
            ".end",
            "",
        ]
    )


class GaveUpError(AssertionError):
    """The simulator found no transient in any way that was tried."""


def run(program: str, wound: Wound, sums: Sequence[np.ndarray] = ()) -> Settled:
    """The settled period, and of each of ``sums``, weights of the nodes, its V. Raises ``GaveUpError``."""
    n, count, m = len(wound.siemens), wound.coils.count, len(wound.curves)
    told = ""
    for how in WAYS:
        done = subprocess.run(
            [program, "-b", "/dev/stdin"], input=netlist(wound, how, sums), capture_output=True, text=True, check=False
        )
        found = {int(k): float(v) for k, v in re.findall(r"^m(\d+)\s*=\s*(\S+)", done.stdout, flags=re.MULTILINE)}
        if len(found) == 2 * n + count + m + 2 * len(sums):
            values = np.array([found[k] for k in range(len(found))])
            rest = 2 * n + count
            met = values[rest + m :].reshape(-1, 2).tolist()
            return Settled(
                values[:n],
                values[n : 2 * n],
                values[2 * n : rest],
                values[rest : rest + m],
                tuple((rms_, mean) for rms_, mean in met),
            )
        told = done.stdout[-1000:] + done.stderr[-1000:]
    raise GaveUpError(told)


def resistances(n: int, each: list[tuple[int, int, float]]) -> np.ndarray:
    """A matrix of siemens, node 0 tied."""
    matrix = np.zeros((n, n))
    matrix[0, 0] = 1.0
    for a, b, ohms in each:
        for x, y in ((a, b), (b, a)):
            matrix[x, x] += 1.0 / ohms
            matrix[x, y] -= 1.0 / ohms
    return matrix


def case(kind: str, speed: float, heavy: float) -> Wound:
    """One of the usual circuits at a speed, its loads ``heavy`` times the usual ones."""
    light, node0 = impedance(22.0, 6.0, 0.6), 0
    lamp = laws.lamp(35.0 * heavy, 13.5)
    tail = laws.lamp(5.0, 13.5)
    diode = laws.diode(0.7, 0.05)
    six = laws.battery(6.3, 0.05, 0.6, 7.1)
    twelve = laws.battery(12.6, 0.02, 0.7, 14.2)
    wire = 0.03

    def made(n: int, res: list[tuple[int, int, float]], things: list[tuple[int, int, Curve]], wound) -> Wound:  # type: ignore[no-untyped-def]
        return Wound(
            resistances(n, res),
            np.array([a for a, _, _ in things]),
            np.array([b for _, b, _ in things]),
            tuple(c for _, _, c in things),
            wound,
        )

    if kind == "lamps":
        return made(3, [(1, 2, wire)], [(2, 0, lamp), (2, 0, tail)], coils([Coil(1, 0, light)], (), speed))
    if kind == "led":
        led = laws.led(0.5 * heavy, 12.0, 0.4, 0.65)
        return made(3, [(1, 2, wire)], [(2, 0, lamp), (2, 0, led)], coils([Coil(1, 0, light)], (), speed))
    if kind == "half wave":
        coil = coils([Coil(1, 0, impedance(14.0, 6.0, 0.4))], (), speed)
        return made(4, [(2, 3, wire)], [(1, 2, diode), (3, 0, six), (3, 0, laws.lamp(6.0 * heavy, 6.75))], coil)
    if kind == "half wave beside lamps":
        coil = coils([Coil(1, 0, light)], (), speed)
        things = [(1, 2, diode), (3, 0, twelve), (3, 0, tail), (1, 0, lamp)]
        return made(4, [(2, 3, wire)], things, coil)
    if kind == "tap":
        whole = impedance(26.0, 5.5, 0.6)
        pair = [Coil(1, 0, light), Coil(2, 1, light.of_turns((whole.volts - light.volts) / light.volts))]
        wound = coils(pair, [(0, 1, 0.95)], speed)
        return made(4, [(3, 0, 1e6)], [(1, 0, lamp), (2, 3, diode), (3, 0, twelve)], wound)
    if kind == "two windings":
        pair = [Coil(1, 0, light), Coil(2, 0, impedance(24.0, 4.0, 0.8))]
        wound = coils(pair, [(0, 1, 0.5)], speed)
        return made(3, [], [(1, 0, lamp), (1, 0, tail), (2, 0, laws.resistor(12.0 / heavy))], wound)
    if kind == "bridge":
        things = [(1, 3, diode), (2, 3, diode), (0, 1, diode), (0, 2, diode), (3, 0, twelve), (3, 0, lamp)]
        return made(4, [(1, 0, 1e9)], things, coils([Coil(1, 2, light)], (), speed))
    if kind == "three-phase":
        phase = star_phase(impedance(50.0, 18.0, 0.2))
        wound = coils([Coil(i + 1, 5, phase, 2 * math.pi * i / 3) for i in range(3)], (), speed)
        things = [(i, 4, diode) for i in (1, 2, 3)] + [(0, i, diode) for i in (1, 2, 3)]
        return made(6, [(5, 0, 1e9)], [*things, (4, 0, twelve), (4, 0, lamp)], wound)
    assert kind == "bridge without battery", kind
    things = [(1, 3, diode), (2, 3, diode), (node0, 1, diode), (node0, 2, diode), (3, 0, lamp)]
    return made(4, [(1, 0, 1e9)], things, coils([Coil(1, 2, light)], (), speed))


KINDS = (
    "lamps",
    "led",
    "half wave",
    "half wave beside lamps",
    "tap",
    "two windings",
    "bridge",
    "three-phase",
    "bridge without battery",
)


def random_network(seed: int) -> Wound:
    """Coils, lamps, resistors, diodes and perhaps a battery between a few nodes."""
    dice = random.Random(seed)
    n = dice.randint(3, 6)
    count = dice.randint(1, 3)
    each, coupling = [], []
    for k in range(count):
        volts = dice.uniform(8.0, 40.0)
        size = volts / dice.uniform(1.0, 12.0)
        each.append(Coil(k % (n - 1) + 1, 0, impedance(volts, volts / size, size * dice.uniform(0.02, 0.5))))
        if k == 1 and dice.random() < 0.5:  # three coils in a row that share no third pair would be no core at all
            coupling.append((0, 1, dice.choice((0.5, 0.95))))
    resistors = [(dice.randrange(1, n), 0, 1e6)]
    resistors += [(i, dice.choice([j for j in range(n) if j != i]), dice.uniform(0.02, 20.0)) for i in range(1, n)]
    things: list[tuple[int, int, Curve]] = []
    for _ in range(dice.randint(1, 4)):
        a, b = dice.sample(range(n), 2)
        things.append((a, b, laws.lamp(dice.uniform(3.0, 45.0), dice.choice((6.75, 13.5)))))
    for _ in range(dice.randint(0, 3)):
        a, b = dice.sample(range(n), 2)
        things.append((a, b, laws.diode(0.7, 0.05)))
    if dice.random() < 0.5:
        a = dice.randrange(1, n)
        things.append((a, 0, laws.battery(12.6, 0.03, 0.7, 14.2)))
    return Wound(
        resistances(n, resistors),
        np.array([a for a, _, _ in things]),
        np.array([b for _, b, _ in things]),
        tuple(c for _, _, c in things),
        coils(each, coupling, dice.uniform(0.3, 1.8)),
    )


def differences(wound: Wound, periodic: Periodic, theirs: Settled) -> list[str]:
    """Where lamps differ by over 1 %, coils by over 1 %, what batteries take by over 2.5 % and 0.05 A."""
    wrong = []
    across = rms(periodic.volts[:, wound.tops] - periodic.volts[:, wound.bottoms])
    for i in wound.lamps:
        # The simulator has the lamp's own current; its volts follow from the nodes only where one is the earth.
        if wound.bottoms[i] == 0 or wound.tops[i] == 0:
            node = wound.tops[i] if wound.bottoms[i] == 0 else wound.bottoms[i]
            if abs(across[i] - theirs.rms_volts[node]) > 0.01 * theirs.rms_volts[node] + 0.005:
                wrong.append(f"lamp {i}: {across[i]:.4g} V, ngspice {theirs.rms_volts[node]:.4g} V")
    for k, ours in enumerate(rms(periodic.coil_amps)):
        if abs(ours - theirs.coil_amps[k]) > 0.01 * theirs.coil_amps[k] + 0.002:
            wrong.append(f"coil {k}: {ours:.4g} A, ngspice {theirs.coil_amps[k]:.4g} A")
    for i in wound.straight:
        ours, other = float(periodic.law_amps[:, i].mean()), float(theirs.law_amps[i])
        if abs(ours - other) > max(0.025 * abs(other), 0.05):
            wrong.append(f"law {i}: {ours:.4g} A, ngspice {other:.4g} A")
    return wrong
