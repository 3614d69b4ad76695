"""The quick way: volts and amps as complex numbers, where every law stays on one straight stretch over the period.

Only lamps and resistors are fed by most magnetos: a lamp's filament is far too slow to follow the wave, so it is the
resistance that its rms volts ask for. Whether the way is right is seen afterwards: no law has left its stretch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .wound import KEPT, NotPeriodicError, Periodic, likely_steady, stretch

if TYPE_CHECKING:
    from collections.abc import Callable

    from .coils import Floats
    from .wound import Slow, Wound

SAMPLES = 12
"""Moments of a period in which a sine is stated: its mean and its rms come out exactly from three on."""

NEWTON_ROUNDS = 15
NUDGE = 1e-6
FARTHEST = 1.5
"""In powers of e, by which a conductance changes in one round of Newton's method at most (ours)."""

MOST_ROUNDS = 200

MIXED = 0.02
"""Of a lamp's volts, rms: with more than this of both kinds its direct current is not what it was solved to be."""

AT_KNEE = 1e-6
"""V beyond a knee at which a law is on either stretch: a battery at rest lies on one, but for the last digit."""


def phasors(wound: Wound, at_rest: Floats) -> Periodic | None:
    """One period of a network whose direct volts are ``at_rest`` (n,); ``None`` where a law bends within it.

    Raises ``NotPeriodicError``.
    """
    import numpy as np

    slow, coils = wound.slow, wound.coils
    resting = at_rest[wound.tops] - at_rest[wound.bottoms]
    stretches = {i: stretch(wound.curves[i], float(resting[i])) for i in wound.straight}
    matrix = wound.siemens.astype(complex)
    for i, (slope, _, _, _) in stretches.items():
        _stamp(matrix, int(wound.tops[i]), int(wound.bottoms[i]), slope)
    into = wound.incidence(coils.tops, coils.bottoms)
    admittance = np.linalg.inv(np.diag(coils.ohms) + 1j * coils.reactance)
    matrix += into @ admittance @ into.T
    siemens = slow.first()
    for top, bottom, each in zip(slow.tops, slow.bottoms, siemens, strict=True):
        _stamp(matrix, int(top), int(bottom), float(each))
    solved = np.linalg.inv(matrix)
    driven = solved @ (into @ (admittance @ coils.volts))
    across = wound.incidence(slow.tops, slow.bottoms)
    between, open_ = across.T @ solved @ across, across.T @ driven
    first, steady = siemens, at_rest[slow.tops] - at_rest[slow.bottoms]
    unit = np.eye(siemens.size)

    def wanted(siemens: Floats) -> Floats:
        """What conductances ask for, along the last axis."""
        matrices = unit + between * (siemens - first)[..., None, :]
        met = np.linalg.solve(matrices, np.broadcast_to(open_[:, None], (*siemens.shape, 1)))[..., 0]
        return slow.wanted(siemens, np.sqrt(0.5 * np.abs(met) ** 2 + steady**2))

    siemens = _settled(slow, wanted)
    met = np.linalg.solve(unit + between * (siemens - first), open_)
    kept = driven - solved @ (across @ ((siemens - first) * met))
    swing = np.abs(kept[wound.tops] - kept[wound.bottoms])
    for i, (_, _, low, high) in stretches.items():
        if resting[i] - swing[i] < low - AT_KNEE or resting[i] + swing[i] > high + AT_KNEE:
            return None
    lamps = slow.lamp_volts.size
    mixed = np.minimum(np.abs(steady[:lamps]), np.abs(met[:lamps])) > MIXED * slow.lamp_volts
    if mixed.any():
        return None
    turns = np.exp(2j * np.pi * np.arange(SAMPLES) / SAMPLES)
    amps = admittance @ (coils.volts - into.T @ kept)
    return Periodic(wound, at_rest + (np.outer(turns, kept)).imag, np.outer(turns, amps).imag, siemens)


def _settled(slow: Slow, wanted: Callable[[Floats], Floats]) -> Floats:
    """The conductances that ask for themselves: by Newton's method, and where that goes astray, round by round.

    Raises ``NotPeriodicError``.
    """
    import numpy as np

    begun = slow.scaled(slow.first())
    state, nudges = begun, np.asarray(NUDGE * np.eye(begun.size), dtype=float)
    for _ in range(NEWTON_ROUNDS):
        # One call for the state and for each of its numbers nudged: what a nudge changes is the slope.
        siemens = slow.siemens(np.concatenate((state[None, :], state + nudges)))
        asked = wanted(siemens)
        if slow.settled(siemens[0], asked[0]):
            return np.asarray(siemens[0], dtype=float)
        after = slow.scaled(asked)
        slopes = (after[1:] - after[0]).T / NUDGE - np.eye(begun.size)
        try:
            state = state - np.clip(np.linalg.solve(slopes, after[0] - state), -FARTHEST, FARTHEST)
        except np.linalg.LinAlgError:
            break
    state = begun
    tried: list[tuple[Floats, Floats]] = []
    for _ in range(MOST_ROUNDS):
        siemens = slow.siemens(state)
        asked = wanted(siemens)
        if slow.settled(siemens, asked):
            return siemens
        tried = [*tried[-KEPT:], (state, slow.scaled(asked))]
        state = likely_steady(tried)
    raise NotPeriodicError(float(np.abs(slow.scaled(asked) - slow.scaled(siemens)).max(initial=0.0)))


def _stamp(matrix: object, a: int, b: int, siemens: float) -> None:
    from ..dc.kron_reduction import stamp

    stamp(matrix, [(a, b, siemens)])  # type: ignore[arg-type]  # complex in place of real: the same four sums
