"""What colours, places and halves say before any reading: the weight of every half of a survey on every candidate."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from ...lang.survey.words import SIDES
from ...lang.vocabulary.colours import Colour
from ..tables.survey import survey_figures
from .candidates import Candidate, Sort, candidates
from .matching import EndClass, Maps, could_fit, maps, shares_on, total, unknown_share

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.model.harness import Harness
    from ...lang.survey.record import Half, Survey
    from ..meter import Meter

    Floats = NDArray[np.float64]

NOTHING: Final = "nothing"
"""What a half is called that is on no diagram."""

HOPELESS: Final = 1e-7
"""A candidate that cannot reach this, beside the best of a half, is not worked out."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A half on a candidate: its classes of ends, each lead's share on them, the sum over maps, what that dropped."""

    classes: tuple[EndClass, ...]
    shares: tuple[tuple[float, ...], ...]
    whole: float
    dropped: float


class Prior:
    """Weights of halves on candidates; the last column is *nothing*, a half that is on no diagram.

    Nets are those of the meter; a lead that nobody drew is on the net ``nowhere``. Maps are worked out when asked for
    and kept: what readings say comes later.
    """

    def __init__(self, survey: Survey, harness: Harness, meter: Meter) -> None:
        import numpy as np

        self.survey = survey
        self.harness = harness
        self.nowhere = meter.count
        self.halves: tuple[Half, ...] = tuple(half for half in survey.halves.values() if half.wired)
        self.candidates = candidates(harness)
        self.nothing = len(self.candidates)
        self.classes = tuple(_classes(candidate, meter) for candidate in self.candidates)
        self._distance = _distances(harness)
        self._fits: dict[tuple[int, int], Fit] = {}
        self._maps: dict[tuple[int, int], Maps] = {}
        self._nets: dict[tuple[int, int], Floats] = {}
        self.weights: Floats = np.zeros((len(self.halves), self.nothing + 1))
        for place in range(len(self.halves)):
            self._weigh(place)

    def _weigh(self, place: int) -> None:
        known = survey_figures()
        half = self.halves[place]
        leads = half.wired
        nothing = known.nothing_like if self.survey.relation == "like" else known.nothing_of
        places = max(1, len(self.harness.places))
        self.weights[place, self.nothing] = nothing * unknown_share(leads) / (places if half.place else 1)
        priors = self._candidate_priors(len(leads))
        whole = math.fsum(priors)
        bounds = []
        for number, candidate in enumerate(self.candidates):
            ends = sum(each.count for each in self.classes[number])
            if not priors[number] or not could_fit(len(leads), ends):
                continue
            outside = (1.0 - nothing) * priors[number] / whole * self._where(half, candidate) * _side(half, candidate)
            shares = shares_on(leads, self.classes[number])
            best = math.prod(max(row) for row in shares) * known.lead_lost ** max(0, ends - len(leads))
            best = max(best, known.lead_extra ** max(0, len(leads) - ends) * 1e-3)
            bounds.append((outside * best, number, outside, shares))
        least = self.weights[place, self.nothing]
        for bound, number, outside, shares in sorted(bounds, key=lambda each: (-each[0], each[1])):
            if bound < HOPELESS * least:
                break
            summed, dropped = total(leads, self.classes[number], shares, HOPELESS * least / outside)
            if not summed:
                continue
            self._fits[place, number] = Fit(self.classes[number], tuple(map(tuple, shares)), summed, dropped)
            self.weights[place, number] = outside * summed
            least = max(least, self.weights[place, number])

    def _candidate_priors(self, leads: int) -> list[float]:
        """How probable each candidate is before anything is seen of a half but that it has this many leads or about."""
        single = survey_figures().single_end
        return [
            0.0 if candidate.sort is Sort.END and leads > 1 else single if candidate.sort is Sort.END else 1.0
            for candidate in self.candidates
        ]

    def _where(self, half: Half, candidate: Candidate) -> float:
        """How probable it is to find the candidate where the half is; 1 where one of the two is not said."""
        known = survey_figures()
        if half.place is None or not candidate.places:
            return 1.0
        steps = min(self._distance.get((half.place, place), 9) for place in candidate.places)
        return known.same_place if steps == 0 else known.near_place if steps == 1 else known.far_place

    # --- what others ask
    def possible(self, half: int) -> tuple[int, ...]:
        """The candidates that a half may be whatever its colours and place: by how many leads it has."""
        leads = len(self.halves[half].wired)
        ends = (sum(each.count for each in classes) for classes in self.classes)
        priors = self._candidate_priors(leads)
        return tuple(n for n, count in enumerate(ends) if priors[n] and could_fit(leads, count))

    def fit(self, half: int, candidate: int) -> Fit | None:
        return self._fits.get((half, candidate))

    def maps_of(self, half: int, candidate: int) -> Maps:
        """The maps of a half on a candidate that has a fit."""
        known = self._maps.get((half, candidate))
        if known is None:
            fit = self._fits[half, candidate]
            found = maps(self.halves[half].wired, fit.classes, fit.shares, fit.whole)
            dropped = min(1.0, found.dropped + fit.dropped)
            known = self._maps[half, candidate] = Maps(found.rows, found.shares, dropped)
        return known

    def nets_by_candidate(self, half: int, lead: int) -> Floats:
        """How probable each net is for a lead on each candidate, by its own colour alone: shape (candidates + 1,
        nets + 1).
        """
        import numpy as np

        if (half, lead) not in self._nets:
            found = np.zeros((self.nothing + 1, self.nowhere + 1))
            found[:, self.nowhere] = 1.0
            for candidate in range(self.nothing):
                fit = self.fit(half, candidate)
                if fit is None:
                    continue
                weights = [share * each.count for share, each in zip(fit.shares[lead], fit.classes, strict=True)]
                whole = math.fsum(weights)
                if whole > 0.0:
                    found[candidate, self.nowhere] = 0.0
                    for weight, each in zip(weights, fit.classes, strict=True):
                        found[candidate, each.net] += weight / whole
            self._nets[half, lead] = found
        return self._nets[half, lead]

    def name(self, candidate: int) -> str:
        return NOTHING if candidate == self.nothing else self.candidates[candidate].name


def _classes(candidate: Candidate, meter: Meter) -> tuple[EndClass, ...]:
    found: dict[tuple[int, tuple[Colour | None, ...]], list[str]] = {}
    for end in candidate.ends:
        net = meter.net(end.node)
        found.setdefault((meter.count if net is None else net, end.colours), []).append(end.node)
    return tuple(EndClass(net, colours, tuple(nodes)) for (net, colours), nodes in found.items())


def _side(half: Half, candidate: Candidate) -> float:
    """How probable the side of a half is: its sockets or pins, where the diagram draws its leads in one of them."""
    if not half.side or candidate.sort is not Sort.HALF or not candidate.is_drawn_half:
        return 0.5 if half.side else 1.0
    known = survey_figures().drawn_half
    return known if SIDES.index(half.side) == "sp".index(candidate.side) else 1.0 - known


def _distances(harness: Harness) -> dict[tuple[str, str], int]:
    """Routes between two places: 0 for the same, 1 for neighbours; what is further is left out."""
    found = {(place, place): 0 for place in harness.places}
    for route in harness.routes:
        found[route.a, route.b] = found[route.b, route.a] = 1
    return found
