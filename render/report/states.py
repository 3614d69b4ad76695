"""The named states in numbers: for a terminal, as JSON, as CSV."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING

from ...lang.diagnostics.messages import plainly_listed
from ...lang.quantities.quantity import shown
from ...lang.quantities.ranking import ranked
from ..formats.figures import rounded

if TYPE_CHECKING:
    from rich.console import RenderableType

    from ...checks.operation.operating_points import LoadRow, SourceRow, StateTable, WireRow

HOTTEST = 5
"""This many wires are shown in a terminal, those with the least margin; the other formats have all."""

LEAST_AMPS = 0.05
"""A below which a wire in a place too hot for any current is not shown: it warms nothing (ours)."""

LEAST_RISE = 1.0
"""K above ambient from which a wire is worth showing."""

LEAST_VOLTS = 0.1
"""V across a load that is off, below which it is not shown: a few millivolts of a ground that others share (ours)."""

LEGEND = (
    "V of a source, A mean and W: means over the time that the circuits of coils are closed and open. V of a load: "
    "while they are closed. rms behind a row: there V and A are rms, since a winding supplies them. A rms of fuses and "
    "wires: what heats them. drop: the greatest. % of a load: of its A at its rated voltage, of a resistor: of its W; "
    "of a source: of the most that it delivers at this speed. at most: a regulator lowers the field current."
)
"""Shown under the tables: what their columns are of."""


def states_text(tables: Iterable[StateTable], *, width: int = 100, colour: bool = False) -> str:
    """The states as tables for a terminal, ``width`` columns wide, ending in a line feed."""
    from rich.console import Console

    target, tables = io.StringIO(), tuple(tables)
    console = Console(
        file=target, width=width, force_terminal=colour, color_system="standard" if colour else None, highlight=False
    )
    for number, table in enumerate(tables):
        if number:
            console.print()
        for each in _state(table):
            console.print(each)
    if any(not table.problem for table in tables):
        console.print(f"\n{LEGEND}")
    return "".join(f"{line.rstrip()}\n" for line in target.getvalue().splitlines())


def _state(table: StateTable) -> Iterable[RenderableType]:
    from rich.text import Text

    yield Text(table.name, style="bold")
    if table.problem:
        left = f" as left before ({table.history})" if table.history else ""
        yield Text(f"  no numbers{left}: {table.problem}")
        return
    said = ", ".join(f"{control} {position}" for control, position in table.settings) or "everything at rest"
    yield Text(f"  {said}")
    if table.history:
        yield Text(f"  as left before: {table.history}")
    for word, names in (("pulled", table.pulled), ("on", table.on)):
        if names:
            yield Text(f"  {word}: {', '.join(names)}")
    for each in table.points:
        coils = plainly_listed([f"{key} draws {_amps(amps)} A" for key, amps in each.closed])
        yield Text(f"  {each.points} {each.position}; where the engine stops with {each.points} closed, {coils}")
    sources = [row for row in table.sources if row.share is None or row.amps >= 5e-4]
    yield _grid(("source", "V", "A mean", "W", "%", ""), [_source(row) for row in sources])
    solved = [row for row in table.loads if row.word != "alternating"]
    loads = [row for row in solved if _gets_something(row)]
    if loads:
        yield _grid(("load", "V", "A mean", "W", "%", ""), [_load(row) for row in loads])
    fuses = [row for row in table.fuses if row.amps >= 5e-4]
    if fuses:
        filled = [(f.name, _amps(f.amps), f"{shown(f.rating)} A" if f.rating else "", _percent(f.share)) for f in fuses]
        yield _grid(("fuse", "A rms", "rating", "%"), filled)
    known = [row for row in table.wires if row.celsius is None or row.celsius - row.ambient >= LEAST_RISE]
    rated = [
        (row.margin if row.celsius is not None else -math.inf, row)
        for row in known
        if row.margin is not None and row.amps >= LEAST_AMPS
    ]
    hot = [row for _, row in ranked(rated, key=lambda pair: -pair[0])][:HOTTEST]
    if hot:
        brief = f", after {shown(table.seconds)} s" if table.seconds is not None else ""
        yield _grid((f"hottest wires{brief}", "A rms", "drop", "degC", "to limit"), [_wire(row) for row in hot])
    if any(row.share is None for row in table.sources):
        yield Text(f"  {_balance(table)}")
    if table.weak_fields:
        weak = ", ".join(table.weak_fields)
        yield Text(f"  output may be lower than shown where the field is weak: {weak}; that is not calculated")
    yield from (Text(f"  {line}") for line in _left_out(table))


def _left_out(table: StateTable) -> Iterable[str]:
    """What the numbers of a state leave out, and how to come by it."""
    for each in table.left_out:
        yield f"left out: alternating current of {each.winding}, since {each.why}"
    if unsolved := ", ".join(row.name for row in table.loads if row.word == "alternating"):
        yield f"left out with it: {unsolved}"
    if any(each.measurable for each in table.left_out):
        from ...checks.ac.windings import HOW_TO_MEASURE

        yield f"to measure: {HOW_TO_MEASURE}"
    if table.by_watts:
        named = ", ".join(table.by_watts)
        yield (
            f"from its W alone, and so a rough figure: {named}; measure its open-circuit voltage and short-circuit "
            "current"
        )
    for path in table.stops:
        share = f"{'at most ' if path.at_most else ''}{shown(100.0 * path.share)} %"
        yield (
            f"{path.part}: {shown(path.ohms)} ohm from its kill wire to its return leave {share} of its voltage: "
            f"{path.word}"
        )
    for name, amps in table.limited:
        yield f"{name} limits the voltage and draws {_amps(amps)} A for that; one that shorts the winding draws more"


def _gets_something(row: LoadRow) -> bool:
    if row.unrated:
        return row.volts > 1.0
    leaks = row.word == "dead" and abs(row.volts) < LEAST_VOLTS
    return abs(row.amps) >= 5e-4 and not leaks


def _grid(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> RenderableType:
    from rich import box
    from rich.table import Table

    grid = Table(box=box.SIMPLE, pad_edge=False, show_edge=False, padding=(0, 1))
    for place, head in enumerate(heads):
        grid.add_column(head, justify="left" if place == 0 or not head else "right", no_wrap=place > 0)
    for row in rows:
        grid.add_row(*row)
    return grid


def _source(row: SourceRow) -> tuple[str, ...]:
    charging = row.share is None and row.amps <= -5e-4
    amps, watts = (-row.amps, -row.watts) if charging else (row.amps, row.watts)
    word = "charging" if charging else _average(row)
    return (row.name, _plain(row.volts, 2), _amps(amps), _plain(watts, 1), _percent(row.share), word)


def _load(row: LoadRow) -> tuple[str, ...]:
    if row.unrated:
        return (row.name, _plain(row.volts, 2), "?", "?", "", "no rating")
    word = ", ".join(filter(None, (row.word if row.word != "dead" else "", _average(row))))
    return (row.name, _plain(row.volts, 2), _amps(row.amps), _plain(row.watts, 1), _percent(row.share), word)


def _average(row: SourceRow | LoadRow) -> str:
    return row.average if row.average != "mean" else ""


def _wire(row: WireRow) -> tuple[str, ...]:
    celsius = row.word or (f"over {shown(row.ambient)}" if row.celsius is None else f"{row.celsius:.0f}")
    margin = "none" if row.celsius is None or row.margin is None else f"{_plain(row.margin, 0)} K"
    return (row.name, _amps(row.amps), f"{row.lost * 1e3:.0f} mV", celsius, margin)


def _balance(table: StateTable) -> str:
    amps = table.battery_amps
    if amps > 5e-4:
        return f"the battery supplies {_amps(amps)} A"
    if amps < -5e-4:
        return f"the battery is charging at {_amps(-amps)} A"
    return "the battery supplies no current"


def _amps(amps: float) -> str:
    """Four decimals below 0.1 A, so that a drain of milliamps shows; fewer above."""
    size = abs(amps)
    return _plain(amps, 4 if size < 0.1 else 3 if size < 1.0 else 2 if size < 10.0 else 1)


def _plain(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


def _percent(share: float | None) -> str:
    return "" if share is None else f"{share * 100.0:.0f}"


# --- for machines ----------------------------------------------------------------------------------------------------
def states_json(tables: Iterable[StateTable]) -> str:
    """The states as JSON: one object a state, numbers in V, A, W, degC and shares of 1, six significant digits."""
    found = [rounded({**asdict(table), "battery_amps": table.battery_amps}) for table in tables]
    for each in found:
        each["settings"] = dict(each["settings"])
    return json.dumps({"version": 1, "states": found}, indent=2, ensure_ascii=False) + "\n"


CSV_COLUMNS = (
    "state",
    "kind",
    "name",
    "volts",
    "amps",
    "watts",
    "share",
    "rating",
    "ambient",
    "celsius",
    "margin",
    "word",
    "average",
)


def states_csv(tables: Iterable[StateTable]) -> str:
    """The states as CSV (RFC 4180, but for line feeds alone): one line a source, load, fuse and wire of each state."""
    target = io.StringIO()
    writer = csv.DictWriter(target, CSV_COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    for table in tables:
        for kind, rows in (
            ("source", table.sources),
            ("load", table.loads),
            ("fuse", table.fuses),
            ("wire", table.wires),
        ):
            for row in rows:
                cells = asdict(row)
                cells["volts"] = cells.get("volts", cells.pop("lost", None))
                known = {name: value for name, value in rounded(cells).items() if name in CSV_COLUMNS}
                writer.writerow(
                    {"state": table.name, "kind": kind, **{k: "" if v is None else v for k, v in known.items()}}
                )
    return target.getvalue()
