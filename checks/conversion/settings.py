"""In which settings two states of one name differ, so that nobody takes for a fault what only a switch makes."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.ids import BranchId, Role, inside
from ...lang.model.parts import Unit
from ...lang.records import dataclass
from .matching import paired_positions

if TYPE_CHECKING:
    from ..operation.operating_point import OperatingPoint
    from .comparison import Comparison
    from .side import Side

CLEARED = "cleared"
SET = "set"


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingChange:
    """A control or latch that a state has in different positions on either side, by its name in each; ``None`` on the
    side that has no such control.
    """

    old: str | None
    was: str | None
    new: str | None
    now: str | None


def setting_changes(
    comparison: Comparison,
    before: OperatingPoint,
    now: OperatingPoint,
    *,
    old_needs: Collection[str] = (),
    new_needs: Collection[str] = (),
) -> tuple[SettingChange, ...]:
    """What differs between the settings of one state on two sides: of what both sides have, each other position; of
    what one side alone has, what is away from rest, or is among those that the figures depend on (``needs``).
    """
    old, new = comparison.old, comparison.new
    return (
        *_controls(comparison, before, now),
        *_latches(comparison, before, now),
        *(
            SettingChange(old=name, was=at, new=None, now=None)
            for name, at in _alone(old, before, {each.old for each in comparison.common}, old_needs)
        ),
        *(
            SettingChange(old=None, was=None, new=name, now=at)
            for name, at in _alone(new, now, {each.new for each in comparison.common}, new_needs)
        ),
    )


def _controls(comparison: Comparison, before: OperatingPoint, now: OperatingPoint) -> Iterator[SettingChange]:
    """The controls of both sides that are not in one and the same position."""
    for each in comparison.common:
        was, at = before.positions[each.old], now.positions[each.new]
        pairs = paired_positions(comparison.old.circuit.controls[each.old], comparison.new.circuit.controls[each.new])
        if pairs.get(at) != was:
            yield SettingChange(old=each.old, was=was, new=each.new, now=at)


def _latches(comparison: Comparison, before: OperatingPoint, now: OperatingPoint) -> Iterator[SettingChange]:
    """The latches that one state has set and the other has not."""
    set_before, set_now = before.memory.latched, now.memory.latched
    there = _latches_of(comparison.old)
    for name in _latches_of(comparison.new):
        known = name.of(comparison.match.old_of.get(name.owner, ""))
        if known not in there:
            if name in set_now:
                yield SettingChange(old=None, was=None, new=name, now=SET)
            continue
        there.remove(known)
        if (known in set_before) != (name in set_now):
            was, at = (SET, CLEARED) if known in set_before else (CLEARED, SET)
            yield SettingChange(old=known, was=was, new=name, now=at)
    yield from (SettingChange(old=name, was=SET, new=None, now=None) for name in there if name in set_before)


def _latches_of(side: Side) -> list[BranchId]:
    units = (part for part in side.harness.parts.values() if isinstance(part, Unit))
    return [inside(unit.name, latch.name, Role.LATCH) for unit in units for latch in unit.latches]


def _alone(
    side: Side, point: OperatingPoint, common: Collection[str], needs: Collection[str]
) -> Iterator[tuple[str, str]]:
    """The controls of one side alone that matter to a state; what nobody sets only where the state says how it is."""
    for name, at in point.positions.items():
        control = side.circuit.controls.get(name)
        if control is None or name in common:
            continue
        if name in point.pinned or (not control.free and (at != control.rest or name in needs)):
            yield name, at
