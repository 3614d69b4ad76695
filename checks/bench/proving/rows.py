"""The rows of a proof: what to do, where the two leads go, what must show. SI units."""

from __future__ import annotations

from typing import Final, Literal

from ....lang.records import dataclass

Way = Literal["look", "beep", "silence", "ohms", "diode", "volts", "amps", "drop", "pull"]
"""How a row is answered: by looking, by the beeper, in the diode range, or by a figure."""

UNITS: Final[dict[Way, tuple[str, float]]] = {
    "ohms": ("ohm", 1.0), "volts": ("V", 1.0), "amps": ("A", 1.0), "drop": ("mV", 1e-3), "pull": ("N", 1.0),
}  # fmt: skip
"""The unit that figures of a way are read in, and its factor to SI."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What must show: ``least`` to ``most`` in the unit of its way, ``None`` where there is no bound.

    ``words`` say what is seen; a ``diode`` shows a way from the red lead to the black one and none back.
    ``alike``: the stator of which all rows must read alike, whatever that is.
    """

    way: Way
    least: float | None = None
    most: float | None = None
    words: str = ""
    alike: str = ""

    @property
    def unit(self) -> str:
        return UNITS.get(self.way, ("", 1.0))[0]

    @property
    def factor(self) -> float:
        """What a figure in its unit is multiplied by, for SI."""
        return UNITS.get(self.way, ("", 1.0))[1]

    @property
    def in_figures(self) -> bool:
        return self.unit != ""

    def fits(self, value: float) -> bool:
        """Whether a figure is as expected."""
        return (self.least is None or value >= self.least) and (self.most is None or value <= self.most)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """``number`` is ``stage.count`` and names it in every list. ``sheet``: the loom, setting or fuse that it is of.

    ``do`` is what changes before it; ``black`` and ``red`` are where the leads go, empty where none does. ``about``
    are the wires and parts that it speaks of.
    """

    number: str
    sheet: str
    expected: Expected
    do: str = ""
    black: str = ""
    red: str = ""
    about: tuple[str, ...] = ()

    @property
    def stage(self) -> int:
        return int(self.number[0])
