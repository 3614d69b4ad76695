"""What a single fault can do in the new harness that none could do in the old one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import BranchId, owner_of
from ...lang.records import dataclass

if TYPE_CHECKING:
    from ..fmea.effects import Category
    from .comparison import Comparison
    from .side import Side


@dataclass(frozen=True, slots=True)
class NewFault:
    """An end effect of category I or II, and the single faults by which it comes about, in the order of the text."""

    category: str
    effect: str
    faults: tuple[str, ...]


def new_faults(comparison: Comparison) -> tuple[NewFault, ...]:
    """The worst first. An effect is known where some fault of the same mode had it in the old harness.

    Raises ``UnsolvableError`` where a named state has no numbers.
    """
    names = comparison.match.old_of
    known = {(key.thing, key.now, key.mode) for key in _consequences(comparison.old)}
    found = []
    for key, (category, faults) in sorted(
        _consequences(comparison.new).items(), key=lambda item: (item[1][0], item[0].words, item[0].mode)
    ):
        part = owner_of(key.thing)
        was = names.get(part, part)
        thing = key.thing.of(was) if isinstance(key.thing, BranchId) else was
        if (thing, key.now, key.mode) not in known:
            found.append(NewFault(category.word, key.words, faults))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Consequence:
    """What happens to a thing by faults of one mode."""

    thing: str
    now: str
    mode: str
    words: str


def _consequences(side: Side) -> dict[_Consequence, tuple[Category, tuple[str, ...]]]:
    """Each effect of category I or II, with its worst category and the faults that bring it about."""
    from ..fmea.effects import Category
    from ..fmea.fault_simulation import Sweep
    from ..fmea.report import fault_reports
    from ..protection.protection import Protection

    protection = Protection(side.circuit)
    found: dict[_Consequence, tuple[Category, tuple[str, ...]]] = {}
    states = [name for name in side.harness.states if name in side.operation.points]
    for report in fault_reports(Sweep(side.operation, protection), states, protection):
        effects = [effect for _, each in report.effects for effect in each if effect.category <= Category.CRITICAL]
        for mode in dict.fromkeys(fault.mode for fault in report.faults):
            faults = tuple(str(fault) for fault in report.faults if fault.mode == mode)
            keys = {_Consequence(e.thing, e.now, mode, e.words()): e.category for e in effects}
            if report.burns:
                keys[_Consequence("", "fire", mode, "fire, since no fuse protects it")] = Category.CATASTROPHIC
            for key, category in keys.items():
                before = found.get(key, (category, ()))
                found[key] = (min(before[0], category), tuple(dict.fromkeys((*before[1], *faults))))
    return found
