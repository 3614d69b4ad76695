"""The schematic: a harness as a current-path diagram, whole or one system at a time.

Supply at the head, ground at the foot, current running downwards, tracks numbered along the foot: the habit of
IEC 61082 diagrams. :func:`draw` makes a :class:`~loomwright.render.drawing.primitives.Drawing`;
:func:`write` puts it into a file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from ...lang.circuit.build import build_circuit
from ...lang.circuit.circuit import Circuit
from ...lang.model.harness import Harness
from ..drawing.export import UnknownFormat, write
from ..drawing.layout_engine import Engine, EngineName, NoEngine, find_engine
from ..drawing.primitives import Drawing
from .arranging import laid_out
from .assembling import assembled, tracks_of
from .content import Content, content_of, only
from .current_direction import currents_of
from .lugs import with_lugs
from .selection import UnknownSystem, select
from .sheet import framed
from .symbols.drawn import Around, Now

__all__ = ["NoEngine", "UnknownFormat", "UnknownSystem", "draw", "drawings", "write"]

WHOLE = "whole harness"


def draw(
    harness: Harness, *, system: str | None = None, now: Now | None = None, engine: EngineName | None = None
) -> Drawing:
    """The schematic of a harness, or of one ``system`` of it with what feeds it; at rest, or at the moment ``now``.

    Raises :class:`~loomwright.render.schematic.selection.UnknownSystem` for a system that nothing is for, and
    :class:`~loomwright.render.drawing.layout_engine.NoEngine` where there is no Graphviz
    engine (or not the one asked for).
    """
    (drawing,) = drawings(harness, (system,), now=now, engine=engine)
    return drawing


def drawings(
    harness: Harness, systems: Iterable[str | None], *, now: Now | None = None, engine: EngineName | None = None
) -> Iterator[Drawing]:
    """The same of several systems, one after another: which way current runs is worked out once."""
    circuit = build_circuit(harness)
    chosen = find_engine(engine)
    around = Around(currents_of(circuit), now=now)
    content = content_of(harness, circuit, around)
    for system in systems:
        yield _drawn(harness, circuit, content, system, chosen)


def _drawn(harness: Harness, circuit: Circuit, whole: Content, system: str | None, engine: Engine) -> Drawing:
    around, selection = whole.around, None
    if system is not None:
        part_of = {key: drawn.part for key, drawn in whole.drawn.items()}
        part_of |= {item.key: item.key for item in whole.items if item.key in harness.parts}
        selection = select(harness, whole.items, part_of, system)
        around = replace(around, pins=selection.pins)

    def make(around: Around) -> Content:
        content = content_of(harness, circuit, around)
        shown = only(content, selection, harness) if selection else content
        return replace(shown, items=with_lugs(shown.items))

    content, layout = laid_out(make, around, engine)
    where = {key: str(track) for key, track in tracks_of(layout).items()}
    sheet = WHOLE if system is None else system
    return framed(harness, sheet, assembled(harness, content, layout, where), around.now)
