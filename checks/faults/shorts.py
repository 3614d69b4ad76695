"""Wires that chafe through to ground: which devices open then, state by state, and what lies on ground afterwards."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit import Law, Way
from ...lang.graphs import Merged
from .modes import Damage, telling

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit import Branch
    from ..dc.operating import Point
    from ..protection import Protection

NO_VOLTS = 1e-6
"""A conductor whose volts to ground are no more than this can lie on ground and nothing follows."""


@dataclass(frozen=True, slots=True)
class Short:
    """A wire chafed through to ground in one state. ``like``: shorts of one state with the same name do the same.

    ``damage`` is what it leaves behind, ``None`` where nothing follows; ``burns``: a battery feeds it, nothing opens.
    """

    wire: Branch
    like: str
    damage: Damage | None
    burns: bool = False


class Shorts:
    """The shorts to ground of one solved state."""

    def __init__(self, point: Point, protection: Protection) -> None:
        self.point = point
        self.protection = protection

    def all(self) -> Iterator[Short]:
        """One short for every wire that is not joined to a return pole anyway, in the order of the text."""
        circuit = self.point.circuit
        grounds = {self._net(self.protection.return_pole(s)) for s in self.protection.sources}
        for wire in circuit.branches:
            if wire.law is not Law.WIRE or wire.piece is None:
                continue
            net = self._net(wire.b)
            if net in grounds:
                continue
            exposure = self.protection.exposures.get(wire.piece.name)
            devices = frozenset(exposure.devices) if exposure is not None else frozenset()
            opened, burns = self._opens(net, devices)
            if exposure is not None and not exposure.protected:
                burns = True
            like = ", ".join((net, *sorted(branch.key for branch in opened)))
            follows = opened or net in self._told or abs(self.point.volts(wire.b)) > NO_VOLTS
            yield Short(wire, like, Damage(opened, wire.b) if follows and not burns else None, burns)

    # --- what is joined ----------------------------------------------------------------------------------------------
    def _net(self, node: str) -> str:
        return self._nets.get(node, node)

    @cached_property
    def _nets(self) -> dict[str, str]:
        """A name for each set of nodes that are joined here for good: past no device, nothing that conducts one way and
        nothing that opens again as the engine turns.
        """
        merged: Merged[str] = Merged()
        for branch in self.point.circuit.branches:
            if self.point.joins.conducts(branch) and not self._parts(branch) and branch.law.joined is Way.BOTH:
                merged.merge(branch.a, branch.b)
        return {node: merged.leader(node) for node in tuple(merged.leaders)}

    def _parts(self, branch: Branch) -> bool:
        """Whether a branch joins two nets and not one: a device, what conducts one way, a crank switch."""
        return branch.law is Law.FUSE or branch.law.joined is Way.FORWARD or branch.key in self._crank

    @cached_property
    def _crank(self) -> frozenset[str]:
        return self.point.flow.network.guards.crank

    @cached_property
    def _told(self) -> frozenset[str]:
        """The nets whose joining to ground tells something: to an input, a stop lead, a regulator."""
        parts = self.point.circuit.harness.parts.values()
        return frozenset(self._net(f"{part.name}.{terminal}") for part in parts for terminal in telling(part))

    @cached_property
    def _feeding(self) -> dict[str, list[tuple[str, Branch]]]:
        """For each net the devices and one-way branches by which current comes, with the net that it comes from."""
        found: dict[str, list[tuple[str, Branch]]] = {}
        for branch in self.point.circuit.branches:
            if self._parts(branch) and self.point.joins.conducts(branch):
                for near, far in self.protection.ways(branch):
                    found.setdefault(self._net(far), []).append((self._net(near), branch))
        return found

    @cached_property
    def _poles(self) -> dict[str, bool]:
        """The nets of the feed poles of the sources that give here: whether one of them is a battery's."""
        found: dict[str, bool] = {}
        for supply in self.point.joins.sources:
            if supply.kind != "winding":
                net = self._net(self.protection.feed_pole(supply))
                found[net] = found.get(net, False) or supply.kind == "battery"
        return found

    def _opens(self, net: str, devices: frozenset[str]) -> tuple[tuple[Branch, ...], bool]:
        """The devices, of those that limit a short there at most, that feed it in this state; and whether a battery
        feeds it past all of them.
        """
        opened: dict[str, Branch] = {}
        met = {net}
        queue = deque(met)
        unlimited = False
        while queue:
            here = queue.popleft()
            unlimited |= self._poles.get(here, False)
            for beyond, branch in self._feeding.get(here, ()):
                if branch.key in devices:
                    if self._live(beyond):
                        opened[branch.key] = branch
                elif beyond not in met:
                    met.add(beyond)
                    queue.append(beyond)
        return tuple(opened[key] for key in sorted(opened)), unlimited

    def _live(self, net: str) -> bool:
        """Whether a source feeds a net."""
        met = {net}
        stack = [net]
        while stack:
            here = stack.pop()
            if here in self._poles:
                return True
            for beyond, _ in self._feeding.get(here, ()):
                if beyond not in met:
                    met.add(beyond)
                    stack.append(beyond)
        return False
