"""A solved situation with windings in it: one period, as means for what feels these and as rms for what is warmed."""

from __future__ import annotations

from dataclasses import field, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.records import dataclass
from ..dc.connectivity import always
from ..dc.flow import Flow
from .wound import NotPeriodicError, Periodic, rms

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from .coils import Floats
    from .windings import CoilOf

FEEL_THE_MEAN = frozenset(
    (BranchType.COIL, BranchType.SUPPLY, BranchType.ELECTRONICS, BranchType.FIELD, BranchType.LED, BranchType.SENSOR)
)
"""Relays, units and light-emitting diodes follow the mean of what they get; all else is warmed or moved both ways."""


MOSTLY = 0.5
"""Of its rms, the mean of a current that is mostly alternating is less."""

LEAST_READ = 0.05
"""V between what is read and the mean, from which a terminal's volts are alternating (ours)."""

STEADY_WAVE = 0.05
"""Of its rms, by which a voltage that hardly swings does: its mean and its rms are the same to a thousandth (ours)."""

HARDLY = 0.01
"""A through a limiter, below which it does nothing."""


def _effective(wave: Floats) -> float:
    """The rms of what alternates; of what is mostly direct with its sign."""
    size, mean = float(rms(wave)), float(wave.mean())
    return -size if mean < -MOSTLY * size else size


@dataclass(frozen=True)
class WoundFlow(Flow):
    """``kept`` are means over the period ``periodic``; ``direct`` is the same without what windings give."""

    periodic: Periodic = field(repr=False)
    direct: Flow = field(repr=False)
    coils: tuple[CoilOf, ...] = ()
    limiters: tuple[str, ...] = ()

    @cached_property
    def waves(self) -> Floats:
        """V of all nodes, (moments, nodes)."""
        import numpy as np

        return np.asarray(self.periodic.volts @ self.network.reduction.recovery.T, dtype=float)

    @cached_property
    def readings(self) -> Floats:
        import numpy as np

        mean = self.waves.mean(axis=0)
        square = (self.waves**2).mean(axis=0)
        swing = np.sqrt(np.maximum(square - mean**2, 0.0))
        return np.asarray(np.where(swing > np.abs(mean), np.sqrt(square), mean), dtype=float)

    def alternates(self, node: str) -> bool:
        at = self.network.index[node]
        if abs(float(self.readings[at] - self.volts[at])) > LEAST_READ:
            return True
        # What is beside a lamp on a winding alternates as soon as it has lost its ground.
        beside = (self.between(b.a, b.b) for b in self.network.circuit.at[node] if b.branch_type.consumes)
        return any(float(rms(w)) > LEAST_READ and abs(float(w.mean())) < MOSTLY * float(rms(w)) for w in beside)

    @cached_property
    def windings(self) -> frozenset[str]:
        return frozenset(str(coil.winding) for coil in self.coils)

    @property
    def by_watts(self) -> tuple[str, ...]:  # type: ignore[override]
        return tuple(dict.fromkeys(str(coil.winding) for coil in self.coils if coil.estimated))

    def is_rough(self, key: str) -> bool:
        wave = self.wave_amps.get(key)
        return bool(self.by_watts) and wave is not None and abs(float(wave.mean())) < MOSTLY * float(rms(wave))

    def is_rms(self, key: str) -> bool:
        return key in self.windings or key in self._swinging_volts

    @cached_property
    def _swinging_volts(self) -> frozenset[str]:
        """What is warmed or moved by volts that swing, by key."""
        index = self.network.index
        chosen = [b for b in self.network.circuit.branches if b.branch_type not in FEEL_THE_MEAN]
        waves = self.waves[:, [index[b.a] for b in chosen]] - self.waves[:, [index[b.b] for b in chosen]]
        swings = waves.std(axis=0) > STEADY_WAVE * rms(waves)
        return frozenset(b.key for b, swung in zip(chosen, swings.tolist(), strict=True) if swung)

    def swinging(self, amps: float) -> dict[str, float]:
        """A rms of what carries a current that swings by more than some A rms, by key."""
        return {key: float(rms(wave)) for key, wave in self.wave_amps.items() if float(wave.std()) > amps}

    def lit_amps(self, branch: Branch, least: float) -> float | None:
        """Mean A of a light-emitting diode that is dark below some V, while it has these; ``None`` where what it gets
        hardly swings.
        """
        volts, amps = self.between(branch.a, branch.b), self.wave_amps.get(branch.key)
        if amps is None or float(volts.std()) <= STEADY_WAVE * float(rms(volts)):
            return None
        return float((amps * (volts >= least)).mean())

    @property
    def limited(self) -> tuple[tuple[str, float], ...]:  # type: ignore[override]
        amps = rms(self.periodic.limiter_amps)
        return tuple((name, float(each)) for name, each in zip(self.limiters, amps, strict=True) if each > HARDLY)

    def _turns(self, winding: str) -> list[int]:
        """The coils that lie one after the other between a winding's ends, by index: of one that goes on where another
        ends, that other's too.
        """
        own = [i for i, coil in enumerate(self.coils) if coil.winding == winding]
        beyond = {self.coils[i].tapped for i in own}
        return own + [i for i, coil in enumerate(self.coils) if i not in own and str(coil.winding) in beyond]

    def most_watts(self, winding: str) -> float:
        """W that a winding delivers at most at this speed, into the resistance that takes most."""
        import numpy as np

        made, chosen = self.periodic.wound.coils, self._turns(winding)
        ohms = float(made.ohms[chosen].sum())
        size = float(np.hypot(ohms, made.reactance[np.ix_(chosen, chosen)].sum()))
        # Of one whose watts alone are known these are the most, without its resistance.
        lost = 0.0 if any(self.coils[i].estimated for i in chosen) else ohms
        return 0.25 * abs(complex(made.volts[chosen].sum())) ** 2 / (size + lost)

    def _delivered(self, winding: str) -> Floats:
        """A out of a winding at its first terminal over the period, without what goes on into another that begins at
        its end.
        """
        amps = self.periodic.coil_amps
        own = next(i for i, coil in enumerate(self.coils) if coil.winding == winding)
        onward = [i for i, coil in enumerate(self.coils) if coil.tapped == winding and coil.winding != winding]
        found: Floats = amps[:, own] - amps[:, onward].sum(axis=1)
        return found if self.coils[own].top == self.network.circuit.by_key[winding].a else -found

    def delivered_amps(self, winding: str) -> float:
        return float(rms(self._delivered(winding)))

    def given(self, winding: str) -> float:
        """W that a winding delivers at its first terminal, and at its tap."""
        branch, index = self.network.circuit.by_key[winding], self.network.index
        watts = float((self.between(branch.a, branch.b) * self._delivered(winding)).mean())
        own = [i for i, coil in enumerate(self.coils) if coil.winding == winding]
        for above, below in pairwise(own):
            coil, amps = self.coils[below], self.periodic.coil_amps
            across = self.waves[:, index[coil.top]] - self.waves[:, index[coil.bottom]]
            watts += float((across * (amps[:, below] - amps[:, above])).mean())
        return watts

    def between(self, a: str, b: str) -> Floats:
        """V from one node to another at the moments of the period."""
        index = self.network.index
        found: Floats = self.waves[:, index[a]] - self.waves[:, index[b]]
        return found

    @cached_property
    def law_amps(self) -> dict[str, float]:
        return dict(zip(self.laws.keys, self.periodic.law_amps.mean(axis=0).tolist(), strict=True))

    @cached_property
    def wave_amps(self) -> dict[str, Floats]:
        """A through every branch that carries any, and taken by every source, at the moments of the period."""
        network, situation = self.network, self.situation
        found: dict[str, Floats] = {}
        for branch in network.static:
            found[branch.key] = self.between(branch.a, branch.b) * network.siemens(branch)
        for branch in network.guarded:
            if (always(branch) or branch.key in situation.conducting) and branch.key not in situation.resting:
                found[branch.key] = self.between(branch.a, branch.b) * network.siemens(branch)
        for i, key in enumerate(self.laws.keys):
            found[key] = self.periodic.law_amps[:, i]
        for i, coil in enumerate(self.coils):
            if coil.winding not in found:  # of a tapped winding the current of its first part
                found[coil.winding] = -self.periodic.coil_amps[:, i]
        return found

    @cached_property
    def amps(self) -> dict[str, float]:
        """Of loads that feel the mean and of sources the mean, of all others the rms with the sign of the mean."""

        found: dict[str, float] = dict.fromkeys((b.key for b in self.network.circuit.branches), 0.0)
        by_key = self.network.circuit.by_key
        for key, wave in self.wave_amps.items():
            branch = by_key.get(key)
            mean = float(wave.mean())
            found[key] = _effective(wave) if branch is not None and self.is_rms(key) else mean
        return found

    @cached_property
    def squares(self) -> dict[str, float]:
        found = dict.fromkeys(self.amps, 0.0)
        found.update((key, float((wave**2).mean())) for key, wave in self.wave_amps.items())
        return found

    def across(self, branch: Branch) -> float:

        wave = self.between(branch.a, branch.b)
        return _effective(wave) if self.is_rms(branch.key) else float(wave.mean())

    def peaks(self, branch: Branch) -> tuple[float, float]:
        wave = self.between(branch.a, branch.b)
        return max(float(wave.max()), 0.0), max(-float(wave.min()), 0.0)

    def watts(self, branch: Branch) -> float:
        """W taken by a branch; of a winding those that it gives."""
        if branch.branch_type is BranchType.WINDING:
            return self.given(branch.key)
        amps = self.wave_amps.get(branch.key)
        return 0.0 if amps is None else float((self.between(branch.a, branch.b) * amps).mean())

    def lamps_without(self, key: str) -> dict[str, float] | None:
        """V rms across every lamp but one, by key, while that one is out; ``None`` where nothing steady is found, or
        the watts of a winding are too little to find it by.
        """
        import numpy as np

        from .phasors import phasors
        from .time_steps import time_steps

        wound = self.periodic.wound
        kept = [i for i, each in enumerate(self.laws.keys) if each != key]
        left = replace(
            wound, tops=wound.tops[kept], bottoms=wound.bottoms[kept], curves=tuple(wound.curves[i] for i in kept)
        )
        try:
            found = phasors(left, self.direct.kept)
            if found is None and not self.by_watts:
                still = [place for place, i in enumerate(wound.lamps) if self.laws.keys[i] != key]
                still += range(len(wound.lamps), self.periodic.siemens.size)
                found = time_steps(left, (self.periodic.coil_amps[-1], self.periodic.siemens[still]))
        except NotPeriodicError:
            return None
        if found is None:
            return None
        across = np.asarray(rms(found.volts[:, left.tops] - found.volts[:, left.bottoms]))
        return {self.laws.keys[i]: float(across[place]) for place, i in enumerate(kept) if left.curves[place].filament}
