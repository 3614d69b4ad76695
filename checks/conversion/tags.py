"""Tags for the ends of the old wires, to be tied on before anything is cut: what each is, and what becomes of it.

Where a new harness is given, it decides: what it marks as kept is kept, and it has the new ends. Else sorting proposes,
and the words ``kept`` and ``removed`` of the old file go before.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from ...lang.circuit.ids import End
from ...lang.model.parts import Connector, Ground, Splice
from ...lang.records import dataclass
from .boundary import came_through
from .leads import led_to, wires_at
from .matching import Match, wire_pairs
from .trunk import along

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.wires import Wire
    from .side import Side
    from .sorting import Sorting

Action = Literal["keep", "take off", "cut"]
"""What becomes of a wire's end: it stays where it is; the wire stays, and what this end is on is replaced; cut."""

NewEnd = Literal["", "wired", "capped", "bare", "no part", "no terminal"]
"""What is at a terminal in the new harness: empty where none is given, or where nothing needs to be said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """One end of one old wire. ``place`` and ``to_place`` are empty where the text names none.

    ``to``: where its other end is; ``via``: the ways of plugs between; ``reaches``: what it leads to past splices and
    plugs. ``got``: what a kept part got through it, in words. ``new_end``: the terminal in the new harness, with the
    ``new_wires`` at it.
    """

    number: int
    place: str
    end: End
    wire: str
    colour: str
    size: str
    to: str
    to_place: str
    via: tuple[str, ...]
    reaches: tuple[str, ...]
    action: Action
    got: tuple[str, ...]
    new: NewEnd
    new_end: str
    new_wires: tuple[str, ...]


def tags(sorting: Sorting, side: Side, new: Circuit | None = None) -> tuple[Tag, ...]:
    """A tag for each end of each wire, but at splices, in the order in which to work along the motorcycle.

    Of the battery its grounded pole comes first: that lead comes off before the other. ``side``: the old
    harness; ``new``: the one that converts it. Raises ``TooWideError``.
    """
    return tuple(_Tagging(sorting, side, new).tags())


class _Tagging:
    def __init__(self, sorting: Sorting, side: Side, new: Circuit | None) -> None:
        self.sorting, self.side, self.new = sorting, side, new
        self.harness = side.harness
        self.match = None if new is None else Match(side.harness, new.harness)

    @cached_property
    def new_wire(self) -> dict[str, str]:
        """Old name -> new name."""
        return {} if self.match is None else {old: new for new, old in wire_pairs(self.match).items()}

    def tags(self) -> Iterator[Tag]:
        parts = {name: i for i, name in enumerate(self.harness.parts)}
        places = {name: i for i, name in enumerate(along(self.harness))}
        ends = []
        for i, wire in enumerate(self.harness.wires.values()):
            studs = wire.segments[0].studs[0] or "", wire.segments[-1].studs[1] or ""
            for end, other, here, there in ((wire.a, wire.b, *studs), (wire.b, wire.a, *studs[::-1])):
                if isinstance(part := self.harness.parts[end.part], Splice):
                    continue
                order = end.node != self.side.circuit.ground, *_order(part.terminals, end)
                ends.append((places.get(here, len(places)), parts[end.part], order, i, wire, end, other, here, there))
        for number, (*_, wire, end, other, here, there) in enumerate(sorted(ends, key=lambda e: e[:4]), 1):
            action = self._action(wire, end)
            new, new_end, new_wires = self._new(wire, end, action)
            yield Tag(
                number=number,
                place=here,
                end=end.node,
                wire=wire.name,
                colour=str(wire.colour or ""),
                size=wire.size.text if wire.size else "",
                to=other.node,
                to_place=there,
                via=wire.via,
                reaches=led_to(self.side.circuit, end.node)
                if isinstance(self._part(other), Splice | Connector)
                else (),
                action=action,
                got=self._got(end) if action != "keep" and self.keeps_part(end.part) else (),
                new=new,
                new_end=new_end,
                new_wires=new_wires,
            )

    def _reaches(self, end: End, other: End) -> tuple[str, ...]:
        """What a splice or plug at the other end leads on to."""
        if not isinstance(self._part(other), Splice | Connector):
            return ()
        return tuple(node for node in led_to(self.side.circuit, other.node) if node != end.node)

    def _part(self, end: End) -> object:
        return self.harness.parts[end.part]

    # --- what is kept
    def keeps_part(self, name: str) -> bool:
        if self.match is not None and self.new is not None:
            if name in self.match.new_of:
                return self.new.harness.parts[self.match.new_of[name]].kept
            if name in self.match.removed:
                return False
        return self.sorting.keeps(name)

    def keeps_wire(self, wire: Wire) -> bool:
        if self.new is None:
            return self.sorting.wires[wire.name].keep
        return wire.name in self.new_wire and self.new.harness.wires[self.new_wire[wire.name]].kept

    def _action(self, wire: Wire, end: End) -> Action:
        if not self.keeps_wire(wire):
            return "cut"
        return "keep" if self.keeps_part(end.part) else "take off"

    def _got(self, end: End) -> tuple[str, ...]:
        if isinstance(self._part(end), Connector | Ground):
            return ()
        return came_through(self.side, end.node)

    # --- where it goes
    def _new(self, wire: Wire, end: End, action: Action) -> tuple[NewEnd, str, tuple[str, ...]]:
        if self.new is None or self.match is None:
            return "", "", ()
        if action != "cut":
            now = self.new.harness.wires[self.new_wire[wire.name]]
            return "wired", self._same_end(wire, end, now).node, (now.name,)
        if isinstance(self._part(end), Ground):
            return "", "", ()
        name = self.match.new_of.get(end.part)
        if name is None:
            return "no part", "", ()
        part = self.new.harness.parts[name]
        node = End(name, end.terminal)
        if end.terminal not in part.terminals and not isinstance(part, Connector):
            return "no terminal", name, ()
        if any(capped.end.node == node for capped in self.new.harness.capped):
            return "capped", node, ()
        there = wires_at(self.new, node)
        return ("wired", node, there) if there else ("bare", node, ())

    def _same_end(self, wire: Wire, end: End, now: Wire) -> End:
        """The end of a new wire that is this end of the old one: by its name, else by the other end's."""
        old_of = self.match.old_of if self.match is not None else {}

        def was(each: End) -> tuple[str, str]:
            return old_of.get(each.part, each.part), each.terminal

        mine = (end.part, end.terminal)
        other = wire.b if end == wire.a else wire.a
        if was(now.b) == mine or (was(now.a) != mine and was(now.a) == (other.part, other.terminal)):
            return now.b
        return now.a


def _order(terminals: tuple[str, ...], end: End) -> tuple[int, str]:
    """The place of an end among a part's terminals; ways of a plug by their number."""
    if end.terminal in terminals:
        return terminals.index(end.terminal), ""
    digits = end.way.terminal
    return (int(digits) if digits.isdigit() else 0), end.terminal
