"""A layout as shapes: symbols, wires and what joins them at their places, with numbered tracks."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from ...lang.circuit.ids import piece_of
from ...lang.model.harness import Harness
from ...lang.model.wires import Segment
from ...lang.records import dataclass
from ..drawing.primitives import Element, Joint, Rect, Run, Text, Track, moved
from .content import Content
from .crossings import with_gaps
from .legend import THICK
from .parts import symbols_of
from .placement import Item, Layout, Placed
from .symbols import nodes
from .symbols.drawn import Now
from .wires import Course, courses

SHEET_MARGIN: Final = 24.0


@dataclass(frozen=True, slots=True)
class Assembly:
    """What is drawn on a sheet, at its place; the frame is not. ``width`` has the margin on both sides."""

    elements: tuple[Element, ...]
    runs: tuple[Run, ...]
    joints: tuple[Joint, ...]
    tracks: tuple[Track, ...]
    width: float
    bottom: float


def tracks_of(layout: Layout) -> dict[str, int]:
    """The track of every symbol by its key."""
    tracks = _tracks(layout)
    return {p.item.key: _track_at(tracks, p.left + _axis(p)) for p in layout.items if not p.item.wire}


def assembled(harness: Harness, content: Content, layout: Layout, where: Mapping[str, str]) -> Assembly:
    """The shapes of a layout. ``where`` says where each symbol stands that others refer to, by its key."""
    course = courses(layout, SHEET_MARGIN)
    tracks = _tracks(layout)
    around = replace(content.around, tracks=where)
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
            run = _run(content.segments[item.key], item, dx, dy, course)
            runs.append(_at_moment(run, item.key, around.now))
            continue
        drawn = known.get(item.key)
        symbol = drawn.symbol if drawn else item.symbol
        if item.refers:
            symbol = nodes.elsewhere(item.words.format(where[item.refers]), item.sockets[0].side)
        elements.append(
            Element(
                key=item.key,
                part=item.part,
                symbol=symbol.kind,
                about=item.about,
                box=Rect(dx, dy, dx + item.symbol.width, dy + item.symbol.height),
                ports=tuple(
                    (s.at, (dx + s.x, dy + (0 if s.side == "top" else item.symbol.height))) for s in item.sockets
                ),
                shapes=tuple(moved(shape, dx + (item.shift if drawn else 0), dy) for shape in symbol.shapes),
                track=_track_at(tracks, placed.left + _axis(placed)),
                mark=around.now.marks.get(item.part, "") if around.now else "",
            )
        )
    node_of = {socket.net: socket.at for placed in layout.items for socket in placed.item.sockets}
    now = around.now
    joints = tuple(
        Joint(
            node_of[net],
            course.joints.get(net, ()),
            course.bars.get(net),
            quiet=now is not None and now.active is not None and node_of[net] not in now.nodes,
        )
        for net in sorted({*course.joints, *course.bars})
    )
    width = max((p.left + p.item.symbol.width for p in layout.items), default=0.0) + 2 * SHEET_MARGIN
    shifted = tuple(Track(t.number, t.x + SHEET_MARGIN) for t in tracks)
    return Assembly(tuple(elements), with_gaps(runs), joints, shifted, width, course.bottom)


def _at_moment(run: Run, key: str, now: Now | None) -> Run:
    """A wire as it is at the moment that is drawn."""
    if now is None:
        return run
    return replace(run, quiet=now.active is not None and key not in now.active, mark=now.marks.get(key, ""))


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
    area = segment.size.area if segment.size else 0.0
    step = sum(area > most for most in THICK)
    return Run(segment.name, ", ".join(words), segment.colour, (course.wires[item.key],), texts, keys, step)
