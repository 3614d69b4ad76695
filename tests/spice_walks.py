"""Settled moments by ngspice: its volts, and relays, outputs, latches and fields iterated outside of it, with memory.

Takes the place of our own numbers in ``button_walks``. Which conditions follow from volts is asked of the one place
that says it (``settling.changes_of``); all volts that it sees are the simulator's. Regulators that sense elsewhere are
not retuned: no random bike has one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import ngspice

from loomwright.checks.dc.conducting import situation_of
from loomwright.checks.dc.connectivity import Connectivity
from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.flow import flow_of
from loomwright.checks.dc.memory import Memory
from loomwright.checks.dc.nodal_equations import NodalEquations
from loomwright.checks.dc.relay_fixed_point import UnsettledError, changes_of
from loomwright.checks.dc.situation import Situation
from loomwright.checks.operation.operation import OperatingPoint
from loomwright.lang.circuit.branch import Branch
from loomwright.lang.circuit.circuit import Circuit

ROUNDS = 20


@dataclass(frozen=True)
class SpiceFlow:
    """A situation as ngspice solved it; a node that nothing conducts to reads 0 V."""

    network: NodalEquations
    situation: Situation
    volts: Mapping[str, float] = field(repr=False)
    law_amps: Mapping[str, float] = field(default_factory=dict, repr=False)

    @property
    def connectivity(self) -> Connectivity:
        circuit, situation = self.network.circuit, self.situation
        running = {machine.supply for machine in situation.machines}
        return Connectivity(circuit, circuit.nets, running, situation.conducting, self.at)

    @property
    def parted(self) -> SpiceFlow:
        """What is connected to what while the contacts that the engine moves are open."""
        held = self.situation.conducting - self.situation.pulsing
        return replace(self, situation=replace(self.situation, conducting=held, pulsing=frozenset()))

    def at(self, node: str) -> float:
        return self.volts.get(node, 0.0)

    def across(self, branch: Branch) -> float:
        return self.at(branch.a) - self.at(branch.b)

    def reaches(self, start: str, ends: tuple[str, ...]) -> bool:
        return self.network.topology.reaches(self.situation.conducting, start, ends)

    def fed(self, node: str) -> bool:
        return self.connectivity.fed(node)


@dataclass
class SpiceOperation:
    """Moments of one circuit by the program at the path ``program``."""

    program: str
    circuit: Circuit

    def __post_init__(self) -> None:
        self.network = NodalEquations(self.circuit)
        assert not self.network.machines.senses
        self._solved: dict[Situation, SpiceFlow] = {}
        self.unsolved = 0

    def solve(self, situation: Situation) -> SpiceFlow:
        if situation not in self._solved:
            made = ngspice.netlist(self.circuit, situation)
            assert made.unmapped == []
            ours = flow_of(self.network, situation)  # where the simulator begins: it finds knees badly from nothing
            guess = {name: ours.at(name) for name in made.nodes if name in self.network.index}
            try:
                printed = ngspice.run(self.program, made.text(guess))
            except ngspice.NoSolutionError as error:
                self.unsolved += 1
                raise UnsolvableError("", str(error)) from error
            volts = {name: 0.0 if spice == "0" else printed[f"v({spice})"] for name, spice in made.nodes.items()}
            self._solved[situation] = SpiceFlow(self.network, situation, volts)
        return self._solved[situation]

    def at(
        self, positions: Mapping[str, str], memory: Memory, *, opened: frozenset[str] = frozenset()
    ) -> OperatingPoint:
        """A combination settled from a memory. Raises ``UnsettledError`` where it keeps changing, ``UnsolvableError``
        where the simulator gives up: no judge of that moment, and counted.
        """
        setpoints = {name: volts for name, volts in self.network.regulated.items() if name}
        seen: set[Memory] = set()
        changes: list[tuple[str, str]] = []
        for _ in range(ROUNDS):
            flow = self.solve(situation_of(self.network, positions, memory, setpoints, opened))
            changes = changes_of(self.network, flow, positions, memory, frozenset())
            if not changes:
                return OperatingPoint("", dict(positions), memory, flow)  # type: ignore[arg-type]
            # All at once at first, as relays do that move together; one by one where that comes round again.
            for kind, name in changes[:1] if memory in seen else changes:
                memory = memory.turned(kind, name)
            seen.add(memory)
        raise UnsettledError(tuple(sorted({name for _, name in changes})))
