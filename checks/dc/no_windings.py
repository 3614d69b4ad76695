"""What equations answer about windings where there are none, or none that were measured; see ``checks.ac``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.named_tuples import NamedTuple
from . import device_models as laws
from . import devices as elements

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.ids import End
    from .device_models import Curve
    from .situation import Running, Situation


class LeftOut(NamedTuple):
    """A winding, by key, whose current is not solved though it turns; ``measurable``: for want of figures of it."""

    winding: str
    why: str
    measurable: bool


class Measured(NamedTuple):
    """A stator that was measured: its ``leads``, and by how many of them a machine reaches and by the engine's position
    the A that the machine gives at its regulated volts, and its A at volts up to these.
    """

    leads: tuple[End, ...]
    by_leads: Mapping[int, Mapping[str, tuple[float, tuple[tuple[float, float], ...]]]]


class NoWindings:
    """The part of the equations of a circuit that windings change. ``regulated``: V of each machine, by name."""

    regulated: dict[str, float]

    periodic = False
    """Whether what is solved here repeats with every turn of the engine, and each situation is solved for itself."""

    @property
    def coils(self) -> tuple[object, ...]:
        """The coils of all windings that are not behind a rectifier."""
        return ()

    def left_out(self, situation: Situation, solved: frozenset[str]) -> tuple[LeftOut, ...]:  # noqa: ARG002
        """The windings that are not ``solved`` though they turn."""
        return ()

    @property
    def watched(self) -> tuple[End, ...]:
        """Nodes that stay whatever touches them."""
        return ()

    def measured_amps(self, supply: Supply, engine: str, conducting: frozenset[str]) -> float | None:  # noqa: ARG002
        """What a machine gives at its regulated volts as its stator was measured; ``None`` where its W decide."""
        return None

    def measured(self, supply: Supply) -> tuple[Measured, ...]:  # noqa: ARG002
        """The measured stators that a machine may be behind; the first that is reached counts."""
        return ()

    def turns(self, engine: str) -> bool:  # noqa: ARG002
        """Whether windings decide volts while the engine is so: they are then no matter of direct current alone."""
        return False

    def winding_at(self, branch: Branch, situation: Situation) -> tuple[float, float] | None:  # noqa: ARG002
        """Ohm of the resistance and the reactance of the winding that an element is on; ``None``: none is known."""
        return None

    def is_measured(self, supply: Supply, situation: Situation) -> bool:  # noqa: ARG002
        """Whether a machine is a rectifier on a stator that was measured."""
        return False

    def machine_curve(self, supply: Supply, machine: Running, situation: Situation) -> Curve:  # noqa: ARG002
        """How what a machine gives depends on the volts at its output."""
        return laws.machine(self.regulated[supply.name], machine.amps, elements.MACHINE_OHMS)

    def can_give(self, machine: Running, situation: Situation, volts: float) -> float:  # noqa: ARG002
        """A that a machine can give at these volts at its output, on the average."""
        return machine.lasting
