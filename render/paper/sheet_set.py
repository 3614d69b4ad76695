"""``loomwright draw --paper``: a harness as a set of sheets that hang above the bench."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from ...lang.circuit.build import build_circuit
from ...lang.circuit.ids import owner_of
from ...lang.model.harness import Harness
from ..drawing.layout_engine import EngineName, find_engine
from ..drawing.leaves import Leaf
from ..schematic.assembling import assembled, tracks_of
from ..schematic.content import content_of
from ..schematic.current_direction import currents_of
from ..schematic.symbols.drawn import Around, Now
from .assignment import Wiring, assigned, node_of
from .fitting import Fitter, Laid, Room
from .leaves import NOTES, SCALE, TRACKS, Feed, Frame, Sheet, leaves_of, orientations
from .sheets import Book, flag_key

DIGITS: Final = 10
"""So much of a text's hash stands for its revision where there is no commit."""


class TooLarge(ValueError):  # noqa: N818 (says what is wrong, as a user reads it)
    """A symbol for which there is no room on a sheet."""


def paper_sheets(
    harness: Harness, paper: str, revision: str = "", *, now: Now | None = None, engine: EngineName | None = None
) -> tuple[Leaf, ...]:
    """All sheets of a harness on ``paper``, with the index; at rest, or at the moment ``now``.

    Raises :class:`~loomwright.render.drawing.layout_engine.NoEngine` where there is no Graphviz engine, and
    :class:`TooLarge` where a symbol is larger than a sheet.
    """
    frame = Frame(harness=harness, paper=paper, revision=revision, now=now)
    fitter = _fitter(harness, frame, now, engine)
    systems: dict[str, set[str]] = {}
    for thing, system in fitter.homes.items():
        systems.setdefault(system, set()).add(thing)
    parted = [half for things in systems.values() for half in fitter.parted(frozenset(things))]
    laid = [fitter.well_laid(things) for things in fitter.in_order(fitter.together(parted))]
    for each in laid:
        if not fitter.fits(each):
            widest = max(each.layout.items, key=lambda placed: (placed.item.symbol.width, placed.item.key)).item
            raise TooLarge(
                f"{widest.part or widest.key} is larger than a sheet of {paper} with what is connected to it"
            )
    place: dict[str, str] = {}
    for number, each in enumerate(laid, 1):
        for key, track in tracks_of(each.layout).items():
            place.setdefault(key, f"{number}/{track}")
    sheets = tuple(
        Sheet(
            number=number,
            systems=fitter.systems(each.things),
            assembly=assembled(harness, each.content, each.layout, place),
            upright=_upright(each, fitter.room, paper, first=fitter.is_first(each.things)),
        )
        for number, each in enumerate(laid, 1)
    )
    feeds = list(_feeds(laid[0], fitter.book.wiring, place)) if laid else []
    return leaves_of(frame, sheets, feeds, _where(sheets))


def _fitter(harness: Harness, frame: Frame, now: Now | None, engine: EngineName | None) -> Fitter:
    circuit = build_circuit(harness)
    around = Around(currents_of(circuit), now=now)
    wiring, homes = assigned(harness, content_of(harness, circuit, around).items)
    rooms = [frame.room(upright=upright) for upright in orientations(frame.paper)]
    sizes = tuple((room.width / SCALE, (room.height - TRACKS) / SCALE) for room in rooms)
    book = Book(harness, circuit, around, wiring)
    return Fitter(book, find_engine(engine), Room(sizes, NOTES / SCALE), homes)


def _upright(laid: Laid, room: Room, paper: str, *, first: bool) -> bool:
    """Whether a sheet is turned: the first way in which the drawing fits."""
    less = room.first if first else 0.0
    for upright, (width, height) in zip(orientations(paper), room.sizes, strict=True):
        if laid.width <= width and laid.height <= height - less:
            return upright
    return False


def _feeds(laid: Laid, wiring: Wiring, place: Mapping[str, str]) -> Iterator[Feed]:
    """The wires that leave the first sheet with the current: from which terminal, past the plugs, to which."""
    there = {placed.item.key: placed.item for placed in laid.layout.items}
    found = []
    for wire in wiring.items:
        flag = there.get(flag_key(wire.key, leaves=True)) if wire.wire else None
        if flag is not None:
            start = str(node_of(wiring.beyond(wire.sockets[1].net, wire), wiring))
            goes = flag.words.removeprefix("→ ").format(place[flag.refers])
            found.append(Feed(wire=owner_of(wire.key), start=start, goes=goes))
    yield from sorted(found, key=lambda feed: (feed.start, feed.wire))


def _where(sheets: tuple[Sheet, ...]) -> dict[str, tuple[str, ...]]:
    """Sheets and tracks of each part, and the sheets of each stretch of wire."""
    found: dict[str, dict[tuple[int, int], str]] = {}
    for sheet in sheets:
        for element in sheet.assembly.elements:
            if element.part:
                at = (sheet.number, element.track)
                found.setdefault(element.part, {})[at] = f"{sheet.number}/{element.track}"
        for run in sheet.assembly.runs:
            found.setdefault(f"wire {run.name}", {})[sheet.number, 0] = str(sheet.number)
    return {name: tuple(places[at] for at in sorted(places)) for name, places in found.items()}
