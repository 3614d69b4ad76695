"""What the logic works on: nets, the edges between them with what moves each, sources, and conditions with memory.

Nothing here depends on a combination; ``StateSpace`` evaluates it over all of them, ``relay_fixed_point`` over one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from functools import cached_property
from typing import TYPE_CHECKING, Final

from .dependencies import Dependencies
from .terms import NO, NOTHING, YES, Doubt
from .truth_tables import Variable

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit


BY_FORCE: Final = ("remembers", "in_order")
"""What of a network follows from which conditions are forced to have a bit of their own."""
BY_DOUBT: Final = ("positions", "free", "forcing_all", "_condition_needs", "_beyond")
"""What follows from its doubts, beside that."""


class SwitchingNetwork(Dependencies):
    """The static side of the logic of one circuit."""

    def __init__(self, circuit: Circuit, doubts: Mapping[str, Doubt] | None = None) -> None:
        """``doubts``: what may work on what comes through other loads (``weak``); nothing where left out."""
        super().__init__(circuit, doubts or {})
        self.balances: dict[tuple[object, ...], tuple[dict[int, float] | None, int]] = {}
        """The volts of islands that were worked out, and in how many steps."""

    @cached_property
    def positions(self) -> dict[str, int]:
        """How many each variable has; a bit of what remembers has two."""
        found = {name: len(variable.positions) for name, variable in self.variables.items()}
        return found | dict.fromkeys(self.conditions, 2)

    def forcing(self, names: frozenset[str]) -> SwitchingNetwork:
        """The same, where these conditions get a bit of their own whether or not they depend on themselves."""
        return self if names <= self.remembers else self._forcing(names)

    def _forcing(self, names: frozenset[str]) -> SwitchingNetwork:
        other = copy(self)
        other.forced = names
        for settled in BY_FORCE:
            other.__dict__.pop(settled, None)
        return other

    @cached_property
    def forcing_all(self) -> SwitchingNetwork:
        """The same, where every condition has a separate bit: what depends on what need not be known then."""
        return self._forcing(frozenset(self.conditions))

    def doubting(self, doubts: Mapping[str, Doubt]) -> SwitchingNetwork:
        """The same, where these things may work on what comes to them through other loads.

        The nets, and what leads from one to another, stay as they are: both share what was found out of them.
        """
        if self._depend(doubts) == self._depend(self.doubts):
            return self
        other = copy(self)
        other.forced = NOTHING
        for settled in (*BY_FORCE, *BY_DOUBT):
            other.__dict__.pop(settled, None)
        other._name(doubts)  # noqa: SLF001 -- its own class
        return other

    def showing(self, circuit: Circuit) -> SwitchingNetwork:
        """The same, of which the parts, controls and branches of an equal circuit are asked."""
        if circuit is self.circuit:
            return self
        other = copy(self)
        other.circuit, other.harness = circuit, circuit.harness
        return other

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
