"""What the logic works on: nets, the edges between them with what moves each, sources, and conditions with memory.

Nothing here depends on a combination; ``StateSpace`` evaluates it over all of them, ``relay_fixed_point`` over one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from functools import cached_property
from typing import TYPE_CHECKING

from .dependencies import Dependencies
from .terms import NO, YES, Doubt
from .truth_tables import Variable

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit


class SwitchingNetwork(Dependencies):
    """The static side of the logic of one circuit."""

    def __init__(self, circuit: Circuit, doubts: Mapping[str, Doubt] | None = None) -> None:
        """``doubts``: what may work on what comes through other loads (``weak``); nothing where left out."""
        super().__init__(circuit, doubts or {})
        self.positions = {name: len(variable.positions) for name, variable in self.variables.items()}
        """How many each variable has; a bit of what remembers has two."""
        self.positions |= dict.fromkeys(self.conditions, 2)
        self.balances: dict[tuple[object, ...], tuple[dict[int, float] | None, int]] = {}
        """The volts of islands that were worked out, and in how many steps."""

    def forcing(self, names: frozenset[str]) -> SwitchingNetwork:
        """The same, where these conditions get a bit of their own whether or not they depend on themselves."""
        if names <= self.remembers:
            return self
        other = copy(self)
        other.forced = names
        for settled in ("remembers", "in_order"):
            other.__dict__.pop(settled, None)
        return other

    def doubting(self, doubts: Mapping[str, Doubt]) -> SwitchingNetwork:
        """The same, where these things may work on what comes to them through other loads."""
        return self if self._depend(doubts) == self._depend(self.doubts) else SwitchingNetwork(self.circuit, doubts)

    @staticmethod
    def _depend(doubts: Mapping[str, Doubt]) -> dict[str, bool]:
        """What decides how things depend on one another: which doubts there are, and which are free."""
        return {name: doubt.free for name, doubt in doubts.items()}

    @cached_property
    def free(self) -> tuple[str, ...]:
        """Controls that have no position of their own while the engine turns, joints that nobody relies on, and what
        may or may not work through other loads.
        """
        return (*(name for name, control in self.circuit.controls.items() if control.free), *self.joints, *self.doubts)

    def variable(self, name: str) -> Variable:
        """The variable of a name in a support."""
        return self.variables.get(name) or Variable(name, (NO, YES))

    def own_support(self, needs: Iterable[str]) -> frozenset[str]:
        """The things named, and the engine where a sensor's pulses are among them: nothing that decides these."""
        names = frozenset(needs)
        return names | {"engine"} if any(self.is_signal(name) for name in names) else names
