"""What a fault leaves once all is at rest again."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ..dc.memory import Memory
from ..dc.situation import Situation

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    from ..dc.flow import Flow
    from ..dc.laws import Laws
    from .failure_modes import Damage

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class After:
    """A state at rest after a fault. ``volts`` are the means of all nodes of the sound network, ``swings`` what
    these swing by, see ``ac.harmonics``, ``None`` where nothing does; ``law_amps`` by law of
    ``laws``; ``stopped`` the ignition parts whose kill wire is grounded, ``unbroken`` the elements whose current a
    crank switch interrupted and interrupts no more, by key; ``problem`` says why none of this is known, and
    ``restless`` the parts that prevent it: those that keep switching, or the one without an operating point.
    ``moments``: of a bad joint that keeps something switching, what it is in turn. ``warming``: A rms of what windings
    drive, and ``felt``: V across what takes current of them, by key, which no volts of terminals tell; ``leads``: the
    most A rms in a lead of each winding and measured stator, by name.
    """

    damage: Damage
    memory: Memory = field(default_factory=Memory)
    situation: Situation = field(default_factory=lambda: Situation(frozenset()))
    laws: Laws | None = None
    volts: Floats | None = None
    law_amps: Floats | None = None
    stopped: frozenset[str] = frozenset()
    unbroken: frozenset[str] = frozenset()
    problem: str = ""
    restless: tuple[str, ...] = ()
    moments: tuple[After, ...] = ()
    warming: Mapping[str, float] = field(default_factory=dict)
    felt: Mapping[str, float] = field(default_factory=dict)
    leads: Mapping[str, float] = field(default_factory=dict)
    swings: Floats | None = None


def felt(flow: Flow) -> dict[str, float]:
    """V across each consumer of a state with windings, as it feels them, by key: two terminals may alternate against
    each other, and what a meter shows of either against ground tells nothing of that.
    """
    if not flow.windings:
        return {}
    return {branch.key: flow.across(branch) for branch in flow.network.circuit.branches if branch.branch_type.consumes}
