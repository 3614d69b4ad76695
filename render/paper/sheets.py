"""What is on one sheet of a set: its things, the wires at them, and a flag where a wire goes on to another sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import owner_of
from ...lang.model.harness import Harness
from ...lang.model.parts import Connector, Ground, Splice
from ...lang.records import dataclass
from ..schematic.content import Content, content_of
from ..schematic.lugs import with_lugs
from ..schematic.placement import Item, Socket
from ..schematic.symbols import nodes
from ..schematic.symbols.drawn import Around
from .assignment import Wiring, node_of
from .shares import Shares

BLANK: Final = "00/00"
"""A sheet and a track that are not known yet: as wide as they can get."""


@dataclass(frozen=True, slots=True)
class Book:
    """What all sheets of a set are made from."""

    harness: Harness
    circuit: Circuit
    around: Around
    wiring: Wiring
    shares: Shares

    def make(self, things: frozenset[str], around: Around) -> Content:
        """The content of the sheet with these things, drawn for what is around it."""
        around = replace(around, pins=self.pins(things), blank=BLANK)
        content = content_of(self._about(things), self.circuit, around)
        items = with_lugs(tuple(self._items(tuple(self.shares.applied(content.items)), things)), BLANK)
        keys = {item.key for item in items}
        return replace(content, items=items, drawn={k: d for k, d in content.drawn.items() if k in keys})

    def _about(self, things: frozenset[str]) -> Harness:
        """The harness as far as a sheet needs it: its parts, the wires at them and what joins these. A sheet of a large
        harness would otherwise take as long as all of it.
        """
        wires = {owner_of(wire.key) for thing in things for wire in self.wiring.wires.get(thing, ())}
        parts = {self.wiring.symbols[thing].part for thing in things if thing in self.wiring.symbols}
        ends = {e.part for n in wires for s in self.harness.wires[n].segments for e in (s.a, s.b)}
        parts |= {name for name in ends if isinstance(self.harness.parts.get(name), Connector | Ground | Splice)}
        return replace(
            self.harness,
            parts={name: part for name, part in self.harness.parts.items() if name in parts},
            wires={name: wire for name, wire in self.harness.wires.items() if name in wires},
            mounts=tuple(mount for mount in self.harness.mounts if parts & {mount.part, mount.ground}),
        )

    def area(self, things: frozenset[str]) -> float:
        """What the symbols and the lettering of a sheet cover."""
        items = [self.wiring.symbols[thing] for thing in things if thing in self.wiring.symbols]
        items += [wire for thing in things for wire in self.wiring.wires.get(thing, ())]
        covered: dict[str, float] = {item.key: item.symbol.width * item.symbol.height for item in items}
        return sum(covered.values())

    def pins(self, things: frozenset[str]) -> dict[str, frozenset[str]]:
        """Which terminals of each parted unit are on a sheet."""
        found: dict[str, set[str]] = {name: set() for name in sorted(self.wiring.parted)}
        for thing in things:
            item = self.wiring.symbols.get(thing)
            if item is not None and item.key in found:
                found[item.key] |= {socket.terminal for socket in item.sockets if socket.net == thing}
        return {name: frozenset(terminals) for name, terminals in found.items()}

    def is_here(self, net: str, wire: Item | None, things: frozenset[str]) -> bool | None:
        """Whether an end of a wire is on a sheet; ``None`` at a body of metal, which is where the other end is."""
        thing = self.wiring.thing_at(net)
        if thing is not None:
            return thing in things
        return None if wire is None or wire.key not in things else True

    def _items(self, items: Sequence[Item], things: frozenset[str]) -> Iterator[Item]:
        shown: set[str] = set()
        for item in items:
            if item.wire or item.symbol.kind == "frame":
                continue
            if item.key in things or any(socket.net in things for socket in item.sockets):
                yield item
                shown |= {socket.net for socket in item.sockets}
                yield from self._references(item, things)
                here = {socket.net for socket in item.sockets}
                yield from (each for each in self.shares.references.get(item.key, ()) if each.sockets[0].net in here)
        for item in items:
            if item.wire:
                ends = [self.is_here(socket.net, item, things) for socket in item.sockets]
                if True not in ends:
                    continue
                shown |= {socket.net for socket, here in zip(item.sockets, ends, strict=True) if here is not False}
                if False in ends:
                    yield from self._flagged(item, item.sockets[ends.index(False)])
                else:
                    yield item
        for item in items:
            if item.symbol.kind == "frame" and (item.key in things or item.sockets[0].net in shown):
                yield item

    def _references(self, item: Item, things: frozenset[str]) -> Iterator[Item]:
        """Says at a symbol on which sheet the wires of a terminal are that stands on another one, too."""
        for socket in item.sockets:
            first = self.wiring.anchors.get(socket.net)
            if first is None or first.key == item.key or first.key in things or first.key in self.wiring.parted:
                continue
            own = next(i for i in self.wiring.on_net[socket.net] if i.key in things and i.symbol.kind != "wire")
            if own.key == item.key:
                side = nodes.opposite(socket.side)
                words = f"{socket.at} in {{}}"
                symbol = nodes.elsewhere(words.format(BLANK), side)
                there = Socket(socket.net, side, symbol.ports[0].x, "", node=socket.at)
                about = f"{socket.at}: its wires are drawn on another sheet"
                key = f"{socket.net} reference at {item.key}"
                yield Item(key, symbol, (there,), about=about, refers=first.key, words=words)

    def _flagged(self, wire: Item, gone: Socket) -> Iterator[Item]:
        """A wire that goes on elsewhere: with its number, colour and size up to a flag. The arrow goes with the
        current; the flag names the terminal past the plugs.
        """
        kept = next(socket for socket in wire.sockets if socket is not gone)
        net = f"{wire.key} goes on"
        yield replace(wire, sockets=tuple(replace(s, net=net) if s is gone else s for s in wire.sockets))
        down = kept.side == "top"
        terminal, words = self.flag_words(wire, kept)
        symbol = nodes.elsewhere(words.format(BLANK), kept.side)
        socket = Socket(net, kept.side, symbol.ports[0].x, "", node=terminal)
        about = f"wire {owner_of(wire.key)} goes on to {terminal} on another sheet"
        yield Item(
            flag_key(wire.key, leaves=down),
            symbol,
            (socket,),
            about=about,
            refers=flag_key(wire.key, leaves=not down),
            words=words,
        )

    def flag_words(self, wire: Item, kept: Socket) -> tuple[str, str]:
        """Which terminal the flag of a wire names that ends at ``kept``, and its words."""
        terminal = node_of(self.wiring.beyond(kept.net, wire), self.wiring)
        return terminal, f"{'→' if kept.side == 'top' else '←'} {{}} {terminal}"

    def width(self, thing: str) -> float:
        """How wide a thing is with all its wires side by side, each with its flag."""
        own = self.wiring.symbols.get(thing)
        wide = own.symbol.width if own is not None and own.key not in self.wiring.parted else 0.0
        for wire in self.wiring.wires.get(thing, ()):
            for kept in wire.sockets:
                if self.wiring.thing_at(kept.net) == thing:
                    flag = nodes.elsewhere(self.flag_words(wire, kept)[1].format(BLANK), kept.side)
                    wide += max(wire.symbol.width, flag.width)
        return wide


def flag_key(wire: str, *, leaves: bool) -> str:
    """The key of the flag of a wire on the sheet that it leaves with the current, or on the one that it comes to."""
    return f"{wire} {'leaves' if leaves else 'arrives'}"
