"""Where wires end: each net has one *lug*, the terminal, and from there a *lane* to every other end.

Several wires on one terminal keep their colours up to it: their lanes lie side by side and end on a short bar. More
than a terminal has room for end on a separate bar, which bears the terminal's name. Where a part has one terminal in
several symbols, the wires go to the first of them, and the others say where that stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import ceil
from typing import Final

from ...lang.records import dataclass
from ..drawing.primitives import moved
from .placement import Item, Socket
from .symbols import nodes
from .symbols.glyph import Side
from .symbols.symbol import NO_TRACKS

LANE: Final = 4.8
"""From the middle of one lane to that of the next, in pixels."""
PASS_WIDTH: Final = 12.0
"""Room for a line that passes a row, in pixels."""
MOST: Final = 4
"""As many lanes end on a symbol; more get a bar with the terminal's name."""
_AIR: Final = 4.0
"""Beside the outermost lane, in pixels."""
_ENDS: Final = frozenset({"wire", "frame", "elsewhere"})
"""Kinds of symbols that are no terminal, but what is connected to one."""


@dataclass(frozen=True, slots=True)
class Pin:
    """A port of an item."""

    item: Item
    socket: Socket


@dataclass(frozen=True, slots=True)
class Net:
    """All that is connected to one terminal: its ``lug``, and what the lanes go to."""

    name: str
    lug: Pin
    ends: tuple[Pin, ...]


def _pins(items: Iterable[Item]) -> dict[str, list[Pin]]:
    found: dict[str, list[Pin]] = {}
    for item in items:
        for socket in item.sockets:
            found.setdefault(socket.net, []).append(Pin(item, socket))
    return found


def _lug_first(pins: Sequence[Pin]) -> list[Pin]:
    """Symbols of parts before grounds, these before flags, wires last; as they come among their like."""
    rank = {"wire": 3, "elsewhere": 2, "frame": 1}
    return sorted(pins, key=lambda pin: rank.get(pin.item.symbol.kind, 0))


def nets_of(items: Iterable[Item]) -> dict[str, Net]:
    """The nets of items that :func:`with_lugs` made, by name."""
    nets = {}
    for name, pins in sorted(_pins(items).items()):
        lug, *ends = _lug_first(pins)
        nets[name] = Net(name, lug, tuple(ends))
    return nets


def with_lugs(items: Sequence[Item], blank: str = NO_TRACKS) -> tuple[Item, ...]:
    """The items, and those that nets need to have one lug each; symbols are as wide as the lanes at their terminals.

    ``blank`` stands for a place on a sheet that is not known yet.
    """
    changed = {item.key: item for item in items}
    added: list[Item] = []
    for name, pins in _pins(items).items():
        lug, *others = _lug_first(pins)
        if lug.item.wire:
            added.append(_free_terminal(name, pins))
            continue
        for pin in others:
            if pin.item.symbol.kind == "frame":
                changed[pin.item.key] = replace(changed[pin.item.key], tied="mount")
            if pin.item.symbol.kind not in _ENDS:
                net = f"{name} at {pin.item.key}"
                changed[pin.item.key] = _renamed(changed[pin.item.key], pin.socket, net)
                added.append(_reference(pin, lug, net, blank))
        ends = [pin for pin in others if pin.item.symbol.kind in _ENDS]
        if len(ends) > MOST and lug.item.symbol.kind not in ("splice", "bar", *_ENDS):
            net = f"{name} bar"
            changed[lug.item.key] = _renamed(changed[lug.item.key], lug.socket, net)
            added.append(_bar(lug, net))
    made = (*changed.values(), *added)
    lanes = {name: len(net.ends) for name, net in nets_of(made).items()}
    return tuple(_widened(item, lanes) for item in made)


def _renamed(item: Item, socket: Socket, net: str) -> Item:
    """The item with one of its ports on another net."""
    sockets = tuple(
        replace(own, net=net, node=own.at) if (own.net, own.side, own.x) == (socket.net, socket.side, socket.x) else own
        for own in item.sockets
    )
    return replace(item, sockets=sockets)


def _reference(pin: Pin, lug: Pin, net: str, blank: str) -> Item:
    """Says at one symbol of a part in which track its wires are."""
    side = nodes.opposite(pin.socket.side)
    words = f"{pin.socket.at} in {{}}"
    symbol = nodes.elsewhere(words.format(blank), side)
    socket = Socket(net, side, symbol.ports[0].x, "", node=pin.socket.at)
    about = f"{pin.socket.at}: its wires are drawn at another symbol of {pin.item.part}"
    return Item(f"{net} reference", symbol, (socket,), about=about, refers=lug.item.key, words=words)


def _bar(lug: Pin, net: str) -> Item:
    """A bar with the terminal's name, between the terminal and all that is connected to it."""
    near, far = nodes.opposite(lug.socket.side), lug.socket.side
    symbol = nodes.bar(lug.socket.at, near)
    x = symbol.ports[0].x
    sockets = Socket(net, near, x, "", node=lug.socket.at), Socket(lug.socket.net, far, x, "", node=lug.socket.at)
    return Item(net, symbol, sockets, part=lug.item.part, about=f"terminal {lug.socket.at}")


def _free_terminal(name: str, pins: Sequence[Pin]) -> Item:
    """A terminal that has no symbol, such as one that no position of a switch uses."""
    node = pins[0].socket.at
    side: Side = "top" if any(pin.socket.side == "bottom" for pin in pins) else "bottom"
    symbol = nodes.terminal(node, side)
    socket = Socket(name, side, symbol.ports[0].x, "", node=node)
    part = getattr(pins[0].socket.end, "part", "")
    return Item(f"terminal {name}", symbol, (socket,), part=part, about=f"terminal {node}")


def _widened(item: Item, lanes: Mapping[str, int]) -> Item:
    """The item with room for the lanes beside its outermost ports."""
    need = [(s.x, LANE * (lanes[s.net] - 1) + _AIR) for s in item.sockets if lanes[s.net] > 1]
    if not need or item.wire or item.refers:  # of a wire, and of what refers to another symbol, one lane ends there
        return item
    left = ceil(max(0.0, *(room - x for x, room in need)))
    right = ceil(max(0.0, *(x + room - item.symbol.width for x, room in need)))
    symbol = replace(
        item.symbol,
        width=item.symbol.width + left + right,
        shapes=tuple(moved(shape, left, 0) for shape in item.symbol.shapes),
        ports=tuple(replace(port, x=port.x + left) for port in item.symbol.ports),
    )
    return replace(item, symbol=symbol, shift=left, sockets=tuple(replace(s, x=s.x + left) for s in item.sockets))


def reaches(pin: Pin, lanes: Mapping[str, int]) -> tuple[float, float]:
    """How far to the left and to the right of a port its lanes may lie, so that they keep clear of its neighbours."""
    count = lanes[pin.socket.net]
    whole = LANE * (count - 1)
    sides = {-1: whole, 1: whole}
    for other in pin.item.sockets:
        if other.side == pin.socket.side and other.x != pin.socket.x and whole:
            free = max(0.0, abs(other.x - pin.socket.x) - 2 * _AIR)
            beside = max(0, lanes[other.net] - 1)  # no lane goes to a terminal of no wire
            share = free * (count - 1) / (count - 1 + beside)
            direction = 1 if other.x > pin.socket.x else -1
            sides[direction] = min(sides[direction], share)
    return sides[-1], sides[1]


def pass_widths(items: Iterable[Item], rows: Mapping[str, int]) -> dict[tuple[str, int], float]:
    """The room that each net needs in each row that it passes, so that any of its lanes there can go straight on."""
    return {(net, row): PASS_WIDTH + 2 * LANE * (count - 1) for net, row, count in _passing(nets_of(items), rows)}


def _passing(nets: Mapping[str, Net], rows: Mapping[str, int]) -> Iterator[tuple[str, int, int]]:
    """Each net, a row that it has to pass, and how many lanes do so there."""
    for name, net in nets.items():
        home = channel_of(net.lug, rows)
        ends = [channel_of(pin, rows) for pin in net.ends]
        for row in range(min([home, *ends]) + 1, max([home, *ends]) + 1):
            yield name, row, sum(min(home, end) < row <= max(home, end) for end in ends)


def channel_of(pin: Pin, rows: Mapping[str, int]) -> int:
    """The channel that a port opens to: number c lies below row c, -1 above all rows."""
    return rows[pin.item.key] - (pin.socket.side == "top")
