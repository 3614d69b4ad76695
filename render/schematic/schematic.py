"""The schematic: a harness as a current-path diagram, whole or one system at a time.

Supply at the head, ground at the foot, current running downwards, tracks numbered along the foot: the habit of
IEC 61082 diagrams. :func:`draw` makes a :class:`~loomwright.render.drawing.primitives.Drawing`;
:func:`write` puts it into a file.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from ...lang.circuit.build import build_circuit
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import End, bolted, piece_of
from ...lang.model.harness import Harness
from ...lang.model.parts import Connector, Ground, Part, Splice
from ...lang.model.wires import Bundle, Segment
from ...lang.records import dataclass
from ..drawing.export import UnknownFormat, write
from ..drawing.layout_engine import Engine, EngineName, NoEngine, find_engine
from ..drawing.primitives import Drawing, Element, Joint, Rect, Run, Text, Track, moved
from .current_direction import Currents, currents_of
from .parts import symbols_of
from .placement import Item, Layout, Placed, Socket, beside, lone_of, place, rows_of
from .selection import Selection, UnknownSystem, select
from .sheet import Extent, framed
from .symbols import nodes
from .symbols.drawn import Around, Drawn
from .symbols.symbol import Symbol, over
from .wires import Course, courses, trouble

__all__ = ["NoEngine", "UnknownFormat", "UnknownSystem", "draw", "write"]

SHEET_MARGIN = 24.0
WHOLE = "whole harness"
_ROUNDS = 2


@dataclass(frozen=True, slots=True)
class _Content:
    """What is drawn on a sheet, before it has places."""

    items: tuple[Item, ...]
    drawn: Mapping[str, Drawn]
    segments: Mapping[str, Segment]
    around: Around

    def in_order(self, keys: Sequence[str]) -> _Content:
        items = {item.key: item for item in self.items}
        return replace(self, items=tuple(items[key] for key in keys))

    def with_items(self, other: _Content, keys: Sequence[str]) -> _Content:
        """The same, and these items of another one."""
        return replace(self, items=(*self.items, *other.in_order(keys).items))


def draw(harness: Harness, *, system: str | None = None, engine: EngineName | None = None) -> Drawing:
    """The schematic of a harness, or of one ``system`` of it with what feeds it.

    Raises :class:`~loomwright.render.schematic.selection.UnknownSystem` for a system that nothing is for, and
    :class:`~loomwright.render.drawing.layout_engine.NoEngine` where there is no Graphviz
    engine (or not the one asked for).
    """
    circuit = build_circuit(harness)
    chosen = find_engine(engine)
    around = Around(currents_of(circuit))
    content = _content(harness, circuit, around)
    selection = None
    if system is not None:
        part_of = {key: drawn.part for key, drawn in content.drawn.items()}
        part_of |= {item.key: item.key for item in content.items if item.key in harness.parts}
        selection = select(harness, content.items, part_of, system)
        around = replace(around, pins=selection.pins)
    content, layout = _laid_out(harness, circuit, around, selection, chosen)
    return _drawing(harness, content, layout, WHOLE if system is None else system)


def _laid_out(
    harness: Harness, circuit: Circuit, around: Around, selection: Selection | None, engine: Engine
) -> tuple[_Content, Layout]:
    """The easiest to follow of a few layouts, which begin from both ends of the text and from both sides."""

    def content_for(around: Around) -> _Content:
        content = _content(harness, circuit, around)
        return _only(content, selection) if selection else content

    first = content_for(around)
    lone = lone_of(first.items)
    text = [item.key for item in first.items if item.key not in lone]
    rows = rows_of(first.in_order(text).items, engine)

    def best_from(order: Sequence[str], mirrored: bool) -> tuple[float, _Content, bool]:
        """The best of a few rounds: each round, pins and contacts stand in the order of the last one's lines."""
        tries = []
        content = first.in_order(order)
        for _ in range(_ROUNDS):
            layout = place(content.items, rows, engine, mirrored=mirrored, straighten=False)
            tries.append((trouble(layout), content, mirrored))
            content = content_for(replace(around, across=_across(layout))).in_order(order)
        return min(tries, key=lambda found: found[0])

    with ThreadPoolExecutor() as workers:  # the work is done by the engine, in separate processes
        found = workers.map(best_from, (text, text[::-1]) * 2, (False, False, True, True))
        _, content, mirrored = min(found, key=lambda each: each[0])
    layout = place(content.items, rows, engine, mirrored=mirrored, straighten=True)
    return content.with_items(first, lone), beside(layout, first.in_order(lone).items)


def _across(layout: Layout) -> dict[str, float]:
    """How far to the right the lines at each node lie, by the middle of what else is on its net."""
    found: dict[str, list[float]] = {}
    for placed in layout.items:
        for socket in placed.item.sockets:
            if placed.item.wire or placed.item.tied == "foot":
                found.setdefault(socket.net, []).append(placed.x(socket))
    return {net: sum(xs) / len(xs) for net, xs in found.items()}


def _only(content: _Content, selection: Selection) -> _Content:
    """What a sheet of one system shows; what leaves it ends in boxes with the names of the parts it goes to."""
    kept = [item for item in content.items if item.key in selection.keys]
    for stub in selection.stubs:
        end = next(socket for socket in stub.item.sockets if socket.net == stub.net)
        far = next(socket for socket in stub.item.sockets if socket is not end)
        net = f"{stub.item.key} goes on"
        kept.append(replace(stub.item, sockets=(end, replace(far, net=net))))
        symbol = nodes.elsewhere(stub.to, end.side)
        kept.append(Item(f"{stub.item.key} to {stub.to}", symbol, (Socket(net, end.side, symbol.ports[0].x, ""),)))
    drawn = {key: symbol for key, symbol in content.drawn.items() if key in selection.keys}
    return replace(content, items=tuple(kept), drawn=drawn)


# --- what is drawn ---------------------------------------------------------------------------------------------------
def _content(harness: Harness, circuit: Circuit, around: Around) -> _Content:
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
        items.extend(_wire(harness, segment, currents))
    mounts: dict[str, int] = {}
    for mount in harness.mounts:
        symbol = nodes.ground(mount.ground, f"through {mount.through}" if mount.through else "mounted")
        if not mount.terminal:  # two bodies bolted together: one over the other
            net = bolted(mount)
            upper = over(nodes.ground(mount.part, None))
            items.append(Item(f"ground of {net} above", upper, (Socket(net, "bottom", upper.ports[0].x, ""),)))
            items.append(_ground_item(net, symbol, net))
            continue
        node = f"{mount.part}.{mount.terminal}"
        count = mounts[node] = mounts.get(node, 0) + 1  # one terminal may be mounted twice
        items.append(_ground_item(f"mount {node}" + (f" #{count}" if count > 1 else ""), symbol, node))
    return _Content(tuple(items), drawn, segments, around)


def _is_battery(part: Part, circuit: Circuit) -> bool:
    """Whether this is the battery that the harness begins with."""
    first = next((supply.name for supply in circuit.supplies if supply.kind == "battery"), None)
    return part.name == first


def _part_item(drawn: Drawn) -> Item:
    node_of = dict(drawn.nodes)
    sockets = tuple(Socket(node_of[p.terminal], p.side, p.x, p.terminal) for p in drawn.symbol.ports)
    return Item(drawn.key, drawn.symbol, sockets)


def _ground_item(key: str, symbol: Symbol, net: str) -> Item:
    return Item(f"ground of {key}", symbol, (Socket(net, "top", symbol.ports[0].x, ""),), tied="foot")


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
            yield Item(f"{part.name}.{way}", symbol, sockets)


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
        sockets = tuple(Socket(f"{part.name} {p.terminal}", p.side, p.x, p.terminal) for p in symbol.ports)
        yield Item(part.name, symbol, sockets)


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


def _wire(harness: Harness, segment: Segment, currents: Currents) -> Iterable[Item]:
    """A piece of wire, and a separate ground at each end that goes to a body of metal."""
    size = segment.size.text.replace("mm2", "mm²") if segment.size else ""
    beside = ", ".join(_beside(segment.wire, bundle) for bundle in harness.bundles_of(segment.wire))
    symbol = nodes.wire_label(segment.name, str(segment.colour or ""), size, beside)
    upper, lower = _upper_end(segment, currents, harness)
    nets = (_net(segment, upper, currents, harness), _net(segment, lower, currents, harness))
    x = symbol.ports[0].x
    sockets = Socket(nets[0], "top", x, "a", upper), Socket(nets[1], "bottom", x, "b", lower)
    yield Item(piece_of(segment), symbol, sockets, wire=True)
    for node, net in zip((upper, lower), nets, strict=True):
        if isinstance(harness.parts.get(node), Ground):
            stud = segment.studs[0] if segment.a.node == node else segment.studs[1]
            ground = nodes.ground(node, stud)
            if node is upper:
                ground = over(ground)
                yield Item(f"ground of {net}", ground, (Socket(net, "bottom", ground.ports[0].x, ""),))
            else:
                yield _ground_item(net, ground, net)


def _beside(wire: str, bundle: Bundle) -> str:
    """The pair or the screen that a wire is in, in words."""
    others = " ".join(name for name in bundle.wires if name != wire)
    return f"{bundle.how} with {others}" if others else bundle.how


# --- placing it ------------------------------------------------------------------------------------------------------
def _drawing(harness: Harness, content: _Content, layout: Layout, sheet: str) -> Drawing:
    course = courses(layout, SHEET_MARGIN)
    tracks = _tracks(layout)
    numbers = {
        placed.item.key: _track_at(tracks, placed.left + _axis(placed))
        for placed in layout.items
        if placed.item.key in content.drawn
    }
    around = replace(content.around, tracks=numbers)
    shown = {drawn.part for drawn in content.drawn.values()}
    known = {
        symbol.key: symbol
        for part in harness.parts.values()
        if part.name in shown
        for symbol in symbols_of(part, around)
    }
    elements = []
    runs = []
    for placed in layout.items:
        item = placed.item
        dx, dy = placed.left + SHEET_MARGIN, course.tops[item.key]
        if item.wire:
            runs.append(_run(content.segments[item.key], item, dx, dy, course))
            continue
        drawn = known.get(item.key)
        symbol = drawn.symbol if drawn else item.symbol
        elements.append(
            Element(
                key=item.key,
                part=drawn.part if drawn else item.key,
                symbol=symbol.kind,
                about=drawn.about if drawn else f"{symbol.kind} {item.key}",
                box=Rect(dx, dy, dx + symbol.width, dy + symbol.height),
                ports=tuple(
                    (s.net, (dx + s.x, dy + (0 if s.side == "top" else item.symbol.height))) for s in item.sockets
                ),
                shapes=tuple(moved(shape, dx, dy) for shape in symbol.shapes),
                track=_track_at(tracks, placed.left + _axis(placed)),
            )
        )
    joints = tuple(Joint(net, lines, course.dots.get(net, ())) for net, lines in sorted(course.joints.items()))
    width = max((p.left + p.item.symbol.width for p in layout.items), default=0.0) + 2 * SHEET_MARGIN
    shifted = tuple(Track(t.number, t.x + SHEET_MARGIN) for t in tracks)
    return framed(harness, sheet, Extent(width, course.bottom), tuple(elements), tuple(runs), joints, shifted)


def _axis(placed: Placed) -> float:
    return placed.item.sockets[0].x if placed.item.sockets else placed.item.symbol.width / 2


def _tracks(layout: Layout) -> tuple[Track, ...]:
    """Numbers from left to right for every place at which a symbol stands; those nearly above each other share one."""
    xs = sorted(placed.left + _axis(placed) for placed in layout.items if not placed.item.wire)
    found: list[Track] = []
    for x in xs:
        if not found or x - found[-1].x >= 18:
            found.append(Track(len(found) + 1, x))
    return tuple(found)


def _track_at(tracks: Sequence[Track], x: float) -> int:
    after = bisect_left(tracks, x, key=lambda track: track.x)
    return min(tracks[max(after - 1, 0) : after + 1], key=lambda track: abs(track.x - x)).number


def _run(segment: Segment, item: Item, dx: float, dy: float, course: Course) -> Run:
    texts = tuple(t for t in (moved(shape, dx, dy) for shape in item.symbol.shapes) if isinstance(t, Text))
    words = [f"wire {segment.name}", f"{segment.a.node} to {segment.b.node}", str(segment.colour or "no colour given")]
    if segment.size:
        words.append(segment.size.text)
    return Run(segment.name, ", ".join(words), segment.colour, course.wires[item.key], texts)
