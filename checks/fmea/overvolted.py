"""Lamps on windings that a fault gives more than they last at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ..dc.devices import tested_volts
from .effects import Category, Effect

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..operation.operation import OperatingPoint

    Floats = NDArray[np.float64]

BURNS_OUT = 1.2
"""Times the volts that it is made for, at which a lamp soon burns out (ours, as in overvoltage)."""


def overvolted(point: OperatingPoint, branches: Sequence[Branch], before: Floats, shares: Floats) -> Iterator[Effect]:
    """The lamps that burn out by a fault: nothing but a winding has volts that rise so.

    ``before`` and ``shares``: what each of the ``branches`` gets, of nominal volts, without the fault and with it.
    """
    if not point.flow.network.periodic:
        return
    for i, branch in enumerate(branches):
        if branch.branch_type is BranchType.LAMP:
            nominal = branch.made_for(point.circuit.harness.volts)
            most = BURNS_OUT * tested_volts(nominal) / nominal
            if shares[i] > most >= before[i]:
                yield Effect(branch.key, "live", "burning out", float(shares[i] * nominal), Category.CRITICAL)
