"""How everything that can be seen stands and looks: dead, dim or live, by parts and by elements."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ..ac.harmonics import stack_of
from ..fmea.effects import WORDS, Elements

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ..fmea.faulted_state import FaultedState
    from ..operation.operation import OperatingPoint

    Floats = NDArray[np.float64]


LOOKS = ((0.15, 0.9), (0.2, 0.93), (0.25, 0.95))
"""Shares of the volts that an element has when all is sound, between which somebody who looks at it calls it dim: a
strict eye, a usual one and a sharp one (ours). A word that is right for one of them is right.
"""

LIGHTS = (BranchType.LAMP, BranchType.LED)
"""What somebody sees to be dimmer: of a relay or a box a tenth less of its voltage does not show."""

USUAL = 1
"""The place of the usual eye among ``LOOKS``: what a fault would do besides is reported as it sees it."""


class Statuses:
    """The words for what gets these shares of its volts, in one state of the sound harness."""

    def __init__(self, here: FaultedState) -> None:
        self._here = here
        self._point: OperatingPoint = here.point
        self.elements = Elements(here.point)

    @cached_property
    def _sound_shares(self) -> Floats:
        import numpy as np

        return np.asarray(self.elements.at(self._point)[0])

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """The parts that can be dead or live: those with a consumer, and the ignition parts with a kill wire."""
        return tuple(dict.fromkeys((*(b.part for b in self.elements.branches), *self.leads)))

    @cached_property
    def leads(self) -> Mapping[str, tuple[str, str]]:
        """The kill wire and own return of every ignition part that has one."""
        return {name: (lead, back) for name, lead, back in self._here.propagation.ignition.stop_leads}

    @cached_property
    def inside(self) -> Mapping[str, list[int]]:
        """The columns of ``_codes`` that hold the look of each thing that can be seen."""
        found: dict[str, list[int]] = {branch.key: [i] for i, branch in enumerate(self.elements.branches)}
        for place, part in enumerate(self.leads, len(self.elements.branches)):
            found[part] = [place]
        for part in self.parts:
            found.setdefault(part, [i for i, b in enumerate(self.elements.branches) if b.part == part])
        return found

    @cached_property
    def lights(self) -> NDArray[np.bool_]:
        """Which columns of ``_codes`` are lights: of these somebody sees how bright they are, of no relay or box."""
        import numpy as np

        known = [branch.branch_type in LIGHTS for branch in self.elements.branches]
        return np.array([*known, *(False for _ in self.leads)], dtype=bool)

    @cached_property
    def sound(self) -> Mapping[str, str]:
        return self.words(self._sound_shares, self._here.sound.stopped)

    @cached_property
    def sound_codes(self) -> NDArray[np.intp]:
        return self.codes(self._sound_shares[None, :], self._here.sound.stopped)

    def codes(self, shares: Floats, stopped: frozenset[str]) -> NDArray[np.intp]:
        """How every element stands, as ``Elements.words`` has it, then every ignition part with a kill wire: dead where
        that is joined, else as live as its elements, or the engine turns; (cases, elements and leads).
        """
        import numpy as np

        codes = self.elements.words(shares)
        turns = 2 * (self._point.engine != "off")
        columns = [codes]
        for part in self.leads:
            own = [i for i, b in enumerate(self.elements.branches) if b.part == part]
            runs = codes[:, own].max(axis=1) if own else np.full(len(codes), turns)
            columns.append((runs * (part not in stopped))[:, None].astype(np.intp))
        return np.hstack(columns)

    def words(self, shares: Floats, stopped: frozenset[str]) -> dict[str, str]:
        """How every part and element stands: a part is live when one of its elements is, dead when all are."""
        return self.told(self.codes(shares[None, :], stopped)[0])

    def told(self, codes: NDArray[np.intp]) -> dict[str, str]:
        """How every part and element stands or looks, by its columns as ``_codes`` has them."""
        told = codes.tolist()
        return {thing: WORDS[max(told[i] for i in inside)] for thing, inside in self.inside.items()}

    def looks(self, stacks: Floats, codes: NDArray[np.intp], opened: str = "") -> list[NDArray[np.intp]]:
        """How every element looks to somebody who knows it sound, by each of ``LOOKS``, columns as in ``codes``: by the
        volts that it has there. What gets nothing when all is sound looks as it is, and so does what a kill wire
        decides, and the element that is ``opened`` itself, whose volts do nothing. ``stacks``: as
        ``ac.harmonics`` has them, (cases, rows, nodes).
        """
        import numpy as np

        count = len(self.elements.branches)
        flow = self._point.flow
        (sound,) = self.elements.across(stack_of(flow)[None, :])
        lit = (self.elements.words(self._sound_shares[None, :])[0] > 0) & (sound > 0.0)
        lit &= np.array([branch.key != opened for branch in self.elements.branches], dtype=bool)
        ratio = self.elements.across(stacks) / np.where(lit, sound, 1.0)
        looks = [(ratio >= dark).astype(np.intp) + (ratio >= bright) for dark, bright in LOOKS]
        return [np.hstack((np.where(lit, each, codes[:, :count]), codes[:, count:])) for each in looks]
