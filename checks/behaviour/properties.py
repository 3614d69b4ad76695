"""What must be proved of every combination: that each control stops each ignition part, and that what must be dead is.

A proof ends in one of three ways: it holds; a combination refutes it, with its path; or it stays open, and says why.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from .expectations import Claimed, claims
from .interlocks import Interlock, interlocks
from .stopping import Kill, kills

if TYPE_CHECKING:
    from collections.abc import Callable

    from ...lang.diagnostics.diagnostic import Span
    from ...lang.model.harness import Harness
    from ..logic.analysis import SwitchingLogic


ONCE_BLOWN: Final = "[it makes a dead short, and once {blown} {blown:has|have} blown ]"
"""How a finding begins its reason where a control first shorts what then blows; gone where nothing blows."""
AFTER_SHORT: Final = "[remove the short that blows {blown} (dead-short); then ]"
"""The same before what it advises."""


@dataclass
class Properties:
    """All that has to be proved of one harness, each worked out once; of that, what ``asked`` says of its place."""

    logic: SwitchingLogic
    harness: Harness
    asked: Callable[[Span], bool] = lambda _: True

    @cached_property
    def kills(self) -> tuple[Kill, ...]:
        return tuple(kills(self.logic, lambda switch: self.asked(self.harness.parts[switch].span)))

    @cached_property
    def claims(self) -> tuple[Claimed, ...]:
        return tuple(claims(self.logic, self.harness, self.asked))

    @cached_property
    def interlocks(self) -> tuple[Interlock, ...]:
        return tuple(interlocks(self.logic))
