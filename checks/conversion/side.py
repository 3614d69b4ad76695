"""One of the two harnesses of a conversion."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.build import build_circuit
from ..logic import SwitchingLogic
from ..operation.operation import Operation

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.harness import Harness
    from ..kept import Kept


class Side:
    """One harness with its analyses, as far as a comparison needs them; those that are there already are handed in."""

    def __init__(
        self,
        harness: Harness,
        logic: Callable[[], SwitchingLogic] | None = None,
        operation: Callable[[], Operation] | None = None,
        circuit: Circuit | None = None,
    ) -> None:
        self.harness = harness
        self.circuit = circuit or build_circuit(harness)
        self._logic = logic or (lambda: SwitchingLogic(self.circuit))
        self._operation = operation or (lambda: Operation(self.circuit, self.logic))

    @classmethod
    def of(cls, harness: Harness, kept: Kept | None) -> Side:
        """A harness of which analyses may be ``kept``."""
        if kept is None:
            return cls(harness)
        circuit = kept.circuit(harness)
        side = cls(harness, lambda: kept.logic(harness), lambda: kept.operation(harness, side.logic), circuit)
        return side

    @cached_property
    def logic(self) -> SwitchingLogic:
        return self._logic()

    @cached_property
    def operation(self) -> Operation:
        return self._operation()
