"""Readings that fit nothing: what to do about each, from the cheapest to the most far-reaching.

First the reading is taken again; then a part on the way may be dead; then the diagram may be wrong, by the smallest
change: a wire that is not there, one that nobody drew, or two ends exchanged. A change is built from the unexplained
readings alone, and offered only where no other reading contradicts it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...lang.circuit.branch_types import BranchType
from ...lang.records import dataclass
from ...lang.survey.record import Shows
from ..meter import Meter, Setup

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ...lang.survey.record import MeterReading, Point
    from .identify import Identification

UNEXPLAINED: Final = 0.1
"""A reading less probable than this, all considered, is reported as one that fits nothing."""

ASKED: Final = 60
"""Parts and wires that are tried for one reading, the first of the text."""


@dataclass(frozen=True, slots=True)
class Change:
    """What would be different on the diagram. ``kind``: missing, extra or exchanged; ``lines`` say it as text."""

    kind: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Unexplained:
    """``points``: the ends of the diagram that the two points most probably are. ``dead``: parts that would explain it
    if they were dead.
    """

    reading: MeterReading
    points: tuple[str, str]
    dead: tuple[str, ...]
    change: Change | None


def unexplained(known: Identification) -> tuple[Unexplained, ...]:
    """Every reading that fits nothing, in the order of the text."""
    odd = [each.reading for each in known.judged if each.agrees < UNEXPLAINED]
    return tuple(_explained(known, reading, odd) for reading in odd)


def _explained(known: Identification, reading: MeterReading, odd: list[MeterReading]) -> Unexplained:
    a, b = _end(known, reading.a), _end(known, reading.b)
    if a is None or b is None:
        return Unexplained(reading, (a or "?", b or "?"), (), None)
    if reading.shows is Shows.BEEP:
        return Unexplained(reading, (a, b), (), _exchanged(known, reading, odd) or _extra(known, a, b))
    if reading.shows in (Shows.SILENCE, Shows.OPEN):
        change = _exchanged(known, reading, odd) or _missing(known, reading, a, b, odd)
        return Unexplained(reading, (a, b), _dead(known, reading, a, b), change)
    return Unexplained(reading, (a, b), _dead(known, reading, a, b), None)


def _end(known: Identification, point: Point) -> str | None:
    """The end of the diagram that a point most probably is."""
    return point.node if point.lead is None else known.likely_end(point.lead)


def _without(known: Identification, reading: MeterReading, opened: Iterable[str]) -> Meter:
    arrangement = known.survey.arrangement
    return Meter(
        known.predictions.circuit,
        Setup(
            apart=arrangement.apart,
            parts_in=arrangement.parts_in,
            positions=tuple(item for item in reading.setting if item[0] in known.predictions.circuit.controls),
            opened=frozenset(opened),
        ),
    )


def _joined(known: Identification, meter: Meter, a: str, b: str) -> bool:
    i, j = meter.net(a), meter.net(b)
    return i is not None and j is not None and bool(meter.beeps(known.survey.beeper)[i, j] > 0.5)


def _dead(known: Identification, reading: MeterReading, a: str, b: str) -> tuple[str, ...]:
    """Lamps, fuses and mounts of which one dead would part the two points."""
    laws = (BranchType.LAMP, BranchType.FUSE, BranchType.MOUNT)
    there = known.survey.arrangement.parts_in
    tried = [
        x
        for x in known.predictions.circuit.branches
        if x.branch_type in laws and (there or x.branch_type is BranchType.FUSE)
    ][:ASKED]
    if not _joined(known, _without(known, reading, ()), a, b):
        return ()
    return tuple(x.key for x in tried if not _joined(known, _without(known, reading, (x.key,)), a, b))


def _missing(known: Identification, reading: MeterReading, a: str, b: str, odd: list[MeterReading]) -> Change | None:
    """A wire without which the two points are parted, and every other reading stays as it is."""
    on_way = [
        wire for wire in known.predictions.harness.wires if not _joined(known, _without(known, reading, (wire,)), a, b)
    ]
    others = [each for each in known.survey.readings if each not in odd]
    for wire in on_way[:ASKED]:
        meters: dict[object, Meter] = {}
        for other in others:
            if other.setting not in meters:
                meters[other.setting] = _without(known, other, (wire,))
            x, y = _end(known, other.a), _end(known, other.b)
            if x is None or y is None or other.shows not in (Shows.BEEP, Shows.SILENCE):
                continue
            if _joined(known, meters[other.setting], x, y) is not (other.shows is Shows.BEEP):
                break
        else:
            return Change("missing", (wire,))
    return None


def _extra(known: Identification, a: str, b: str) -> Change:
    names = known.predictions.harness.wires
    number = next(
        n for n in range(1, len(names) + 2) if f"X{n}" not in names and f"X{n}" not in known.predictions.harness.parts
    )
    return Change("extra", (f"wire X{number} {a} to {b}",))


def _exchanged(known: Identification, reading: MeterReading, odd: list[MeterReading]) -> Change | None:
    """Two leads of one half whose ends are exchanged, where one is silent and the other beeps with the same point."""
    for other in odd:
        if {reading.shows, other.shows} != {Shows.BEEP, Shows.SILENCE} or reading.setting != other.setting:
            continue
        mine, theirs = {p.text: p for p in (reading.a, reading.b)}, {p.text: p for p in (other.a, other.b)}
        shared = mine.keys() & theirs.keys()
        if len(shared) != 1:
            continue
        one = next(point for text, point in mine.items() if text not in shared)
        two = next(point for text, point in theirs.items() if text not in shared)
        if one.lead is None or two.lead is None or one.lead[0] != two.lead[0]:
            continue
        first, second = sorted((one, two), key=lambda point: point.lead or ("", 0))
        ends = _end(known, first), _end(known, second)
        if ends[0] is not None and ends[1] is not None:
            return Change("exchanged", (ends[0], ends[1]))
    return None
