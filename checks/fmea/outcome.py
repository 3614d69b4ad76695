"""What one fault does in one state."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from .effects import Effect
from .failure_modes import Fault

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Outcome:
    """One fault in one state. ``volts`` are the means of all nodes, in the order of the network, ``stack`` these and
    what swings about them, see ``ac.harmonics``, and ``shares`` what each element gets, where more than the effects was
    asked for; ``stopped`` the ignition parts whose kill wire is
    grounded; ``problem`` where it could not be solved.
    """

    fault: Fault
    state: str
    effects: tuple[Effect, ...] = ()
    volts: Floats | None = field(default=None, repr=False, compare=False)
    shares: Floats | None = field(default=None, repr=False, compare=False)
    stopped: frozenset[str] = frozenset()
    problem: str = ""
    stack: Floats | None = field(default=None, repr=False, compare=False)
