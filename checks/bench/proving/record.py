"""Readings of a proof: read back from its CSV, compared with what must show, and what explains those that are off."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ....lang.diagnostics.messages import plainly_listed
from ....lang.quantities.units import UNITS, UNITS_OF, is_number, unglue, unit_name
from ....lang.records import dataclass
from ...diagnosis.observations import Read
from ...diagnosis.ruled_out import NOTHING, RuledOut
from ..spreadsheet import SheetError, read_table
from . import explaining
from .cleared import ruled_out
from .explaining import Explained, explained, opened_in_all
from .phases import unlike
from .rows import Row, Way

if TYPE_CHECKING:
    from ...diagnosis.observations import Observation
    from ..spreadsheet import Line
    from .moments import Moment
    from .plan import Proof
    from .table import TableLoom, Wrong

COLUMNS: Final[dict[str, str]] = {
    "row": "the row of the proof, as `prove` prints it",
    "stage": "0 by eye, 1 on the table, 2 battery off, 3 first power",
    "sheet": "the loom, the setting or the fuse",
    "do": "what to do first",
    "black": "where the black lead goes",
    "red": "where the red lead goes",
    "expected": "what must show, in words",
    "least": "the least that may be read, in the row's unit",
    "most": "the most that may be read",
    "unit": "of the reading",
    "reading": "what was read: to be filled in",
    "remarks": "for people",
    "about": "the wires and parts that the row speaks of",
}
NEEDED: Final = ("row", "black", "red", "reading")
MOST_ROWS: Final = 5000
"""A proof with more is none of one harness (ours)."""

WORDS: Final[dict[Way, tuple[str, ...]]] = {
    "look": ("ok", "not ok"),
    "beep": ("ok", "not ok", "beep", "silent"),
    "silence": ("ok", "not ok", "beep", "silent"),
    "diode": ("ok", "not ok", "one way", "both ways", "wrong way", "open"),
    "ohms": ("ok", "not ok", "open"),
    "volts": ("ok", "not ok"),
    "amps": ("ok", "not ok"),
    "drop": ("ok", "not ok"),
    "pull": ("ok", "not ok"),
}
"""What may be in the reading of a row besides a figure."""

_GOOD: Final = {"beep": ("beep",), "silence": ("silent",), "diode": ("one way",)}
_DIMENSIONS: Final[dict[Way, str]] = {
    "ohms": "resistance", "volts": "voltage", "drop": "voltage", "amps": "current"
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read in a row. ``value`` in SI, ``inf`` for an open circuit, ``None`` for a word. ``seen`` are things
    that differ, in the words of ``suspect``.
    """

    row: Row
    text: str
    good: bool
    value: float | None = None
    seen: tuple[Observation, ...] = ()


@dataclass(frozen=True, slots=True)
class Verdict:
    """``left`` rows have no reading yet. ``table`` has the looms with rows that are off and the single wrongs that show
    just so, ``at_rest`` the single faults that give what was read with the battery off. ``fed`` are the moments of
    first power in which something is off; ``ruled_out`` what rows which are as expected would have shown.
    """

    readings: tuple[Reading, ...]
    left: int
    table: tuple[tuple[TableLoom, tuple[Reading, ...], tuple[Wrong, ...]], ...]
    at_rest: Explained
    ruled_out: RuledOut
    fed: tuple[tuple[Moment, tuple[Reading, ...]], ...]

    @property
    def off(self) -> tuple[Reading, ...]:
        return tuple(reading for reading in self.readings if not reading.good)


def read_record(data: bytes, file: str, proof: Proof) -> tuple[Reading, ...]:
    """The readings of a CSV file, rows without one left out. Raises ``SheetError``."""
    lines = read_table(data, file, COLUMNS, NEEDED, MOST_ROWS, "a proof")
    stages = {number.partition(".")[0] for line in lines if (number := line.get("row")) and line.get("reading")}
    rows = {row.number: row for stage in (0, 1, 2, 3) if str(stage) in stages for row in proof.rows(stage)}
    found: dict[str, Reading] = {}
    for line in lines:
        if not line.get("reading"):
            continue
        row = _row(line, rows)
        if row.number in found:
            raise SheetError(f"{line.where}: row {row.number} is there twice: keep the reading that holds")
        found[row.number] = _reading(line, row, proof)
    figures = {n: (reading.row, reading.value) for n, reading in found.items() if reading.value is not None}
    off = unlike(figures)
    return tuple(replace(reading, good=False) if n in off else reading for n, reading in found.items())


def _row(line: Line, rows: Mapping[str, Row]) -> Row:
    number = line.get("row")
    row = rows.get(number)
    if row is None:
        raise SheetError(
            f"{line.where}: the column `row` has `{number}`, which is no row of this proof: the harness was changed "
            "since the sheet was made; make it again with `loomwright prove`"
        )
    for column, planned in (("black", row.black), ("red", row.red)):
        if line.get(column) != planned:
            raise SheetError(
                f"{line.where}: the column `{column}` has `{line.get(column)}`, and row {number} measures at "
                f"`{planned}`: the harness was changed since the sheet was made; make it again with `loomwright prove`"
            )
    return row


def _reading(line: Line, row: Row, proof: Proof) -> Reading:
    text = line.get("reading")
    way = row.expected.way
    word = text.lower()
    if word in WORDS[way]:
        return _word(row, text, word)
    if row.stage == 3 and way == "look":
        return Reading(row, text, False, seen=_seen(line, row, proof))
    if not row.expected.in_figures:
        raise SheetError(
            f"{line.where}: the column `reading` has `{text}` in row {row.number}: expected "
            f"{plainly_listed([f'`{word}`' for word in WORDS[way]], 'or')}"
        )
    value = _figure(line, row, text)
    return Reading(row, text, row.expected.fits(value), value)


def _word(row: Row, text: str, word: str) -> Reading:
    way = row.expected.way
    if way == "ohms" and word == "open":
        return Reading(row, text, row.expected.most is None, float("inf"))
    return Reading(row, text, word == "ok" or word in _GOOD.get(way, ()))


def _figure(line: Line, row: Row, text: str) -> float:
    """A figure in SI: with a unit of the row's kind, or without one in the row's own."""
    way = row.expected.way
    expected = f"a number in {row.expected.unit}, with a point, such as `0.3 {row.expected.unit}`; or `ok`"
    where = f"{line.where}: the column `reading` has `{text}` in row {row.number}"
    words = list(unglue(text) or text.split())
    if len(words) not in (1, 2) or not is_number(words[0]):
        raise SheetError(f"{where}: expected {expected}")
    if len(words) == 1:
        return float(words[0]) * row.expected.factor
    if way == "pull":
        if words[1] != "N":
            raise SheetError(f"{where}: the pull is in N: expected {expected}")
        return float(words[0])
    unit = unit_name(words[1])
    if unit is None or unit not in UNITS_OF[_DIMENSIONS[way]]:
        raise SheetError(
            f"{where}: unknown unit `{words[1]}`: expected {plainly_listed(UNITS_OF[_DIMENSIONS[way]], 'or')}"
        )
    return float(words[0]) * UNITS[unit].factor


def _seen(line: Line, row: Row, proof: Proof) -> tuple[Observation, ...]:
    """What a look at first power saw, such as ``REAR.stop dead``."""
    from ...diagnosis.observations import ObservationError, UnknownThingError, observations
    from ...diagnosis.ranking import Diagnoser
    from ...fmea.fault_simulation import Sweep

    moment = proof.moment(row.number)
    if moment is None:
        return ()
    try:
        return observations(
            line.get("reading"), Diagnoser(Sweep(moment.watched.operation), "", moment.watched.point).places
        )
    except (ObservationError, UnknownThingError) as error:
        raise SheetError(
            f"{line.where}: the column `reading` in row {row.number}: {error}; expected `ok`, `not ok` or what is "
            "seen, such as `HORN dead`"
        ) from None


# --- what is wrong ---------------------------------------------------------------------------------------------------
def verdict(proof: Proof, readings: Sequence[Reading]) -> Verdict:
    """What readings say about a harness; stages without a reading that is off are not worked out."""
    off = [reading for reading in readings if not reading.good]
    stages = {reading.row.stage for reading in off}
    read = {reading.row.stage for reading in readings}
    total = sum(len(proof.rows(stage)) for stage in read)
    return Verdict(
        readings=tuple(readings),
        left=total - len(readings),
        table=tuple(_tables(proof, readings)) if 1 in stages else (),
        at_rest=_at_rest(proof, readings) if 2 in stages else Explained(),
        ruled_out=ruled_out(proof, (r.row for r in readings if r.good)) if 3 in stages else NOTHING,
        fed=tuple(_fed(proof, off)) if 3 in stages else (),
    )


def _tables(
    proof: Proof, readings: Iterable[Reading]
) -> Iterator[tuple[TableLoom, tuple[Reading, ...], tuple[Wrong, ...]]]:
    """Each loom with rows that are off: what single thing shows just so."""
    by_number = {reading.row.number: reading for reading in readings}
    for loom in proof.looms:
        rows = [each for each in proof.table if each.loom is loom]
        shown: list[bool | None] = []
        for each, sound in zip(rows, loom.sound, strict=True):
            reading = by_number.get(each.row.number)
            shown.append(None if reading is None else sound == reading.good)
        off = tuple(r for each in rows if (r := by_number.get(each.row.number)) is not None and not r.good)
        if off:
            yield loom, off, loom.explains(shown)


def _at_rest(proof: Proof, readings: Iterable[Reading]) -> Explained:
    """The single faults that give what was read with the battery off."""
    read = read_at_rest(readings)
    return explained(proof.at_rest, read) or Explained(open=opened_in_all(proof.at_rest, read))


def read_at_rest(readings: Iterable[Reading]) -> list[explaining.Read]:
    """What was read with the battery off; ``open`` is so in the diode range, too."""
    return [
        explaining.Read(r.row.number, math.inf if r.value is None and r.text.lower() == "open" else r.value, r.good)
        for r in readings
        if r.row.stage == 2
    ]


def _fed(proof: Proof, off: Iterable[Reading]) -> Iterator[tuple[Moment, tuple[Reading, ...]]]:
    """The moments of first power in which something is off, each with what was read there."""
    for reading in off:
        moment = proof.moment(reading.row.number)
        if reading.row.stage == 3 and moment is not None:
            yield moment, (reading,)


def observed(reading: Reading) -> tuple[Observation, ...]:
    """What ``suspect`` gets of a reading: things that are otherwise, or volts between two terminals."""
    row = reading.row
    if reading.seen:
        return reading.seen
    if row.expected.way != "volts" or reading.value is None:
        return ()
    from ....lang.circuit.ids import End

    red, black = (End(*end.partition(".")[::2]) for end in (row.red, row.black))
    return (Read(red, black, reading.value, f"from {row.red} to {row.black}", either_way=True),)
