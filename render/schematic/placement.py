"""Where everything goes: Graphviz ranks the symbols and wires from supply to ground and sets them side by side.

The drawing is a set of *items* (symbols, wires with their lettering, grounds), each a box in a row with ports on its
upper and lower edge, and *nets* (one terminal each), which join ports in the channels between the rows. Where a net has
to pass a row it gets a separate column there. Two runs of the engine: the first gives each item its row, the second,
in which every step is from a row to the channel below it, its place in the row.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from typing import TYPE_CHECKING, Final

from ...lang.circuit.ids import End
from ...lang.records import dataclass
from ...lang.search.walks import closure
from ..drawing.layout_engine import Engine, laid_out
from .symbols.glyph import Side
from .symbols.symbol import Symbol

if TYPE_CHECKING:
    from graphviz import Digraph

_GAP = 4.0
"""Between two items of one row, in pixels."""
_JOG = 16.0
"""A sidestep of a line that is shorter than this, in pixels, is better straightened."""
_SWERVE = 60.0
"""So is a longer one if the line comes back at once."""
_STAIR = 12
"""How much a line wants to bend once instead of twice: that costs it nothing, others perhaps."""
_FIRM = 200


@dataclass(frozen=True, slots=True)
class Socket:
    """A port of an item and the net it belongs to. ``x`` counts from the item's left edge, in whole pixels.

    ``end``: of a wire the end that is there. ``node`` is what the circuit calls the net, where that is another name.
    """

    net: str
    side: Side
    x: float
    terminal: str
    end: End | None = None
    node: str = ""

    @property
    def at(self) -> str:
        return self.node or self.net


@dataclass(frozen=True, slots=True)
class Item:
    """A box to place. ``tied`` to the ``head`` or the ``foot``, it is on the first or the last row.

    One that is tied to its ``mount`` stands right below what it is connected to. ``part`` is what it belongs to,
    ``about`` says in words what it is; ``refers`` is the key of an item whose place it names, in its ``words``
    between braces. Its shapes and ports stand ``shift`` pixels to the right of where its symbol alone would have them.
    """

    key: str
    symbol: Symbol
    sockets: tuple[Socket, ...]
    tied: str = ""
    wire: bool = False
    part: str = ""
    about: str = ""
    refers: str = ""
    words: str = ""
    shift: int = 0


@dataclass(frozen=True, slots=True)
class Placed:
    item: Item
    row: int
    left: float

    def x(self, socket: Socket) -> float:
        return self.left + socket.x


@dataclass(frozen=True, slots=True)
class Layout:
    """Items by row, and where nets pass rows: ``passes[net, row]`` is the x of the line there.

    ``begun`` is the engine's answer before lines were straightened.
    """

    items: tuple[Placed, ...]
    passes: Mapping[tuple[str, int], float]
    rows: int
    begun: Mapping[str, float] = field(default_factory=dict, compare=False, repr=False)


def _graph(**attributes: str) -> Digraph:
    from graphviz import Digraph

    return Digraph(graph_attr=attributes, node_attr={"shape": "box", "fixedsize": "true", "label": ""})


def _sockets(items: Iterable[Item]) -> dict[str, list[tuple[int, Socket]]]:
    found: dict[str, list[tuple[int, Socket]]] = {}
    for index, item in enumerate(items):
        for socket in item.sockets:
            found.setdefault(socket.net, []).append((index, socket))
    return found


# --- rows ------------------------------------------------------------------------------------------------------------
def rows_of(items: Sequence[Item], engine: Engine) -> dict[str, int]:
    """The row of each item by its key, 0 at the head: the shortest lines that let current run downwards."""
    if not items:
        return {}
    graph = _graph(phase="1", nslimit="50", nslimit1="50")
    for index in range(len(items)):
        graph.node(f"i{index}")
    for number, (_, sockets) in enumerate(sorted(_sockets(items).items())):
        above = sorted({index for index, socket in sockets if socket.side == "bottom"})
        below = sorted({index for index, socket in sockets if socket.side == "top"})
        to_foot = any(items[index].tied == "foot" for index in below)
        weight = "4" if to_foot else "3"
        for up in above:
            for down in below:
                if up != down:
                    plain = len(above) == len(below) == 1
                    graph.edge(f"i{up}", f"i{down}", minlen="1", weight=weight if plain else "0")
        if len(above) == len(below) == 1:
            continue
        low, high = (
            f"l{number}",
            f"h{number}",
        )  # the ends of a net: what it spans costs once, however much is connected to it
        for index in (*above, *below):
            graph.edge(low, f"i{index}", minlen="0", weight="0")
            graph.edge(f"i{index}", high, minlen="0", weight="0")
        graph.edge(low, high, minlen="0", weight="12")
    for index, item in enumerate(items):  # the two lines on which the supply and the grounds stand
        graph.edge("head", f"i{index}", minlen="0", weight="100" if item.tied == "head" else "0")
        graph.edge(f"i{index}", "foot", minlen="0", weight="100" if item.tied == "foot" else "0")
    ranks = {str(node["name"]): int(node["rank"]) for node in laid_out(graph, engine)}
    used = sorted({ranks[f"i{index}"] for index in range(len(items))})
    return {item.key: used.index(ranks[f"i{index}"]) for index, item in enumerate(items)}


# --- what no line reaches --------------------------------------------------------------------------------------------
ABREAST: Final = 40
"""This many things that no line reaches are left to the engine; of more, this many are put in one row (ours)."""


def lone_of(items: Sequence[Item]) -> tuple[str, ...]:
    """The keys of items that share no net with another one and are on no line, where these are many; else none.

    The engine's time grows with the square of how much is free to move, and nothing speaks for one place of these more
    than for another.
    """
    shared = {index for sockets in _sockets(items).values() if len(sockets) > 1 for index, _ in sockets}
    found = tuple(item.key for index, item in enumerate(items) if index not in shared and not item.tied)
    return found if len(found) > ABREAST else ()


def beside(layout: Layout, items: Sequence[Item]) -> Layout:
    """A layout with items that no line reaches to the right of all others, in rows from the head."""
    if not items:
        return layout
    start = max((placed.left + _width(placed.item) + _GAP for placed in layout.items), default=0.0)
    placed = list(layout.items)
    left = start
    for number, item in enumerate(items):
        row, column = divmod(number, ABREAST)
        left = left if column else start
        placed.append(Placed(item, row, left))
        left += _width(item) + _GAP
    return Layout(tuple(placed), layout.passes, max(layout.rows, 1 + (len(items) - 1) // ABREAST))


# --- places ----------------------------------------------------------------------------------------------------------
def channels_of(items: Sequence[Item], rows: Sequence[int]) -> dict[str, tuple[int, int]]:
    """The first and the last channel that each net needs; channel c lies below row c, -1 above all rows."""
    spans = {}
    for net, sockets in _sockets(items).items():
        needed = [rows[index] - (socket.side == "top") for index, socket in sockets]
        spans[net] = (min(needed), max(needed))
    return spans


def _ports_label(item: Item, mirrored: bool) -> str:
    """A row of empty cells as wide as the item, a narrow one with a name at each port."""
    cells = []
    at = 0
    width = _width(item)
    ports = {round(socket.x): f"p{round(socket.x)}" for socket in item.sockets}
    if mirrored:
        ports = {width - x: port for x, port in ports.items()}
    for x, port in sorted(ports.items()):
        if x - 1 > at:
            cells.append(_cell(x - 1 - at))
        cells.append(_cell(2, port))
        at = x + 1
    if width > at:
        cells.append(_cell(width - at))
    return '<<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"><TR>' + "".join(cells) + "</TR></TABLE>>"


def _cell(width: int, port: str = "") -> str:
    name = f' PORT="{port}"' if port else ""
    return f'<TD FIXEDSIZE="TRUE" WIDTH="{width}" HEIGHT="4"{name}></TD>'


def _width(item: Item) -> int:
    """The width asked of the engine, an even number of pixels."""
    return 2 * (int(item.symbol.width + 1.999) // 2)


@dataclass(frozen=True, slots=True)
class _Pin:
    """Where a net enters a channel: the engine's name of the node there, from above or from below."""

    net: str
    channel: int
    node: str
    port: str
    above: bool


@dataclass(frozen=True, slots=True)
class _Scene:
    """All that the second run of the engine gets."""

    items: Sequence[Item]
    rows: Sequence[int]
    nets: Mapping[str, tuple[int, int]]
    pins: Sequence[_Pin]
    mirrored: bool
    widths: Mapping[tuple[str, int], float]


def place(
    items: Sequence[Item],
    row_of: Mapping[str, int],
    widths: Mapping[tuple[str, int], float],
    engine: Engine,
    *,
    mirrored: bool = False,
    straightenings: int = 0,
    begun: Mapping[str, float] | None = None,
) -> Layout:
    """The places of all items in their rows. ``widths`` is the room that each net needs where it passes a row.

    Another order of ``items`` may give another order in the rows, and so may a ``mirrored`` question, whose answer is
    turned back: engines tend to one side. At most this many ``straightenings`` make lines line up that almost do;
    they go on from ``begun``, where the same was placed without before.
    Raises :class:`~loomwright.render.drawing.layout_engine.NoEngine` where the engine fails.
    """
    if not items:
        return Layout((), {}, 0)
    rows = [row_of[item.key] for item in items]
    nets = dict(sorted(channels_of(items, rows).items()))
    scene = _Scene(items, rows, nets, _pins(items, rows, nets), mirrored, widths)
    firm: dict[_Pin, int] = {}
    given_up: set[_Pin] = set()
    first = centres = begun or _centres(scene, firm, engine)
    for _ in range(straightenings):
        before = dict(firm)
        for size, upper, lower in _bends(scene, centres):
            if abs(size) > _JOG and firm.get(upper) == firm.get(lower) == _FIRM:  # tried, and it has only grown
                given_up |= {upper, lower}
        firm |= {pin: weight for pin, weight in _to_straighten(scene, centres).items() if weight > firm.get(pin, 0)}
        firm = {pin: weight for pin, weight in firm.items() if pin not in given_up}
        if firm == before:
            break
        centres = _centres(scene, firm, engine)
    left = min(centres[f"i{index}"] - _width(item) / 2 for index, item in enumerate(items))
    placed = tuple(
        Placed(item, rows[index], float(round(centres[f"i{index}"] - _width(item) / 2 - left)))
        for index, item in enumerate(items)
    )
    passes = {
        (net, row): float(round(centres[f"n{number}r{row}"] - left))
        for number, (net, (first, last)) in enumerate(nets.items())
        for row in range(first + 1, last + 1)
    }
    return Layout(placed, passes, max(rows) + 1, first)


def _pins(items: Sequence[Item], rows: Sequence[int], nets: Mapping[str, tuple[int, int]]) -> list[_Pin]:
    sockets = _sockets(items)
    pins = []
    for number, (net, (first, last)) in enumerate(nets.items()):
        for row in range(first + 1, last + 1):
            pins.append(_Pin(net, row - 1, f"n{number}r{row}", "", above=False))
            pins.append(_Pin(net, row, f"n{number}r{row}", "", above=True))
        for index, socket in sockets[net]:
            below = socket.side == "top"  # the item hangs below the channel
            port = f"p{round(socket.x)}"
            pins.append(_Pin(net, rows[index] - 1 if below else rows[index], f"i{index}", port, above=not below))
    return pins


def _centres(scene: _Scene, firm: Mapping[_Pin, int], engine: Engine) -> dict[str, float]:
    """The engine's x of every node's middle; a ``firm`` pin wants to be upright with the weight given."""
    graph = _graph(nodesep=f"{_GAP / 72:.4f}", ranksep="0.02", mclimit="4", searchsize="60")
    for index, item in enumerate(scene.items):
        graph.node(
            f"i{index}", label=_ports_label(item, scene.mirrored), width=f"{_width(item) / 72:.6f}", height="0.1"
        )
    numbers = {}
    for number, (net, (first, last)) in enumerate(scene.nets.items()):
        numbers[net] = number
        for channel in range(first, last + 1):
            graph.node(f"n{number}c{channel}", width="0.03", height="0.03")
        for row in range(first + 1, last + 1):
            graph.node(f"n{number}r{row}", width=f"{scene.widths[net, row] / 72:.6f}", height="0.1")
    ends = Counter((pin.net, pin.channel) for pin in scene.pins)
    for pin in scene.pins:
        alone = ends[pin.net, pin.channel] == 2  # nothing branches here
        weight = firm.get(pin, 6 if alone else 2)
        point = f"n{numbers[pin.net]}c{pin.channel}"
        node = f"{pin.node}:{pin.port}" if pin.port else pin.node
        tail, head = (node, point) if pin.above else (point, node)
        graph.edge(tail, head, weight=str(weight))
    _tie_rows(graph, scene.items, scene.rows)
    sign = -1 if scene.mirrored else 1
    return {str(node["name"]): sign * float(str(node["pos"]).split(",")[0]) for node in laid_out(graph, engine)}


def _bends(scene: _Scene, centres: Mapping[str, float]) -> Iterator[tuple[float, _Pin, _Pin]]:
    """By how much each line that leaves a channel below is off, to the right, each that comes in from above."""
    channels: dict[tuple[str, int], list[tuple[float, _Pin]]] = {}
    for pin in scene.pins:
        x = centres[pin.node]
        if pin.port:
            item = scene.items[int(pin.node[1:])]
            x += int(pin.port[1:]) - _width(item) / 2
        channels.setdefault((pin.net, pin.channel), []).append((x, pin))
    for found in channels.values():
        for x, pin in found:
            for other_x, other in found:
                if pin.above and not other.above and abs(x - other_x) > 0.01:
                    yield other_x - x, pin, other


def _to_straighten(scene: _Scene, centres: Mapping[str, float]) -> dict[_Pin, int]:
    """Pins that should be above each other, and how much they should want it.

    A line that jogs by a few pixels looks like a mistake; one that goes down in stairs, or to and fro, is hard to
    follow and can as well bend once.
    """
    wanted: dict[_Pin, int] = {}
    ends = Counter((pin.net, pin.channel) for pin in scene.pins)
    above: dict[tuple[str, str], tuple[float, _Pin, _Pin]] = {}  # the bend over a node that a single line passes
    below: dict[tuple[str, str], tuple[float, _Pin, _Pin]] = {}

    def want(upper: _Pin, lower: _Pin, weight: int) -> None:
        for pin in (upper, lower):
            wanted[pin] = max(weight, wanted.get(pin, 0))

    for bend in _bends(scene, centres):
        size, upper, lower = bend
        if abs(size) <= _JOG:
            want(upper, lower, _FIRM)
        if ends[upper.net, upper.channel] == 2:
            below[upper.node, upper.port] = bend
            above[lower.node, lower.port] = bend
    for place in sorted(above.keys() & below.keys()):
        first, second = above[place], below[place]
        size, upper, lower = first if abs(first[0]) < abs(second[0]) else second
        if (first[0] > 0) == (second[0] > 0):
            want(upper, lower, _STAIR)
        elif abs(size) <= _SWERVE:
            want(upper, lower, _FIRM)
    return wanted


def _tie_rows(graph: Digraph, items: Sequence[Item], rows: Sequence[int]) -> None:
    """Keep every rank what it was: one node of each separate piece of the graph is tied to a spine of all ranks."""
    depth = max(rows) * 2 + 3
    for rank in range(depth):
        graph.node(f"s{rank}", width="0.03", height="0.03", style="invis")
        if rank:
            graph.edge(f"s{rank - 1}", f"s{rank}", style="invis", weight="0")
    net_sockets = _sockets(items)

    def beside(item: int) -> Iterator[int]:
        return (other for socket in items[item].sockets for other, _ in net_sockets[socket.net])

    seen: set[int] = set()
    for start in range(len(items)):
        if start in seen:
            continue
        group = closure([start], beside)
        seen |= group
        with graph.subgraph() as same:
            same.attr(rank="same")
            same.node(f"s{rows[start] * 2 + 1}")
            same.node(f"i{start}")
