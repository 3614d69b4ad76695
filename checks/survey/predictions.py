"""All that no reading changes: the circuit, what a meter shows in each setting, and what colours say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.build import build_circuit
from ...lang.survey.record import MeterReading, Setting, Shows, Survey
from ..meter import Meter, Setup
from ..tables.meter import meter_figures
from .prior import Prior

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.model.harness import Harness

    Floats = NDArray[np.float64]


class Predictions:
    """What a meter shows between each two nets of a survey's diagram; the last net is nowhere on it.

    Raises ``ValueError`` where the survey has no diagram.
    """

    def __init__(self, survey: Survey) -> None:
        if survey.harness is None:
            raise ValueError("a survey without a diagram has nothing to identify")
        self.survey = survey
        self.harness: Harness = survey.harness
        self.circuit = build_circuit(self.harness)
        self._meters: dict[Setting, Meter] = {}
        self._beeps: dict[Setting, Floats] = {}
        self._tables: dict[tuple[object, ...], Floats] = {}
        self.prior = Prior(survey, self.harness, self.meter(()))
        self.columns = {
            lead.name: (place, number)
            for place, half in enumerate(self.prior.halves)
            for number, lead in enumerate(half.wired)
        }

    def serves(self, survey: Survey) -> bool:
        """Whether another survey differs in nothing but what was read, found and named as a knob."""
        mine = self.survey
        return (
            mine.harness is survey.harness
            and mine.halves == survey.halves
            and mine.arrangement == survey.arrangement
            and mine.relation == survey.relation
            and mine.beeper == survey.beeper
        )

    def meter(self, setting: Setting) -> Meter:
        """The meter with the diagram's controls in these positions."""
        if setting not in self._meters:
            arrangement = self.survey.arrangement
            setup = Setup(apart=arrangement.apart, parts_in=arrangement.parts_in, positions=setting)
            self._meters[setting] = Meter(self.circuit, setup)
        return self._meters[setting]

    def beeps(self, setting: Setting = ()) -> Floats:
        """How probable a beep is between each two nets, the last one being nowhere on the diagram."""
        if setting not in self._beeps:
            self._beeps[setting] = self._with_nowhere(
                self.meter(setting).beeps(self.survey.beeper), self._base(setting)
            )
        return self._beeps[setting]

    def _base(self, setting: Setting) -> float:
        """How often two leads of which nothing is known beep with each other."""
        if self.survey.arrangement.parts_in:
            return meter_figures().unknown_beeps
        import numpy as np

        nets = np.array([each.net for classes in self.prior.classes for each in classes for _ in range(each.count)])
        inside = nets[nets < self.prior.nowhere]
        if not len(inside):
            return meter_figures().wrong
        return float(self.meter(setting).beeps(self.survey.beeper)[np.ix_(inside, inside)].mean())

    @staticmethod
    def _with_nowhere(table: Floats, value: float) -> Floats:
        import numpy as np

        return np.pad(table, ((0, 1), (0, 1)), constant_values=value)

    def table(self, reading: MeterReading, setting: Setting) -> Floats:
        """How probable what a reading shows is between each two nets."""
        key = (reading.shows, reading.ohms, setting)
        if key in self._tables:
            return self._tables[key]
        known = meter_figures()
        match reading.shows:
            case Shows.BEEP:
                found = self.beeps(setting)
            case Shows.SILENCE:
                found = 1.0 - self.beeps(setting)
            case Shows.ONE_WAY:
                found = self._with_nowhere(self.meter(setting).one_way(), 0.1)
            case Shows.OPEN:
                found = self._with_nowhere(self.meter(setting).opens(), 1.0 - known.unknown_beeps)
            case Shows.OHMS:
                reads = self.meter(setting).reads(reading.ohms or 0.0)
                found = self._with_nowhere(reads, float(reads.mean()))
        self._tables[key] = found
        return found
