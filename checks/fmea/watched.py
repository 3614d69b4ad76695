"""What tells something by what it joins in one state, with or without current: its loss is felt where none flows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.parts import Regulator, Unit
from ..dc.control_units import winding_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..operation.operation import OperatingPoint


def watched(point: OperatingPoint, stop_leads: Sequence[tuple[str, str, str]]) -> frozenset[str]:
    """Branches that tell something by what they join, with or without current: to an input, a kill wire, a
    regulator, a rectifier.
    """
    found: set[str] = set()
    connectivity, circuit, network = point.connectivity, point.circuit, point.flow.network
    feeds = [pole for s in connectivity.sources for pole in s.plus]
    returns = [s.minus for s in connectivity.sources]
    for part in circuit.harness.parts.values():
        if part.name in circuit.removed:
            continue
        if isinstance(part, Unit):
            own = [End(part.name, s.minus) for s in part.supplies]
            for given in part.inputs:
                node = End(part.name, given.terminal)
                if given.mode == "grounded":
                    found.update(connectivity.between([node], [End(part.name, given.back)] if given.back else own))
                elif given.mode == "fed":
                    plus = circuit.return_sign == "-"
                    found.update(connectivity.between(feeds, [node]) if plus else connectivity.between([node], returns))
                else:
                    for pairs in network.topology.senders.get(node, ()):
                        found.add(winding_at(pairs))
                        for at, to in pairs:
                            found.update(connectivity.between([at], [to]))
        elif isinstance(part, Regulator) and part.sense:
            top, bottom = (End(part.name, terminal) for terminal in part.sense)
            found.update(connectivity.between(feeds, [top]))
            found.update(connectivity.between([bottom], returns))
    for _, lead, back in stop_leads:
        found.update(connectivity.between([lead], [back]))
        found.update(connectivity.between([back], [lead]))
    for ends in network.machines.own_fields.values():
        for end, pole in ends:
            found.update(connectivity.between([end], [pole]))
    for supply in circuit.supplies:
        ways = [connectivity.between([phase], network.machines.stators) for phase in supply.phases]
        whole = network.is_measured(supply, point.flow.situation)
        if whole or sum(bool(way) for way in ways) == 2:  # of three phases of which none is measured one may go
            found.update(key for way in ways for key in way)
    return frozenset(found)
