"""Names of the harness that can be at the cursor: parts, ends, places, controls and their positions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ...lang.model.conditions import ENGINE_POSITIONS
from ...lang.model.parts import Connector, Load, Source, Switch, Unit
from ...lang.resolve.conditions import unit_controls
from ...lang.vocabulary.kinds import ONE_NODE
from ...lang.vocabulary.words import ENGINE
from .offers import Cursor, Offer

if TYPE_CHECKING:
    from ...lang.model.parts import Part


def parts(at: Cursor, *kinds: type[Part], point: bool = False) -> Iterator[Offer]:
    """Names of parts; ``point``: with the point behind which a terminal is written."""
    for part in at.harness.parts.values():
        if not kinds or isinstance(part, kinds):
            alone = part.kind in ONE_NODE or not point
            yield Offer(part.name if alone else f"{part.name}.", "part", _about(part))


def things(at: Cursor) -> Iterator[Offer]:
    yield from parts(at)
    for wire in at.harness.wires.values():
        yield Offer(wire.name, "wire", f"{wire.a.node} to {wire.b.node}")


def ends(at: Cursor) -> Iterator[Offer]:
    """Where a wire can end."""
    name, point, _ = at.start.partial.partition(".")
    part = at.harness.parts.get(name) if point else None
    if part is None:
        yield from parts(at, point=True)
        return
    halves = ("s", "p") if isinstance(part, Connector) else ("",)
    for terminal in part.terminals:
        for half in halves:
            full = f"{name}.{terminal}{half}"
            detail = {"s": "in its socket", "p": "on its pin"}.get(half, reached(at, full))
            yield Offer(full, "terminal", detail)


def reached(at: Cursor, node: str) -> str:
    """The wires that reach a terminal already."""
    names = [w.name for w in at.harness.wires.values() if node in (w.a.node, w.b.node)]
    return f"wire {', '.join(names)}" if names else "no wire yet"


def ways(at: Cursor) -> Iterator[Offer]:
    name, point, _ = at.start.partial.partition(".")
    part = at.harness.parts.get(name) if point else None
    if isinstance(part, Connector):
        taken = {(way.part, way.terminal): w.name for w in at.harness.wires.values() for way in w.via}
        for way in part.terminals:
            wire = taken.get((name, way))
            yield Offer(f"{name}.{way}", "terminal", f"wire {wire}" if wire else "free")
    else:
        yield from parts(at, Connector, point=True)


def places(at: Cursor) -> Iterator[Offer]:
    for place in at.harness.places.values():
        yield Offer(place.name, "place", "wet" if place.wet else "")


def subjects(at: Cursor) -> Iterator[Offer]:
    """What can be claimed about."""
    for part in at.harness.parts.values():
        if isinstance(part, Load) and len(part.elements) > 1:
            for element in part.elements:
                yield Offer(f"{part.name}.{element.name}", "inner", element.what)
        single = isinstance(part, Load) and len(part.elements) == 1
        if single or isinstance(part, Source) or (isinstance(part, Load | Unit) and part.is_ignition):
            yield Offer(part.name, "part", _about(part))


def controls(at: Cursor) -> Iterator[Offer]:
    for part in at.harness.parts.values():
        if isinstance(part, Switch):
            yield Offer(part.name, "part", ", ".join(position.name for position in part.positions))
        elif isinstance(part, Unit):
            for name, positions in unit_controls(part).items():
                yield Offer(f"{part.name}.{name}", "inner", ", ".join(positions))
    yield Offer(ENGINE, "word", ", ".join(ENGINE_POSITIONS))


def positions(at: Cursor, control: str) -> Iterator[Offer]:
    """The positions of a control; none where it is not one."""
    part = at.harness.parts.get(control.partition(".")[0])
    names: Iterable[str] = ()
    if control == ENGINE:
        names = ENGINE_POSITIONS
    elif isinstance(part, Switch):
        names = (position.name for position in part.positions)
    elif isinstance(part, Unit):
        names = unit_controls(part).get(control.partition(".")[2], ())
    for name in names:
        yield Offer(name, "position", f"of {control}")


def wires_left(at: Cursor) -> Iterator[Offer]:
    """Wires that the line does not name yet."""
    for wire in at.harness.wires.values():
        if wire.name not in at.start.words:
            yield Offer(wire.name, "wire", f"{wire.a.node} to {wire.b.node}")


def _about(part: Part) -> str:
    """What a part is, in a few words."""
    where = f" at {', '.join(part.places)}" if part.places else ""
    return f"{part.label or part.kind}{where}"
