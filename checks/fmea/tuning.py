"""Faults of one situation solved at once, each with its machines tuned until regulators feel what they want."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..dc.regulation import retune
from ..dc.relay_fixed_point import MOST_ROUNDS
from .departures import strike
from .multiport import Multiport

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from ...lang.circuit.branch import Supply
    from ..dc.nodal_equations import NodalEquations
    from ..operation.operation import OperatingPoint
    from .cases import Case
    from .failure_modes import Damage
    from .faulted_circuit import FaultedCircuit
    from .tangents import Tangents

ABOVE = 1.001
"""Times its own volts at which a machine after a fault is solved plainly (ours)."""


def tuned(point: OperatingPoint, ports: Multiport | Sequence[Tangents], cases: Sequence[Case]) -> None:
    """Solve some cases, their machines tuned until regulators feel what they want: of one situation, or, each with its
    own, of several that have the same tangents.
    """
    import numpy as np

    network, one = point.flow.network, ports if isinstance(ports, Multiport) else ports[0]
    laws, place = one.laws, one.laws.place
    machines = [m.supply for m in one.situation.machines]
    rows, blocks = list(cases), [] if isinstance(ports, Multiport) else list(ports)
    start = point.flow.kept
    for _ in range(MOST_ROUNDS):
        along = np.zeros((len(rows), laws.bank.count))
        for name in machines:
            along[:, place[name]] = [case.setpoints[name] - network.regulated[name] for case in rows]
        damages = [case.damage for case in rows]
        found = ports.strike(damages, along, start) if isinstance(ports, Multiport) else strike(blocks, damages, along)
        again = []
        for i, case in enumerate(rows):
            faulted_circuit = case.faulted_circuit
            faulted_circuit.volts, faulted_circuit.amps, faulted_circuit.good = (
                found.volts[i],
                found.law_amps[i],
                bool(found.good[i]),
            )
            faulted_circuit.laws = laws
            if isinstance(ports, Multiport):
                _let_fall(network, faulted_circuit, case.damage)
            faulted_circuit.good = faulted_circuit.good and not _adrift(
                point.circuit.supplies, faulted_circuit, case.setpoints
            )
            if faulted_circuit.good and retune(network, faulted_circuit, case.setpoints):
                again.append(i)
        if not again:
            return
        rows, blocks = [rows[i] for i in again], [blocks[i] for i in again if blocks]
        start = found.kept[again]
    for case in rows:
        case.faulted_circuit.good = False


def _let_fall(network: NodalEquations, faulted_circuit: FaultedCircuit, damage: Damage) -> None:
    """Put what a law that is gone parted from the rest on its own 0 V, and on 0 V what nothing feeds any more: the
    little that is left of the law would hold both up.
    """
    if not any(branch.key in faulted_circuit.laws.place for branch in damage.opened):
        return
    volts = faulted_circuit.volts
    left = set(network.nodes)
    for pole in network.return_poles:
        if network.nodes[pole] in left:
            island = network.paths.joined_to(
                (network.nodes[pole],), faulted_circuit.situation, damage.keys, damage.grounded
            )
            places = [network.index[node] for node in sorted(island)]
            volts[places] -= volts[pole]
            left -= island
    volts[[network.index[node] for node in sorted(left)]] = 0.0


def _adrift(supplies: Sequence[Supply], faulted_circuit: FaultedCircuit, setpoints: Mapping[str, float]) -> bool:
    """Whether a machine is above its volts: it gives nothing then, and a lone one could be at any."""
    running = {m.supply for m in faulted_circuit.situation.machines}
    return any(
        faulted_circuit.at(s.plus[0]) - faulted_circuit.at(s.minus) > ABOVE * setpoints[s.name]
        for s in supplies
        if s.name in running
    )
