"""Truth tables as Python integers: a bit a combination of the positions of some variables.

A table over a space of ``size`` combinations is an integer of as many bits. The variables are in mixed radix, the
first one fastest; position 0 of each is its position at rest, so combination 0 is rest. Nothing here is ever inverted
with ``~``: on a wide integer that costs some twenty-six times an AND, where ``a & (a ^ b)`` does as well.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

Table = int
"""A set of combinations of one space."""


@dataclass(frozen=True, slots=True)
class Variable:
    """What moves: its name, and its positions with the one at rest first."""

    name: str
    positions: tuple[str, ...]


class Space:
    """Every combination of some variables, and the operations on sets of them."""

    def __init__(self, variables: Iterable[Variable]) -> None:
        self.variables = tuple(variables)
        self.stride: dict[str, int] = {}
        size = 1
        for variable in self.variables:
            self.stride[variable.name] = size
            size *= len(variable.positions)
        self.size = size
        self.full: Table = (1 << size) - 1
        self.by_name = {variable.name: variable for variable in self.variables}
        self._firsts: dict[str, Table] = {}
        self._at: dict[tuple[str, str], Table] = {}

    def __contains__(self, name: str) -> bool:
        return name in self.by_name

    # --- making tables
    def _first(self, name: str) -> Table:
        """The combinations in which a variable is in its position 0."""
        found = self._firsts.get(name)
        if found is None:
            stride = self.stride[name]
            period = stride * len(self.by_name[name].positions)
            found, width = (1 << stride) - 1, period
            while width < self.size:
                found |= found << width
                width *= 2
            found &= self.full
            self._firsts[name] = found
        return found

    def at(self, name: str, position: str) -> Table:
        """The combinations in which a variable is in a position; none where it has no such position."""
        key = (name, position)
        found = self._at.get(key)
        if found is None:
            positions = self.by_name[name].positions
            place = positions.index(position) * self.stride[name] if position in positions else 0
            found = self._at[key] = self._first(name) << place if position in positions else 0
        return found

    def rest(self, names: Iterable[str]) -> Table:
        """The combinations in which all of these are at rest."""
        table = self.full
        for name in names:
            table &= self._first(name)
        return table

    # --- operations
    def without(self, table: Table, other: Table) -> Table:
        """What is in the first and not in the second."""
        return table & (table ^ other)

    def inverse(self, table: Table) -> Table:
        return self.full ^ table

    def some(self, table: Table, names: Iterable[str]) -> Table:
        """The combinations that are in the table for some position of these variables."""
        for name in names:
            if table == 0 or table == self.full:
                return table
            stride = self.stride[name]
            count = len(self.by_name[name].positions)
            low = table
            for i in range(1, count):
                low |= table >> (i * stride)
            low &= self._first(name)
            table = low
            for i in range(1, count):
                table |= low << (i * stride)
        return table

    def every(self, table: Table, names: Iterable[str]) -> Table:
        """The combinations that are in the table for every position of these variables."""
        return self.full ^ self.some(self.full ^ table, names)

    def depends(self, table: Table, name: str) -> bool:
        """Whether membership ever changes with the variable."""
        if table == 0 or table == self.full:
            return False
        stride = self.stride[name]
        first = self._first(name)
        low = table & first
        return any((table >> (i * stride)) & first != low for i in range(1, len(self.by_name[name].positions)))

    # --- single combinations
    def index(self, positions: dict[str, str]) -> int:
        """The bit of a combination; what is not named is at rest."""
        total = 0
        for variable in self.variables:
            position = positions.get(variable.name)
            if position is not None:
                total += variable.positions.index(position) * self.stride[variable.name]
        return total

    def positions(self, index: int) -> dict[str, str]:
        """The position of every variable in a combination."""
        found = {}
        for variable in self.variables:
            index, digit = divmod(index, len(variable.positions))
            found[variable.name] = variable.positions[digit]
        return found

    @cached_property
    def _balls(self) -> dict[tuple[str, ...], list[Table]]:
        return {}

    def nearest(self, table: Table, names: tuple[str, ...]) -> int:
        """The combination of a table, not empty, in which fewest of the named variables are away from rest.

        Of several the one with the least index. Variables not named count for nothing.
        """
        balls = self._balls.setdefault(names, [self.every_position(1, names)])
        step = 0
        while not table & balls[step]:
            step += 1
            if step == len(balls):
                last = balls[-1]
                grown = last
                for name in names:
                    grown |= self.some(last, (name,))
                balls.append(grown)
        found = table & balls[step]
        return (found & -found).bit_length() - 1

    def every_position(self, table: Table, fixed: tuple[str, ...]) -> Table:
        """The table with every variable that is not named set free."""
        return self.some(table, [v.name for v in self.variables if v.name not in fixed])

    def members(self, table: Table) -> Iterator[int]:
        """The combinations of a table, one by one."""
        while table:
            low = table & -table
            yield low.bit_length() - 1
            table ^= low

    def needed(self, table: Table, index: int, names: Iterable[str]) -> tuple[str, ...]:
        """Which of the named variables must stay as they are at ``index`` for the answer to stay in the table.

        Frees one after the other, those at rest first, as long as every position of all those freed is in the table: a
        prime implicant that holds the combination. Variables that are not named must count for nothing in the table.
        """
        positions = self.positions(index)
        ordered = sorted(names, key=lambda name: positions[name] != self.by_name[name].positions[0])
        cube = 1 << index
        kept = []
        for name in ordered:
            wider = self.some(cube, (name,))
            if wider & (wider ^ table):
                kept.append(name)
            else:
                cube = wider
        return tuple(name for name in self.stride if name in kept)
