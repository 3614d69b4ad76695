"""Sheets of a proof: for a terminal, as the CSV that `record` reads back, and on paper with boxes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Final

from ...checks.bench.proving.plan import PULLS
from ...checks.bench.proving.record import COLUMNS
from ...checks.tables.proving import lamp_watts
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import Quantity, shown
from ..report.findings import counted
from .prove_words import CAUTIONS, TITLES, expected_words, first_power_how, held_still, how, plain
from .sheets import Section, Table, columns, csv_text, sections_pdf

if TYPE_CHECKING:
    from ...checks.bench.proving.plan import Proof
    from ...checks.bench.proving.rows import Row

STAGES: Final = (0, 1, 2, 3)
_HEADS: Final = {
    0: ("row", "look at"),
    1: ("row", "black on", "red on", "must show", "reading", "wires"),
    2: ("row", "red on", "black on", "must show", "reading", "off shows one of"),
    3: ("row", "do", "red on", "black on", "must show", "reading"),
}
_WIDTHS: Final = {
    0: (0.6, 14.0),
    1: (0.8, 2.6, 2.6, 3.2, 2.0, 3.2),
    2: (0.8, 2.2, 2.2, 2.4, 2.0, 5.0),
    3: (0.8, 5.4, 1.8, 1.8, 5.2, 2.0),
}


def _groups(rows: Sequence[Row]) -> Iterator[tuple[str, list[Row]]]:
    for sheet, group in groupby(rows, lambda row: row.sheet):
        yield sheet, list(group)


def counts(proof: Proof, stage: int) -> tuple[str, ...]:
    """How many rows a stage has, beside the bounds that are known."""
    rows = proof.rows(stage)
    match stage if rows else 0:
        case 1:
            least = sum(loom.kautz for loom in proof.looms)
            minutes = shown(Quantity(round(proof.minutes), "min"))
            return (
                (
                    f"{counted(proof.touches, 'row')} with the beeper in {counted(len(proof.looms), 'loom')}, points "
                    f"less one, some {minutes}; a tester that joins any points at once needs {shown(least)} at least "
                    "(Kautz 1974)"
                ),
            )
        case 2:
            settings = len({row.sheet for row in rows})
            return (
                (
                    f"{counted(len(rows), 'row')} in {counted(settings, 'setting')}; no choice shows the same opens "
                    f"and pinches with fewer than {shown(proof.at_rest.cover.bound)}"
                ),
            )
        case _:
            return (counted(len(rows), "row"),)


def notes(proof: Proof, stage: int) -> tuple[str, ...]:
    """What belongs under a stage: what is owed, and after the last one what nothing tells."""
    if stage == 1:
        return proof.owed
    if stage == 3:
        return tuple(f"no row shows: {said}" for said in proof.untold)
    return ()


def intro(proof: Proof, stage: int) -> tuple[str, ...]:
    """How a stage is worked through."""
    if stage < 2:
        return how(stage)
    motorcycle = proof.first_power.motorcycle
    if stage == 2:
        return (*how(stage), *held_still(motorcycle.points))
    battery = bool(motorcycle.batteries)
    return (
        *first_power_how(lamp_watts(proof.harness.volts), battery=battery, starter=bool(motorcycle.starter_cables)),
        *(held_still(motorcycle.points, powered=True) if battery else ()),
    )


def caption(proof: Proof, stage: int, sheet: str) -> str:
    """The heading of a group; on the table with the kept wires that come later."""
    if stage != 1:
        return sheet
    for loom in proof.looms:
        if sheet == f"loom {loom.loom.name}" and loom.joins:
            kept = "; ".join(f"{end}: {', '.join(wires)}" for end, wires in loom.joins)
            return f"{sheet} (kept wires are connected to it after this test: {kept})"
    return sheet


# --- for a terminal --------------------------------------------------------------------------------------------------
def prove_text(proof: Proof, stages: Sequence[int] = STAGES) -> str:
    """Stage by stage, ending in a line feed."""
    lines: list[str] = []
    for stage in stages:
        rows = proof.rows(stage)
        lines += [TITLES[stage], *intro(proof, stage), ""]
        for sheet, group in _groups(rows):
            lines += [caption(proof, stage, sheet), *columns([_cells(stage, row) for row in group]), ""]
        if not rows:
            lines += ["no row", ""]
        lines += [*counts(proof, stage), *notes(proof, stage), CAUTIONS[stage], ""]
    return "".join(f"{visible(line).rstrip()}\n" for line in lines[:-1])


def _cells(stage: int, row: Row) -> tuple[str, ...]:
    must = expected_words(row.expected)
    match stage:
        case 0:
            return row.number, must
        case 1:
            if not row.black:
                return row.number, row.do, "", must
            return row.number, f"{row.do + ' ' if row.do else ''}{row.black}", row.red, must
        case 2:
            return row.number, f"{row.red} to {row.black}", must + (f" ({row.do})" if row.do else "")
        case _:
            where = f"{row.red} to {row.black}: " if row.red else ""
            return row.number, row.do, f"{where}{must}"


# --- CSV -------------------------------------------------------------------------------------------------------------
def prove_csv(proof: Proof, stages: Sequence[int] = STAGES) -> str:
    """One row a row; `record` reads it back with the column `reading` filled in."""
    return csv_text(tuple(COLUMNS), (record_cells(row) for stage in stages for row in proof.rows(stage)))


def record_cells(row: Row) -> tuple[str, ...]:
    """A row of the CSV, under ``COLUMNS``; nothing is read yet."""
    expected = row.expected
    return (
        row.number, str(row.stage), row.sheet, row.do, row.black, row.red, expected_words(expected),
        plain(expected, expected.least), plain(expected, expected.most), expected.unit, "", "", "; ".join(row.about),
    )  # fmt: skip


# --- on paper --------------------------------------------------------------------------------------------------------
def prove_pdf(title: str, proof: Proof, stages: Sequence[int] = STAGES, paper: str = "A4", revision: str = "") -> bytes:
    """A section a stage, its caution on each page, with a box and room for a reading in each row."""
    return sections_pdf(title, [_section(proof, stage) for stage in stages], paper, revision)


def _section(proof: Proof, stage: int) -> Section:
    tables = [_table(proof, stage, sheet, group) for sheet, group in _groups(proof.rows(stage))]
    return Section(
        sheet=TITLES[stage],
        before=intro(proof, stage),
        tables=tuple(tables),
        notes=(*counts(proof, stage), *notes(proof, stage)),
        caution=CAUTIONS[stage],
    )


def _table(proof: Proof, stage: int, sheet: str, group: Sequence[Row]) -> Table:
    if sheet == PULLS:
        return Table(
            caption=sheet,
            head=("row", "sample", "must show", "reading"),
            widths=(0.8, 9.4, 2.0, 2.2),
            rows=tuple((row.number, row.do, expected_words(row.expected), "") for row in group),
        )
    return Table(
        caption=caption(proof, stage, sheet),
        head=_HEADS[stage],
        widths=_WIDTHS[stage],
        rows=tuple(_printed(stage, row) for row in group),
    )


def _printed(stage: int, row: Row) -> tuple[str, ...]:
    must = expected_words(row.expected)
    match stage:
        case 0:
            return row.number, must
        case 1:
            black = row.black if row.black else row.do
            return (
                row.number,
                black,
                row.red,
                f"{must}{f' ({row.do})' if row.black and row.do else ''}",
                "",
                ", ".join(row.about),
            )
        case 2:
            about = "; ".join(row.about[:3]) + (f"; and {len(row.about) - 3} more" if len(row.about) > 3 else "")
            return row.number, row.red, row.black, f"{must}{f' ({row.do})' if row.do else ''}", "", about
        case _:
            return row.number, row.do, row.red, row.black, must, ""
