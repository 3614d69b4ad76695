"""What a meter shows between two terminals, set to DC volts or to AC volts; ``stacks`` are volts with what swings
about them, as ``ac.harmonics`` has them.

On DC volts it shows the mean of what is between them, with its sign. On AC volts most block the mean and show what
swings about it, and some take both: what is read lies between the two, which are the same where nothing is direct.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..ac.harmonics import mean, rms_between, swing
from ..ac.wound_flow import FEEL_THE_MEAN

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from .observations import Read, Setting

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

DC: Final = "DC"
AC: Final = "AC"


def ends(stacks: Floats, a: int | Places, b: int | Places, setting: Setting) -> tuple[Floats, Floats]:
    """The least and the most V that a meter shows with its red lead on node ``a`` and its black one on ``b``."""
    if setting == AC:
        return swing(stacks, a, b), rms_between(stacks, a, b)
    direct = mean(stacks, a, b)
    return direct, direct


def nearest(stacks: Floats, a: int, b: int, each: Read) -> Floats:
    """What a meter shows that is nearest to a reading. Where that does not say how it was set, as it shows what there
    is most of, what swings or what does not, or as direct volts.
    """
    import numpy as np

    direct = mean(stacks, a, b)
    if each.either_way:
        direct = np.abs(direct)
    if each.setting == DC:
        return direct
    least, most = ends(stacks, a, b, AC)
    alternating = np.clip(each.volts, least, most)
    if each.setting == AC:
        return np.asarray(alternating)
    nearer = (np.abs(alternating - each.volts) < np.abs(direct - each.volts)) & (least > np.abs(direct))
    return np.where(nearer, alternating, direct)


def felt(stacks: Floats, a: int, b: int, branch: Branch) -> Floats:
    """V between the ends of an element as it feels them: the size of their mean, or their rms."""
    import numpy as np

    if branch.branch_type in FEEL_THE_MEAN:
        return np.abs(mean(stacks, a, b))
    return rms_between(stacks, a, b)
