"""Thicker wires for what is fed with too little: which, and by how much, so that no more than some voltage drops."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from ...lang.editing.proposals import thicker
from ...lang.quantities.ranking import smallest
from ...lang.records import dataclass
from ..conductors.standard_sizes import fits_contacts, ladder, standard_of
from ..tables.conductors import resistance_per_metre
from .thicker import size_enough

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.editing.proposals import Proposal
    from ...lang.quantities.size import Size
    from ..study import Study

Losses = Sequence[tuple["Branch", float]]


@dataclass(frozen=True, slots=True)
class _Lead:
    """A wire on the way of a load: its ``size``, what it drops in V, and the m of it that are on the way."""

    name: str
    size: Size
    volts: float
    metres: float

    def drops(self, size: Size | None) -> float:
        """What it drops in V with another size, at the same current."""
        if size is None:
            return self.volts
        return self.volts * resistance_per_metre(size.area) / resistance_per_metre(self.size.area)


def thicker_for_drop(study: Study, losses: Losses, most: float, across: float) -> tuple[Proposal, ...]:
    """The wires on a way to be made thicker so that on the whole way no more than ``most`` V are lost, where the load
    has ``across`` V now; none where what is no wire loses that much already, or no size is enough.

    What is too thin for its current comes first, in the size that its own rule asks for. Where that is not enough, each
    step is where it saves most for its copper, as `size` has it; what is kept from an old harness only where nothing
    else is enough.
    """
    leads = _leads(study, losses)
    whole = sum(max(volts, 0.0) for _, volts in losses)
    # What gets more takes more, at most as a resistance does; and that much more is lost in everything on the way.
    growth = max(1.0, (across + whole - most) / across) if across > 0.0 else 1.0
    left = most / growth - (whole - sum(lead.volts for lead in leads.values()))
    too_thin = _for_current(study, leads, losses)
    free = [name for name in leads if not study.harness.wires[name].kept]
    for names in (free, list(leads)):
        found = _stepped(study, leads, names, too_thin, left)
        if found is not None:
            needed = _needed(leads, found, too_thin, left)
            return (thicker({name: needed[name] for name in leads if name in needed}),) if needed else ()
    return ()


def _leads(study: Study, losses: Losses) -> dict[str, _Lead]:
    """The wires of known size on a way, by name, in its order."""
    found: dict[str, _Lead] = {}
    for branch, volts in losses:
        wire, segment = study.harness.wires.get(branch.owner), branch.segment
        if wire is None or wire.size is None or segment is None or segment.size is None:
            continue
        before = found.get(wire.name, _Lead(wire.name, wire.size, 0.0, 0.0))
        metres = before.metres + (segment.length or 0.0)
        found[wire.name] = _Lead(wire.name, wire.size, before.volts + max(volts, 0.0), metres)
    return found


def _for_current(study: Study, leads: Mapping[str, _Lead], losses: Losses) -> dict[str, Size]:
    """The sizes of those wires that carry more than their rating."""
    found: dict[str, Size] = {}
    for branch, _ in losses:
        overload = study.conductors.of(branch.segment).overload if branch.segment and branch.owner in leads else None
        size = size_enough(study, overload) if overload is not None else None
        if size is not None and (branch.owner not in found or size.area > found[branch.owner].area):
            found[branch.owner] = size
    return found


def _stepped(
    study: Study, leads: Mapping[str, _Lead], names: Iterable[str], first: Mapping[str, Size], most: float
) -> dict[str, Size] | None:
    """Sizes for some wires with which all of them together drop no more than ``most`` V; ``None`` without any."""
    thicker_ones = {name: _thicker(study, leads[name], first.get(name)) for name in sorted(names)}
    chosen = dict(first)
    if _drop(leads, chosen | {name: sizes[-1] for name, sizes in thicker_ones.items() if sizes}) > most:
        return None
    while _drop(leads, chosen) > most:
        steps = [(name, sizes[0]) for name, sizes in thicker_ones.items() if sizes]
        name, size = smallest(steps, key=lambda step: _price(leads[step[0]], chosen.get(step[0]), step[1]))
        chosen[name] = size
        thicker_ones[name] = thicker_ones[name][1:]
    return chosen


def _needed(
    leads: Mapping[str, _Lead], chosen: Mapping[str, Size], first: Mapping[str, Size], most: float
) -> dict[str, Size]:
    """The same without those that are not needed for it, what saves least tried first."""
    left = dict(chosen)
    for name in sorted(chosen, key=lambda each: leads[each].volts - leads[each].drops(chosen[each])):
        without = {other: size for other, size in left.items() if other != name}
        if name not in first and _drop(leads, without) <= most:
            left = without
    return left


def _drop(leads: Mapping[str, _Lead], sizes: Mapping[str, Size]) -> float:
    return sum(lead.drops(sizes.get(name)) for name, lead in leads.items())


def _thicker(study: Study, lead: _Lead, size: Size | None) -> tuple[Size, ...]:
    """The standard sizes beyond its ``size``, or the one that it has, that the contacts of a wire take."""
    area, wire = (size or lead.size).area, study.harness.wires[lead.name]
    sizes = (each for each in ladder(standard_of(lead.size)) if each.area > area)
    return tuple(each for each in sizes if fits_contacts(study.harness, wire, each.area))


def _price(lead: _Lead, size: Size | None, to: Size) -> float:
    """The copper that a step costs for each volt that it saves: mm2 m/V."""
    saved = lead.drops(size) - lead.drops(to)
    copper = (to.area - (size or lead.size).area) * max(lead.metres, 1e-3)
    return copper / saved if saved > 0.0 else math.inf
