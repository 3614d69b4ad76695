"""Which two points to touch next: the reading that promises most for its trouble.

The promise is the mutual information between a beep and what the two points are (in bit): the entropy of the predicted
answer less what hand and meter blur. It is divided by a cost, as Johnson (1960) advises: walking to another place and
moving the black probe cost. Once no pair promises anything, each lead that colour alone has settled is owed a reading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ...lang.survey.words import BODIES
from ..tables.survey import survey_figures

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.survey.record import LeadName
    from .identify import Identification

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Probe:
    """Two points: the black probe on ``black``, the red one on ``red``. ``beeps``: how probable a beep is.

    ``gain`` in bit; ``owed``: it only confirms what colour alone has settled.
    """

    black: str
    red: str
    places: tuple[str, ...]
    beeps: float
    gain: float
    owed: bool = False


@dataclass(frozen=True, slots=True)
class _Point:
    text: str
    lead: LeadName | None
    place: str | None


def next_probe(known: Identification, skipped: frozenset[frozenset[str]] = frozenset()) -> Probe | None:
    """The next reading to take; ``None`` where none is worth it. ``skipped``: pairs that cannot be reached."""
    promised = _Promises(known)
    probe = promised.best(skipped)
    return probe if probe is not None else promised.owed(skipped)


def owed_leads(known: Identification) -> tuple[LeadName, ...]:
    """Leads that no reading has touched."""
    touched = {lead for reading in known.survey.readings for lead in reading.leads}
    return tuple(lead.name for half in known.prior.halves for lead in half.wired if lead.name not in touched)


class _Promises:
    """The probability of a beep between each two points, and what it would tell."""

    def __init__(self, known: Identification) -> None:
        import numpy as np

        self.known = known
        together, prior = known.together, known.prior
        self.points: list[_Point] = []
        rows = []
        starts = []
        for place, half in enumerate(prior.halves):
            starts.append(len(self.points))
            for number, lead in enumerate(half.wired):
                self.points.append(_Point(str(lead), lead.name, half.place))
                rows.append(together.nets(place, number))
        for body in BODIES:
            net = known.predictions.meter(()).net(body)
            if net is not None:
                self.points.append(_Point(body, None, None))
                rows.append(np.eye(prior.nowhere + 1)[net])
        table = known.predictions.beeps()
        blurred = _entropy(table)
        on = np.array(rows)
        self.beeps: Floats = on @ table @ on.T
        self.blur: Floats = on @ blurred @ on.T
        for p, half in enumerate(prior.halves):
            plug, shares = together.plugs[p], together.rows(p)
            some = slice(starts[p], starts[p] + len(half.wired))
            if len(shares) > 1:
                nets = plug.nets
                for result, of in ((self.beeps, table), (self.blur, blurred)):
                    result[some, some] = np.einsum("r,rij->ij", shares, of[nets[:, :, None], nets[:, None, :]])
        self._within_islands(starts, table, blurred)
        np.fill_diagonal(self.beeps, 0.0)
        gain: Floats = np.maximum(_entropy(self.beeps) - self.blur, 0.0)
        self.gain = gain
        np.fill_diagonal(self.gain, 0.0)

    def _within_islands(self, starts: list[int], table: Floats, blurred: Floats) -> None:
        """Exact for halves that are judged together, where either is open."""
        import numpy as np

        known = self.known
        together, nowhere = known.together, known.prior.nowhere
        for island in together.islands():
            halves = [p for p in island.plugs if p < len(known.prior.halves) and together.plugs[p].count > 1]
            for at, p in enumerate(halves):
                one = together.plugs[p]
                mine = np.stack([one.by_group(i, nowhere) for i in range(one.nets.shape[1])])
                for q in halves[at + 1 :]:
                    two = together.plugs[q]
                    joint = together.joint(p, q)
                    other = np.stack([two.by_group(j, nowhere) for j in range(two.nets.shape[1])])
                    for result, of in ((self.beeps, table), (self.blur, blurred)):
                        # sum over groups g, h of joint[g, h] * mine[i, g] . of . other[j, h]
                        weighed = np.einsum("gh,jhn->gjn", joint, other) @ of.T
                        block = np.einsum("igm,gjm->ij", mine, weighed)
                        a, b = slice(starts[p], starts[p] + len(mine)), slice(starts[q], starts[q] + len(other))
                        result[a, b], result[b, a] = block, block.T

    def _costs(self, last: str | None) -> Floats:
        """What each pair costs: rows are where the black probe goes."""
        import numpy as np

        figures = survey_figures()
        places = [point.place for point in self.points]
        apart = np.array(
            [[a is not None and b is not None and a != b for b in places] for a in places], dtype=np.float64
        )
        moved = np.array([0.0 if point.text == last else figures.other_lead for point in self.points])
        cost: Floats = 1.0 + figures.other_place * apart + moved[:, None]
        return cost

    def best(self, skipped: frozenset[frozenset[str]]) -> Probe | None:
        import numpy as np

        figures = survey_figures()
        gain = self.gain.copy()
        number = {point.text: place for place, point in enumerate(self.points)}
        readings = self.known.survey.readings
        for reading in readings:
            a, b = number.get(reading.a.text), number.get(reading.b.text)
            if a is not None and b is not None and not reading.setting:
                gain[a, b] *= figures.asked
                gain[b, a] = gain[a, b]
        for pair in skipped:
            a, b = (number.get(text, -1) for text in sorted(pair))
            if a >= 0 and b >= 0:
                gain[a, b] = gain[b, a] = 0.0
        last = readings[-1].a.text if readings else None
        worth = np.where(gain >= figures.least_gain, gain / self._costs(last), 0.0)
        for place, point in enumerate(self.points):
            if point.lead is None:
                worth[:, place] = 0.0  # a body is where the black probe is clipped
        if not worth.size or worth.max() <= 0.0:
            return None
        top = worth >= worth.max() - 1e-9
        black, red = (int(each[0]) for each in np.nonzero(top))
        return self._probe(black, red, owed=False)

    def owed(self, skipped: frozenset[frozenset[str]]) -> Probe | None:
        """A reading for a lead that none has touched: with the point that it most probably beeps with."""
        import numpy as np

        owed = set(owed_leads(self.known))
        last = self.known.survey.readings[-1].a.text if self.known.survey.readings else None
        ease = self.beeps / self._costs(last).T
        for place, point in enumerate(self.points):
            if point.lead is None or point.lead not in owed:
                continue
            row = ease[place].copy()
            for pair in skipped:
                if point.text in pair:
                    row[[each.text in pair for each in self.points]] = 0.0
            row[place] = 0.0
            # Two leads of one half beep with each other wherever they are; that tells little.
            half = point.lead[0]
            row[[each.lead is not None and each.lead[0] == half for each in self.points]] *= 0.1
            other = int(np.argmax(row))
            if row[other] > 0.0 and self.beeps[place, other] > 0.5:
                return self._probe(other, place, owed=True)
        return None

    def _probe(self, black: int, red: int, *, owed: bool) -> Probe:
        a, b = self.points[black], self.points[red]
        places = tuple(dict.fromkeys(place for place in (a.place, b.place) if place is not None))
        return Probe(a.text, b.text, places, float(self.beeps[black, red]), float(self.gain[black, red]), owed)


def _entropy(share: Floats) -> Floats:
    """Bit of a yes or no that is yes with this probability."""
    import numpy as np

    some = np.clip(share, 1e-12, 1.0 - 1e-12)
    result: Floats = -some * np.log2(some) - (1.0 - some) * np.log2(1.0 - some)
    return result
