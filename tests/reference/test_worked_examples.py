"""Circuits worked in public handbooks, solved by our Newton: what the books print, and what is exact where they round.

Sources: DOE-HDBK-1011/1-92, Electrical Science, volume 1 (module ES-02); OpenStax University Physics volume 2 and
College Physics, by module number (figures only). Where a book contradicts itself the case says which reading its
answers need.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from loomwright.checks.dc.device_models import Curve, DeviceBank
from loomwright.checks.dc.newton import Dense, solve

Branch = tuple[str, str, str, float]
"""name, from, to, ohm."""
Cell = tuple[str, str, str, float, float]
"""name, + node, - node, V, ohm inside; 0 ohm stands for a source without any."""


@dataclass(frozen=True)
class Circuit:
    """Branches and cells between named nodes; ``0`` is where volts are counted from."""

    resistors: tuple[Branch, ...]
    cells: tuple[Cell, ...]

    def solved(self) -> tuple[dict[str, float], dict[str, float]]:
        """Volts by node, and amps by branch: through a resistor as written, out of a cell at its +."""
        names = ["0", *{n: None for _, a, b, *_ in (*self.resistors, *self.cells) for n in (a, b) if n != "0"}]
        at = {name: i for i, name in enumerate(names)}
        matrix = np.zeros((len(names), len(names)))
        for _, a, b, ohms in self.resistors:
            i, j = at[a], at[b]
            matrix[[i, j], [i, j]] += 1 / ohms
            matrix[[i, j], [j, i]] -= 1 / ohms
        matrix[0, 0] += 1.0
        curves = [Curve(slope=1 / (r or IDEAL), offset=-v / (r or IDEAL)) for *_, v, r in self.cells]
        tops = np.array([at[c[1]] for c in self.cells])
        bottoms = np.array([at[c[2]] for c in self.cells])
        volts = solve(Dense(matrix), DeviceBank(curves), tops, bottoms, np.zeros(len(names)))
        found = {name: float(volts[i] - volts[0]) for name, i in at.items()}
        amps = {name: (found[a] - found[b]) / ohms for name, a, b, ohms in self.resistors}
        for (name, a, b, *_), curve in zip(self.cells, curves, strict=True):
            amps[name] = -curve.amps(found[a] - found[b])
        return found, amps


IDEAL = 1e-7
"""ohm of a source that the book draws without any."""

DOE_SERIES = Circuit((("40", "a", "b", 40), ("60", "b", "c", 60), ("100", "c", "0", 100)), (("E", "a", "0", 120, 0),))
DOE_LOOPS = Circuit(
    (("50", "x", "n", 50), ("200", "y", "n", 200), ("100", "n", "z", 100)),
    (("8", "x", "0", 8, 0), ("10", "y", "0", 10, 0), ("40", "0", "z", 40, 0)),
)
BRIDGE = Circuit(
    (("15", "t", "l", 15), ("10", "l", "0", 10), ("10b", "t", "r", 10), ("15b", "r", "0", 15), ("5", "r", "l", 5)),
    (("E", "t", "0", 20, 5),),
)

CASES: dict[str, tuple[Circuit, dict[str, float], dict[str, float], float]] = {
    # name: circuit, printed amps, printed volts, tolerance of the print
    "DOE ES-02 fig. 22: 120 V over 40, 60, 100 ohm": (DOE_SERIES, {"40": 0.6}, {"b": 96.0, "c": 60.0}, 1e-6),
    "DOE ES-02 fig. 27: 4, 8, 16 ohm side by side are 2.29 ohm": (
        Circuit((("4", "a", "0", 4), ("8", "a", "0", 8), ("16", "a", "0", 16)), (("E", "a", "0", 16 / 7, 0),)),
        {"E": 1.0},
        {},
        1e-6,
    ),
    # printed 268.6, 345.8 and 77.2 mA; exact 268.571, 345.714, 77.143: rounding was carried through in the book
    "DOE ES-02 fig. 37: two loops, three sources": (
        DOE_LOOPS,
        {"50": 0.2686, "100": 0.3458, "200": 0.0772},
        {},
        1e-4,
    ),
    "DOE ES-02 fig. 45: node of 60 V by 8 ohm, 20 V by 4 ohm, 6 ohm to ground (answer computed)": (
        Circuit(
            (("8", "a", "n", 8), ("4", "b", "n", 4), ("6", "n", "0", 6)),
            (("A", "a", "0", 60, 0), ("B", "b", "0", 20, 0)),
        ),
        {"8": 4.615385, "4": -0.769231, "6": 3.846154},
        {"n": 23.076923},
        1e-5,
    ),
    "OpenStax m58453: 12 V, 0.1 ohm inside, 10 ohm": (
        Circuit((("R", "a", "0", 10),), (("E", "a", "0", 12, 0.1),)),
        {"R": 1.188},
        {"a": 11.8812},
        2e-4,
    ),
    "OpenStax m58453: the same, 0.5 ohm": (
        Circuit((("R", "a", "0", 0.5),), (("E", "a", "0", 12, 0.1),)),
        {"R": 20.0},
        {"a": 10.0},
        1e-6,
    ),
    "OpenStax m42357: starter motor 0.05 ohm": (
        Circuit((("R", "a", "0", 0.05),), (("E", "a", "0", 12, 0.01),)),
        {"R": 200.0},
        {"a": 10.0},
        1e-4,
    ),
    "OpenStax m42357: the same behind 0.09 ohm of corroded joints": (
        Circuit((("joint", "a", "b", 0.09), ("R", "b", "0", 0.05)), (("E", "a", "0", 12, 0.01),)),
        {"R": 80.0},
        {"b": 4.0},
        1e-4,
    ),
    "OpenStax m58455: three cells of 1.58 V and one of 1.53 V": (
        Circuit(
            (("R", "d", "0", 10),),
            (
                ("a", "a", "0", 1.58, 0.02),
                ("b", "b", "a", 1.58, 0.02),
                ("c", "c", "b", 1.58, 0.02),
                ("x", "d", "c", 1.53, 0.1),
            ),
        ),
        {"R": 0.617},
        {},
        5e-4,
    ),
    "OpenStax m58458: two strings of two cells side by side": (
        Circuit(
            (("R", "t", "0", 10),),
            (("a", "p", "0", 1.5, 1), ("b", "t", "p", 1.5, 1), ("c", "q", "0", 1.5, 1), ("d", "t", "q", 1.5, 1)),
        ),
        {"R": 0.273, "a": 0.136},
        {"p": 1.363636},
        5e-4,
    ),
    "OpenStax m58454: loaded divider, 24 V, 7 ohm, 10 beside 6 + 4": (
        Circuit(
            (("7", "a", "b", 7), ("10", "b", "0", 10), ("6", "b", "c", 6), ("4", "c", "0", 4)),
            (("E", "a", "0", 24, 0),),
        ),
        {"7": 2.0, "10": 1.0, "6": 1.0},
        {"b": 10.0, "c": 4.0},
        1e-5,
    ),
    "OpenStax m58454: 12 V over a wire of 1 ohm, 6 and 13 ohm side by side": (
        Circuit((("wire", "a", "b", 1), ("6", "b", "0", 6), ("13", "b", "0", 13)), (("E", "a", "0", 12, 0),)),
        {"wire": 2.35, "6": 1.61, "13": 0.742},
        {"b": 9.65},
        2e-3,
    ),
    "OpenStax m58458: 30 V, 1 ohm inside": (
        Circuit(
            (("9", "a", "b", 9), ("18", "a", "b", 18), ("10", "b", "c", 10), ("10b", "b", "c", 10), ("8", "c", "0", 8)),
            (("E", "a", "0", 30, 1),),
        ),
        {"8": 1.5, "9": 1.0, "18": 0.5, "10": 0.75},
        {"c": 12.0},
        1e-5,
    ),
    "OpenStax m58458: balanced bridge, the switch across it closed": (
        Circuit(
            (
                ("4", "s", "t", 4),
                ("8a", "t", "l", 8),
                ("8b", "l", "0", 8),
                ("8c", "t", "r", 8),
                ("8d", "r", "0", 8),
                ("switch", "l", "r", 1e-3),
            ),
            (("E", "s", "0", 12, 0),),
        ),
        {"4": 1.0, "switch": 0.0},
        {"t": 8.0},
        1e-5,
    ),
    "OpenStax m58458: unbalanced bridge": (
        BRIDGE,
        {"E": 1.17, "15": 0.50, "10b": 0.67, "10": 0.67, "15b": 0.50, "5": 0.17},
        {"t": 14.166667, "l": 6.666667, "r": 7.5},
        4e-3,
    ),
    "OpenStax m58455: 24 V and 29 V on one node": (
        Circuit(
            (("3", "a", "n", 3), ("3b", "n", "0", 3), ("7", "n", "c", 7)),
            (("E", "a", "0", 24, 0), ("F", "c", "0", 29, 0)),
        ),
        {"3": 3.0, "3b": 5.0, "7": -2.0},
        {"n": 15.0},
        1e-5,
    ),
    # The book's figure says 20 ohm, its formula 10: 0.20 A and 0.80 W need 20 ohm.
    "OpenStax m58455: 24 V charges 12 V": (
        Circuit(
            (("10", "a", "b", 10), ("30", "b", "c", 30), ("20", "d", "0", 20)),
            (("E", "a", "0", 24, 0), ("F", "c", "d", 12, 0)),
        ),
        {"10": 0.20, "F": -0.20},
        {},
        1e-5,
    ),
    # The book's figure says R1 = 3 ohm; its equations and powers need R1 = 1 and R1 + R4 = 3.
    "OpenStax m58455: three sources, 0.5, 0.6 and 2.3 V": (
        Circuit(
            (("1+2", "a", "n", 3), ("5+1+2", "b", "n", 8), ("1", "n", "c", 1)),
            (("0.5", "a", "0", 0.5, 0), ("2.3", "b", "0", 2.3, 0), ("0.6", "0", "c", 0.6, 0)),
        ),
        {"1+2": 0.20, "5+1+2": 0.30, "1": 0.50},
        {"n": -0.1},
        1e-5,
    ),
    "OpenStax m42359: 18 V and 45 V share 6 ohm, and the first is charged": (
        Circuit(
            (("6", "n", "0", 6), ("3", "a", "n", 3), ("2", "b", "n", 2)),
            (("A", "a", "0", 18, 0), ("B", "b", "0", 45, 0)),
        ),
        {"6": 4.75, "3": -3.50, "2": 8.25},
        {"n": 28.5},
        1e-5,
    ),
    "OpenStax m42356: 12 V, 1, 6 and 13 ohm side by side": (
        Circuit((("1", "a", "0", 1), ("6", "a", "0", 6), ("13", "a", "0", 13)), (("E", "a", "0", 12, 0),)),
        {"E": 14.92, "6": 2.0, "13": 0.92},
        {},
        5e-3,
    ),
    "OpenStax m58454: a 30 W headlamp in series with a starter of 0.06 ohm": (
        Circuit((("lamp", "a", "b", 4.8), ("starter", "b", "0", 0.06)), (("E", "a", "0", 12, 0),)),
        {"lamp": 29.6 / 12},
        {},
        5e-3,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_the_books_print(name: str) -> None:
    circuit, printed_amps, printed_volts, tolerance = CASES[name]
    volts, amps = circuit.solved()
    for branch, expected in printed_amps.items():
        assert amps[branch] == pytest.approx(expected, abs=tolerance), branch
    for node, expected in printed_volts.items():
        assert volts[node] == pytest.approx(expected, abs=tolerance), node


def test_exact_where_the_books_round() -> None:
    """The loop currents of DOE fig. 37 and the unbalanced bridge, as fractions."""
    _, loops = DOE_LOOPS.solved()
    assert [loops["50"], loops["100"], loops["200"]] == pytest.approx([0.94 / 3.5, 1.21 / 3.5, 0.27 / 3.5], abs=1e-7)
    volts, amps = BRIDGE.solved()
    assert amps["E"] == pytest.approx(7 / 6, abs=1e-6)
    assert amps["E"] * volts["t"] + 5 * amps["E"] ** 2 == pytest.approx(70 / 3, abs=1e-5)
    assert amps["5"] == pytest.approx(1 / 6, abs=1e-6)


def test_diode_and_resistor() -> None:
    """10 V, 1 kohm, 0.7 V: 9.3 mA (a teaching page's example), with a diode of no resistance to speak of."""
    from loomwright.checks.dc import device_models as laws

    matrix = np.array([[1.0, 0, 0], [0, 1e-3, -1e-3], [0, -1e-3, 1e-3]])
    bank = DeviceBank([Curve(slope=1 / IDEAL, offset=-10 / IDEAL), laws.diode(0.7, 1e-3)])
    volts = solve(Dense(matrix), bank, np.array([1, 2]), np.array([0, 0]), np.zeros(3))
    assert volts[2] - volts[0] == pytest.approx(0.7, abs=1e-4)
    assert (volts[1] - volts[2]) / 1e3 == pytest.approx(9.3e-3, abs=1e-6)
