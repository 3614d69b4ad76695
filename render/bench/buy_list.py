"""The list of what to buy, and the plan of spools: for a terminal, as CSV and on paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Final

from ...checks.bench.spools import Plan, Unplanned
from ...checks.tables.bench import bench_figure
from ...lang.diagnostics.messages import plainly_listed
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import Quantity, shown
from ..report.findings import counted
from .sheets import Table, columns, csv_text, millimetres, tables_pdf

if TYPE_CHECKING:
    from ...checks.bench.purchase import Item, Line, Restripe

CAUTION: Final = (
    "Compare each item with its maker's data sheet before it is ordered: a crimp fits the conductor and the insulation "
    "that its maker names. Local codes and a licensed practitioner decide."
)
SHEET: Final = "to buy"
PLURALS: Final = {
    "wire": "wire", "crimp": "crimps", "seal": "seals", "housing": "housings", "blanking plug": "blanking plugs",
    "cover": "covers", "tie": "ties", "heat-shrink": "heat-shrink", "fuse": "fuses", "lamp": "lamps",
    "relay": "relays", "part": "parts",
}  # fmt: skip

ON_BUY_LIST: Final = ("length", "size", "colour", "ends", "cover")
"""What is owed that the list needs."""


def amount(value: float, item: Item) -> str:
    return shown(Quantity(value, "m")) if item.unit == "m" else shown(value, 6)


def use(item: Item) -> str:
    if item.kind == "wire":
        return counted(int(item.use), "piece")
    spare = f"{shown(item.spare)} spare" if item.spare else ""
    return ", ".join(word for word in (item.use, spare) if word)


# --- for a terminal --------------------------------------------------------------------------------------------------
def buy_text(
    lines: Sequence[Line],
    unused: Sequence[tuple[str, str]],
    stripes: Sequence[Restripe],
    plans: Sequence[Plan | Unplanned],
    owed: Sequence[str],
    *,
    shelf: bool,
) -> str:
    """Kind by kind, ending in a line feed."""
    out: list[str] = []
    for kind, of_kind in groupby(lines, key=lambda line: line.item.kind):
        out += [PLURALS[kind], *columns([_row(line, shelf) for line in of_kind], right=(0,)), ""]
    out += _plan_lines(plans)
    out += [_stripe(each) for each in stripes]
    out += [_unused(name, near) for name, near in unused]
    metres = sum(line.buy for line in lines if line.item.kind == "wire")
    needed = sum(line.item.need for line in lines if line.item.kind == "wire")
    out.append(
        f"{counted(sum(line.buy > 0 for line in lines), 'item')} to buy; wire: {shown(Quantity(needed, 'm'))} needed, "
        f"{shown(Quantity(metres, 'm'))} to buy"
        if lines
        else "nothing to buy"
    )
    out += [*owed, CAUTION]
    return "".join(f"{visible(line).rstrip()}\n" for line in out)


def _row(line: Line, shelf: bool) -> tuple[str, ...]:
    item = line.item
    said = amount(line.buy, item) if shelf else amount(item.need, item)
    if not shelf:
        return (said, item.name, use(item))
    of = (
        f"need {amount(item.need, item)}, have {amount(line.have, item)}"
        + (f", sold by {amount(line.pack, item)}" if line.pack else "")
        + (f", {amount(line.left, item)} left over" if line.left > 1e-9 else "")
    )
    return (said if line.buy else "-", item.name, of, use(item))


def _stripe(each: Restripe) -> str:
    instead = plainly_listed(each.instead[:3], "or")
    return (
        f"{each.kind}: only {millimetres(each.cut)} ({each.piece}); it could be cut from {instead}: change its "
        "colour in the file and check that no other wire at its plugs has it"
    )


def _unused(name: str, near: str) -> str:
    return f"on the shelf and not needed: {name}" + (f" (needed is {near})" if near else "")


def _plan_lines(plans: Sequence[Plan | Unplanned]) -> Iterator[str]:
    if not plans:
        return
    yield "spools"
    rows = []
    for each in plans:
        if isinstance(each, Unplanned):
            rows.append((each.kind, f"no plan: {each.why}", "", ""))
            continue
        for spool in each.spools:
            cuts = " + ".join(f"{cut.piece} ({millimetres(cut.length)})" for cut in spool.cuts)
            origin = "buy" if spool.bought else "shelf"
            rows.append((each.kind, f"{origin} {shown(Quantity(spool.length, 'm'))}", _rest(spool.rest), cuts))
    yield from columns(rows)
    done = [each for each in plans if isinstance(each, Plan)]
    yield "".join(plan_summary(done))
    yield ""


def _rest(rest: float) -> str:
    return f"{millimetres(rest)} left" if rest > 1e-9 else "none left"


def plan_summary(plans: Sequence[Plan]) -> str:
    """What the plans buy and leave, beside the bound that no plan can go below."""
    bought = sum(each.bought for each in plans)
    short = sum(each.short for each in plans)
    solved = sum(each.by_solver for each in plans)
    gap = max((each.gap for each in plans), default=0.0)
    asked = (
        f"by the solver for {counted(solved, 'kind')}, by the metres alone for the others"
        if solved
        else "the metres alone"
    )
    best = f"a better plan costs at most {shown(Quantity(100 * gap, '%'))} less" if gap > 1e-6 else "no plan is better"
    end = shown(Quantity(bench_figure("short_end").value, "m"))
    return (
        f"{shown(Quantity(bought, 'm'))} of wire to buy, {shown(Quantity(short, 'm'))} in ends under {end}; "
        f"{best} (bound: {asked})"
    )


# --- CSV -------------------------------------------------------------------------------------------------------------
COLUMNS: Final = ("kind", "item", "need", "unit", "have", "pack", "buy", "left", "note")
SPOOL_COLUMNS: Final = ("wire", "spool", "length_m", "rest_mm", "piece", "cut_mm")


def buy_csv(lines: Iterable[Line]) -> str:
    """One row an item; the columns of a shelf are among them, so that it can be filled in and read back."""
    return csv_text(
        COLUMNS,
        (
            (
                line.item.kind,
                line.item.name,
                _plain(line.item.need),
                line.item.unit,
                _plain(line.have),
                _plain(line.pack) if line.pack else "",
                _plain(line.buy),
                _plain(line.left),
                use(line.item),
            )
            for line in lines
        ),
    )


def spools_csv(plans: Iterable[Plan | Unplanned]) -> str:
    """One row a cut, spool by spool."""
    return csv_text(
        SPOOL_COLUMNS,
        (
            (
                plan.kind,
                f"{'buy' if spool.bought else 'shelf'} {number}",
                _plain(spool.length),
                str(round(spool.rest * 1000)),
                cut.piece,
                str(round(cut.length * 1000)),
            )
            for plan in plans
            if isinstance(plan, Plan)
            for number, spool in enumerate(plan.spools, 1)
            for cut in spool.cuts
        ),
    )


def _plain(value: float) -> str:
    """A number for a spreadsheet, without grouping."""
    return str(int(value)) if value == int(value) else str(round(value, 3))


# --- on paper --------------------------------------------------------------------------------------------------------
def buy_pdf(
    title: str,
    lines: Sequence[Line],
    plans: Sequence[Plan | Unplanned],
    notes: Sequence[str],
    paper: str = "A4",
    revision: str = "",
) -> bytes:
    """Tables with a box an item, the plan of spools, then the notes and the caution."""
    tables = [
        Table(
            caption=PLURALS[kind],
            head=("buy", "item", "need", "have", "pack", "left over", "for"),
            widths=(1.0, 4.0, 1.0, 1.0, 1.0, 1.0, 4.0),
            rows=tuple(
                (
                    amount(line.buy, line.item) if line.buy else "-",
                    line.item.name,
                    amount(line.item.need, line.item),
                    amount(line.have, line.item),
                    amount(line.pack, line.item) if line.pack else "",
                    amount(line.left, line.item) if line.left > 1e-9 else "",
                    use(line.item),
                )
                for line in of_kind
            ),
            right=(0, 2, 3, 4, 5),
        )
        for kind, of_kind in groupby(lines, key=lambda line: line.item.kind)
    ]
    rows = tuple(
        (
            plan.kind,
            f"{'buy' if spool.bought else 'shelf'} {shown(Quantity(spool.length, 'm'))}",
            " + ".join(f"{cut.piece} ({millimetres(cut.length)})" for cut in spool.cuts),
            _rest(spool.rest),
        )
        for plan in plans
        if isinstance(plan, Plan)
        for spool in plan.spools
    )
    if rows:
        done = [each for each in plans if isinstance(each, Plan)]
        head = ("wire", "spool", "cut from it", "left")
        tables.append(Table(caption=f"spools: {plan_summary(done)}", head=head, widths=(2.0, 1.0, 7.0, 1.2), rows=rows))
    return tables_pdf(title, SHEET, tables, (*notes, CAUTION), paper, revision)


def notes_of(
    unused: Sequence[tuple[str, str]],
    stripes: Sequence[Restripe],
    plans: Sequence[Plan | Unplanned],
    owed: Sequence[str],
) -> list[str]:
    """What is below the tables on paper."""
    lacking = [f"{each.kind}: no plan: {each.why}" for each in plans if isinstance(each, Unplanned)]
    return [*lacking, *map(_stripe, stripes), *(_unused(name, near) for name, near in unused), *owed]
