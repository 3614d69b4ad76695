"""What is drawn on a sheet, before it has places: symbols, stretches of wire and grounds as items with their nets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import End, bolted, owner_of, piece_of
from ...lang.model.harness import Harness
from ...lang.model.parts import Connector, Ground, Part, Splice
from ...lang.model.wires import Bundle, Segment
from ...lang.records import dataclass
from .current_direction import Currents
from .parts import symbols_of
from .placement import Item, Socket
from .selection import Selection
from .symbols import nodes
from .symbols.drawn import Around, Drawn
from .symbols.symbol import Symbol, over


@dataclass(frozen=True, slots=True)
class Content:
    """What is drawn on a sheet, before it has places."""

    items: tuple[Item, ...]
    drawn: Mapping[str, Drawn]
    segments: Mapping[str, Segment]
    around: Around

    def in_order(self, keys: Sequence[str]) -> Content:
        items = {item.key: item for item in self.items}
        return replace(self, items=tuple(items[key] for key in keys))

    def with_items(self, other: Content, keys: Sequence[str]) -> Content:
        """The same, and these items of another one."""
        return replace(self, items=(*self.items, *other.in_order(keys).items))


def only(content: Content, selection: Selection, harness: Harness) -> Content:
    """What a sheet of one system shows; what leaves it ends in flags with the terminals that it goes to, and the system
    on whose sheet these are. The arrow goes with the current.
    """
    kept = [item for item in content.items if item.key in selection.keys]
    for stub in selection.stubs:
        end = next(socket for socket in stub.item.sockets if socket.net == stub.net)
        far = next(socket for socket in stub.item.sockets if socket is not end)
        net = f"{stub.item.key} goes on"
        kept.append(replace(stub.item, sockets=(end, replace(far, net=net))))
        part = harness.parts.get(owner_of(stub.to))
        other = f", {part.system}" if part is not None and part.system else ""
        symbol = nodes.elsewhere(f"{'→' if end.side == 'top' else '←'} {stub.to}{other}", end.side)
        flag = Socket(net, end.side, symbol.ports[0].x, "", node=stub.to)
        about = f"wire {content.segments[stub.item.key].name} goes on to {stub.to}"
        kept.append(Item(f"{stub.item.key} to {stub.to}", symbol, (flag,), about=about))
    drawn = {key: symbol for key, symbol in content.drawn.items() if key in selection.keys}
    return replace(content, items=tuple(kept), drawn=drawn)


def content_of(harness: Harness, circuit: Circuit, around: Around) -> Content:
    """All that there is to draw of a harness."""
    currents = around.currents
    items: list[Item] = []
    drawn: dict[str, Drawn] = {}
    for part in harness.parts.values():
        for one in symbols_of(part, around):
            drawn[one.key] = one
            items.append(replace(_part_item(one), tied="head" if _is_battery(part, circuit) else ""))
    segments: dict[str, Segment] = {piece_of(segment): segment for segment in harness.segments}
    items.extend(_ways(harness, currents))
    items.extend(_splices(harness, currents))
    for segment in harness.segments:
        items.extend(_wire(harness, segment, around))
    mounts: dict[str, int] = {}
    for mount in harness.mounts:
        words = f"through {mount.through}" if mount.through else "mounted"
        symbol = nodes.ground(mount.ground, words)
        if not mount.terminal:  # two bodies bolted together: one over the other
            net = bolted(mount)
            items.append(_ground_item(f"{net} above", over(nodes.ground(mount.part, None)), net, mount.part, ""))
            items.append(_ground_item(net, symbol, net, mount.ground, words))
            continue
        node = f"{mount.part}.{mount.terminal}"
        count = mounts[node] = mounts.get(node, 0) + 1  # one terminal may be mounted twice
        key = f"mount {node}" + (f" #{count}" if count > 1 else "")
        items.append(_ground_item(key, symbol, node, mount.ground, words))
    return Content(tuple(items), drawn, segments, around)


def _is_battery(part: Part, circuit: Circuit) -> bool:
    """Whether this is the battery that the harness begins with."""
    first = next((supply.name for supply in circuit.supplies if supply.kind == "battery"), None)
    return part.name == first


def _part_item(drawn: Drawn) -> Item:
    node_of = dict(drawn.nodes)
    sockets = tuple(Socket(node_of[p.terminal], p.side, p.x, p.terminal) for p in drawn.symbol.ports)
    return Item(drawn.key, drawn.symbol, sockets, part=drawn.part, about=drawn.about)


def _ground_item(key: str, symbol: Symbol, net: str, ground: str, where: str) -> Item:
    """A body of metal: at the foot where its lead comes from above, else at the head of a line."""
    port = symbol.ports[0]
    socket = Socket(net, port.side, port.x, "", node=ground)
    about = f"ground {ground}" + (f", {where}" if where else "")
    return Item(
        f"ground of {key}", symbol, (socket,), tied="foot" if port.side == "top" else "", part=ground, about=about
    )


def _ways(harness: Harness, currents: Currents) -> Iterable[Item]:
    """One item for each way of a connector that a wire reaches."""
    used = {end.node for segment in harness.segments for end in (segment.a, segment.b)}
    capped = {capped.end.node for capped in harness.capped}
    for part in harness.parts.values():
        if not isinstance(part, Connector):
            continue
        for way in part.numbers:
            socket, pin = f"{part.name}.{way}s", f"{part.name}.{way}p"
            if not used & {socket, pin}:
                continue
            above = currents.place(socket) < currents.place(pin)
            note = "capped" if capped & {socket, pin, f"{part.name}.{way}"} else ""
            symbol = nodes.connector_way(f"{part.name}.{way}", above, note)
            sockets = tuple(Socket(socket if p.terminal == "s" else pin, p.side, p.x, p.terminal) for p in symbol.ports)
            where = f" at {part.place}" if part.place else ""
            about = f"way {way} of connector {part.name}{where}"
            yield Item(f"{part.name}.{way}", symbol, sockets, part=part.name, about=about)


def _splices(harness: Harness, currents: Currents) -> Iterable[Item]:
    """A splice is drawn with the wires that feed it above its dot and those that it feeds below."""
    for part in harness.parts.values():
        if not isinstance(part, Splice):
            continue
        sides = {
            _net(segment, end, currents, harness)
            for segment in harness.segments
            for end in (segment.a.node, segment.b.node)
            if end == part.name
        }
        above, below = f"{part.name} above" in sides, f"{part.name} below" in sides
        symbol = nodes.splice(part.name, above, below)
        sockets = tuple(
            Socket(f"{part.name} {p.terminal}", p.side, p.x, p.terminal, node=part.name) for p in symbol.ports
        )
        about = f"splice {part.name}" + (f" at {part.place}" if part.place else "")
        yield Item(part.name, symbol, sockets, part=part.name, about=about)


def _upper_end(segment: Segment, currents: Currents, harness: Harness) -> tuple[End, End]:
    """The ends of a piece of wire, the one that current reaches first before the other; a ground is always last."""
    ends = segment.a, segment.b
    a, b = sorted(ends, key=lambda end: (isinstance(harness.parts.get(end), Ground), currents.place(end)))
    return a, b


def _net(segment: Segment, node: str, currents: Currents, harness: Harness) -> str:
    """The net of one end of a piece: the terminal, the upper or lower side of a splice, or a separate ground."""
    part = harness.parts.get(node)
    if isinstance(part, Ground):
        return f"{node} for {segment.name} {'above' if node == _upper_end(segment, currents, harness)[0] else 'below'}"
    if isinstance(part, Splice):
        return f"{node} {'below' if node == _upper_end(segment, currents, harness)[0] else 'above'}"
    return node


def _wire(harness: Harness, segment: Segment, around: Around) -> Iterable[Item]:
    """A piece of wire, and a separate ground at each end that goes to a body of metal."""
    size = segment.size.text.replace("mm2", "mm²") if segment.size else ""
    currents = around.currents
    bundles = [_beside(segment.wire, bundle) for bundle in harness.bundles_of(segment.wire)]
    beside = ", ".join([*around.note(piece_of(segment)), *bundles])
    symbol = nodes.wire_label(segment.name, str(segment.colour or ""), size, beside)
    upper, lower = _upper_end(segment, currents, harness)
    nets = (_net(segment, upper, currents, harness), _net(segment, lower, currents, harness))
    x = symbol.ports[0].x
    sockets = Socket(nets[0], "top", x, "a", upper, upper), Socket(nets[1], "bottom", x, "b", lower, lower)
    yield Item(piece_of(segment), symbol, sockets, wire=True)
    for node, net in zip((upper, lower), nets, strict=True):
        if isinstance(harness.parts.get(node), Ground):
            stud = segment.studs[0] if segment.a.node == node else segment.studs[1]
            ground = nodes.ground(node, stud)
            yield _ground_item(net, over(ground) if node is upper else ground, net, node, stud or "")


def _beside(wire: str, bundle: Bundle) -> str:
    """The pair or the screen that a wire is in, in words."""
    others = " ".join(name for name in bundle.wires if name != wire)
    return f"{bundle.how} with {others}" if others else bundle.how
