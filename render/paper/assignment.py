"""Which sheet everything is on: parts by the system that they are for, what is for none where most of its wires are.

What is assigned is a *thing*: a symbol, a splice, a way of a plug, or one terminal of a control unit that is parted. A
wire is where its ends are; where these are on two sheets it stands on both, with a flag on each.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from typing import Final

from ...lang.circuit.ids import End
from ...lang.model.harness import Harness
from ...lang.model.parts import Connector, Fuse, Unit
from ...lang.records import dataclass
from ...lang.vocabulary.kinds import SYSTEMS
from ..schematic.placement import Item

SUPPLY: Final = "supply"
PARTED: Final = 3
"""A control unit whose terminals go to this many sheets is parted."""
_ROUNDS: Final = 12
"""So often things without a system are looked at again (ours)."""


@dataclass(frozen=True, slots=True)
class Link:
    """A stretch of wire between two things, the upper one first; ``None`` at a body of metal."""

    wire: str
    upper: str | None
    lower: str | None


@dataclass(slots=True)
class Wiring:
    """The things of a harness and the wires between them. ``parted`` are the units that fall into their terminals."""

    harness: Harness
    items: Sequence[Item]
    parted: frozenset[str] = frozenset()
    anchors: dict[str, Item] = field(default_factory=dict)
    links: list[Link] = field(default_factory=list)
    on_net: dict[str, list[Item]] = field(default_factory=dict)
    symbols: dict[str, Item] = field(default_factory=dict)
    """What each thing is, or is a terminal of."""
    wires: dict[str, list[Item]] = field(default_factory=dict)
    """What ends at each thing; of a wire between two bodies of metal it is the wire itself."""

    def __post_init__(self) -> None:
        for item in self.items:
            for socket in item.sockets:
                self.on_net.setdefault(socket.net, []).append(item)
                if item.symbol.kind not in ("wire", "frame"):
                    self.anchors.setdefault(socket.net, item)
        for item in self.items:
            if item.wire:
                upper, lower = (self.thing_at(socket.net) for socket in item.sockets)
                self.links.append(Link(item.key, upper, lower))
                for thing in {each for each in (upper, lower) if each is not None} or {item.key}:
                    self.wires.setdefault(thing, []).append(item)
            else:
                names = [socket.net for socket in item.sockets] if item.key in self.parted else [item.key]
                self.symbols |= dict.fromkeys(names, item)

    def thing_at(self, net: str) -> str | None:
        """The thing that a net belongs to: where a terminal stands in several symbols, the first."""
        anchor = self.anchors.get(net)
        if anchor is None:
            return None
        return net if anchor.key in self.parted else anchor.key

    @property
    def things(self) -> list[str]:
        """All things, in the order of the text."""
        found: dict[str, None] = {}
        for item in self.items:
            if item.wire:
                continue
            if item.symbol.kind == "frame":
                if all(each.symbol.kind == "frame" for socket in item.sockets for each in self.on_net[socket.net]):
                    found.setdefault(item.key)  # two bodies bolted together
            elif item.key in self.parted:
                found.update(dict.fromkeys(socket.net for socket in item.sockets))
            else:
                found.setdefault(item.key)
        found.update(dict.fromkeys(link.wire for link in self.links if link.upper is None and link.lower is None))
        return list(found)

    def beyond(self, net: str, wire: Item) -> str:
        """The net of the terminal that a wire goes to, past the plugs on its way; ``net`` is where it is seen from."""
        seen = {wire.key}
        while True:
            far = next(socket.net for socket in wire.sockets if socket.net != net)
            anchor = self.anchors.get(far)
            if anchor is None or not isinstance(self.harness.parts.get(anchor.part), Connector):
                return far
            net = next((socket.net for socket in anchor.sockets if socket.net != far), far)
            onward = next((item for item in self.on_net[net] if item.wire and item.key not in seen), None)
            if onward is None:
                return far
            wire = onward
            seen.add(wire.key)


def assigned(harness: Harness, items: Sequence[Item]) -> tuple[Wiring, dict[str, str]]:
    """The wiring, and the system on whose sheet each thing is."""
    wiring = Wiring(harness, items)
    homes = _settled(wiring, {})
    units = {part.name for part in harness.parts.values() if isinstance(part, Unit)}
    goals = {name: _goals(wiring, homes, name) for name in sorted(units)}
    parted = frozenset(name for name, ends in goals.items() if len(set(ends.values())) >= PARTED)
    if not parted:
        return wiring, homes
    wiring = Wiring(harness, items, parted)
    fixed = {net: home for name in parted for net, home in goals[name].items()}
    for item in items:
        if item.key in parted:
            own = harness.parts[item.key].system or SUPPLY
            fixed |= {socket.net: own for socket in item.sockets if socket.net not in fixed}
    return wiring, _settled(wiring, fixed)


def _goals(wiring: Wiring, homes: Mapping[str, str], unit: str) -> dict[str, str]:
    """On which sheet each terminal of a unit ends that wires lead somewhere, past the plugs."""
    found: dict[str, str] = {}
    for item in wiring.items:
        if item.key != unit:
            continue
        for socket in item.sockets:
            wires = [each for each in wiring.on_net[socket.net] if each.wire]
            ends = [wiring.thing_at(wiring.beyond(socket.net, wire)) for wire in wires]
            sheets = Counter(homes[end] for end in ends if end is not None and end != unit)
            if sheets:
                found[socket.net] = _most(sheets)
    return found


def _most(sheets: Mapping[str, int]) -> str:
    return min(sheets, key=lambda sheet: (-sheets[sheet], _order(sheet)))


def _order(system: str) -> int:
    return -1 if system == SUPPLY else SYSTEMS.index(system) if system in SYSTEMS else len(SYSTEMS)


def _settled(wiring: Wiring, fixed: Mapping[str, str]) -> dict[str, str]:
    """Everything with a home: by its own system, or where most of its wires are, of several the feeding one."""
    part_of = {item.key: item.part for item in wiring.items}
    homes: dict[str, str] = dict(fixed)
    things = wiring.things
    for thing in things:
        part = wiring.harness.parts.get(part_of.get(thing, ""))
        own = SUPPLY if part is None else part.system or (SUPPLY if isinstance(part, Fuse) else None)
        if thing not in homes and (own or thing not in part_of):
            homes[thing] = own or SUPPLY
    free = [thing for thing in things if thing not in homes]
    around: dict[str, list[tuple[str, bool]]] = {}
    for link in wiring.links:
        if link.upper is not None and link.lower is not None:
            around.setdefault(link.upper, []).append((link.lower, False))
            around.setdefault(link.lower, []).append((link.upper, True))
    for _ in range(_ROUNDS):
        before = dict(homes)
        for thing in free:  # one after another: all at once, neighbours would swap places endlessly
            if (home := _best(thing, around, homes)) is not None:
                homes[thing] = home
        if homes == before:
            break
    return homes | {thing: SUPPLY for thing in things if thing not in homes}


def _best(thing: str, around: Mapping[str, Iterable[tuple[str, bool]]], homes: Mapping[str, str]) -> str | None:
    sheets: Counter[str] = Counter()
    feeding: dict[str, None] = {}
    for other, feeds in around.get(thing, ()):
        if other in homes:
            sheets[homes[other]] += 1
            if feeds:
                feeding.setdefault(homes[other])
    if not sheets:
        return None
    own = homes.get(thing)
    return min(sheets, key=lambda s: (-sheets[s], s not in feeding, s != own, _order(s)))


def node_of(net: str, wiring: Wiring) -> End | str:
    """The node that a net is of."""
    anchor = wiring.anchors.get(net)
    if anchor is None:
        return next((socket.at for item in wiring.on_net[net] for socket in item.sockets if socket.net == net), net)
    return next(socket.at for socket in anchor.sockets if socket.net == net)
