"""Fields whose current a regulator lowers by an unknown amount: no reading there between nothing and all contradicts a
sound harness, and none tells suspects apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import End
from ...lang.circuit.paths import steps_over
from ...lang.records import dataclass
from ...lang.search.walks import closure
from ..ac.harmonics import mean
from ..operation.operating_points import regulated_fields
from .observations import Observation, Read

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..dc.nodal_equations import NodalEquations
    from ..operation.operation import OperatingPoint

    Floats = NDArray[np.float64]

REGULATES = 0.995
"""Of its regulated volts, what a regulator senses at least while it lowers a field's current (ours)."""


@dataclass(frozen=True, slots=True)
class HeldBack:
    """The terminals between a field and its regulator: their volts are those that are solved, for a full field, or
    anything from there to those of the field's ``other`` end, where no current flows. The regulator senses ``sensed``
    from its + to its -, and holds it at ``volts``.
    """

    nodes: frozenset[End]
    other: End
    sensed: tuple[str, str]
    volts: float


def held_back(point: OperatingPoint) -> Iterator[HeldBack]:
    """Those of the machines that deliver less than they can at an operating point."""
    circuit, network = point.circuit, point.flow.network
    poles = {end for supply in circuit.supplies for end in (*supply.plus, supply.minus)}

    def passes(branch: Branch) -> bool:
        joined = branch.branch_type.joined is Direction.BOTH and branch.branch_type is not BranchType.PASS
        return joined and point.connectivity.conducts(branch)

    steps = steps_over(circuit, passes)
    for machine in point.flow.situation.machines:
        supply = next(s for s in circuit.supplies if s.name == machine.supply)
        own = supply.plus[0], supply.minus
        sensed = next(((top, bottom) for name, top, bottom in network.machines.senses if name == supply.name), own)
        for key in regulated_fields(point, machine):
            field = circuit.by_key[key]
            for end, other in ((field.a, field.b), (field.b, field.a)):
                nodes = closure([end], lambda node: (far for far, _ in steps(node)))
                if poles.isdisjoint(nodes):
                    yield HeldBack(frozenset(nodes), other, sensed, network.regulated[supply.name])


def spread(
    fields: Sequence[HeldBack], network: NodalEquations, stacks: Floats, seen: Sequence[Observation]
) -> tuple[Floats, NDArray[np.intp]]:
    """Cases, and those in which regulators let no current through the fields, or as much as agrees with a reading;
    with the row that each comes from. ``stacks``: as ``ac.harmonics`` has them,
    (cases, rows, nodes).
    """
    import numpy as np

    index, rows = network.index, np.arange(len(stacks))
    found, of = [stacks], [rows]
    for field in fields:
        top, bottom = (index[end] for end in field.sensed)
        regulating = rows[mean(stacks, top, bottom) >= REGULATES * field.volts]
        nodes, other = [index[end] for end in sorted(field.nodes)], index[field.other]
        full = stacks[regulating]
        none = full.copy()
        none[:, :, nodes] = full[:, :, [other]]
        shares = [np.zeros(len(full))]
        for each in seen:
            if isinstance(each, Read) and (each.red in field.nodes) is not (each.black in field.nodes):
                red, black = index[each.red], index[each.black]
                most, least = mean(full, red, black), mean(none, red, black)
                wanted = each.volts * (np.where(most < 0.0, -1.0, 1.0) if each.either_way else 1.0)
                apart = np.where(most == least, 1.0, most - least)
                shares.append(np.clip((wanted - least) / apart, 0.0, 1.0))
        for share in shares if len(full) else ():
            found.append(none + share[:, None, None] * (full - none))
            of.append(regulating)
    return np.concatenate(found), np.concatenate(of)
