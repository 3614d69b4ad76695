"""How much may come to a consumer through other loads, and to a field that is to start a machine."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.quantities.quantity import shown
from ..dc.excitation import start_volts
from ..dc.machines import regulated_volts
from .circuit_figures import curve_of, source_volts
from .islands import Islands, between_sources, most_classes
from .terms import DIRECT

if TYPE_CHECKING:
    from collections.abc import Callable

    from ...lang.circuit.branch import Branch, Supply
    from .load_tables import LoadTables
    from .switching_network import SwitchingNetwork
    from .truth_tables import Table

MARGIN = 0.95
"""Of the volts at which a relay moves, what the bound must reach (ours): its conductors have 0 ohm."""


def started(
    network: SwitchingNetwork, scope: LoadTables, supply: Supply, field: Branch, asked: Table
) -> tuple[Table, str]:
    """Those of some combinations in which what comes to a field through loads starts its machine for sure, with the
    battery at rest; and why some could not be told.
    """
    batteries = [source_volts(s, network.circuit) for s in network.circuit.supplies if s.kind == "battery"]
    if not asked or not batteries:
        return 0, ""
    enough = start_volts(regulated_volts(network.circuit)[supply.name]) / MARGIN
    islands = Islands(network, scope, field, volts=min(batteries))
    sure, why = 0, ""
    most = most_classes(scope)
    for _ in range(most):
        if not asked or islands.exhausted:
            return sure, why
        island = islands.at((asked & -asked).bit_length() - 1)
        same = asked & island.same
        asked ^= same
        bound = islands.bound(island)
        why = why or bound.why
        if not bound.why and not island.loose and abs(bound.volts) >= enough:
            sure |= same
    return sure, why or (f"more than {shown(most)} cases to solve" if asked else "")


def reaching(
    network: SwitchingNetwork,
    scope: LoadTables,
    branch: Branch,
    levels: tuple[float, ...],
    enough: Callable[[list[Table]], bool] = lambda _: False,
) -> tuple[list[Table], str | None]:
    """Where a consumer that is not joined may get this many V, for each level; and what is known of the first level.

    The second is ``None`` where it is reached nowhere, ``""`` where it is, else why it was not decided. What is not
    decided counts as reached. ``enough`` ends the search early.
    """
    joined = scope.joined(branch, DIRECT)
    tables = [0 for _ in levels]
    for where, volts in between_sources(network, scope, branch):
        for i, level in enumerate(levels):
            tables[i] |= (where & (where ^ joined)) if volts >= level else 0
    left = scope.joined_through(branch, "wide", DIRECT)
    left &= left ^ joined
    # A dead short is asked nothing else.
    left &= left ^ scope.shorts
    curve = curve_of(branch, network.circuit)
    islands = Islands(network, scope, branch)
    why = ""
    for _ in range(limit := most_classes(scope)):
        if not left or islands.exhausted or enough(tables):
            break
        index = (left & -left).bit_length() - 1
        island = islands.at(index)
        same = left & island.same
        left ^= same
        most = islands.most_amps(island)
        if most is not None and curve is not None and most < curve.amps(min(levels)):
            continue  # less than the least level, by the bound
        bound = islands.bound(island)
        if bound.why:
            why = why or bound.why
            tables = [table | same for table in tables]
            continue
        for i, level in enumerate(levels):
            if abs(bound.volts) >= level:
                tables[i] |= same
    if left and not enough(tables):
        why = why or f"more than {shown(limit)} cases to solve"  # or than this many steps, which bound said
        tables = [table | left for table in tables]
    if not tables[0]:
        return tables, None
    return tables, why
