"""What swings at each node about its mean, as harmonics: of two nodes they tell what is between them, which the volts
of either against ground do not.

In rms V, so that the root of the sum of their squares is an rms. What is between two nodes is the difference of their
harmonics, and what is between two solved cases lies between theirs: both are straight in the waves. Published: the
theorem of Parseval, from memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from ..dc.flow import Flow
    from ..dc.nodal_equations import NodalEquations
    from .coils import Floats, Places

HARMONICS: Final = 16
"""As many are kept of a period (ours): of a square wave, whose harmonics fall off slowest of all that windings and
diodes make, those beyond are 3 % of the mean square.
"""

ROWS: Final = 2 * HARMONICS


def harmonics(waves: Floats) -> Floats:
    """V rms of each harmonic, its parts in and out of step one after the other; (rows, nodes) of (moments, nodes)."""
    import numpy as np

    moments = len(waves)
    parts = np.fft.rfft(waves, axis=0)[1 : HARMONICS + 1] * (np.sqrt(2.0) / moments)
    if moments % 2 == 0 and len(parts) == moments // 2:
        parts[-1] /= np.sqrt(2.0)  # the highest that so few moments tell has no part out of step
    found = np.zeros((ROWS, waves.shape[1]))
    found[: len(parts)], found[HARMONICS : HARMONICS + len(parts)] = parts.real, parts.imag
    return found


def swing_rows(network: NodalEquations) -> int:
    """Rows of harmonics that a solved situation of a circuit may have: none where no winding drives anything."""
    return ROWS if network.coils else 0


def swings(flow: Flow) -> Floats | None:
    """What swings at all nodes of a solved situation about their means; ``None`` where all is direct."""
    return None if flow.waves is None else harmonics(flow.waves)


def stacked(volts: Floats, swings: Floats | None, rows: int) -> Floats:
    """Mean V of all nodes on top of ``rows`` of harmonics, none where nothing swings; (1 + rows, nodes)."""
    import numpy as np

    found = np.zeros((1 + rows, len(volts)))
    found[0] = volts
    if swings is not None:
        found[1:] = swings
    return found


def stack_of(flow: Flow) -> Floats:
    """The stack of a solved situation."""
    return stacked(flow.volts, swings(flow), swing_rows(flow.network))


def mean(stack: Floats, a: int | Places, b: int | Places) -> Floats:
    """V from one node to another on the average; rows and nodes are the last two axes."""
    found: Floats = stack[..., 0, a] - stack[..., 0, b]
    return found


def swing(stack: Floats, a: int | Places, b: int | Places) -> Floats:
    """V rms by which what is between two nodes swings about its mean."""
    import numpy as np

    found: Floats = np.sqrt(((stack[..., 1:, a] - stack[..., 1:, b]) ** 2).sum(axis=stack.ndim - 2))
    return found


def rms_between(stack: Floats, a: int | Places, b: int | Places) -> Floats:
    """V rms between two nodes, mean and all."""
    import numpy as np

    found: Floats = np.sqrt(((stack[..., a] - stack[..., b]) ** 2).sum(axis=stack.ndim - 2))
    return found
