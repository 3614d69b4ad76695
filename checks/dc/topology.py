"""Where current can come from and go to by what joins, and what moves the branches that may be open."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition, On, Pulled
from ...lang.circuit.ids import End
from ...lang.model.parts import Sensor, Unit
from ...lang.records import dataclass
from ...lang.search.walks import reachable
from .connectivity import always

if TYPE_CHECKING:
    from collections.abc import Collection

    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Net, Nets


Ways = tuple[tuple[str, str], ...]
"""Pairs of nodes that are joined."""


@dataclass(frozen=True, slots=True)
class Guards:
    """The keys of the branches that may be open, by what moves them; ``crank`` is what the engine moves.

    ``positions``: (key, guard, whether its control is free while the engine turns); ``relays``: (relay, keys while
    pulled, keys while released); ``outputs``: (unit.output, key); ``joints``: those not to be relied on.
    """

    positions: tuple[tuple[str, InPosition, bool], ...]
    relays: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...]
    outputs: tuple[tuple[str, str], ...]
    joints: tuple[str, ...]
    crank: frozenset[str]


class Topology:
    """What one circuit joins; ``like``: the topology of a harness that it comes from by taking something out."""

    def __init__(self, circuit: Circuit, like: Topology | None = None) -> None:
        self.circuit = circuit
        self._like = like

    @property
    def nets(self) -> Nets:
        return self.circuit.nets

    @cached_property
    def steps(self) -> dict[int, list[tuple[int, str | None]]]:
        """For each net, where current goes by what joins: the other net, and the key of what may open on the way."""
        found: dict[int, list[tuple[int, str | None]]] = {}
        for edge in self.nets.switched:
            key = None if always(edge.branch) else edge.branch.key
            found.setdefault(edge.a, []).append((edge.b, key))
            if edge.both:
                found.setdefault(edge.b, []).append((edge.a, key))
        return found

    @cached_property
    def guards(self) -> Guards:
        """What moves the branches that may be open."""
        positions, outputs, joints = [], [], []
        relays: dict[str, tuple[list[str], list[str]]] = {}
        for branch in self.circuit.branches:
            match branch.guard:
                case InPosition(control) as guard:
                    positions.append((branch.key, guard, self.circuit.controls[control].free))
                case Pulled(relay, pulled):
                    relays.setdefault(relay, ([], []))[not pulled].append(branch.key)
                case On(unit, output):
                    outputs.append((f"{unit}.{output}", branch.key))
                case None if not branch.reliable:
                    joints.append(branch.key)
        return Guards(
            tuple(positions),
            tuple((relay, tuple(pulled), tuple(released)) for relay, (pulled, released) in relays.items()),
            tuple(outputs),
            tuple(joints),
            frozenset(key for key, _, free in positions if free)
            | {name for name, control in self.circuit.controls.items() if control.free and not control.switches},
        )

    @cached_property
    def senders(self) -> dict[str, tuple[Ways, ...]]:
        """For each signal input (``CTRL.P``) the sensors that it is wired to in the whole harness.

        Each as what must be joined: the input to one terminal of the sensor, the input's return to the other.
        """
        if self._like is not None:
            return self._like.senders
        of, parts = self.nets.of, self.circuit.harness.parts.values()
        pairs = [
            tuple(End(part.name, t) for t in part.signal) for part in parts if isinstance(part, Sensor) and part.signal
        ]
        found: dict[str, tuple[Ways, ...]] = {}
        for unit in parts:
            for given in unit.inputs if isinstance(unit, Unit) else ():
                if given.mode != "signal":
                    continue
                own = [End(unit.name, t) for t in (given.terminal, given.back) if t]
                ways = [tuple(zip(own, pair, strict=False)) for a, b in pairs for pair in ((a, b), (b, a))]
                found[own[0]] = tuple(w for w in ways if all(of.get(x) == of.get(y) for x, y in w))
        return found

    def reaches(self, conducting: frozenset[str], start: str, ends: tuple[str, ...]) -> bool:
        """Whether current can come from a terminal to one of some others through what joins.

        Asked again and again of the same terminals, of which each depends on few contacts: kept by how those stand.
        """
        if start not in self.nets.of:
            return False
        asked = (start, ends, conducting & self.deciding(start, ends))
        known = self._reached.get(asked)
        if known is None:
            known = self._reached[asked] = self._reaches(*asked)
        return known

    def deciding(self, start: str, ends: tuple[str, ...]) -> frozenset[str]:
        """The keys of all that may open and can be met on the way from a terminal to others: how these stand decides
        which way there is.
        """
        found = self._deciding.get((start, ends))
        if found is None:
            found = self._deciding[start, ends] = self._between(start, ends) if start in self.nets.of else frozenset()
        return found

    @cached_property
    def _deciding(self) -> dict[tuple[str, tuple[str, ...]], frozenset[str]]:
        return {}

    @cached_property
    def _reached(self) -> dict[tuple[str, tuple[str, ...], frozenset[str]], bool]:
        return {}

    def met(self, start: str, ends: tuple[str, ...]) -> Collection[Net]:
        """The nets that a terminal may be connected to, whatever is closed, on the way to others."""
        of, steps = self.nets.of, self.steps
        goal = {of[node] for node in ends if node in of}
        return reachable([of[start]], lambda net: steps.get(net, ()), stop_at=goal) if start in of else ()

    def _between(self, start: str, ends: tuple[str, ...]) -> frozenset[str]:
        of, steps, met = self.nets.of, self.steps, self.met(start, ends)
        goal = {of[node] for node in ends if node in of}
        seen = (key for net in met if net not in goal for _, key in steps.get(net, ()))
        return frozenset(key for key in seen if key is not None)

    def _reaches(self, start: str, ends: tuple[str, ...], conducting: frozenset[str]) -> bool:
        of = self.nets.of
        goal = {of[node] for node in ends if node in of}
        steps = self.steps

        def step(net: Net) -> list[tuple[Net, str | None]]:
            return [(other, key) for other, key in steps.get(net, ()) if key is None or key in conducting]

        met = reachable([of[start]], step, until=goal)
        return not goal.isdisjoint(met)
