"""A survey worked out: what colours and readings say of every half and lead together."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from ...lang.survey.record import LeadName, MeterReading, Point, Survey
from .applied import Applied
from .estimates import estimate
from .islands import CONFLICT, KEPT_PAIR, Together
from .predictions import Predictions

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from .candidates import DrawnEnd
    from .prior import Prior

    Floats = NDArray[np.float64]

PASSES: Final = 3
"""How often what the readings say may bring back a candidate that colours alone had ruled out."""

REVIVED: Final = 1e-3
"""A candidate left out is looked at again from this probability on, by first estimate."""


AT_ODDS: Final = 1e-2
"""Two halves that want one candidate with this probability, all readings considered, are judged together."""


@dataclass(frozen=True, slots=True)
class Judged:
    """A reading, and how well it agrees with all that was read: 1 fully, 0 not at all."""

    reading: MeterReading
    agrees: float


class Identification:
    """A survey with its diagram, judged; ``judged`` holds each reading in order.

    Raises ``ValueError`` where the survey has no diagram. ``known`` hands on what another identification has worked
    out, so that one more reading costs little; that one is used up.
    """

    def __init__(self, survey: Survey, known: Identification | None = None) -> None:
        self.survey = survey
        known = known if known is not None and known.predictions.serves(survey) else None
        self.predictions: Predictions = known.predictions if known is not None else Predictions(survey)
        self.evidence: Floats = self.prior.weights * 0.0 + 1.0
        self.applied: Applied = (self._continued(known) if known is not None else None) or self._worked_out()
        self.judged = tuple(Judged(reading, self._agreement(reading)) for reading in survey.readings)

    @property
    def prior(self) -> Prior:
        return self.predictions.prior

    @property
    def together(self) -> Together:
        return self.applied.together

    def _continued(self, known: Identification) -> Applied | None:
        """What another identification worked out, with the readings that this survey has more; ``None`` where it does
        not go on from that one, or where the new readings bring back a candidate that it had left out.
        """
        applied = known.applied
        if not applied.can_go_on(self.survey):
            return None
        new = self.survey.readings[len(applied.survey.readings) :]
        applied.go_on(self.survey)
        self.evidence = known.evidence * self._evidence(applied, new)
        return None if self._revives(applied.together) else applied

    def _worked_out(self) -> Applied:
        applied = Applied(self.predictions, self.survey, None)
        for _ in range(PASSES - 1):
            self.evidence = self._evidence(applied, self.survey.readings)
            if not self._revives(applied.together):
                break
            applied = Applied(self.predictions, self.survey, self.evidence)
        return applied

    def _revives(self, together: Together) -> bool:
        """Whether what the readings say makes a candidate probable that was left out, or sets two halves at odds about
        one that were judged apart.
        """
        import numpy as np

        found, _ = estimate(self.prior.weights * self.evidence)
        if ((found >= REVIVED) & (together.first < KEPT_PAIR)).any():
            return True
        now, before = (np.triu(each[:, :-1] @ each[:, :-1].T, 1) for each in (found, together.first))
        return bool(((now >= AT_ODDS) & (before <= CONFLICT)).any())

    def _evidence(self, applied: Applied, readings: Iterable[MeterReading]) -> Floats:
        """What readings say of each half on every candidate, the other points as they are judged now."""
        import numpy as np

        result = np.ones_like(self.prior.weights)
        for reading in readings:
            setting = applied.without_knobs(reading.setting)
            if setting is None:
                continue
            table = self.predictions.table(reading, setting)
            for mine, other, turned in ((reading.a, reading.b, False), (reading.b, reading.a, True)):
                if mine.lead is None:
                    continue
                theirs = applied.nets_of(other.lead, other.node)
                by_net = (table.T if turned else table) @ theirs
                place, lead = self.predictions.columns[mine.lead]
                result[place] *= self.prior.nets_by_candidate(place, lead) @ by_net
        return result

    def _agreement(self, reading: MeterReading) -> float:
        """How probable what a reading shows is, all readings considered, beside the most that it could be."""
        setting = self.applied.without_knobs(reading.setting)
        if setting is None:
            return 1.0
        table = self.predictions.table(reading, setting)
        return min(1.0, self._mean(reading.a, reading.b, table) / float(table.max()))

    def likely_end(self, lead: LeadName) -> str | None:
        """The end of the diagram that a lead most probably is; ``None`` where it is on none that is drawn."""
        place, number = self.predictions.columns[lead]
        row = int(self.together.rows(place).argmax())
        end = self.ends_of(place, row)[number]
        return end.node if end else None

    def ends_of(self, place: int, row: int) -> tuple[DrawnEnd | None, ...]:
        """The end of each lead in a row of a half; ``None`` for a lead on no end. Like ends are taken in order."""
        plug = self.together.plugs[place]
        candidate = int(plug.candidates[row])
        if candidate == self.prior.nothing:
            return (None,) * int(plug.ends.shape[1])
        by_node = {end.node: end for end in self.prior.candidates[candidate].ends}
        free = [list(each.nodes) for each in self.prior.classes[candidate]]
        return tuple(
            None if number < 0 or not free[number] else by_node[free[number].pop(0)]
            for number in (int(each) for each in plug.ends[row])
        )

    def _mean(self, a: Point, b: Point, table: Floats) -> float:
        """The mean of a table of nets by nets over what two points can be, together where their islands are one."""
        together = self.together
        if a.lead is None or b.lead is None:
            return float(self.applied.nets_of(a.lead, a.node) @ table @ self.applied.nets_of(b.lead, b.node))
        (p, i), (q, j) = self.predictions.columns[a.lead], self.predictions.columns[b.lead]
        if p == q:
            plug = together.plugs[p]
            return float(together.rows(p) @ table[plug.nets[:, i], plug.nets[:, j]])
        if together.island_of[p] is not together.island_of[q]:
            return float(together.nets(p, i) @ table @ together.nets(q, j))
        one, two = together.plugs[p], together.plugs[q]
        pairs = one.by_group(i, self.prior.nowhere) @ table @ two.by_group(j, self.prior.nowhere).T
        return float((together.joint(p, q) * pairs).sum())
