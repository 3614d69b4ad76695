"""The general way: small steps over one period, period after period, until one is like the one before.

Diodes, taps, half waves and light-emitting diodes bend within the wave. Between their knees everything is straight, and
a machine meets only a few combinations of stretches, so that one small matrix for each, kept, makes a step.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .wound import KEPT, NotPeriodicError, Periodic, knees, likely_steady, rms

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from .coils import Floats
    from .wound import Wound

STEPS = 240
"""A period: diodes switch at the end of a step only, and 180 are visibly worse (ours)."""

IMPLICIT = 0.52
"""Weight of a step's end. A half is the most exact and rings without end in open windings; 1 takes power away."""

MOST_PERIODS = 120
REPEATED = 5e-5
"""Of the largest current, by which two periods may differ (ours)."""

MOST_TRIES = 40

AT_KNEE = 1e-9
"""V beyond a knee at which a law is on either stretch."""


def time_steps(wound: Wound, start: tuple[Floats, Floats] | None = None, steps: int = STEPS) -> Periodic:
    """One steady period. ``start``: A in the coils to begin with, S of what is slow. Raises ``NotPeriodicError``."""
    import numpy as np

    marched = _March(wound, steps)
    slow, count = wound.slow, wound.coils.count
    scale = float(np.abs(wound.coils.volts).max(initial=0.0)) / wound.coils.least_impedance or 1.0
    amps, siemens = (np.zeros(count), slow.first()) if start is None else start
    state = np.concatenate((amps / scale, slow.scaled(siemens)))
    tried: list[tuple[Floats, Floats]] = []
    off = np.inf
    for _ in range(MOST_PERIODS):
        siemens = slow.siemens(state[count:])
        marched.period(state[:count] * scale, siemens)
        volts = marched.volts()
        across = rms(volts[:, slow.tops] - volts[:, slow.bottoms])
        wanted = slow.wanted(siemens, across)
        reached = np.concatenate((marched.amps[-1] / scale, slow.scaled(wanted)))
        off = float(np.abs(reached[:count] - state[:count]).max(initial=0.0))
        if off < REPEATED * max(1.0, float(np.abs(marched.amps).max(initial=0.0)) / scale) and slow.settled(
            siemens, wanted
        ):
            return Periodic(wound, volts, np.array(marched.amps), siemens)
        tried = [*tried[-KEPT:], (state, reached)]
        state = likely_steady(tried)
    raise NotPeriodicError(off)


class _March:
    """The steps of one network; what is kept is good while lamps and limiters stay as they are."""

    def __init__(self, wound: Wound, steps: int) -> None:
        import numpy as np

        self._np, self._wound, self._steps = np, wound, steps
        coils = wound.coils
        h = 2.0 * np.pi / steps
        self._inductance = coils.reactance / (IMPLICIT * h)
        self._back = (1.0 - IMPLICIT) / IMPLICIT
        self._through = np.linalg.inv(self._inductance + np.diag(coils.ohms))
        angle = h * np.arange(1, steps + 1)
        self._driving = np.outer(np.exp(1j * angle), coils.volts).imag
        self._into = wound.incidence(coils.tops, coils.bottoms)
        chosen = list(wound.straight)
        self._laws = wound.incidence(wound.tops[chosen], wound.bottoms[chosen])
        curves = [wound.curves[i] for i in chosen]
        self._slopes = np.array([c.slope for c in curves])
        self._offsets = np.array([c.offset for c in curves])
        self._of, self._at, self._by, self._side = knees(curves)
        self._flat = wound.siemens + self._into @ self._through @ self._into.T
        self._made: dict[bytes, tuple[Floats, ...]] = {}
        self._siemens: Floats | None = None
        self._base = self._flat
        self._active: NDArray[np.bool_] = np.zeros(self._of.size, dtype=bool)
        self._behind: Floats = np.zeros(coils.count)
        self.amps: list[Floats] = []
        self._met: list[bytes] = []
        self._pushed: list[Floats] = []

    def period(self, amps: Floats, siemens: Floats) -> None:
        """One period from currents in the coils on, while lamps and limiters have these conductances."""
        np = self._np
        if self._siemens is None or not np.array_equal(siemens, self._siemens):
            self._siemens, self._made = siemens, {}
            slow = self._wound.incidence(self._wound.slow.tops, self._wound.slow.bottoms)
            self._base = self._flat + (slow * siemens) @ slow.T
        self.amps, self._met, self._pushed = [], [], []
        inductance, back, count = self._inductance, self._back, len(amps)
        behind, flux = self._behind, inductance @ amps
        key = self._active.tobytes()
        made = self._made.get(key) or self._make(key)
        for driving in self._driving:
            pushed = driving + flux + back * behind
            # Most steps stay on the stretches of the one before: one product gives currents and knees at once.
            met = made[0] @ pushed + made[1]
            if (met[count:] > 0.0).tobytes() != key:
                key, made = self._stretches(key, pushed)
                met = made[0] @ pushed + made[1]
            now, before = met[:count], flux
            flux = inductance @ now
            behind = flux - before - back * behind
            self.amps.append(now)
            self._met.append(key)
            self._pushed.append(pushed)
        self._behind, self._active = behind, np.frombuffer(key, dtype=bool)

    def _stretches(self, key: bytes, pushed: Floats) -> tuple[bytes, tuple[Floats, ...]]:
        """The stretches that all laws are on at the end of a step, and what follows from them."""
        np = self._np
        tried, count = 0, self._wound.coils.count
        while True:
            found = self._made.get(key) or self._make(key)
            beyond = (found[0] @ pushed + found[1])[count:]
            active = beyond > 0.0
            now = active.tobytes()
            if now == key:
                return key, found
            before = np.frombuffer(key, dtype=bool)
            off = np.where(active != before, np.abs(beyond), 0.0)
            if float(off.max()) < AT_KNEE:
                return key, found
            tried += 1
            if tried > MOST_TRIES:
                return self._exact(pushed)
            if tried > 8:  # all at once may go to and fro: only the one that is furthest off
                worst = int(np.argmax(off))
                only = before.copy()
                only[worst] = active[worst]
                now = only.tobytes()
            key = now

    def _exact(self, pushed: Floats) -> tuple[bytes, tuple[Floats, ...]]:
        """The same by the solver of direct current, which cannot go astray."""
        from ..dc.device_models import Curve, DeviceBank
        from ..dc.newton import Dense, solve

        np, wound = self._np, self._wound
        chosen = list(wound.straight)
        tops, bottoms = wound.tops[chosen], wound.bottoms[chosen]
        given = [Curve(offset=-float(amps)) for amps in self._through @ pushed]
        bank = DeviceBank([*(wound.curves[i] for i in chosen), *given])
        starts, ends = np.concatenate((tops, wound.coils.tops)), np.concatenate((bottoms, wound.coils.bottoms))
        volts = solve(Dense(self._base), bank, starts, ends, np.zeros(len(self._base)))
        beyond = (volts[tops] - volts[bottoms])[self._of] - self._at
        key = (beyond * self._side > 0.0).tobytes()
        return key, self._made.get(key) or self._make(key)

    def _make(self, key: bytes) -> tuple[Floats, ...]:
        """For stretches: A of the coils and V beyond each knee, in its direction, by what pushes the coils, and without
        it; then V of the nodes.
        """
        np = self._np
        active = np.frombuffer(key, dtype=bool)
        by = self._by * active
        slopes = self._slopes + np.bincount(self._of, by, self._slopes.size)
        offsets = self._offsets - np.bincount(self._of, by * self._at, self._slopes.size)
        solved = np.linalg.inv(self._base + (self._laws * slopes) @ self._laws.T)
        nodes = solved @ self._into @ self._through
        resting = -solved @ (self._laws @ offsets)
        side = self._side[:, None]
        amps = self._through - self._through @ (self._into.T @ nodes)
        found: tuple[Floats, ...] = (
            np.concatenate((amps, side * (self._laws.T @ nodes)[self._of])),
            np.concatenate(
                (
                    -self._through @ (self._into.T @ resting),
                    self._side * ((self._laws.T @ resting)[self._of] - self._at),
                )
            ),
            nodes,
            resting,
        )
        self._made[key] = found
        return found

    def volts(self) -> Floats:
        """V of all nodes over the last period, (N, n)."""
        np = self._np
        pushed = np.array(self._pushed)
        found: Floats = np.zeros((self._steps, len(self._base)))
        for key in dict.fromkeys(self._met):
            rows = [i for i, met in enumerate(self._met) if met == key]
            _, _, nodes, resting = self._made[key]
            found[rows] = pushed[rows] @ nodes.T + resting
        return found
