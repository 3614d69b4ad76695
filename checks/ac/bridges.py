"""A rectifier on a measured stator as a circuit joins the two: which leads reach it, which of its diodes work.

One thing may be wrong with it and is still solved: a lead off, two leads joined, a diode open, or a diode shorted,
which is what a lead on ground does as well.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.circuit.ids import BranchId, End, Role
from ...lang.records import dataclass
from ...lang.search.disjoint_set import DisjointSet
from ..dc.connectivity import always
from .coils import Impedance
from .windings import StatorOf, from_measured, stator_impedance

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from ...lang.circuit.branch import Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.graphs import Net
    from ...lang.model.parts import Source
    from .rectified import Kind

JOINED_PHASES = 0.75
"""Of the impedance between two leads, that between two joined ones and the third: half a phase in place of one."""

JOINED_VOLTS = 3.0**0.5 / 2.0
"""Of the volts between two leads, those between two joined ones and the third: a phase and a half."""

Group = int
"""The number of the first of the nets that copper and closed contacts join."""


def groups(circuit: Circuit, conducting: frozenset[str]) -> Callable[[End], Group | None]:
    """What joins terminals while these contacts conduct; nothing that lets current one way only does."""
    merged: DisjointSet[Net] = DisjointSet(())
    for edge in circuit.nets.switched:
        if edge.branch.branch_type.joined is Direction.BOTH and (always(edge.branch) or edge.branch.key in conducting):
            merged.merge(edge.a, edge.b)
    of = circuit.nets.of
    return lambda end: merged.leader(of[end]) if end in of else None


def on_stators(
    circuit: Circuit, supply: Supply, sources: tuple[Source, ...], group: Callable[[End], Group | None]
) -> StatorOf | None:
    """How a rectifier stands on the stator or winding that it is on; ``None``: on none, or on one not measured."""
    for source in sources:
        for leads, line in _measured(circuit, source):
            found = _Bridge(circuit, supply, group).on(source, leads, line)
            if found is not None:
                return found
    return None


def _measured(circuit: Circuit, source: Source) -> Iterator[tuple[tuple[End, ...], Impedance]]:
    """The leads of each measured stator or winding of an alternator, and what is between two of them."""
    volts = circuit.harness.volts
    if source.phases and source.measured.volts is not None and source.measured.amps is not None:
        leads = tuple(End(source.name, phase) for phase in source.phases)
        if len(leads) == 3 and (line := stator_impedance(source.measured)) is not None:
            yield leads, line
        elif len(leads) == 2 and (known := from_measured(source.measured, None, volts)) is not None:
            yield leads, known[0]
    for winding in source.windings:
        known = from_measured(winding.measured, None, volts)
        if known is not None:
            yield (End(source.name, winding.terminals[0]), End(source.name, winding.terminals[-1])), known[0]


@dataclass(frozen=True, slots=True)
class _Bridge:
    """The diodes of one rectifier."""

    circuit: Circuit
    supply: Supply
    group: Callable[[End], Group | None]

    def on(self, source: Source, leads: tuple[End, ...], line: Impedance) -> StatorOf | None:
        """``leads`` are those of a stator with ``line`` between each two; ``None`` where fewer than two get here."""
        if len(self.supply.phases) < 2:
            return None
        plus, minus = self.group(self.supply.plus[0]), self.group(self.supply.minus)
        here = [group for lead in leads if (group := self.group(lead)) in (plus, minus) or self._phases(group)]
        own = sum(bool(self._phases(group)) for group in here)
        if not own or len(here) < 2:
            return None
        apart = list(dict.fromkeys(here))
        if len(apart) < 2:
            return StatorOf(source, "nothing", line)
        if len(apart) < len(here):
            line = replace(
                line,
                volts=JOINED_VOLTS * line.volts,
                ohms=JOINED_PHASES * line.ohms,
                reactance=JOINED_PHASES * line.reactance,
            )
        shorted = [group for group in apart if group in (plus, minus)]
        opened = sum(not self._diode(group, up=up) for group in apart if group not in shorted for up in (True, False))
        opened += sum(not self._diode(group, up=group == minus) for group in shorted)
        if len(shorted) + opened > 1:
            return StatorOf(source, "unsolved", line)
        base = "three" if len(apart) == 3 else "single"
        return StatorOf(source, _KINDS[base, "shorted" if shorted else "open" if opened else ""], line)

    def _phases(self, group: Group | None) -> list[End]:
        return [phase for phase in self.supply.phases if self.group(phase) == group]

    def _diode(self, group: Group | None, *, up: bool) -> bool:
        """Whether a lead still has a diode to the + of the output (``up``), or from its -."""
        name, plus, minus = self.supply.part, self.supply.plus[0].terminal, self.supply.minus.terminal
        return any(
            BranchId(name, Role.LEG, f"{phase.terminal}-{plus}" if up else f"{minus}-{phase.terminal}")
            in self.circuit.by_key
            for phase in self._phases(group)
        )


_KINDS: dict[tuple[str, str], Kind] = {
    ("single", ""): "single",
    ("single", "open"): "single-open",
    ("single", "shorted"): "single-shorted",
    ("three", ""): "three",
    ("three", "open"): "three-open",
    ("three", "shorted"): "three-shorted",
}
