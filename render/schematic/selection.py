"""What belongs on the sheet of one system: its parts, what feeds them, and their way to ground.

From each part of the system the drawing is followed upwards to the supply, through whatever conducts and whatever
is in series, and downwards to ground through what conducts. A relay's contact brings its coil along, an output of a
unit the inputs that turn it on. A wire that leaves the sheet at a terminal on it is kept as a stub with the name of the
terminal that it goes to, so that no terminal looks free that is not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from ...lang.circuit.ids import bolted, coil_of, owner_of, piece_of
from ...lang.diagnostics.messages import listed
from ...lang.diagnostics.spelling import nearest
from ...lang.model.conditions import asked_by
from ...lang.model.harness import Harness
from ...lang.model.parts import (
    Connector,
    Diode,
    Flasher,
    Fuse,
    Ground,
    Meter,
    Part,
    Relay,
    Source,
    Splice,
    Switch,
    Unit,
)
from ...lang.model.wires import End
from ...lang.records import dataclass
from ...lang.search.walks import closure, shortest
from ...lang.vocabulary.kinds import SYSTEMS
from .placement import Item, Socket
from .symbols.glyph import Side


class UnknownSystem(ValueError):  # noqa: N818 (says what is wrong, as a user reads it)
    """A system that no part of the harness is for."""


def systems_of(harness: Harness) -> tuple[str, ...]:
    """The systems that parts of a harness are for, in the order of the language's own list."""
    used = {part.system for part in harness.parts.values()}
    return tuple(system for system in SYSTEMS if system in used)


def known_system(harness: Harness, system: str) -> str:
    """The system itself; raises :class:`UnknownSystem` with the nearest name and those that there are."""
    there = systems_of(harness)
    if system in there:
        return system
    has = f"Its parts are for {listed(there, 'and')}." if there else "No part of it says what it is for."
    if system in SYSTEMS:
        raise UnknownSystem(f"No part of this harness is for `{system}`. {has}")
    near = nearest(system, SYSTEMS)
    hint = f" Did you mean `{near}`?" if near else ""
    raise UnknownSystem(f"This harness has no system `{system}`.{hint} {has}")


@dataclass(frozen=True, slots=True)
class Stub:
    """A wire that leaves the sheet: its item, the net on the sheet that it is connected to, and the terminal it goes
    to.
    """

    item: Item
    net: str
    to: str


@dataclass(frozen=True, slots=True)
class Selection:
    """Keys of items on the sheet, which terminals of units are used there, and stubs of what leaves it."""

    keys: frozenset[str]
    pins: Mapping[str, frozenset[str]]
    stubs: tuple[Stub, ...]


class _Walk:
    """The sheet as it grows."""

    def __init__(self, harness: Harness, items: Sequence[Item], part_of: Mapping[str, str]) -> None:
        self.harness = harness
        self.items = {item.key: item for item in items}
        self.part_of = part_of
        self.nets: dict[str, list[tuple[Item, Socket]]] = {}
        for item in items:
            for socket in item.sockets:
                self.nets.setdefault(socket.net, []).append((item, socket))
        self.keys: dict[str, None] = {}
        self.pins: dict[str, set[str]] = {}
        self.grounded: dict[str, bool] = {}
        self.gone: set[tuple[str, Side]] = set()

    def part(self, item: Item) -> Part | None:
        return self.harness.parts.get(self.part_of.get(item.key, ""))

    def conducts(self, item: Item) -> bool:
        """Whether an item is no consumer: current passes it unhindered, in some position."""
        part = self.part(item)
        if item.wire or part is None or isinstance(part, Splice | Connector):
            return True
        if isinstance(part, Relay):
            return item.key != coil_of(part.name)
        return isinstance(part, Fuse | Switch | Diode | Meter | Flasher)

    # --- growing ---
    def seed(self, item: Item) -> None:
        """A symbol that belongs here: with what feeds its upper terminals, and the way to ground of its lower ones."""
        self.take(item, "top")
        self.take(item, "bottom")

    def take(self, item: Item, toward: Side, sockets: Iterable[Socket] | None = None) -> None:
        """Put an item on the sheet and go on through it: up to what feeds it, or down to ground.

        ``sockets`` are those by which it was reached, ``None`` for a symbol that belongs here itself.
        """
        part = self.part(item)
        if isinstance(part, Unit):
            self.take_unit(part, item, sockets)
            return
        if (item.key, toward) in self.gone:
            return
        self.gone.add((item.key, toward))
        self.keys[item.key] = None
        for socket in item.sockets:
            if socket.side == toward:
                self.follow(socket)
        coil = self.items.get(coil_of(part.name)) if isinstance(part, Relay) else None
        if coil is not None and coil is not item:
            self.seed(coil)

    def follow(self, socket: Socket) -> None:
        if socket.side == "top":
            self.up(socket.net)
        elif self.reaches_ground(socket.net, frozenset()):
            self.down(socket.net)

    def up(self, net: str) -> None:
        for item, socket in self.nets.get(net, ()):
            if socket.side == "bottom":
                self.take(item, "top", [socket])
            elif isinstance(self.part(item), Source) and item.tied == "head":
                self.seed(item)

    def down(self, net: str) -> None:
        for item, socket in self.nets.get(net, ()):
            if socket.side == "top" and self.item_reaches_ground(item, socket, frozenset()):
                self.take(item, "bottom", [socket])

    def reaches_ground(self, net: str, seen: frozenset[str]) -> bool:
        """Whether a ground lies below a net, with no consumer between."""
        if net in seen:
            return False
        if net not in self.grounded:
            seen |= {net}
            self.grounded[net] = any(
                socket.side == "top" and self.item_reaches_ground(item, socket, seen)
                for item, socket in self.nets.get(net, ())
            )
        return self.grounded[net]

    def item_reaches_ground(self, item: Item, socket: Socket, seen: frozenset[str]) -> bool:
        if item.tied == "foot":
            return True
        part = self.part(item)
        if isinstance(part, Unit):  # an output that grounds
            return any(output.grounded and output.terminal == socket.terminal for output in part.outputs)
        if not self.conducts(item):
            return False
        return any(s.side == "bottom" and self.reaches_ground(s.net, seen) for s in item.sockets)

    # --- units ---
    def take_unit(self, unit: Unit, item: Item, sockets: Iterable[Socket] | None) -> None:
        """A unit with the terminals that matter here: all, or those reached, its supply and what turns them on."""
        if item.key not in self.keys:
            self.keys[item.key] = None
            self.pins[item.key] = set()
        if sockets is None:
            wanted = {socket.terminal for socket in item.sockets}
        else:
            wanted = {socket.terminal for socket in sockets}
            for supply in unit.supplies:
                wanted |= {supply.plus, supply.minus}
            wanted |= _inputs_of(unit, wanted)
        new = wanted - self.pins[item.key]
        self.pins[item.key] |= new
        signals = {t for given in unit.inputs if given.mode == "signal" for t in (given.terminal, given.back or "")}
        signals |= set(unit.commons)
        for socket in item.sockets:
            if socket.terminal in new:
                self.follow(socket)
                if socket.terminal in signals and socket.side == "bottom":
                    self.sensors_below(socket.net)

    def sensors_below(self, net: str) -> None:
        """What is between two signal terminals of a unit, and the wires to it."""
        for item, socket in self.nets.get(net, ()):
            if socket.side == "top" and item.key not in self.keys and (self.conducts(item) or item.key in self.part_of):
                if self.conducts(item):
                    self.take(item, "bottom", [socket])
                else:
                    self.seed(item)
                for own in item.sockets:
                    if own.side == "bottom":
                        self.sensors_below(own.net)


def _inputs_of(unit: Unit, terminals: set[str]) -> set[str]:
    """The terminals of the inputs that decide over the outputs among ``terminals``, through latches too."""
    latches = {latch.name: latch for latch in unit.latches}

    def asks(name: str) -> tuple[str, ...]:
        latch = latches.get(name)
        return () if latch is None else (*asked_by(latch.set_when), *asked_by(latch.cleared_when))

    conditions = [output.when for output in unit.outputs if output.terminal in terminals and output.when is not None]
    names = closure((name for condition in conditions for name in asked_by(condition)), asks)
    found = {t for given in unit.inputs if given.name in names for t in (given.terminal, given.back) if t}
    if any(given.back is None and given.mode == "signal" and given.name in names for given in unit.inputs):
        found |= set(unit.commons)
    return found


def select(harness: Harness, items: Sequence[Item], part_of: Mapping[str, str], system: str) -> Selection:
    """What the sheet of ``system`` shows of all ``items``; ``part_of`` says whose symbol each item is.

    Raises :class:`UnknownSystem`.
    """
    system = known_system(harness, system)
    walk = _Walk(harness, items, part_of)
    for item in items:
        part = walk.part(item)
        if part is not None and part.system == system:
            walk.seed(item)
    for key in _straps(walk):
        walk.keys.setdefault(key)
    nets = _nets_on_sheet(walk)
    for item in items:  # a wire between two terminals of the sheet belongs there, whatever it is for
        if item.wire and all(socket.net in nets for socket in item.sockets):
            walk.keys.setdefault(item.key)
    keys = frozenset(walk.keys)
    stubs = tuple(
        Stub(item, net, _destination(walk, item, socket))
        for net in sorted(nets)
        for item, socket in walk.nets[net]
        if item.wire and item.key not in keys
    )
    return Selection(keys, {key: frozenset(pins) for key, pins in walk.pins.items()}, stubs)


def _straps(walk: _Walk) -> Iterator[str]:
    """What joins the bodies of ground on the sheet to each other: without it the ground return would not be there.

    Wires between two bodies, past splices and plugs, and bodies bolted together; the first body on the sheet is joined
    to each other one.
    """
    harness = walk.harness
    near: dict[str, list[tuple[str, str]]] = {}
    for segment in harness.segments:
        a, b = _node(harness, segment.a), _node(harness, segment.b)
        near.setdefault(a, []).append((b, piece_of(segment)))
        near.setdefault(b, []).append((a, piece_of(segment)))
    for mount in harness.mounts:
        if not mount.terminal:
            key = f"ground of {bolted(mount)}"
            near.setdefault(mount.part, []).append((mount.ground, key))
            near.setdefault(mount.ground, []).append((mount.part, key))
    there = [node for node, wires in near.items() if any(key in walk.keys for _, key in wires)]
    bodies = [node for node in there if isinstance(harness.parts.get(node), Ground)]
    bodies += [m.ground for m in harness.mounts if f"ground of mount {m.part}.{m.terminal}" in walk.keys]
    bodies = list(dict.fromkeys(bodies))
    for body in bodies[1:]:
        for wire in _way(harness, near, bodies[0], body, frozenset(there)):
            yield wire
            for socket in walk.items[wire].sockets:
                yield from (item.key for item, _ in walk.nets[socket.net] if item.wire or walk.part(item) is None)


def _node(harness: Harness, end: End) -> End:
    """An end of a wire, both halves of a way of a plug as one."""
    return end.way if isinstance(harness.parts.get(end.part), Connector) else end


def _way(
    harness: Harness, near: Mapping[str, Sequence[tuple[str, str]]], start: str, end: str, there: frozenset[str]
) -> tuple[str, ...]:
    """The wires of the shortest way between two bodies of ground, past nothing but copper; none without one."""

    def step(node: str) -> Sequence[tuple[str, str]]:
        part = harness.parts.get(owner_of(node))
        return near.get(node, ()) if node in there or isinstance(part, Ground | Splice | Connector) else ()

    return shortest([start], end.__eq__, step) or ()


def _nets_on_sheet(walk: _Walk) -> set[str]:
    """Every terminal that shows on the sheet."""
    return {
        socket.net
        for key in walk.keys
        for socket in walk.items[key].sockets
        if key not in walk.pins or socket.terminal in walk.pins[key]
    }


def _destination(walk: _Walk, item: Item, socket: Socket) -> str:
    """The terminal that a wire goes to, past the plugs on its way."""
    while True:
        far = next(other for other in item.sockets if other is not socket)
        net, end = far.net, far.end
        if end is not None and not isinstance(walk.harness.parts.get(end.part), Connector):
            return end
        way = next(found for found, _ in walk.nets[net] if not found.wire)
        out = next(other.net for other in way.sockets if other.net != net)
        onward = next(((found, end) for found, end in walk.nets[out] if found.wire), None)
        if onward is None:
            return way.key
        item, socket = onward
