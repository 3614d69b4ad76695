"""A control that nobody knows: every control of the diagram that it can be, with every order of its positions."""

from __future__ import annotations

from itertools import permutations
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.parts import Switch
from ..tables.survey import survey_figures

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.survey.record import Knob, Setting
    from .predictions import Predictions

    Floats = NDArray[np.float64]

KnobRow = tuple[str, tuple[str, ...]]
"""A control of the diagram, and its positions in the order of the knob's."""


def knob_rows(predictions: Predictions, knob: Knob) -> tuple[list[KnobRow], list[float]]:
    """What a knob can be, with weights: a control of as many positions, or, less probably, of more."""
    rows: list[KnobRow] = []
    weights: list[float] = []
    for control in predictions.circuit.controls.values():
        if not control.switches or len(control.positions) < len(knob.positions):
            continue
        orders = list(permutations(control.positions, len(knob.positions)))
        alike = 1.0 if len(control.positions) == len(knob.positions) else survey_figures().lead_lost
        rows += [(control.name, order) for order in orders]
        weights += [alike / len(orders)] * len(orders)
    return rows, weights


def near(predictions: Predictions, rows: list[KnobRow]) -> Floats:
    """How much more probable a control is behind a candidate that copper joins to its switch: candidates by rows."""
    import numpy as np

    meter, prior = predictions.meter(()), predictions.prior
    nets_of = {}
    for name, control in predictions.circuit.controls.items():
        switches = [predictions.harness.parts[each] for each in control.switches]
        nets_of[name] = {
            meter.net(End(part.name, terminal))
            for part in switches
            if isinstance(part, Switch)
            for terminal in part.terminals
        }
    result: Floats = np.full((prior.nothing + 1, len(rows)), survey_figures().lead_lost)
    for candidate, classes in enumerate(prior.classes):
        nets = {each.net for each in classes}
        for row, (control_name, _) in enumerate(rows):
            if nets & nets_of[control_name]:
                result[candidate, row] = 1.0
    return result


def resolved(setting: Setting, chosen: dict[str, tuple[Knob, KnobRow]]) -> Setting | None:
    """A setting with knobs as the controls that they are taken for; ``None`` where one control is in two ways."""
    found: dict[str, str] = {}
    for name, position in setting:
        control, at = name, position
        if name in chosen:
            knob, (control, order) = chosen[name]
            at = order[knob.positions.index(position)]
        if found.get(control, at) != at:
            return None
        found[control] = at
    return tuple(sorted(found.items()))
