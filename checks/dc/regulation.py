"""Regulators that sense elsewhere than at their machine: its voltage follows what they sense."""

from __future__ import annotations

from collections.abc import Callable, Collection

from ...lang.circuit.ids import End, field_of, source_of
from .nodal_equations import NodalEquations
from .solved import Solved

SENSE_TOLERANCE = 1e-3


HIGHEST_SHARE = 1.3
"""Of its regulated volts, what a machine gives at most when its regulator senses too little (ours)."""


def retune(network: NodalEquations, flow: Solved, setpoints: dict[str, float]) -> bool:
    """Move the volts of machines whose regulator senses elsewhere; whether any moved."""
    moved = False
    for supply, top, bottom in network.machines.senses:
        machine = next((m for m in flow.situation.machines if m.supply == supply), None)
        if machine is None:
            continue
        wanted = network.regulated[supply]
        miss = wanted - (flow.at(top) - flow.at(bottom) if senses(network, flow, supply, top, bottom) else 0.0)
        least, most = 0.5 * wanted, max(1.0, HIGHEST_SHARE * field_share(network, flow.at, supply)) * wanted
        better = min(max(setpoints[supply] + miss, least), most)
        if better > setpoints[supply] and -flow.law_amps[source_of(supply)] >= machine.amps:
            continue  # it runs at full output already
        if abs(better - setpoints[supply]) > SENSE_TOLERANCE:
            setpoints[supply] = better
            moved = True
    return moved


def senses(network: NodalEquations, flow: Solved, supply: str, top: str, bottom: str) -> bool:
    """Whether both sense terminals of a machine's regulator are connected to something that supplies: it senses nothing
    otherwise, and the alternator or dynamo runs at full output.
    """
    sources = [s for s in network.circuit.supplies if s.kind == "battery" or s.name == supply]
    fed = any(flow.reaches(plus, (top,)) for s in sources for plus in s.plus)
    return fed and flow.reaches(bottom, tuple(s.minus for s in sources))


def field_share(network: NodalEquations, at: Callable[[End], float], supply: str, gone: Collection[str] = ()) -> float:
    """The share of its regulated volts that the best fed field of a machine gets: only a full field drives it up.
    ``at``: V of a terminal. One whose winding is open, among the branches ``gone``, gets none.
    """
    keys = network.machines.fields[supply] or (field_of(supply),)
    branches = [network.circuit.by_key[key] for key in keys if key in network.circuit.by_key and key not in gone]
    volts = (abs(at(b.a) - at(b.b)) for b in branches)
    return min(1.0, max(volts, default=0.0) / network.regulated[supply])
