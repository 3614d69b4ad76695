"""Numbers at the service of the logic: one combination solved to tell whether a load that is not joined lives."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar

from ...lang.circuit.branch import InPosition
from ..logic.load_shares import is_alive

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.ids import BranchId
    from ..dc.memory import Memory
    from ..logic.analysis import Combination, SwitchingLogic
    from .sneak_paths import Decider


class Solved(Protocol):
    """One combination in numbers."""

    def across(self, key: BranchId) -> float:
        """V from one end of a branch to the other."""

    def amps(self, key: BranchId) -> float:
        """A through a branch."""


S_co = TypeVar("S_co", bound=Solved, covariant=True)


class Numbers(Protocol[S_co]):
    """Whoever solves the combinations of a circuit."""

    def at(
        self,
        positions: Mapping[str, str],
        memory: Memory,
        *,
        opened: frozenset[str] = frozenset(),
        pinned: frozenset[str] = frozenset(),
    ) -> S_co:
        """A combination. Raises ``UnsolvableError``."""


def solved(
    numbers: Numbers[S_co], logic: SwitchingLogic, shown: Combination, opened: frozenset[str] = frozenset()
) -> S_co | None:
    """The operating point of a combination: what the scope leaves open is at rest, but for what is ``opened``.

    What the engine opens and closes stays where the combination has it: that is the moment asked about, and of two
    points one may be open while the other is closed. ``None`` where no operating point is found.
    """
    from ..dc.conducting import rest_positions
    from ..dc.devices import UnsolvableError
    from ..dc.memory import Memory

    network = logic.network
    positions = rest_positions(logic.circuit)
    positions |= {
        name: at for name, at in shown.positions.items() if name in network.variables and name not in network.doubts
    }
    controls = logic.circuit.controls
    pinned = frozenset(name for name in shown.positions if name in controls and controls[name].free)
    held: dict[str, set[str]] = {"pulled": set(), "on": set(), "set": set(), "excited": set()}
    for name, holds in logic.conditions_at(shown).items():
        if holds:
            condition = network.conditions[name]
            thing = condition.thing
            held[condition.kind].add(thing)
    memory = Memory(
        pulled=frozenset(held["pulled"]),
        on=frozenset(held["on"]),
        latched=frozenset(held["set"]),
        excited=frozenset(held["excited"]),
    )
    try:
        return numbers.at(positions, memory, opened=opened | frozenset(shown.open_joints), pinned=pinned)
    except UnsolvableError:
        return None


def bleeding(circuit: Circuit, shown: Combination) -> frozenset[str]:
    """Contacts that the scope of a combination knows nothing of: none of them lies between a pole and the element.

    Closed, they can only lead current past it, as an oil lamp does until the pressure is up. So where a danger is
    sought they are open, wherever their control rests.
    """
    return frozenset(
        branch.key
        for branch in circuit.branches
        if isinstance(branch.guard, InPosition) and branch.guard.control not in shown.positions
    )


def decider(numbers_of: Callable[[Circuit], Numbers[Solved]]) -> Decider:
    """A decider that solves each combination asked about; ``numbers_of`` gives the numbers of a circuit."""

    def decide(logic: SwitchingLogic, shown: Combination, branch: Branch) -> bool | None:
        circuit = logic.circuit
        point = solved(numbers_of(circuit), logic, shown, bleeding(circuit, shown))
        if point is None:
            return None
        return is_alive(branch, circuit, point.across(branch.key), point.amps(branch.key))

    return decide
