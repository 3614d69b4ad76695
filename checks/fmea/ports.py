"""One situation of a network, and what a fault changes of it."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ..dc.connectivity import always
from ..dc.devices import NEGLIGIBLE_OHMS

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ..dc.laws import Laws
    from ..dc.nodal_equations import NodalEquations
    from ..dc.situation import Situation
    from .failure_modes import Damage

    Floats = NDArray[np.float64]

GONE = 1e-10
"""Siemens that are left of a law that is gone (ours): so little that what blocks passes a thousand times as much,
enough to leave no node loose."""

CUT_OFF = 1e-10
"""A conductor through whose ends no more than this share of a current gets past itself joins two halves (ours)."""


@dataclass(frozen=True)
class Struck:
    """One situation after each of some faults. ``volts`` by fault and node, ``law_amps`` by fault and law of
    ``Ports.laws``, ``kept`` the volts of the nodes that stay in the network's reduction, to go on from.

    ``good`` marks those whose numbers can be trusted: solve the others plainly.
    """

    kept: Floats
    volts: Floats
    law_amps: Floats
    good: NDArray[np.bool_]


class Ports:
    """One situation of a network, with its ``laws``."""

    laws: Laws

    def __init__(self, network: NodalEquations, situation: Situation) -> None:
        self.network = network
        self.situation = situation

    @cached_property
    def island(self) -> frozenset[str]:
        """What is connected to the ground pole. Any other island has its own 0 V here."""
        return frozenset(self.network.paths.joined_to((self.network.circuit.ground,), self.situation))

    def elsewhere(self, damage: Damage) -> bool:
        """Whether a short to ground joins the ground pole with an island that nothing else joins it with."""
        return bool(damage.grounded) and damage.grounded not in self.island

    def changes(self, damage: Damage) -> list[tuple[int, int, float]]:
        """The nodes between which a damage takes siemens away, or adds some."""
        network, index = self.network, self.network.index
        found = []
        for branch in damage.opened:
            conducts = always(branch) or branch.key in self.situation.conducting
            if conducts and network.rated[branch.key].ohms is not None:
                found.append((index[branch.a], index[branch.b], -network.siemens(branch)))
        for branch, ohms in damage.resisting:
            if always(branch) or branch.key in self.situation.conducting:
                siemens = network.siemens(branch)
                found.append((index[branch.a], index[branch.b], siemens / (1.0 + siemens * ohms) - siemens))
        if damage.grounded and not self.elsewhere(damage):
            found.append((index[damage.grounded], index[network.circuit.ground], 1.0 / NEGLIGIBLE_OHMS))
        return [(a, b, siemens) for a, b, siemens in found if a != b and siemens]

    def own_zero(self, damage: Damage, volts: Floats) -> None:
        """Put an island that a short joins to ground on the 0 V of ground, in place; volts of all nodes, shape (n,).

        One joint alone carries nothing: it says what is 0 V there, and no more.
        """
        there = self.network.paths.joined_to((damage.grounded,), self.situation)
        places = [self.network.index[node] for node in sorted(there)]
        volts[places] -= volts[self.network.index[damage.grounded]]
