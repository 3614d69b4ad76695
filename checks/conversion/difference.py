"""Everything that differs between two harnesses: parts, conductors, when things are live, and the named states."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ...lang.quantities.quantity import Quantity, shown
from ...lang.records import dataclass
from ..behaviour import ImpossibleStateError
from ..dc.devices import UnsolvableError
from ..logic.analysis import TooWideError
from ..operation.operating_points import average_of
from .answers import answer, differences
from .comparison import Comparison
from .elements import element_question, elements
from .item_changes import ItemChange, PlaceChange, part_changes, place_changes, wire_changes
from .new_faults import NewFault, new_faults
from .settings import SettingChange, setting_changes

if TYPE_CHECKING:
    from ..operation.operating_point import OperatingPoint
    from ..operation.operating_points import Average
    from .answers import Row
    from .matching import Match
    from .new_findings import FindingChange

SAME_SHARE = 0.01
SAME_VOLTS = 0.05
SAME_AMPS = 0.005
"""Volts and amps of a named state that differ by less than this share, or by this many V or A, are alike (ours)."""
OFF = 0.01
"""An element with less than this share of the system's voltage is off, however little flows (ours)."""

Alone = dict[str, tuple[tuple[str, ...], tuple[str, ...]]]
"""Of an element, the controls of the old harness alone, and of the new one alone, that decide when it is live."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveChange:
    """An element that is live under another condition. ``controls``: of one harness alone, on which it depends."""

    element: str
    row: Row
    when: tuple[tuple[str, str], ...]
    controls: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StateChange:
    """V across and A through an element or a source of a named state that both harnesses have, as ``states`` has them:
    V of an element while the circuits of all coils are closed, V of a source and A averaged over the coils' duty; where
    a winding supplies them rms.
    """

    state: str
    element: str
    old_volts: float
    new_volts: float
    old_amps: float
    new_amps: float
    old_average: Average = "mean"
    new_average: Average = "mean"


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedState:
    """A named state that both harnesses have and that has changes: in which ``settings`` it differs itself, and whether
    coils work in it, so that V and A are ``averaged`` or not.
    """

    name: str
    settings: tuple[SettingChange, ...]
    averaged: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Differences:
    """``unjudged``: what could not be compared, and why. ``old`` and ``new`` name the two harnesses. ``system``:
    nominal voltage and grounded pole of both, where these differ. ``settings``: of every state in ``states``.
    ``findings`` and ``faults`` are ``None`` where they were not compared.
    """

    old: str
    new: str
    system: tuple[str, str] | None
    items: tuple[ItemChange, ...]
    live: tuple[LiveChange, ...]
    states: tuple[StateChange, ...]
    settings: tuple[ComparedState, ...] = ()
    findings: tuple[FindingChange, ...] | None = None
    faults: tuple[NewFault, ...] | None = None
    unjudged: tuple[str, ...] = ()
    places: tuple[PlaceChange, ...] = ()

    @property
    def none(self) -> bool:
        seen = self.system or self.items or self.places or self.live or self.states or self.findings or self.faults
        return not seen


def compared(comparison: Comparison, old: str, new: str, *, with_faults: bool = False) -> Differences:
    """All differences, in the order of the new text, what is gone last; ``old`` and ``new`` as they are shown.

    ``with_faults``: every single fault of both harnesses is gone through as well, which takes longer.
    """
    unjudged: list[str] = []
    alone: Alone = {}
    live = tuple(_live(comparison, unjudged, alone))
    states = tuple(_states(comparison, unjudged))
    match = comparison.match
    items = (*part_changes(match), *wire_changes(match))
    faults = new_faults(comparison) if with_faults else None
    return Differences(
        old=old,
        new=new,
        system=_systems(match),
        items=items,
        live=live,
        states=states,
        settings=tuple(_settings(comparison, states, alone)),
        faults=faults,
        unjudged=tuple(unjudged),
        places=tuple(place_changes(match)),
    )


def _systems(match: Match) -> tuple[str, str] | None:
    was, now = (f"{shown(Quantity(h.volts, 'V'))} {h.grounded} ground" for h in (match.old, match.new))
    return (was, now) if was != now else None


# --- behaviour
def _live(comparison: Comparison, unjudged: list[str], alone: Alone) -> Iterator[LiveChange]:
    """``alone`` is filled with what each element depends on."""
    for old, new in elements(comparison):
        try:
            was = answer(comparison.old.logic, element_question(comparison.old, old), comparison.common, "old")
            now = answer(comparison.new.logic, element_question(comparison.new, new), comparison.common, "new")
        except TooWideError as wide:
            unjudged.append(f"when {new} is live: it {wide}")
            continue
        alone[new] = (was.private, now.private)
        for difference in differences(was, now, comparison.common):
            yield LiveChange(
                element=new,
                row=difference.row,
                when=comparison.when(difference),
                controls=was.private if difference.row == "independent" else now.private,
            )


def _states(comparison: Comparison, unjudged: list[str]) -> Iterator[StateChange]:
    old, new = comparison.old, comparison.new
    consumers = {key for _, key in elements(comparison)}
    pairs = [*elements(comparison), *_sources(comparison)]
    for name in new.harness.states:
        if name not in old.harness.states:
            continue
        try:
            before, now = old.operation.state(name), new.operation.state(name)
        except (UnsolvableError, ImpossibleStateError, TooWideError) as error:
            unjudged.append(f"state {name}: {error}")
            continue
        for was, key in pairs:
            change = StateChange(
                state=name,
                element=key,
                old_volts=_volts(before, was),
                new_volts=_volts(now, key),
                old_amps=before.mean_amps(was),
                new_amps=now.mean_amps(key),
                old_average=average_of(before, was),
                new_average=average_of(now, key),
            )
            if key in consumers and max(abs(change.old_volts), abs(change.new_volts)) < OFF * new.harness.volts:
                continue
            if not _same(change.old_volts, change.new_volts, SAME_VOLTS) or not _same(
                change.old_amps, change.new_amps, SAME_AMPS
            ):
                yield change


def _volts(point: OperatingPoint, key: str) -> float:
    """V across an element while the circuits of all coils are closed, of a source on the average: as in ``states``."""
    return point.across(key) if key in point.circuit.by_key else point.mean_across(key)


def _settings(comparison: Comparison, changes: Iterable[StateChange], alone: Alone) -> Iterator[ComparedState]:
    """The states that have changes, each with the settings in which it differs itself."""
    listed: dict[str, list[str]] = {}
    for change in changes:
        listed.setdefault(change.state, []).append(change.element)
    for name, keys in listed.items():
        before, now = comparison.old.operation.state(name), comparison.new.operation.state(name)
        needs = [alone[key] for key in keys if key in alone]
        yield ComparedState(
            name=name,
            settings=setting_changes(
                comparison,
                before,
                now,
                old_needs={control for old, _ in needs for control in old},
                new_needs={control for _, new in needs for control in new},
            ),
            averaged=bool(before.flow.duties or now.flow.duties),
        )


def _sources(comparison: Comparison) -> Iterator[tuple[str, str]]:
    there = {supply.name for supply in comparison.old.circuit.supplies if supply.kind != "winding"}
    for supply in comparison.new.circuit.supplies:
        before = comparison.match.old_of.get(supply.name, "")
        if before in there and supply.kind != "winding":
            yield before, supply.name


def _same(a: float, b: float, least: float) -> bool:
    return abs(a - b) <= max(least, SAME_SHARE * max(abs(a), abs(b)))
