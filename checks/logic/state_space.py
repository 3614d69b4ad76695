"""The logic of a network over every combination of some of its variables, as truth tables.

A space holds all that its variables decide: what a source reaches, which conditions hold, and which of their
combinations can come about. An answer read from it is exact where everything that the answer depends on is in the space
(``Dependencies.support``); edges that anything else moves lie on no path that matters and count as open.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from .transitions import Transitions
from .truth_tables import Table

if TYPE_CHECKING:
    from collections.abc import Iterable


class StateSpace(Transitions):
    """Every combination of some controls, joints and remembering conditions (``bits``, the slowest variables).

    ``names`` must hold, of each condition that remembers, all that it depends on (``Dependencies.support``).
    ``before`` is the same space of the harness that this one comes from by taking something out: things then start
    from its conditions instead of rest. ``fixed`` holds controls that are in one position only.
    """

    @cached_property
    def counted(self) -> Table:
        """The combinations that questions are asked of: those that occur, without a dead short."""
        table = self.occurring
        short = self.shorts & table
        return table ^ short

    def may(self, table: Table) -> Table:
        """The positions in which it holds in some condition that occurs, for some position of what nobody sets."""
        return self.some(table & self.counted, (*self.bits, *self.free))

    @cached_property
    def untouched(self) -> Table:
        """What occurs as long as no relay has ever moved with a momentary control away from rest; latches are made to
        be pressed and count as they may be.
        """
        controls = self.network.circuit.controls
        return self.unmoved([name for name in self.by_name if name in controls and controls[name].momentary])

    def unmoved(self, names: Iterable[str]) -> Table:
        """What occurs with these controls at rest, as long as no relay has ever moved while one was away from it."""
        rest = self.rest(names)
        return self._reachable(self.possible, rest) & self.counted & rest

    def must(self, table: Table, among: Table | None = None) -> Table:
        """The positions in which it holds in every condition that occurs (``among``: in each of some of them): live if
        in any position of a crank switch, but in both of an unreliable joint.
        """
        counted = self.counted if among is None else among
        there = self.some(counted, self.bits)
        fails = self.some(counted & (counted ^ table), self.bits)
        holds = there & (there ^ fails)
        controls = self.network.circuit.controls
        joints = tuple(name for name in self.free if name not in controls)  # and what comes through loads
        crank = tuple(name for name in self.free if name in controls)
        there = self.some(there, crank)
        fails = there & (there ^ self.some(holds, crank))
        there = self.some(there, joints)
        return there & (there ^ self.some(fails, joints))
