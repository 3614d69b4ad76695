"""Computed lengths of wires, shown behind the lines that do not write one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ..formats.entries import number

if TYPE_CHECKING:
    from ...lang.diagnostics.diagnostic import Span
    from ...lang.model.harness import Harness
    from ...lang.model.wires import Wire


@dataclass(frozen=True, slots=True)
class Hint:
    """Words to show behind a stretch of text, and more of them for whoever points there."""

    span: Span
    text: str
    tooltip: str


def lengths(harness: Harness, file: str, first: int, last: int) -> Iterator[Hint]:
    """A hint for each wire of a file, between two of its lines, whose length was computed along the routes."""
    for wire in harness.wires.values():
        if wire.span.file == file and first <= wire.span.line <= last and wire.length is None:
            known = [segment.length for segment in wire.segments if segment.length is not None]
            if len(known) == len(wire.segments):
                yield Hint(wire.span, f"{number(sum(known))} m", _along(wire))


def _along(wire: Wire) -> str:
    lines = ["computed along the routes, with slack"]
    for segment in wire.segments:
        which = f"{segment.name}: " if len(wire.segments) > 1 else ""
        lines.append(f"{which}{number(segment.length or 0.0)} m by {' - '.join(segment.route) or 'no route'}")
    return "\n".join(lines)
