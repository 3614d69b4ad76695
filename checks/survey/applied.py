"""Putting what was seen and read into the islands: what was found by eye, mating halves, knobs, readings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.survey.record import LeadName, MeterReading, Setting, Survey
from ..tables.survey import survey_figures
from .candidates import Sort
from .islands import CERTAIN, Together
from .knobs import KnobRow, knob_rows, near, resolved
from .plugs import Plug

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from .predictions import Predictions

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]


class Applied:
    """The islands of a survey with all that it says put in; more readings can follow."""

    def __init__(self, predictions: Predictions, survey: Survey, evidence: Floats | None) -> None:
        self.predictions = predictions
        self.prior = predictions.prior
        self.survey = survey
        self.together = Together(self.prior, evidence)
        self.places = {half.name: place for place, half in enumerate(self.prior.halves)}
        self.knobs: dict[str, int] = {}
        self._knob_rows: dict[str, list[KnobRow]] = {}
        self._apply_found()
        self._apply_mates()
        self._apply_knobs()
        self._apply_readings()

    def can_go_on(self, survey: Survey) -> bool:
        """Whether a survey says the same and more readings, so that these can just be put in."""
        old = self.survey
        if survey.readings[: len(old.readings)] != old.readings:
            return False
        named = {name for reading in survey.readings for name, _ in reading.setting}
        knobs = all(name in self.knobs for name in named if name in survey.knobs)
        return knobs and (survey.found, survey.knobs) == (old.found, old.knobs)

    def go_on(self, survey: Survey) -> None:
        """Puts in the readings that a survey has more."""
        new = survey.readings[len(self.survey.readings) :]
        self.survey = survey
        for reading in new:
            self._apply(reading)

    # --- points
    def nets_of(self, lead: LeadName | None, node: str | None) -> Floats:
        """The probability of each net for a lead or an end of the diagram."""
        import numpy as np

        if lead is not None:
            return self.together.nets(*self.predictions.columns[lead])
        result: Floats = np.zeros(self.prior.nowhere + 1)
        net = self.predictions.meter(()).net(node or "")
        result[self.prior.nowhere if net is None else net] = 1.0
        return result

    def without_knobs(self, setting: Setting) -> Setting | None:
        """A setting of the diagram's controls alone; ``None`` where a knob has a part in it."""
        return None if any(name in self.survey.knobs for name, _ in setting) else setting

    # --- what was seen
    def _apply_found(self) -> None:
        import numpy as np

        for found in self.survey.found:
            if found.half not in self.places:
                continue
            place = self.places[found.half]
            plug = self.together.plugs[place]
            if found.number is None or not isinstance(found.target, End):
                named = np.array([self._is_named(int(c), found.target) for c in plug.candidate_of])
            else:
                number = self.predictions.columns[found.half, found.number][1]
                named = self._on_end(place, number, found.target)
            self.together.reweigh(place, np.where(named == found.right, 1.0, 0.0))

    def _is_named(self, candidate: int, target: str) -> bool:
        if candidate == self.prior.nothing:
            return False
        each = self.prior.candidates[candidate]
        return target in (each.name, each.part) if each.sort is not Sort.HALF else each.name == target

    def _on_end(self, place: int, lead: int, node: End) -> NDArray[np.bool_]:
        """For each group of a half, told apart by the net of the lead, whether the lead is on this end."""
        import numpy as np

        self.together.touch(place, lead)
        plug = self.together.plugs[place]
        net = self.predictions.meter(()).net(node)
        part = node.part
        right = []
        for group in range(plug.count):
            candidate = int(plug.candidate_of[group])
            on_net = int(plug.nets_of[lead][group]) == net
            right.append(
                on_net
                and candidate != self.prior.nothing
                and self.prior.candidates[candidate].part == part
                and any(node in each.nodes for each in self.prior.classes[candidate])
            )
        return np.array(right)

    def _apply_mates(self) -> None:
        import numpy as np

        known = survey_figures().mated
        partner = np.full(self.prior.nothing + 1, -1)
        by_name = {candidate.name: number for number, candidate in enumerate(self.prior.candidates)}
        for number, candidate in enumerate(self.prior.candidates):
            if candidate.partner is not None:
                partner[number] = by_name.get(candidate.partner, -1)
        for half in self.prior.halves:
            if half.mates is None or half.mates not in self.places or half.mates == half.name:
                continue
            a, b = self.places[half.name], self.places[half.mates]
            first, second = self.together.plugs[a], self.together.plugs[b]
            if self.together.island_of[a] is not self.together.island_of[b]:
                self.together.merge(a, b)
            island = self.together.island_of[a]
            if island is not self.together.island_of[b]:
                continue
            mine, other = first.candidate_of[island.column(a)], second.candidate_of[island.column(b)]
            has_partner = partner[mine] >= 0
            fits = np.where(has_partner, partner[mine] == other, (other == self.prior.nothing) | (partner[other] < 0))
            island.weights = island.weights * np.where(fits, known, 1.0 - known)
            self.together.settle(island)

    # --- knobs
    def _apply_knobs(self) -> None:
        """Each knob that a reading names becomes a separate variable, tied to what its half can be."""
        import numpy as np

        for knob in self.survey.knobs.values():
            used = any(knob.name in dict(reading.setting) for reading in self.survey.readings)
            rows, weights = knob_rows(self.predictions, knob) if used and knob.half in self.places else ([], [])
            if not rows:
                continue
            self._knob_rows[knob.name] = rows
            none = np.zeros((len(rows), 0), dtype=np.int64)
            plug = Plug(np.arange(len(rows)), none, none, np.array(weights), 0.0)
            number = self.knobs[knob.name] = self.together.add(plug)
            place = self.places[knob.half]
            tied = near(self.predictions, rows)
            if self.together.merge(place, number):
                island = self.together.island_of[place]
                mine = self.together.plugs[place].candidate_of[island.column(place)]
                island.weights = island.weights * tied[mine, plug.candidate_of[island.column(number)]]
                self.together.settle(island)

    # --- readings
    def _apply_readings(self) -> None:
        """Each reading once: first those that need no merging, then those that merge least."""
        waiting = list(self.survey.readings)
        while waiting:
            costs = [self._cost(reading) for reading in waiting]
            reading = waiting.pop(min(range(len(costs)), key=lambda place: (costs[place], place)))
            self._apply(reading)

    def _cost(self, reading: MeterReading) -> float:
        """How many states it will take to judge a reading, about."""
        islands = {
            id(self.together.island_of[plug]): self.together.island_of[plug] for plug in self._variables(reading)
        }
        sizes = [len(island.weights) for island in islands.values()]
        if len(sizes) < 2 or self._is_certain(reading):
            return 0.0
        cost = 1.0
        for size in sizes:
            cost *= size
        return cost

    def _variables(self, reading: MeterReading) -> list[int]:
        found = [self.predictions.columns[lead][0] for lead in reading.leads]
        found += [self.knobs[name] for name, _ in reading.setting if name in self.knobs]
        return found

    def _is_certain(self, reading: MeterReading) -> bool:
        """Whether one of the two points is on one net for certain, with the reading as without it: then the islands
        need not be merged. A reading that surprises may take that certainty away.
        """
        setting = self.without_knobs(reading.setting)
        if setting is None:
            return False
        table = self.predictions.table(reading, setting)
        a, b = (self.nets_of(point.lead, point.node) for point in (reading.a, reading.b))
        for lead, before, after in ((reading.a.lead, a, a * (table @ b)), (reading.b.lead, b, b * (table.T @ a))):
            if lead is not None and before.max() >= CERTAIN and after.max() >= CERTAIN * after.sum():
                return True
        return False

    def _apply(self, reading: MeterReading) -> None:
        self._judge(reading)
        for island in {
            id(each): each for each in map(self.together.island_of.__getitem__, self._variables(reading))
        }.values():
            self.together.split(island)

    def _judge(self, reading: MeterReading) -> None:
        knobs = [name for name, _ in reading.setting if name in self.survey.knobs]
        if any(name not in self.knobs for name in knobs):
            return  # a knob that no control of the diagram fits says nothing
        leads = [self.predictions.columns[lead] for lead in reading.leads]
        if not leads:
            return
        for place, lead in leads:
            self.together.touch(place, lead)
        variables = self._variables(reading)
        apart = len({id(self.together.island_of[plug]) for plug in variables}) > 1
        if apart and self._is_certain(reading):
            self._apply_apart(reading)
            return
        for other in variables[1:]:
            if not self.together.merge(variables[0], other):
                self._apply_apart(reading)
                return
        self._apply_whole(reading, leads, knobs)

    def _apply_apart(self, reading: MeterReading) -> None:
        """A reading between two islands that stay apart: each is weighed by what the other is, as it is judged now."""
        setting = self.without_knobs(reading.setting)
        if setting is None:
            return
        table = self.predictions.table(reading, setting)
        a, b = (
            self.nets_of(reading.a.lead, reading.a.node),
            self.nets_of(reading.b.lead, reading.b.node),
        )
        for lead, by_net in ((reading.a.lead, table @ b), (reading.b.lead, table.T @ a)):
            if lead is not None:
                place, number = self.predictions.columns[lead]
                self.together.reweigh(place, by_net[self.together.plugs[place].nets_of[number]])

    def _apply_whole(self, reading: MeterReading, leads: list[tuple[int, int]], knobs: list[str]) -> None:
        """A reading inside one island."""
        import numpy as np

        island = self.together.island_of[leads[0][0]]
        nets = []
        for point in (reading.a, reading.b):
            if point.lead is None:
                known = int(self.nets_of(None, point.node).argmax())
                nets.append(np.full(len(island.weights), known))
            else:
                place, number = self.predictions.columns[point.lead]
                nets.append(self.together.plugs[place].nets_of[number][island.column(place)])
        if not knobs:
            island.weights = island.weights * self.predictions.table(reading, reading.setting)[nets[0], nets[1]]
            self.together.settle(island)
            return
        factor = np.ones(len(island.weights))
        columns = [
            self.together.plugs[self.knobs[name]].candidate_of[island.column(self.knobs[name])] for name in knobs
        ]
        chosen = np.stack(columns, axis=1)
        for rows in np.unique(chosen, axis=0):
            setting = self._resolved(reading.setting, dict(zip(knobs, map(int, rows), strict=True)))
            here = (chosen == rows).all(axis=1)
            if setting is None:
                factor[here] = 0.0
            else:
                factor[here] = self.predictions.table(reading, setting)[nets[0][here], nets[1][here]]
        island.weights = island.weights * factor
        self.together.settle(island)

    def _resolved(self, setting: Setting, rows: dict[str, int]) -> Setting | None:
        chosen = {name: (self.survey.knobs[name], self._knob_rows[name][row]) for name, row in rows.items()}
        return resolved(setting, chosen)
