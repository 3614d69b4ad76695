"""Which wires a fault overheats: a return that is lost sends its current through what is left."""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

from ..protection.warming import short_time_limit, temperature
from ..tables.conductors import copper
from .effects import Category, Effect

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..dc.nodal_equations import NodalEquations
    from ..operation.operation import OperatingPoint
    from ..protection.protection import Protection
    from .propagation import After

    Floats = NDArray[np.float64]

TOO_MUCH = 1.5
"""Times what a wire may carry, from which a fault overheats it (ours): less is a matter for the sizes, not for a fault.
"""


class Carried:
    """What the wires of a harness may carry, held against what they carry after a fault."""

    def __init__(self, protection: Protection, network: NodalEquations) -> None:
        self.protection = protection
        self.network = network

    @cached_property
    def _wires(self) -> list[tuple[Branch, float, float]]:
        """Each piece of wire with a size: its ampacity, and its rating for the profile's cranking time, in A.

        A wire without a size or a row in the tables is not judged here; ``not-judged`` says so.
        """
        found = []
        for branch in self.network.circuit.branches:
            segment = branch.segment
            if segment is None or segment.size is None or self.network.rated[branch.key].ohms is None:
                continue
            carries = self.protection.ampacities.of(segment)
            if carries is not None and carries.amps is not None:
                seconds = self.protection.profile.cranking_seconds
                brief = short_time_limit(self.protection.ampacities, segment, seconds)
                found.append((branch, carries.amps, brief))
        return found

    @cached_property
    def _arrays(self) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats, Floats, Floats]:
        """Ends, conductances, and the two limits."""
        import numpy as np

        index, rated = self.network.index, self.network.rated
        branches = [branch for branch, _, _ in self._wires]
        return (
            np.array([index[b.a] for b in branches], dtype=np.intp),
            np.array([index[b.b] for b in branches], dtype=np.intp),
            np.array([1.0 / (rated[b.key].ohms or 1.0) for b in branches]),
            np.array([limit for _, limit, _ in self._wires]),
            np.array([limit for _, _, limit in self._wires]),
        )

    def hot(self, point: OperatingPoint, volts: Floats) -> NDArray[np.bool_]:
        """Which wires carry far more than they may at these volts of all nodes, and do not in the sound state; (cases,
        wires).

        A short time counts while a control is held or the engine cranks.
        """
        import numpy as np

        a, b, siemens, continuous, brief = self._arrays
        most = TOO_MUCH * (brief if point.momentary else continuous)
        before = np.abs(point.flow.volts[a] - point.flow.volts[b]) * siemens <= most
        return np.asarray((np.abs(volts[:, a] - volts[:, b]) * siemens > most) & before)

    def overheated(self, point: OperatingPoint, after: After, hot: NDArray[np.bool_]) -> Iterator[Effect]:
        """The wires that a fault overheats, of those that are ``hot`` then."""
        if after.volts is None:
            return
        a, b, siemens, _, _ = self._arrays
        for i in hot.nonzero()[0].tolist():
            branch = self._wires[i][0]
            if branch.key not in after.damage.keys:
                amps = abs(float(after.volts[a[i]] - after.volts[b[i]])) * float(siemens[i])
                heated = "melted" if self._melts(branch, amps, held=point.momentary) else "overheated"
                yield Effect(branch.key, "within its rating", heated, amps, Category.CATASTROPHIC)

    def _melts(self, branch: Branch, amps: float, *, held: bool) -> bool:
        """Whether the copper of a wire would melt before the control is released, or the current has gone on for long.

        What it comes to is reckoned as in ``states``.
        """
        if branch.segment is None:
            return False
        seconds = self.protection.profile.cranking_seconds if held else math.inf
        celsius = temperature(self.protection.ampacities, branch.segment, amps, seconds=seconds)
        return celsius is not None and celsius >= copper().melting_point
