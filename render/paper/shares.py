"""Nodes with more wires than a sheet has room for: each is parted in shares, which stand on the sheets of their wires.

The first share stays at the symbol that the node has. Each other one is a bar with the node's name, and each says where
the one before it and the one after it stand, so that whoever has found one finds them all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from typing import Final

from ...lang.records import dataclass
from ..schematic.lugs import MOST, Net, nets_of
from ..schematic.placement import Item, Socket
from ..schematic.symbols import nodes

SIZES: Final = (12, 8, MOST)
"""How many wires a share has at most: the first of these with which the sheet has room for it (ours)."""


@dataclass(frozen=True, slots=True)
class Shares:
    """``nets`` says on which net an end of a wire is then, by the wire's key and the net that it was on; ``bars`` are
    the shares that stand for themselves, by the symbol that has the first; ``references`` what stands at each.

    What refers to a first share refers to the net: its symbol may be a unit that is on several sheets.
    """

    nets: Mapping[tuple[str, str], str] = field(default_factory=dict)
    bars: Mapping[str, tuple[Item, ...]] = field(default_factory=dict)
    references: Mapping[str, tuple[Item, ...]] = field(default_factory=dict)

    def first_at(self, key: str) -> str:
        """The symbol with the first share, of one that is a share itself; of any other symbol that one."""
        return next((first for first, bars in self.bars.items() if key in {bar.key for bar in bars}), key)

    def applied(self, items: Iterable[Item]) -> Iterator[Item]:
        """The items with their nodes in shares."""
        for item in items:
            if item.wire:
                moved = {socket.net: self.nets.get((item.key, socket.net), socket.net) for socket in item.sockets}
                yield replace(item, sockets=tuple(replace(s, net=moved[s.net], node=s.at) for s in item.sockets))
            else:
                yield item
                yield from self.bars.get(item.key, ())


def crowded(items: Sequence[Item], keys: frozenset[str], most: int) -> tuple[Net, ...]:
    """The nodes of these symbols on which more than ``most`` wires end."""
    found = nets_of(items).values()
    return tuple(net for net in found if net.lug.item.key in keys and len(_wires(net)) > most)


def _wires(net: Net) -> list[Item]:
    return [pin.item for pin in net.ends if pin.item.wire]


def shared(crowd: Iterable[tuple[Net, int]], order: Callable[[Net, Item], tuple[int, ...]], blank: str) -> Shares:
    """These nodes in shares, of the number of wires given with each or fewer, as even as can be. ``order`` says which
    wires belong together: those that follow each other in it.
    """
    moved: dict[tuple[str, str], str] = {}
    bars: dict[str, list[Item]] = {}
    references: dict[str, list[Item]] = {}
    for net, most in crowd:
        wires = sorted(_wires(net), key=lambda wire: order(net, wire))
        count = -(-len(wires) // most)
        own = [_share(net, number) for number in range(2, count + 1)]
        bars.setdefault(net.lug.item.key, []).extend(own)
        stands = [net.lug.item, *own]
        names = [net.name, *(item.sockets[1].net for item in own)]
        for number, wire in enumerate(wires):
            moved[wire.key, net.name] = names[number * count // len(wires)]
        for number, item in enumerate(stands):
            there = references.setdefault(item.key, [])
            if number:
                before = stands[number - 1].key if number > 1 else net.name
                there.append(_reference(net, item.sockets[0], before, blank))
            if number + 1 < count:
                at = item.sockets[1] if number else net.lug.socket
                there.append(_reference(net, at, stands[number + 1].key, blank))
    return Shares(moved, _frozen(bars), _frozen(references))


def _frozen(found: Mapping[str, Sequence[Item]]) -> dict[str, tuple[Item, ...]]:
    return {key: tuple(items) for key, items in found.items()}


def _share(net: Net, number: int) -> Item:
    """A bar with the node's name: the share before it on its near side, its wires on the other."""
    side, at, part = net.lug.socket.side, net.lug.socket.at, net.lug.item.part
    symbol = nodes.bar(at, nodes.opposite(side))
    x = symbol.ports[0].x
    name = f"{net.name} share {number}"
    sockets = (
        Socket(f"{name} from before", nodes.opposite(side), x, "", node=at),
        Socket(name, side, x, "", node=at),
    )
    return Item(name, symbol, sockets, part=part, about=f"{at}, more of its wires")


def _reference(net: Net, at: Socket, other: str, blank: str) -> Item:
    """Says at one share where the next one is."""
    side = nodes.opposite(at.side)
    words = f"{at.at} in {{}}"
    symbol = nodes.elsewhere(words.format(blank), side)
    there = Socket(at.net, side, symbol.ports[0].x, "", node=at.at)
    key = f"{net.name} goes on in {other} from {at.net}"
    return Item(key, symbol, (there,), about=f"{at.at}: more of its wires", refers=other, words=words)
