"""Where current goes by copper: the searches that sizing asks, on the circuit and what protects it."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import End
from ...lang.circuit.paths import steps_over
from ...lang.model.parts import Fuse, Ground, Part, Rectifier, Source
from ...lang.quantities.quantity import shown
from ...lang.quantities.size import Size
from ...lang.search.blocks import between
from ...lang.search.walks import reachable
from ..protection.protection import Protection
from ..tables.fuses import continuous_amps


def main_feed(protection: Protection) -> Size | None:
    """The thickest wire from a battery's feed pole to anything but the starter."""
    poles = {protection.feed_pole(s) for s in protection.sources if s.kind == "battery"}
    sizes = [
        branch.segment.size
        for branch in protection.circuit.branches
        if branch.segment is not None
        and branch.segment.size is not None
        and branch.key not in protection.cranking_path.feed
        and {branch.a, branch.b} & poles
    ]
    return max(sizes, key=lambda size: size.area, default=None)


def only_ways(circuit: Circuit, start: str, ends: Iterable[str]) -> tuple[str, ...]:
    """The branches without which a node is connected to none of some others, contacts closed in any position."""
    branches = [b for b in circuit.branches if b.branch_type.joined is Direction.BOTH]
    edges = [(b.a, b.b) for b in branches]
    known = {node for edge in edges for node in edge}
    goals = {end for end in ends if end in known and end != start}
    if start not in known or not goals:
        return ()
    on_some = sorted({i for end in goals for i in between(edges, start, end)})
    steps: dict[str, list[tuple[str, int]]] = {}
    for i in on_some:
        a, b = edges[i]
        steps.setdefault(a, []).append((b, i))
        steps.setdefault(b, []).append((a, i))

    def still_joined(without: int) -> bool:
        left = reachable([start], lambda node: (to for to in steps.get(node, ()) if to[1] != without), until=goals)
        return not goals.isdisjoint(left)

    return tuple(branches[i].key for i in on_some if not still_joined(i))


def fuses_beyond(protection: Protection, conductor: Branch) -> dict[str, float | None]:
    """The fuses, and their A, that copper connects to the far end of an unprotected wire."""
    circuit = protection.circuit
    poles = {protection.feed_pole(s) for s in protection.sources}
    copper = steps_over(circuit, lambda branch: branch.branch_type.conductor and branch.key != conductor.key)
    for end in (conductor.a, conductor.b):
        joined = reachable([end], copper)
        if poles.isdisjoint(joined):
            touching = (branch for node in joined for branch in circuit.at.get(node, ()))
            fuses = (branch.part for branch in touching if branch.branch_type is BranchType.FUSE)
            return {name: _continuous_amps(circuit.harness.parts[name]) for name in fuses}
    return {}


def _continuous_amps(part: Part) -> float | None:
    """A that a fuse carries continuously; ``None`` where its line does not say, or it is no fuse."""
    return continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None


def faults_returned(protection: Protection) -> dict[str, tuple[float, str]]:
    """The most A that a fault behind one fuse, or one set of feeds, can send back continuously through each branch that
    is the only way from there to a battery, and which fuses those are.

    A fault may be in a consumer, from its feed to its own return, or of any feed to a body of metal.
    """
    circuit = protection.circuit
    poles = [protection.return_pole(s) for s in protection.sources if s.kind == "battery"]
    feeds: dict[str, tuple[float, str]] = {}
    for sustained_fault in protection.sustained_faults.values():
        devices = [limit for limit in sustained_fault.limits if not limit.machine]
        if not devices or not sustained_fault.known or sustained_fault.conductor.key in protection.cranking_path.feed:
            continue
        passed = sum(limit.amps or 0.0 for limit in devices)
        found = passed, " and ".join(f"{limit.name} {shown(limit.amps or 0.0)} A" for limit in devices)
        for end in (sustained_fault.conductor.a, sustained_fault.conductor.b):
            feeds[end] = max(feeds.get(end, found), found)
    starts: dict[str, tuple[float, str]] = {}
    for branch in circuit.branches:
        if branch.branch_type.consumes:
            for near, far in ((branch.a, branch.b), (branch.b, branch.a)):
                if near in feeds and far in protection.returns:
                    starts[far] = max(starts.get(far, feeds[near]), feeds[near])
    if feeds:
        worst = max(feeds.values())
        bodies = [part.name for part in circuit.harness.parts.values() if isinstance(part, Ground)]
        starts |= {body: worst for body in bodies if body in protection.returns}
    most: dict[str, tuple[float, str]] = {}
    for start, fault in starts.items():
        for key in only_ways(circuit, start, poles):
            most[key] = max(most.get(key, fault), fault)
    return most


def alternating(protection: Protection, solved: Collection[End] = ()) -> set[str]:
    """The wires that carry alternating current, as far as the bodies of ground; but for what comes from terminals that
    are ``solved``.
    """
    harness, circuit = protection.circuit.harness, protection.circuit
    start = [
        End(part.name, terminal)
        for part in harness.parts.values()
        if isinstance(part, Source | Rectifier)
        for terminal in (
            *part.phases,
            *(t for winding in (part.windings if isinstance(part, Source) else ()) for t in winding.terminals),
        )
        if End(part.name, terminal) not in solved
    ]
    walls = {part.name for part in harness.parts.values() if isinstance(part, Ground)}
    walls |= {pole for s in protection.sources for pole in (*s.plus, s.minus)}
    carries = steps_over(circuit, lambda b: b.branch_type.joined is Direction.BOTH or b.branch_type.consumes)
    joined = reachable(start, carries, stop_at=walls)
    return {branch.owner for node in joined if node not in walls for _, branch in carries(node) if branch.segment}
