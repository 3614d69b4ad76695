"""Changes to the frozen model: ends moved, wires and parts put in, exchanged or taken out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ...lang.model.harness import Harness
from ...lang.model.parts import Part
from ...lang.model.wires import End, Segment, Wire


def moved_ends(harness: Harness, move: Callable[[End, str, int], End]) -> Harness:
    """A harness with ends of wires elsewhere. ``move`` is asked for each end of each stretch, with the stretch's name
    and 0 or 1 for its first or second end.
    """
    wires: dict[str, Wire] = {}
    for name, wire in harness.wires.items():
        segments = tuple(_moved_piece(segment, move) for segment in wire.segments)
        wires[name] = (
            wire if segments == wire.segments else replace(wire, a=segments[0].a, b=segments[-1].b, segments=segments)
        )
    return replace(harness, wires=wires)


def _moved_piece(segment: Segment, move: Callable[[End, str, int], End]) -> Segment:
    a, b = move(segment.a, segment.name, 0), move(segment.b, segment.name, 1)
    if a == segment.a and b == segment.b:
        return segment
    return replace(segment, a=a, b=b)


def swapped(harness: Harness, part: str, one: str, other: str) -> Harness:
    """A harness with the wires and mounts at two terminals of a part exchanged."""
    to = {one: other, other: one}

    def move(end: End, _piece: str, _side: int) -> End:
        return End(part, to[end.terminal]) if end.part == part and end.terminal in to else end

    mounts = tuple(
        replace(mount, terminal=to[mount.terminal]) if mount.part == part and mount.terminal in to else mount
        for mount in harness.mounts
    )
    return replace(moved_ends(harness, move), mounts=mounts)


def with_end_at(harness: Harness, segment: str, side: int, end: End) -> Harness:
    """A harness with one end of one stretch of wire somewhere else."""
    return moved_ends(harness, lambda old, name, which: end if (name, which) == (segment, side) else old)


def with_strap(harness: Harness, one: End, other: End, like: Segment) -> Harness:
    """A harness with a strap of a size that it has already."""
    name = "strap"
    while name in harness.wires:
        name += "+"
    segment = replace(
        like,
        wire=name,
        number=0,
        a=one,
        b=other,
        length=0.3,
        written=True,
        route=(),
        flexing=False,
        studs=(None, None),
    )
    wire = Wire(
        name=name, a=one, b=other, span=like.span, segments=(segment,), colour=like.colour, size=like.size, length=0.3
    )
    return replace(harness, wires={**harness.wires, name: wire})


def without_wire(harness: Harness, name: str) -> Harness:
    return replace(harness, wires={key: wire for key, wire in harness.wires.items() if key != name})


def with_part(harness: Harness, part: Part) -> Harness:
    return replace(harness, parts={**harness.parts, part.name: part})
