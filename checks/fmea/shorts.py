"""Wires that chafe through to ground: which devices open then, state by state, and what is shorted to ground
afterwards.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import End
from ...lang.records import dataclass
from ...lang.search.cuts import Arc, Cut, both_ways, cut_before
from ...lang.search.disjoint_set import DisjointSet
from ..protection.sustained_fault import UNKNOWN, is_device
from .failure_modes import Damage, telling
from .stators import leads

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.search.cuts import Node, Residual
    from ..operation.operation import OperatingPoint
    from ..protection.protection import Protection
    from .outcome import Outcome

_POLES = "feed poles"
NO_VOLTS = 1e-6
"""A conductor whose volts to ground are no more than this can be shorted to ground and nothing follows."""


@dataclass(frozen=True, slots=True)
class Short:
    """A wire chafed through to ground in one state. ``like``: shorts of one state with the same name do the same.

    ``damage`` is what it leaves behind, ``None`` where nothing follows; ``burns``: a battery feeds it past no device.
    """

    wire: Branch | None
    like: str
    damage: Damage | None
    burns: bool = False

    @property
    def key(self) -> str:
        """The key of the wire; empty without any."""
        return self.wire.key if self.wire is not None else ""

    @property
    def fed(self) -> bool:
        """Whether a source drives a fault current through it: a device opens, or a battery has none before it."""
        return self.burns or (self.damage is not None and bool(self.damage.opened))

    def follows(self, outcome: Outcome) -> bool:
        """Whether anything comes of it in its state."""
        return self.fed or bool(outcome.effects)


class Shorts:
    """The shorts to ground of one solved state."""

    def __init__(self, point: OperatingPoint, protection: Protection) -> None:
        self.point = point
        self.protection = protection

    def all(self) -> Iterator[Short]:
        """One short for every wire that is not connected to a return pole anyway, in the order of the text."""
        nets, returns, told = self._nets, self._returns, self._told | {self._net(end) for end in leads(self.point)}
        for wire in self.point.circuit.branches:
            if wire.branch_type is not BranchType.WIRE or wire.segment is None:
                continue
            net = nets.get(wire.b, wire.b)
            if net in returns:
                continue
            opened, burns = self._opened(net)
            like = ", ".join((net, *(branch.key for branch in opened)))
            follows = burns or opened or net in told or abs(self.point.volts(wire.b)) > NO_VOLTS
            yield Short(wire, like, Damage(opened, wire.b) if follows else None, burns)

    def fed(self, wanted: Collection[str]) -> frozenset[str]:
        """Those of some wires, by key, into which a source drives a fault current once they are shorted to ground."""
        nets, returns, by_key = self._nets, self._returns, self.point.circuit.by_key
        at = {key: nets.get(by_key[key].b, by_key[key].b) for key in wanted}
        return frozenset(key for key, net in at.items() if net not in returns and any(self._opened(net)))

    def _opened(self, net: str) -> tuple[tuple[Branch, ...], bool]:
        """The devices that a short of a net to ground opens, and whether it burns."""
        if net not in self._opens:
            cut = self._cut(net)
            self._opens[net] = self._devices(cut), math.isinf(cut.amps)
        return self._opens[net]

    @cached_property
    def _opens(self) -> dict[str, tuple[tuple[Branch, ...], bool]]:
        return {}

    def own(self) -> Short | None:
        """What the controls themselves short here, past no consumer, with no ``wire``; ``None``: nothing."""
        protection = self.protection
        if any(self._net(protection.feed_pole(s)) == self._net(protection.return_pole(s)) for s in protection.sources):
            return Short(None, "", None, burns=True)
        cuts = [self._cut(net) for net in sorted(self._returns)]
        cut = max(cuts, key=lambda each: each.amps, default=Cut(0.0, ()))
        if not cut.amps:
            return None
        opened = self._devices(cut)
        return Short(None, "", Damage(opened) if opened else None, math.isinf(cut.amps))

    def _devices(self, cut: Cut) -> tuple[Branch, ...]:
        """The devices of a cut, by key; machines limit a fault as well, and open nothing."""
        by_key = self.point.circuit.by_key
        return tuple(by_key[name] for name in cut.names if name in by_key and is_device(by_key[name]))

    # --- what is joined ----------------------------------------------------------------------------------------------
    def _net(self, node: str) -> str:
        return self._nets.get(node, node)

    @cached_property
    def _nets(self) -> dict[str, str]:
        """A name for each set of nodes that are joined here for good: past no device, nothing that conducts one way and
        nothing that opens again as the engine turns.
        """
        always, at_times = self.protection.past_no_device
        merged: DisjointSet[str] = DisjointSet()
        merged.leaders.update(always)
        for branch in at_times:
            if branch.key in self.point.flow.situation.conducting and branch.key not in self._crank:
                merged.merge(branch.a, branch.b)
        return {node: merged.leader(node) for node in tuple(merged.leaders)}

    def _parts(self, branch: Branch) -> bool:
        """Whether a branch joins two nets and not one: a device, what conducts one way, a crank switch."""
        return (
            branch.branch_type is BranchType.FUSE
            or branch.branch_type.joined is Direction.FORWARD
            or branch.key in self._crank
        )

    @cached_property
    def _crank(self) -> frozenset[str]:
        return self.point.flow.network.topology.guards.crank

    @cached_property
    def _told(self) -> frozenset[str]:
        """The nets whose joining to ground tells something: to an input, a kill wire, a regulator."""
        parts = self.point.circuit.harness.parts.values()
        return frozenset(self._net(End(part.name, terminal)) for part in parts for terminal in telling(part))

    @cached_property
    def _returns(self) -> frozenset[str]:
        """The nets of the poles that the system grounds; what joins two batteries in a row is a feed."""
        protection = self.protection
        feeds = {self._net(protection.feed_pole(s)) for s in protection.sources if s.kind == "battery"}
        return frozenset(self._net(protection.return_pole(s)) for s in protection.sources) - feeds

    @cached_property
    def _into(self) -> dict[Node, list[tuple[Node, Residual]]]:
        """The ways of a fault current into each net of this state: from the feed poles of what gives here, through
        devices, and through what conducts one way.
        """
        protection, arcs = self.protection, []
        for supply in self.point.connectivity.sources:
            if supply.kind != "winding":
                amps = math.inf if supply.kind == "battery" else protection.limit(supply.key).amps
                pole = self._net(protection.feed_pole(supply))
                arcs.append(Arc(_POLES, pole, UNKNOWN if amps is None else amps, supply.key))
        for branch in self.point.circuit.branches:
            if self._parts(branch) and self.point.connectivity.conducts(branch):
                rating = protection.limit(branch.key).amps if is_device(branch) else math.inf
                ways = protection.ways(branch)
                near, far = (self._net(end) for end in ways[0])
                if near != far:
                    amps = UNKNOWN if rating is None else rating
                    arcs.append(Arc(near, far, amps, branch.key, both=len(ways) > 1))
        found: dict[Node, list[tuple[Node, Residual]]] = {}
        for tail, head, step in both_ways(arcs):
            found.setdefault(head, []).append((tail, step))
        return found

    def _cut(self, net: str) -> Cut:
        """What limits a fault current into a net in this state: no amps where nothing feeds it, an infinity of them
        where a battery does past no device. A return pole leads nowhere on.
        """
        if net not in self._cuts:
            shut = self._returns - {net}
            into = self._into

            def ways(node: Node) -> Iterable[tuple[Node, Residual]]:
                return (way for way in into.get(node, ()) if way[0] not in shut)

            self._cuts[net] = cut_before(ways, _POLES, net)
        return self._cuts[net]

    @cached_property
    def _cuts(self) -> dict[str, Cut]:
        return {}
