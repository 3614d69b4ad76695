"""What the ohmmeter shows in one setting of a motorcycle at rest: with all sound, and with each of some faults."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from ....lang.records import dataclass
from ....lang.search.walks import closure
from ...tables.meter import meter_figures
from .resistances import Resistances

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ....lang.circuit.ids import End
    from ...meter import Meter, MeterEdge

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]
    Places = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Fault:
    """``open`` at a branch, or a net ``pinched`` to ground at a terminal."""

    open: str = ""
    pinched: End | None = None

    @property
    def words(self) -> str:
        return f"{self.open} open" if self.open else f"{self.pinched} pinched to ground"


@dataclass(frozen=True, slots=True)
class Predicted:
    """ohm at ``least`` and at ``most``, by pair; with each fault the same by fault and pair, opens before pinches.

    ``spread``: the factor by which a resistance may be off.
    """

    least: Floats
    most: Floats
    least_with: Floats
    most_with: Floats
    spread: float


def predicted(meter: Meter, ground: End, faults: Sequence[Fault], pairs: Sequence[tuple[End, End]]) -> Predicted:
    """What a meter shows from the first to the second of each pair; ``faults``: opens, then pinches."""
    import numpy as np

    edges = meter.edges
    places: dict[str, list[int]] = {}
    for place, edge in enumerate(edges):
        places.setdefault(edge.key, []).append(place)
    a = np.array([meter.net(red) for red, _ in pairs], dtype=np.intp)
    b = np.array([meter.net(black) for _, black in pairs], dtype=np.intp)
    opens = [places.get(fault.open, []) for fault in faults if fault.open]
    pinches = [meter.net(fault.pinched) or 0 for fault in faults if fault.pinched is not None]
    bottom = meter.net(ground) or 0

    def solved(ohms: Callable[[MeterEdge], float]) -> tuple[Resistances, Floats, Floats]:
        grid = Resistances(meter.count, [(e.a, e.b, ohms(e)) for e in edges])
        faulty = np.concatenate([grid.opened(opens, a, b), grid.joined(pinches, bottom, a, b)])
        return grid, grid.between(a, b), faulty

    grid, least, least_with = solved(lambda edge: edge.low)
    most, most_with = least, least_with
    if any(edge.low != edge.high for edge in edges):
        _, most, most_with = solved(lambda edge: edge.high)
    diodes = [(edge.a, edge.b) for edge in edges if edge.diode]
    passed = _through(grid, diodes, a, b)
    if passed.any():  # how well a diode conducts is a matter of the meter's own volts
        few = meter_figures().box_least
        _, through, through_with = solved(lambda edge: few if edge.diode else edge.low)
        least, least_with = np.where(passed, through, least), np.where(passed, through_with, least_with)
    spread = meter_figures().filament_spread if any(e.lamp for e in edges) else meter_figures().coil_spread
    return Predicted(least, most, least_with, most_with, spread)


def _through(grid: Resistances, diodes: Sequence[tuple[int, int]], a: Places, b: Places) -> Flags:
    """Whether current from the red lead to the black one may take a way over diodes that all let it pass."""
    import numpy as np

    onward: dict[int, list[int]] = {}
    for anode, cathode in diodes:
        onward.setdefault(grid.component(anode), []).append(grid.component(cathode))
    starts = {grid.component(int(point)) for point in (*a, *(cathode for _, cathode in diodes))}
    beyond = {start: closure([start], lambda at: onward.get(at, ())) for start in starts}

    def passes(red: int, black: int) -> bool:
        return any(
            grid.component(anode) in beyond[red] and black in beyond[grid.component(cathode)]
            for anode, cathode in diodes
        )

    found = {
        pair: passes(*pair)
        for pair in {(grid.component(int(i)), grid.component(int(j))) for i, j in zip(a, b, strict=True)}
    }
    flags: Flags = np.array(
        [found[grid.component(int(i)), grid.component(int(j))] for i, j in zip(a, b, strict=True)], dtype=bool
    )
    return flags
