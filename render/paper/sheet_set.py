"""``loomwright draw --paper``: a harness as a set of sheets that hang above the bench."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from ...lang.circuit.build import build_circuit
from ...lang.circuit.ids import owner_of
from ...lang.model.harness import Harness
from ..drawing.layout_engine import EngineName, find_engine
from ..drawing.leaves import Leaf
from ..schematic.assembling import assembled, tracks_of
from ..schematic.content import content_of
from ..schematic.current_direction import currents_of
from ..schematic.lugs import Net
from ..schematic.symbols.drawn import Around, Now
from .assignment import assigned, node_of
from .fitting import Fitter, Laid, Room, TooLarge
from .leaves import NOTES, SCALE, TRACKS, Feed, Frame, Sheet, leaves_of, orientations
from .shares import SIZES, Shares, crowded, shared
from .sheets import BLANK, Book, flag_key

Steps = Callable[[int, int], None]


def paper_sheets(
    harness: Harness,
    paper: str,
    revision: str = "",
    *,
    now: Now | None = None,
    engine: EngineName | None = None,
    steps: Steps = lambda _done, _whole: None,
) -> tuple[Leaf, ...]:
    """All sheets of a harness on ``paper``, with the index; at rest, or at the moment ``now``.

    ``steps`` counts the sheets that are laid out.

    Raises :class:`~loomwright.render.drawing.layout_engine.NoEngine` where there is no Graphviz engine, and
    :class:`TooLarge` where a symbol is larger than a sheet.
    """
    frame = Frame(harness=harness, paper=paper, revision=revision, now=now)
    fitter = _fitter(harness, frame, now, engine)
    systems: dict[str, set[str]] = {}
    for thing, system in fitter.homes.items():
        systems.setdefault(system, set()).add(thing)
    parted = [half for things in systems.values() for half in fitter.parted(frozenset(things))]
    ordered = fitter.in_order(fitter.together(parted))
    laid = []
    for number, things in enumerate(ordered, 1):
        laid.append(fitter.well_laid(things))
        steps(number, len(ordered))
    place = _places(laid, fitter.book.shares)
    sheets = tuple(
        Sheet(
            number=number,
            systems=fitter.systems(each.things),
            assembly=assembled(harness, each.content, each.layout, place),
            upright=_upright(each, fitter.room, paper, first=fitter.is_first(each.things)),
        )
        for number, each in enumerate(laid, 1)
    )
    feeds = list(_feeds(laid[0], fitter.book, place)) if laid else []
    return leaves_of(frame, sheets, feeds, _where(sheets))


def _fitter(harness: Harness, frame: Frame, now: Now | None, engine: EngineName | None) -> Fitter:
    """What fits all things on sheets, of which each has room on one: nodes with too many wires are parted in shares.

    Raises :class:`TooLarge`, before anything else is laid out.
    """
    circuit = build_circuit(harness)
    around = Around(currents_of(circuit), now=now)
    rooms = [frame.room(upright=upright) for upright in orientations(frame.paper)]
    room = Room(tuple((r.width / SCALE, (r.height - TRACKS) / SCALE) for r in rooms), NOTES / SCALE)
    chosen = find_engine(engine)
    items = content_of(harness, circuit, around).items

    def made(shares: Shares) -> Fitter:
        wiring, homes = assigned(harness, tuple(shares.applied(items)))
        return Fitter(Book(harness, circuit, around, wiring, shares), chosen, room, homes)

    whole = fitter = made(Shares())
    large = whole.too_large(whole.book.wiring.things)
    crowd: dict[str, tuple[Net, int]] = {}
    for most in SIZES:
        first_at = {thing: fitter.book.shares.first_at(fitter.book.wiring.symbols[thing].key) for thing in large}
        partible = {net.lug.item.key for net in crowded(items, frozenset(first_at.values()), SIZES[-1])}
        if refused := [thing for thing, symbol in first_at.items() if symbol not in partible]:
            raise TooLarge(min(refused))
        if large:
            crowd |= {net.name: (net, most) for net in crowded(items, frozenset(first_at.values()), most)}
            fitter = made(shared(crowd.values(), whole.order_of_wires, BLANK))
            bars = [bar.key for each in fitter.book.shares.bars.values() for bar in each]
            large = fitter.too_large([*large, *bars])
    if large:
        raise TooLarge(min(large))
    return fitter


def _places(laid: Iterable[Laid], shares: Shares) -> dict[str, str]:
    """Sheet and track of each symbol by its key, and of the first share of a node by its net."""
    nets = {net for _, net in shares.nets}
    place: dict[str, str] = {}
    for number, each in enumerate(laid, 1):
        tracks = tracks_of(each.layout)
        for key, track in tracks.items():
            place.setdefault(key, f"{number}/{track}")
        for placed in each.layout.items:
            for socket in placed.item.sockets:
                if socket.net in nets and not placed.item.wire and placed.item.part:
                    place.setdefault(socket.net, f"{number}/{tracks[placed.item.key]}")
    return place


def _upright(laid: Laid, room: Room, paper: str, *, first: bool) -> bool:
    """Whether a sheet is turned: the first way in which the drawing fits."""
    less = room.first if first else 0.0
    for upright, (width, height) in zip(orientations(paper), room.sizes, strict=True):
        if laid.width <= width and laid.height <= height - less:
            return upright
    return False


def _feeds(laid: Laid, book: Book, place: Mapping[str, str]) -> Iterator[Feed]:
    """The wires that leave the first sheet with the current: from which terminal, past the plugs, to which."""
    wiring, shares = book.wiring, book.shares
    there = {placed.item.key: placed.item for placed in laid.layout.items}
    found = []
    for wire in wiring.items:
        flag = there.get(flag_key(wire.key, leaves=True)) if wire.wire else None
        if flag is not None:
            start = str(node_of(wiring.beyond(wire.sockets[1].net, wire), wiring))
            goes = flag.words.removeprefix("→ ").format(place[flag.refers])
            found.append(Feed(wire=owner_of(wire.key), start=start, goes=goes))
    for key in shares.references:
        for item in shares.references[key] if key in there else ():
            node = str(item.sockets[0].at)
            found.append(Feed(wire="", start=node, goes=f"{place[item.refers]} {node}, more of its wires"))
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
