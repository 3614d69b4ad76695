"""The schematic: a harness as a current-path diagram, whole or one system at a time.

Supply at the head, ground at the foot, current running downwards, tracks numbered along the foot: the habit of
IEC 61082 diagrams. :func:`draw` makes a :class:`~loomwright.render.drawing.primitives.Drawing`;
:func:`write` puts it into a file.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from ...lang.circuit.build import build_circuit
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import piece_of
from ...lang.model.harness import Harness
from ...lang.model.wires import Segment
from ..drawing.export import UnknownFormat, write
from ..drawing.layout_engine import Engine, EngineName, NoEngine, find_engine
from ..drawing.primitives import Drawing, Element, Joint, Rect, Run, Text, Track, moved
from .content import Content, content_of, only
from .current_direction import currents_of
from .parts import symbols_of
from .placement import Item, Layout, Placed, beside, lone_of, place, rows_of
from .selection import Selection, UnknownSystem, select
from .sheet import Extent, framed
from .symbols.drawn import Around
from .wires import Course, courses, trouble

__all__ = ["NoEngine", "UnknownFormat", "UnknownSystem", "draw", "write"]

SHEET_MARGIN = 24.0
WHOLE = "whole harness"
_ROUNDS = 2


def draw(harness: Harness, *, system: str | None = None, engine: EngineName | None = None) -> Drawing:
    """The schematic of a harness, or of one ``system`` of it with what feeds it.

    Raises :class:`~loomwright.render.schematic.selection.UnknownSystem` for a system that nothing is for, and
    :class:`~loomwright.render.drawing.layout_engine.NoEngine` where there is no Graphviz
    engine (or not the one asked for).
    """
    circuit = build_circuit(harness)
    chosen = find_engine(engine)
    around = Around(currents_of(circuit))
    content = content_of(harness, circuit, around)
    selection = None
    if system is not None:
        part_of = {key: drawn.part for key, drawn in content.drawn.items()}
        part_of |= {item.key: item.key for item in content.items if item.key in harness.parts}
        selection = select(harness, content.items, part_of, system)
        around = replace(around, pins=selection.pins)
    content, layout = _laid_out(harness, circuit, around, selection, chosen)
    return _drawing(harness, content, layout, WHOLE if system is None else system)


def _laid_out(
    harness: Harness, circuit: Circuit, around: Around, selection: Selection | None, engine: Engine
) -> tuple[Content, Layout]:
    """The easiest to follow of a few layouts, which begin from both ends of the text and from both sides."""

    def content_for(around: Around) -> Content:
        content = content_of(harness, circuit, around)
        return only(content, selection) if selection else content

    first = content_for(around)
    lone = lone_of(first.items)
    text = [item.key for item in first.items if item.key not in lone]
    rows = rows_of(first.in_order(text).items, engine)

    def best_from(order: Sequence[str], mirrored: bool) -> tuple[float, Content, bool]:
        """The best of a few rounds: each round, pins and contacts are in the order of the last one's lines."""
        tries = []
        content = first.in_order(order)
        for _ in range(_ROUNDS):
            layout = place(content.items, rows, engine, mirrored=mirrored, straighten=False)
            tries.append((trouble(layout), content, mirrored))
            content = content_for(replace(around, across=_across(layout))).in_order(order)
        return min(tries, key=lambda found: found[0])

    with ThreadPoolExecutor() as workers:  # the work is done by the engine, in separate processes
        found = workers.map(best_from, (text, text[::-1]) * 2, (False, False, True, True))
        _, content, mirrored = min(found, key=lambda each: each[0])
    layout = place(content.items, rows, engine, mirrored=mirrored, straighten=True)
    return content.with_items(first, lone), beside(layout, first.in_order(lone).items)


def _across(layout: Layout) -> dict[str, float]:
    """How far to the right the lines at each node lie, by the middle of what else is on its net."""
    found: dict[str, list[float]] = {}
    for placed in layout.items:
        for socket in placed.item.sockets:
            if placed.item.wire or placed.item.tied == "foot":
                found.setdefault(socket.net, []).append(placed.x(socket))
    return {net: sum(xs) / len(xs) for net, xs in found.items()}


# --- placing it ------------------------------------------------------------------------------------------------------
def _drawing(harness: Harness, content: Content, layout: Layout, sheet: str) -> Drawing:
    course = courses(layout, SHEET_MARGIN)
    tracks = _tracks(layout)
    numbers = {
        placed.item.key: _track_at(tracks, placed.left + _axis(placed))
        for placed in layout.items
        if placed.item.key in content.drawn
    }
    around = replace(content.around, tracks=numbers)
    shown = {drawn.part for drawn in content.drawn.values()}
    known = {
        symbol.key: symbol
        for part in harness.parts.values()
        if part.name in shown
        for symbol in symbols_of(part, around)
    }
    elements = []
    runs = []
    for placed in layout.items:
        item = placed.item
        dx, dy = placed.left + SHEET_MARGIN, course.tops[item.key]
        if item.wire:
            runs.append(_run(content.segments[item.key], item, dx, dy, course))
            continue
        drawn = known.get(item.key)
        symbol = drawn.symbol if drawn else item.symbol
        elements.append(
            Element(
                key=item.key,
                part=item.part,
                symbol=symbol.kind,
                about=item.about,
                box=Rect(dx, dy, dx + symbol.width, dy + symbol.height),
                ports=tuple(
                    (s.at, (dx + s.x, dy + (0 if s.side == "top" else item.symbol.height))) for s in item.sockets
                ),
                shapes=tuple(moved(shape, dx, dy) for shape in symbol.shapes),
                track=_track_at(tracks, placed.left + _axis(placed)),
            )
        )
    joints = tuple(Joint(net, lines, course.dots.get(net, ())) for net, lines in sorted(course.joints.items()))
    width = max((p.left + p.item.symbol.width for p in layout.items), default=0.0) + 2 * SHEET_MARGIN
    shifted = tuple(Track(t.number, t.x + SHEET_MARGIN) for t in tracks)
    return framed(harness, sheet, Extent(width, course.bottom), tuple(elements), tuple(runs), joints, shifted)


def _axis(placed: Placed) -> float:
    return placed.item.sockets[0].x if placed.item.sockets else placed.item.symbol.width / 2


def _tracks(layout: Layout) -> tuple[Track, ...]:
    """Numbers from left to right for every place at which a symbol stands; those nearly above each other share one."""
    xs = sorted(placed.left + _axis(placed) for placed in layout.items if not placed.item.wire)
    found: list[Track] = []
    for x in xs:
        if not found or x - found[-1].x >= 18:
            found.append(Track(len(found) + 1, x))
    return tuple(found)


def _track_at(tracks: Sequence[Track], x: float) -> int:
    after = bisect_left(tracks, x, key=lambda track: track.x)
    return min(tracks[max(after - 1, 0) : after + 1], key=lambda track: abs(track.x - x)).number


def _run(segment: Segment, item: Item, dx: float, dy: float, course: Course) -> Run:
    texts = tuple(t for t in (moved(shape, dx, dy) for shape in item.symbol.shapes) if isinstance(t, Text))
    words = [f"wire {segment.name}", f"{segment.a.node} to {segment.b.node}", str(segment.colour or "no colour given")]
    if segment.size:
        words.append(segment.size.text)
    keys = (
        ("wire", segment.wire),
        ("branch", piece_of(segment)),
        ("from", segment.a.node),
        ("to", segment.b.node),
    )
    return Run(segment.name, ", ".join(words), segment.colour, course.wires[item.key], texts, keys)
