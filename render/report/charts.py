"""What is sooner seen than read: how near fuses are to their ratings, what wires lose, whether the battery is charged,
and where the severe faults are. As charts, and as bars of letters for a terminal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from ...checks.fmea.effects import Category
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import Quantity, shown
from ...lang.quantities.ranking import ranked
from ..drawing.charts import Bar, BarChart, Chart, Grid

if TYPE_CHECKING:
    from ...checks.fmea.report import Report
    from ...checks.operation.load_drops import LoadDrop
    from ...checks.operation.operating_points import StateTable
    from ...checks.tables.profiles import Profile
    from ...lang.circuit.circuit import Circuit

MOST: Final = 25
"""Bars or rows of one chart (ours): the greatest are shown, and the number of those left out is stated."""
NOWHERE: Final = "place not stated"
MEANINGS: Final = {
    Category.CATASTROPHIC: "fire, or an engine that cannot be stopped",
    Category.CRITICAL: "the engine stops, lights are out, the battery is overcharged, or the starter runs by itself",
    Category.MARGINAL: "no start, no charge, no warning, or something works that should not",
    Category.MINOR: "all else",
}


def state_charts(tables: Sequence[StateTable], drops: Sequence[LoadDrop], profile: Profile) -> tuple[Chart, ...]:
    """Of some named states: fuses, voltage drop, balance; those that have anything to show."""
    charts = (fuse_loads(tables, profile), voltage_drops(drops, profile), balance(tables))
    return tuple(chart for chart in charts if chart.bars)


def fuse_loads(tables: Iterable[StateTable], profile: Profile) -> BarChart:
    """Each fuse in the state in which it is nearest to its limit, the nearest first."""
    worst: dict[str, tuple[float, Bar]] = {}
    for table in tables:
        limit = profile.continuous_share if table.seconds is None else profile.held_share
        for row in table.fuses:
            if row.share is None or row.rating is None:
                continue
            near = row.share / limit
            if row.name not in worst or near > worst[row.name][0]:
                amps, rating = (shown(Quantity(value, "A")) for value in (row.amps, row.rating))
                held = "" if table.seconds is None else " (short-time)"
                words = f"{_percent(row.share)}: {amps} of {rating}, {table.name}{held}"
                worst[row.name] = near, Bar(name=row.name, value=row.share * 100, words=words, over=near > 1.0)
    bars, note = _greatest([bar for _, bar in ranked(worst.values(), key=lambda pair: pair[0])], "fuses")
    allowed = ""
    if profile.held_share != profile.continuous_share:
        allowed = f"Short-time, {_percent(profile.held_share)} is allowed. "
    return BarChart(
        title="Load of the fuses, % of their rating",
        unit="%",
        bars=bars,
        limit=profile.continuous_share * 100,
        limit_words=f"continuous limit {_percent(profile.continuous_share)}",
        note=f"{allowed}{note}".strip(),
    )


def voltage_drops(drops: Iterable[LoadDrop], profile: Profile) -> BarChart:
    """Each load in the state in which it loses most, the greatest loss first."""
    allowed = 1.0 - profile.volt_share
    bars = [
        Bar(
            name=drop.load,
            value=drop.share * 100,
            words=f"{_percent(drop.share)}: {_volts(drop.lost)} of {_volts(drop.feed)}, {drop.state}",
            over=drop.share > allowed,
        )
        for drop in ranked(drops, key=lambda drop: drop.share)
    ]
    chosen, note = _greatest(bars, "loads")
    return BarChart(
        title="Voltage drop to each load and back, % of the battery's voltage",
        unit="%",
        bars=chosen,
        limit=allowed * 100,
        limit_words=f"limit {_percent(allowed)}",
        note=note,
    )


def balance(tables: Iterable[StateTable]) -> BarChart:
    """What charges the battery, or discharges it, in each state as it comes from rest. What lasts no longer than a
    control is held is put into words: a starter's current would leave no length for the others.
    """
    bars, held = [], []
    for table in tables:
        if not table.problem and not table.history and any(row.share is None for row in table.sources):
            amps = -table.battery_amps
            if table.seconds is None:
                bars.append(Bar(name=table.name, value=amps, words=_balanced(amps)))
            else:
                held.append(f"{table.name} {_balanced(amps)}")
    left = len(bars) - MOST
    notes = (
        f"Not drawn, since it is short-time: {', '.join(held)}." if held else "",
        f"{left} more states are not shown." if left > 0 else "",
    )
    return BarChart(
        title="Battery, A",
        unit="A",
        bars=tuple(bars[:MOST]),
        left="discharging",
        right="charging",
        note=" ".join(note for note in notes if note),
    )


def _balanced(amps: float) -> str:
    if abs(amps) < NO_CURRENT:
        return "no current"
    size = Quantity(abs(amps), "A") if abs(amps) >= 0.1 else Quantity(abs(amps) * 1000, "mA")
    return f"{shown(size)} {'charging' if amps > 0.0 else 'discharging'}"


def _greatest(bars: Sequence[Bar], what: str) -> tuple[tuple[Bar, ...], str]:
    left = len(bars) - MOST
    return tuple(bars[:MOST]), f"{left} more {what} are below these." if left > 0 else ""


def _volts(volts: float) -> str:
    return shown(Quantity(volts, "V"))


def _percent(share: float) -> str:
    return shown(Quantity(share * 100, "%"))


# --- faults
def fault_map(reports: Iterable[Report], circuit: Circuit) -> Grid:
    """How many single faults of each severity there are at each place, in the order of the text; stretches between two
    places after these.
    """
    places = [*circuit.harness.places, NOWHERE]
    counts: dict[str, list[int]] = {place: [0] * len(Category) for place in places}
    for report in reports:
        for fault in report.faults:
            where = counts.setdefault(_place(circuit, fault.key), [0] * len(Category))
            where[report.category - 1] += 1
    rows = [(place, tuple(row)) for place, row in counts.items() if any(row)]
    if len(rows) > MOST:
        order = sorted(range(len(rows)), key=lambda at: ([-count for count in rows[at][1]], at))
        kept = sorted(order[: MOST - 1])
        rest = tuple(sum(rows[at][1][place] for at in order[MOST - 1 :]) for place in range(len(Category)))
        rows = [*(rows[at] for at in kept), (f"{len(rows) - len(kept)} other places", rest)]
    return Grid(
        title="Single faults by place and severity",
        columns=tuple((category.numeral, MEANINGS[category]) for category in Category),
        rows=tuple(rows),
        note="A wire's open circuit and its short to ground are two faults.",
    )


def _place(circuit: Circuit, key: str) -> str:
    branch = circuit.by_key.get(key)
    if branch is None:
        return NOWHERE
    if branch.segment is not None:
        order = list(circuit.harness.places)
        ends = sorted({place for place in branch.segment.studs if place is not None}, key=order.index)
        return " to ".join(ends) or NOWHERE
    part = circuit.harness.parts.get(branch.part)
    return (part.place if part is not None else None) or NOWHERE


# --- for a terminal
NO_BARS: Final = "nothing to show as bars: no fuse with a rating, no load that is on, no battery\n"
NO_CURRENT: Final = 1e-4
"""A of a battery below which it has none (ours)."""
NONE: Final = "."
"""Stands where a count is 0."""
BAR: Final = 40
"""Letters of the longest bar."""


def charts_text(charts: Iterable[Chart]) -> str:
    """Every chart in letters, ending in a line feed."""
    blocks = ("\n".join(_bars(chart) if isinstance(chart, BarChart) else _grid(chart)) for chart in charts)
    return "\n\n".join(blocks) + "\n"


def _bars(chart: BarChart) -> Iterator[str]:
    """``#`` is a bar, ``=`` one below 0, ``|`` the limit, or 0 where bars go both ways."""
    yield visible(chart.title) + (f" ({chart.limit_words}: |)" if chart.limit is not None else "")
    least, most = chart.scale
    letters = _letters(least, most)
    broad = max((len(bar.name) for bar in chart.bars), default=0)
    zero = letters(0.0)
    for bar in chart.bars:
        row = [" "] * (BAR + 1)
        start, end = sorted((zero, letters(bar.value)))
        for place in range(start, max(end, start + 1) if bar.value else end):
            row[place] = "#" if bar.value > 0.0 else "="
        if chart.limit is not None:
            row[letters(chart.limit)] = "|"
        elif least < 0.0:
            row[zero] = "|" if row[zero] == " " else row[zero]
        yield visible(f"  {bar.name:<{broad}}  {''.join(row)}  {bar.words}{', over the limit' if bar.over else ''}")
    if chart.note:
        yield f"  {chart.note}"


def _letters(least: float, most: float) -> Callable[[float], int]:
    return lambda value: round((value - least) / (most - least) * BAR)


def _grid(chart: Grid) -> Iterator[str]:
    heads = [head for head, _ in chart.columns]
    broad = max((len(name) for name, _ in chart.rows), default=0)
    wide = max(4, *(len(head) for head in heads)) + 1
    yield visible(chart.title)
    yield f"  {'':<{broad}}{''.join(f'{head:>{wide}}' for head in heads)}"
    for name, counts in chart.rows:
        yield visible(f"  {name:<{broad}}{''.join(f'{count or NONE:>{wide}}' for count in counts)}")
    for head, meaning in chart.columns:
        if meaning:
            yield f"  {head}: {meaning}"
    if chart.note:
        yield f"  {chart.note}"
