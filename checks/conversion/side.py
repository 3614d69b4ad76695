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


class Side:
    """One harness with its analyses, as far as a comparison needs them; those that are there already are handed in."""

    def __init__(
        self,
        harness: Harness,
        logic: Callable[[], SwitchingLogic] | None = None,
        operation: Callable[[], Operation] | None = None,
    ) -> None:
        self.harness = harness
        self._logic = logic or (lambda: SwitchingLogic(build_circuit(harness)))
        self._operation = operation or (lambda: Operation(self.circuit, self.logic))

    @cached_property
    def logic(self) -> SwitchingLogic:
        return self._logic()

    @property
    def circuit(self) -> Circuit:
        return self.logic.circuit

    @cached_property
    def operation(self) -> Operation:
        return self._operation()
