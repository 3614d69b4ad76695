"""What a single fault can do in the new harness that none could do in the old one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import BranchId, owner_of
from ...lang.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Mapping

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
    """The worst first. An effect is known where some fault of the same mode had it in the old harness; that something
    comes on, in each state that both name: what turns a starter by itself is new, though something else turned it with
    the button pressed.

    Raises ``UnsolvableError`` where a named state has no numbers.
    """
    names = comparison.match.old_of
    both = comparison.old.harness.states.keys() & comparison.new.harness.states.keys()
    known: dict[tuple[str, str, str], set[str]] = {}
    for key, each in _consequences(comparison.old).items():
        known.setdefault((key.thing, key.now, key.mode), set()).update(*each.faults.values())
    found = []
    for key, each in sorted(
        _consequences(comparison.new).items(), key=lambda item: (item[1].category, item[0].words, item[0].mode)
    ):
        part = owner_of(key.thing)
        was = names.get(part, part)
        thing = key.thing.of(was) if isinstance(key.thing, BranchId) else was
        before = known.get((thing, key.now, key.mode))
        if before is not None:
            new = both - before if each.comes_on else frozenset[str]()
            faults = tuple(fault for fault, states in each.faults.items() if states & new)
        else:
            faults = tuple(each.faults)
        if faults:
            found.append(NewFault(each.category.word, key.words, faults))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Consequence:
    """What happens to a thing by faults of one mode."""

    thing: str
    now: str
    mode: str
    words: str


@dataclass(frozen=True, slots=True)
class _Brought:
    """What brings a consequence about: its worst ``category``, and the states in which it does by fault.
    ``comes_on``: it was dead without one.
    """

    category: Category
    faults: Mapping[str, frozenset[str]]
    comes_on: bool


def _consequences(side: Side) -> dict[_Consequence, _Brought]:
    """Each effect of category I or II, with what brings it about."""
    from ..fmea.effects import Category
    from ..fmea.fault_simulation import Sweep
    from ..fmea.report import fault_reports
    from ..protection.protection import Protection

    protection = Protection(side.circuit)
    found: dict[_Consequence, _Brought] = {}
    names = [name for name in side.harness.states if name in side.operation.points]
    for report in fault_reports(Sweep(side.operation, protection), names, protection):
        told = [(e.thing, e.now, e.words(), e.category, e.was == "dead", s) for s, es in report.effects for e in es]
        if report.burns:
            words = "fire, since no fuse protects it"
            told.append(("", "fire", words, Category.CATASTROPHIC, False, report.fires))
        for fault in report.faults:
            for thing, now, words, category, comes_on, states in told:
                if category <= Category.CRITICAL:
                    key = _Consequence(thing, now, fault.mode, words)
                    before = found.get(key) or _Brought(category, {}, comes_on)
                    where = before.faults.get(str(fault), frozenset()).union(states)
                    faults = {**before.faults, str(fault): where}
                    found[key] = _Brought(min(before.category, category), faults, comes_on)
    return found
