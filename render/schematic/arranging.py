"""Where everything on a sheet goes: the easiest to follow of a few layouts, which the engine makes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Final

from ..drawing.layout_engine import Engine
from .content import Content
from .lugs import pass_widths
from .placement import Layout, beside, lone_of, place, rows_of
from .symbols.drawn import Around
from .wires import trouble

Make = Callable[[Around], Content]
"""What is on a sheet, drawn for what is around it."""

_ROUNDS: Final = 2
LARGE: Final = 700
"""Items that lines join, those of some 250 wires, beyond which fewer layouts are tried (ours): each takes the engine
seconds, and of 1,000 wires the best of all eight is easier by a hundredth than the best of two.
"""
_STRAIGHTENINGS: Final = 5
_STRAIGHTENINGS_OF_LARGE: Final = 1


def first_layout(make: Make, around: Around, engine: Engine) -> tuple[Content, Layout]:
    """A layout that tells how large a sheet becomes, made in a fraction of the time of a good one."""
    content = make(around)
    lone = lone_of(content.items)
    linked = content.in_order([item.key for item in content.items if item.key not in lone])
    rows = rows_of(linked.items, engine)
    layout = place(linked.items, rows, pass_widths(linked.items, rows), engine)
    return linked.with_items(content, lone), beside(layout, content.in_order(lone).items)


def laid_out(make: Make, around: Around, engine: Engine) -> tuple[Content, Layout]:
    """The easiest to follow of a few layouts, which begin from both ends of the text and from both sides.

    What is large is begun from both ends alone, once each.
    """
    first = make(around)
    lone = lone_of(first.items)
    text = [item.key for item in first.items if item.key not in lone]
    rows = rows_of(first.in_order(text).items, engine)
    large = len(text) > LARGE
    starts = [(order, mirrored) for mirrored in ((False,) if large else (False, True)) for order in (text, text[::-1])]

    def best_from(order: Sequence[str], mirrored: bool) -> tuple[float, Content, Layout, bool]:
        """The best of a few rounds: each round, pins and contacts stand in the order of the last one's lines."""
        tries: list[tuple[float, Content, Layout, bool]] = []
        for _ in range(1 if large else _ROUNDS):
            content = make(replace(around, across=_across(tries[-1][2]))) if tries else first
            content = content.in_order(order)
            widths = pass_widths(content.items, rows)
            layout = place(content.items, rows, widths, engine, mirrored=mirrored)
            tries.append((trouble(layout), content, layout, mirrored))
        return min(tries, key=lambda found: found[0])

    with ThreadPoolExecutor() as workers:  # the work is done by the engine, in separate processes
        found = workers.map(lambda start: best_from(*start), starts)
        _, content, layout, mirrored = min(found, key=lambda each: each[0])
    times = _STRAIGHTENINGS_OF_LARGE if large else _STRAIGHTENINGS
    widths = pass_widths(content.items, rows)
    layout = place(content.items, rows, widths, engine, mirrored=mirrored, straightenings=times, begun=layout.begun)
    return content.with_items(first, lone), beside(layout, first.in_order(lone).items)


def _across(layout: Layout) -> dict[str, float]:
    """How far to the right the lines at each node lie, by the middle of what else is on its net."""
    found: dict[str, list[float]] = {}
    for placed in layout.items:
        for socket in placed.item.sockets:
            if placed.item.wire or placed.item.tied == "foot":
                found.setdefault(socket.net, []).append(placed.x(socket))
    return {net: sum(xs) / len(xs) for net, xs in found.items()}
