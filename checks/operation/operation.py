"""What rules ask of the numbers: the named states solved, and the most that every conductor and device has to carry.

::

    operation = study.operation
    point = operation.state("riding")            # a Point; raises UnsolvableError without one
    point.volts("HEAD.56b"), point.across("HEAD.dip"), point.amps("wire 12"), point.watts("HEAD.dip")
    operation.loading("MAIN").continuous         # a Peak: amps, the state or the combination that gives it
    operation.loading("MAIN").held
    operation.missing                            # numbers that the text leaves out, and what was taken instead
    operation.unsolved                           # named states without a solution: name -> UnsolvableError

Branch keys are those of the circuit (``wire 3.1``, ``C1.3``, ``MAIN``, ``HEAD.dip``); sources go by name.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from ...lang.records import dataclass
from ..dc.conducting import rest_positions
from ..dc.devices import Missing, UnsolvableError
from ..dc.flow import NO_CURRENT, Flow
from ..dc.memory import AT_REST, Memory
from ..dc.nodal_equations import NodalEquations
from ..dc.relay_fixed_point import UnsettledError, settle
from .left_before import LeftBefore
from .on_windings import OnWindings, has_windings
from .operating_point import OperatingPoint, Positions
from .peaks import NOTHING, Loading, Peak, peak_at

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Iterator, Mapping

    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.ids import End
    from ..logic import SwitchingLogic

__all__ = ["Loading", "OperatingPoint", "Operation", "Peak", "Restless", "UnsolvableError"]


_Asked = tuple[str, Positions, Memory, frozenset[str], frozenset[str]]
"""What decides a point: the name of the state, where every control stands, what remembers, which joints are open, and
which controls are pinned.
"""


@dataclass(frozen=True, slots=True)
class Restless:
    """A combination that never settles: the ``parts`` that keep changing, the named ``state`` it is (may be empty), and
    the ``moments`` that follow one another without end, each solved.
    """

    parts: tuple[str, ...]
    state: str
    moments: tuple[OperatingPoint, ...]


class Operation:
    """The numbers of one harness. Everything is worked out when it is first asked for."""

    def __init__(
        self,
        circuit: Circuit,
        logic: SwitchingLogic | None = None,
        *,
        like: NodalEquations | None = None,
        resisting: tuple[tuple[str, float], ...] = (),
    ) -> None:
        """``like`` and ``resisting`` as ``NodalEquations`` has them."""
        self.circuit = circuit
        self._like = like
        self._resisting = resisting
        self._conduction = logic
        self._near: Flow | None = None
        self._without: dict[frozenset[str], Operation] = {}
        self._damaged: dict[tuple[frozenset[str], str, tuple[tuple[End, End], ...]], Operation] = {}
        self._points: dict[_Asked, OperatingPoint | UnsolvableError] = {}
        self.told: dict[Hashable, Any] = {}
        """What others worked out of these numbers alone, by their name for it and all that it was asked with."""

    @cached_property
    def network(self) -> NodalEquations:
        if has_windings(self.circuit):
            from ..ac.equations import WoundEquations

            network: NodalEquations = WoundEquations(self.circuit, self._like, self._resisting)
        else:
            network = NodalEquations(self.circuit, self._like, self._resisting)
        if self._like is None and self._conduction is not None:
            network.tally = self._conduction.network.tally  # one count of what a harness costs
        return network

    @cached_property
    def logic(self) -> SwitchingLogic:
        """Exact logic over every combination of the same circuit."""
        from ..logic import SwitchingLogic

        return self._conduction or SwitchingLogic(self.circuit)

    @property
    def missing(self) -> tuple[Missing, ...]:
        """Numbers that the text leaves out, in its order."""
        return self.network.missing

    @cached_property
    def on_windings(self) -> OnWindings:
        return OnWindings(self.circuit)

    @property
    def alternating(self) -> tuple[str, ...]:
        """The consumers that only an alternating winding can feed, by key."""
        return self.on_windings.all

    def without(self, names: Iterable[str]) -> Operation:
        """The same harness with parts or wires taken out."""
        key = frozenset(names)
        if key not in self._without:
            self._without[key] = Operation(self.circuit.without(key), like=self.network)
        return self._without[key]

    def damaged(
        self,
        opened: frozenset[str],
        grounded: str = "",
        resisting: tuple[tuple[str, float], ...] = (),
        joined: tuple[tuple[End, End], ...] = (),
    ) -> Operation:
        """The same harness with branches open, by key, a node shorted to ground (``""``: none), plain resistances with
        this many ohms too many, and pairs of nodes ``joined``.
        """
        if resisting:  # hardly ever the same ohms twice: not kept
            hurt = self.circuit.damaged(opened, grounded) if opened or grounded else self.circuit
            return Operation(hurt, like=self.network, resisting=resisting)
        key = (opened, grounded, joined)
        if key not in self._damaged:
            self._damaged[key] = Operation(self.circuit.damaged(opened, grounded, joined), like=self.network)
        return self._damaged[key]

    # --- points ------------------------------------------------------------------------------------------------------
    def pinned(self, state: str) -> frozenset[str]:
        """The controls that the engine moves and of which a named state says a position all the same."""
        named = (name for name, _ in self.circuit.harness.states[state].settings if name in self.circuit.controls)
        return frozenset(name for name in named if self.circuit.controls[name].free)

    def positions(self, state: str) -> dict[str, str]:
        """Every control in a named state; what it does not name is at rest."""
        return {**rest_positions(self.circuit), **dict(self.circuit.harness.states[state].in_numbers)}

    def state(self, name: str) -> OperatingPoint:
        """A named state, reached from rest. Raises ``UnsolvableError``; ``ImpossibleStateError`` where it cannot be."""
        from ..behaviour import refuse_impossible

        settings = self.circuit.harness.states[name].settings
        if any("." in control for control, _ in settings):  # only what names a latch or a signal can ask for too much
            refuse_impossible(self.logic, settings)
        return self.at(self.positions(name), state=name, pinned=self.pinned(name))

    @cached_property
    def left_before(self) -> LeftBefore:
        """The named states as relays and machines may have been left before."""
        return LeftBefore(self)

    def at(
        self,
        positions: Mapping[str, str],
        memory: Memory = AT_REST,
        *,
        state: str = "",
        opened: frozenset[str] = frozenset(),
        pinned: frozenset[str] = frozenset(),
    ) -> OperatingPoint:
        """Any combination: controls that are not named are at rest; ``opened``: unreliable joints that are open.
        Controls that the engine moves count in their position where they are ``pinned``; otherwise in any.

        Raises ``UnsolvableError``.
        """
        whole = {**rest_positions(self.circuit), **positions}
        key = (state, tuple(whole.items()), memory, opened, pinned)
        found = self._points.get(key)
        if found is None:
            try:
                flow, settled = settle(self.network, whole, memory, self._near, opened, pinned)
            except UnsolvableError as error:
                found = error
            else:
                self._near = flow
                found = OperatingPoint(state, whole, settled, flow, pinned)
            self._points[key] = found
        if isinstance(found, UnsolvableError):
            raise found.with_traceback(None)  # the search for the worst combination comes to it again and again
        return found

    @cached_property
    def points(self) -> dict[str, OperatingPoint]:
        """The named states that have a solution, in the order of the text."""
        return {name: found for name, found in self._tried.items() if isinstance(found, OperatingPoint)}

    @cached_property
    def unsolved(self) -> dict[str, UnsolvableError]:
        """The named states that have none, and why."""
        return {name: found for name, found in self._tried.items() if isinstance(found, UnsolvableError)}

    @cached_property
    def _tried(self) -> dict[str, OperatingPoint | UnsolvableError]:
        found: dict[str, OperatingPoint | UnsolvableError] = {}
        for name in self.circuit.harness.states:
            try:
                found[name] = self.state(name)
            except UnsolvableError as error:
                found[name] = error
        return found

    # --- the most that anything carries ------------------------------------------------------------------------------
    @cached_property
    def loaded_points(self) -> tuple[OperatingPoint, ...]:
        """All that is solved: named states, worst combinations, what never settles; but for dead shorts, which their
        own rule reports (the next-worst combination is here too).
        """
        moments = (point for case in self.restless for point in case.moments)
        return tuple(p for p in (*self.points.values(), *self.worst_points, *moments) if not p.shorted)

    def loading(self, key: str) -> Loading:
        """The most amps through a branch, over the named states and the worst combinations."""
        return self.loadings.get(key, NOTHING)

    @cached_property
    def loadings(self) -> dict[str, Loading]:
        """The same for every branch that carries current."""
        found: dict[str, Loading] = {}
        for point in self.loaded_points:
            for key, size in point.flow.heating.items():
                if size < NO_CURRENT or point.flow.is_rough(key):
                    continue  # by a winding's watts: the ratings on it tell more
                old = found.get(key, NOTHING)
                peak = peak_at(size, point)
                continuous = old.continuous if point.momentary or size <= old.continuous.amps else peak
                held = old.held if size <= old.held.amps else peak
                if continuous is not old.continuous or held is not old.held:
                    found[key] = Loading(continuous, held)
        return found

    @property
    def worst_points(self) -> tuple[OperatingPoint, ...]:
        """The combinations in which most current is drawn through some device, contact or output, solved. Where one
        does not settle or is a dead short, the worst of those that do.
        """
        return self._worst[0]

    @cached_property
    def restless(self) -> tuple[Restless, ...]:
        """The named states and worst combinations that never settle, states first."""
        named = [
            self._restless(self.positions(name), error, name)
            for name, error in self.unsolved.items()
            if isinstance(error, UnsettledError)
        ]
        return (*named, *self._worst[1])

    @property
    def unsolved_worst(self) -> tuple[tuple[Positions, UnsolvableError], ...]:
        """The worst combinations that have no solution for another reason: controls away from rest, and why."""
        return self._worst[2]

    def _restless(self, positions: Mapping[str, str], error: UnsettledError, state: str = "") -> Restless:
        whole = {**rest_positions(self.circuit), **positions}
        pinned = self.pinned(state) if state else frozenset()
        moments = tuple(OperatingPoint(state, whole, memory, flow, pinned) for memory, flow in error.moments)
        return Restless(error.parts, state, moments)

    @cached_property
    def _worst(
        self,
    ) -> tuple[tuple[OperatingPoint, ...], tuple[Restless, ...], tuple[tuple[Positions, UnsolvableError], ...]]:
        from .worst_case import WorstCase

        found: list[OperatingPoint] = []
        restless: dict[tuple[str, ...], Restless] = {}
        unsolved: dict[str, tuple[Positions, UnsolvableError]] = {}

        def settles(positions: Mapping[str, str], memory: Memory) -> bool:
            try:
                point = self.at(positions, memory)
            except UnsettledError as error:
                restless.setdefault((*error.parts, *_away(positions)), self._restless(positions, error))
                return False
            except UnsolvableError as error:
                unsolved.setdefault(error.part, (tuple(sorted(positions.items())), error))
                return False
            if not point.shorted:
                found.append(point)
            return not point.shorted

        rated = {key: rating.amps for key, rating in self.network.rated.items() if rating.amps}
        consumers = {b.key for b in self.circuit.branches if b.branch_type.consumes}
        amps = {key: size for key, size in rated.items() if key in consumers}
        asked = ("worst case", tuple(amps.items()), tuple(self.network.duties.items()))
        worst_case = self.logic.told.get(asked)
        if worst_case is None:
            worst_case = self.logic.told[asked] = WorstCase(self.logic, amps, self.network.duties)
        for _ in worst_case.worst(self.points.values(), settles):
            pass
        if not any(point.flow.situation.machines for point in (*self.points.values(), *found)):
            # A battery that is charged is no consumer: what its current alone goes through is looked at, all at rest.
            for positions in self._charging():
                if settles(positions, AT_REST) and found[-1].flow.situation.machines:
                    break
        return tuple(found), tuple(restless.values()), tuple(unsolved.values())

    def _charging(self) -> Iterator[dict[str, str]]:
        """Combinations in which a machine may charge: the engine running, the key off or in each of its positions."""
        if any(supply.kind == "machine" for supply in self.circuit.supplies):
            keys = [control for control in self.circuit.controls.values() if control.key]
            yield {"engine": "running"}
            yield from ({key.name: at, "engine": "running"} for key in keys for at in key.positions if at != key.rest)


def _away(positions: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(f"{name} {at}" for name, at in sorted(positions.items()))
