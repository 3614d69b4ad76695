"""The ways in which a named state may be: as it is reached from rest, and where relays and machines were left
otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.parts import Unit
from ..dc.memory import AT_REST
from ..fmea.failure_modes import SHORT, Fault
from .observations import Places, places
from .predictions import Predictions
from .probes import alternating

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ..dc.memory import Memory
    from ..fmea.fault_simulation import Sweep
    from ..operation.left_before import Unfollowed
    from ..operation.operation import OperatingPoint

    Floats = NDArray[np.float64]


class Ways:
    """``rest``: the state as it is reached from rest, or at ``point`` and in no other way where that is stated, with
    latches that were set ``before``.
    """

    def __init__(
        self,
        sweep: Sweep,
        state: str,
        point: OperatingPoint | None = None,
        before: Memory = AT_REST,
        *,
        unloaded: bool = False,
    ) -> None:
        """``unloaded``: with faults of what carries nothing here, too."""
        self.sweep = sweep
        self.state = state
        self._first = point is None
        self._unloaded = unloaded
        here = sweep.state(state) if point is None else sweep.at(point)
        self.rest = Predictions(sweep, here, before=before, unloaded=unloaded)

    @cached_property
    def all(self) -> tuple[Predictions, ...]:
        """This state as it is reached from rest, then as it is where relays and machines were left otherwise."""
        if not self._first:
            return (self.rest,)
        others = self.sweep.operation.left_before.others(self.state)
        return (self.rest, *(self._left(point) for point in others if not point.shorted))

    def _left(self, point: OperatingPoint) -> Predictions:
        return Predictions(self.sweep, self.sweep.at(point), from_rest=False, unloaded=self._unloaded)

    @cached_property
    def unpredicted(self) -> tuple[Unfollowed, ...]:
        """The ways in which relays and machines may have been left that are none of ``_ways``."""
        if not self._first:
            return ()
        return self.sweep.operation.left_before.unfollowed(self.state)

    @cached_property
    def unsolved(self) -> Mapping[str, Fault]:
        """By its words, each fault that does not settle in some way that the state may be, with the engine stopped
        where it does that, and each bad joint that with some ohms does so.
        """
        found: dict[str, Fault] = {}
        for each in self.all:
            for name, outcome in each.outcomes.items():
                if outcome.volts is None or (each.halts(outcome) and name not in each.still):
                    found[str(outcome.fault)] = outcome.fault
                if outcome.fault.mode != SHORT and each.joints.partly(outcome.fault.key):
                    found[f"{outcome.fault.key} high resistance"] = outcome.fault
        return found

    def left_out(self) -> Iterator[str]:
        """What the most and the least of any one fault do not count, as sentences behind a question."""
        if unsolved := ", ".join(self.unsolved):
            yield f"Not judged, since it could not be solved: {unsolved}."
        if ways := "; ".join(f"{self.state} {each}" for each in self.unpredicted):
            yield f"Not predicted: {ways}."

    @cached_property
    def stacks(self) -> Floats:
        """Of every fault and of none, in each way that the state may stand and with the engine stopped where it does
        that: (cases, rows, nodes), see ``ac.harmonics``.
        """
        import numpy as np

        found = []
        for each in self.all:
            hurt = (o.stack for known in (each.outcomes, each.still, each.earlier) for o in known.values())
            found += [each.sound_stack, *(stack for stack in hurt if stack is not None)]
        return np.array(found)

    def stacks_of_joints(self) -> Iterator[Floats]:
        """Of every bad joint, one after the other: it may show more or less than an open one does."""
        for each in self.all:
            for outcome in each.outcomes.values():
                if outcome.fault.mode == "open" and (bad := each.joints.of(outcome)) is not None:
                    yield bad.stacks

    @cached_property
    def places(self) -> Places:
        """What can be seen, parts with a consumer and their elements, and where can be measured."""
        keys = [b.key for b in self.rest.statuses.elements.branches]
        return places(self.rest.point.circuit, dict.fromkeys((*self.rest.statuses.parts, *keys)))

    @property
    def alternates(self) -> bool:
        """Whether windings drive something here, and what swings is worked out."""
        return self.rest.point.flow.waves is not None

    @property
    def nominal(self) -> float:
        """V of the system."""
        return self.rest.nominal

    @cached_property
    def pulled_up(self) -> Mapping[End, End]:
        """The terminals that copper joins to an input which senses ground and to no load, each with that input."""
        circuit = self.rest.point.circuit
        nets = circuit.nets.of
        loaded = {nets[end] for b in circuit.branches if b.branch_type.consumes for end in (b.a, b.b)}
        units = [part for part in circuit.harness.parts.values() if isinstance(part, Unit)]
        inputs = (End(u.name, given.terminal) for u in units for given in u.inputs if given.mode == "grounded")
        sensing = {nets[end]: end for end in inputs if end in nets and nets[end] not in loaded}
        return {end: sensing[nets[end]] for end in sorted(self.places.terminals) if nets[end] in sensing}

    @cached_property
    def alternating(self) -> frozenset[End]:
        return alternating(self.rest.point, self.untold)

    @cached_property
    def untold(self) -> tuple[str, ...]:
        """The consumers whose alternating current is not solved in this state, by key."""
        return self.sweep.operation.on_windings.untold(self.rest.point)
