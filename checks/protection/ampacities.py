"""What each piece of wire may carry continuously on its route: by its class, the ambient there and what lies beside
it.
"""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from itertools import pairwise

from ...lang.circuit.circuit import Circuit
from ...lang.model.wires import Segment
from ...lang.vocabulary.words import DEFAULT_AMBIENT
from ..tables.ampacity import Ampacity, ampacity
from ..tables.conductors import InsulationClass, insulation_classes
from ..tables.profiles import Profile


class Ampacities:
    """The ampacities of one circuit's pieces of wire, by one profile of published limits."""

    def __init__(self, circuit: Circuit, profile: Profile) -> None:
        self.circuit = circuit
        self.profile = profile

    def of(self, segment: Segment, area: float | None = None) -> Ampacity | None:
        """What a piece may carry continuously on its route, with ``area`` mm2 in place of what it has; ``None``
        without any.
        """
        area = segment.size.area if area is None and segment.size else area
        if area is None:
            return None
        return ampacity(area, segment.wire_class, self.ambient(segment), self.profile, self.bundled(segment))

    def judged(self, segment: Segment, area: float | None = None) -> Ampacity | None:
        """What currents are judged by: the piece's ampacity, and where its class leaves no rise on its route, that of
        the class that the route needs.

        Such a wire is of the wrong class, whatever flows in it, and the rule of its route says so; a current that
        is too much for the right class as well is another fault. ``amps`` is ``None`` where no class is made for
        the route.
        """
        found = self.of(segment, area)
        if found is None or found.amps != 0.0:
            return found
        needed, size = self.class_for(segment), area or (segment.size.area if segment.size else 0.0)
        if needed is None:
            return found._replace(amps=None, certain=None)
        hot = ampacity(size, needed.letter, self.ambient(segment), self.profile, self.bundled(segment))
        return hot._replace(why=f"{hot.why}, which its route needs: class {segment.wire_class} leaves no rise")

    def class_for(self, segment: Segment) -> InsulationClass | None:
        """The coolest insulation class that leaves a piece some rise on its route; ``None`` where none does."""
        ambient = self.ambient(segment)
        classes = sorted(insulation_classes().values(), key=lambda each: each.highest)
        return next((each for each in classes if ampacity(1.0, each.letter, ambient, self.profile).amps), None)

    def ambient(self, segment: Segment) -> float:
        """The hottest ambient on a piece's route in degC, the profile's where none is given."""
        if self.profile.ambient == DEFAULT_AMBIENT:
            return segment.ambient
        stretches = pairwise(segment.route)
        return max(
            (self._stretches.get(frozenset(ends), self.profile.ambient) for ends in stretches),
            default=self.profile.ambient,
        )

    @cached_property
    def _stretches(self) -> dict[frozenset[str], float]:
        """The ambient of each stretch that gives one."""
        found = {frozenset((r.a, r.b)): r.ambient for r in self.circuit.harness.routes}
        return {ends: ambient for ends, ambient in found.items() if ambient is not None}

    def bundled(self, segment: Segment) -> int:
        """How many conductors lie together where most do on a piece's route; 1 where the profile does not ask.

        All that run along a stretch count, since any may carry current.
        """
        if not self.profile.bundle:
            return 1
        return max((self._together[frozenset(ends)] for ends in pairwise(segment.route)), default=1)

    @cached_property
    def _together(self) -> Counter[frozenset[str]]:
        segments = [branch.segment for branch in self.circuit.branches if branch.segment is not None]
        return Counter(frozenset(ends) for segment in segments for ends in pairwise(segment.route))
