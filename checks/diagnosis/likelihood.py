"""How well what is seen and read agrees with what a fault would show."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..fmea.effects import WORDS
from ..tables.meter import meter_figures
from ..tables.proving import proving
from .observations import Observation, Read, Seen
from .predictions import Predictions
from .shown import AC, nearest
from .statuses import USUAL

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


WORD_FITS = (1.0, 0.2, 0.02)
"""How well a standing agrees with one that is the same, the next, or the one after (ours): a dim lamp is easily called
dead in the sun; a dead one is not called live.
"""

AGREES = 0.5
"""How well something must fit to be called explained: a reading just a tolerance away does."""


def fits(
    here: Predictions,
    seen: tuple[Observation, ...],
    stacks: Floats,
    codes: NDArray[np.intp],
    looks: Sequence[NDArray[np.intp]] = (),
) -> Floats:
    """How well each observation agrees with what is predicted, 0 to 1: half where a reading is a tolerance off.

    Nothing ever fits not at all: one reading that was taken in the wrong place does not acquit. ``stacks``:
    (cases, rows, nodes); ``codes`` as ``_codes`` has them, ``looks`` as ``_looks``: words that are right by either
    are right, all of them by the same one, since one person says them. By one who calls something dim, lights are
    judged by how they look alone: what does not work well is live to nobody who sees that. So is what is dim without
    any fault: who calls it dim means dimmer than that. The result: (cases, observations).
    """
    import numpy as np

    if looks:
        by_eye = here.statuses.sound_codes[0] == WORDS.index("dim")
        if any(isinstance(each, Seen) and each.word == "dim" for each in seen):
            by_eye = by_eye | here.statuses.lights
        codes = np.where(by_eye, looks[USUAL], codes)
    found, figures = np.empty((stacks.shape[0], len(seen))), meter_figures()
    words = [(i, each) for i, each in enumerate(seen) if isinstance(each, Seen)]
    found[:, [i for i, _ in words]] = _by_one_eye(here, [each for _, each in words], (codes, *looks))
    for i, each in enumerate(seen):
        if isinstance(each, Read):
            predicted = predicted_volts(here, each, stacks)
            least = figures.reading_floor * here.nominal
            allowed = least + figures.reading_share * np.abs(predicted)
            if too_much(here, each):  # what charges as it should is never read so high, however much a battery differs
                room = here.most_charged - np.abs(predicted)
                allowed = np.where(room >= 0.0, np.clip(room, least, allowed), allowed)
            if each.close:
                allowed = np.minimum(allowed, proving("charge_volts") * here.nominal / 12.0)
            found[:, i] = 1.0 / (1.0 + ((predicted - each.volts) / allowed) ** 2)
    return found


def _by_one_eye(here: Predictions, seen: Sequence[Seen], ways: Sequence[NDArray[np.intp]]) -> Floats:
    """How well each word agrees, (cases, words), by the one of some ways to see things by which all agree best."""
    import numpy as np

    if not seen:
        return np.empty((len(ways[0]), 0))
    fitting = np.empty((len(ways), len(ways[0]), len(seen)))
    for i, each in enumerate(seen):
        inside = here.statuses.inside[each.thing]
        for k, way in enumerate(ways):
            off = np.abs(way[:, inside].max(axis=1) - WORDS.index(each.word))  # as live as the liveliest in it
            fitting[k, :, i] = np.array(WORD_FITS)[off]
    best = np.lexsort((fitting.prod(axis=2), (fitting >= AGREES).sum(axis=2)), axis=0)[-1]
    return np.asarray(fitting[best, np.arange(len(ways[0]))])


def too_much(here: Predictions, each: Observation) -> bool:
    """Whether a direct voltage was read that is over what a battery is charged with."""
    if not isinstance(each, Read) or each.setting == AC or abs(each.volts) <= here.most_charged:
        return False
    return not (here.point.flow.alternates(each.red) or here.point.flow.alternates(each.black))


def too_little(here: Predictions, each: Observation) -> bool:
    """Whether less was read across a battery than it is charged with: near enough to that for a meter, and too little
    for a regulator.
    """
    if not isinstance(each, Read) or each.setting == AC or math.isinf(here.most_charged):
        return False
    ends = {each.red, each.black}
    return abs(each.volts) < here.least_charged and any(
        ends == {*supply.plus, supply.minus} for supply, _ in here.point.flow.network.batteries
    )


def predicted_volts(here: Predictions, each: Read, stacks: Floats) -> Floats:
    """V that a meter would show, in each case, nearest to what was read: rows and nodes in the last two axes."""
    index = here.point.flow.network.index
    return nearest(stacks, index[each.red], index[each.black], each)
