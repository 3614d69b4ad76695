"""What to buy for the new looms: wire, crimps, seals, housings, blanking plugs, covers, fuses and parts.

Lengths in m, areas in mm2. Kept wires, connectors and parts are there already; what the text owes is left out.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final, Literal, get_args

from ...lang.model.parts import Connector, Fuse, Ground, Load, Relay, Source, Splice
from ...lang.quantities.quantity import Quantity, shown
from ...lang.records import dataclass
from ..tables.bench import bench_figure
from ..tables.conductors import SAME_SIZE, metric_sizes
from .pieces import total_cut
from .ratings import ratings
from .stretches import stretches

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from .looms import Loom
    from .pieces import Piece, PieceEnd

Kind = Literal[
    "wire", "crimp", "seal", "housing", "blanking plug", "cover", "tie", "heat-shrink", "fuse", "lamp", "relay", "part"
]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)
METRES: Final = ("wire", "cover")
"""What is bought by the metre; all else by the piece."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """``need`` in ``unit``, of which ``spare`` are no part of the harness. ``use`` says where it goes."""

    kind: Kind
    name: str
    need: float
    use: str = ""
    spare: float = 0.0

    @property
    def unit(self) -> Literal["m", "pieces"]:
        return "m" if self.kind in METRES else "pieces"


def purchase(harness: Harness, looms: Sequence[Loom]) -> tuple[Item, ...]:
    """Everything to buy, by kind and then by name; nothing of the shelf is taken off."""
    pieces = [piece for loom in looms for piece in loom.pieces]
    found = [
        *_wire(pieces),
        *_crimps(harness, pieces),
        *_counted("seal", (f"seal for a core of {shown(Quantity(e.seal, 'mm'))}" for e in _ends(pieces) if e.seal)),
        *_housings(harness, pieces),
        *_blanks(harness, pieces),
        *_covers(harness, looms),
        *_splices(harness, pieces),
        *_fuses(harness),
        *_parts(harness),
    ]
    return tuple(sorted(found, key=lambda item: (KINDS.index(item.kind), item.name)))


def _ends(pieces: Iterable[Piece]) -> Iterator[PieceEnd]:
    return (end for piece in pieces for end in piece.ends)


def _counted(kind: Kind, names: Iterable[str]) -> Iterator[Item]:
    for name, count in Counter(names).items():
        yield Item(kind=kind, name=name, need=count)


# --- wire ------------------------------------------------------------------------------------------------------------
def _wire(pieces: Iterable[Piece]) -> Iterator[Item]:
    spools: dict[str, list[Piece]] = {}
    for piece in pieces:
        if piece.cut is not None:
            spools.setdefault(piece.spool.name, []).append(piece)
    for name, group in spools.items():
        yield Item(kind="wire", name=name, need=total_cut(group), use=f"{len(group)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Restripe:
    """A kind of wire of which one short piece is needed, and kinds of the same base, size and class that are bought
    anyway and reach no part that this piece reaches."""

    kind: str
    piece: str
    cut: float
    instead: tuple[str, ...]


def restripes(pieces: Sequence[Piece]) -> tuple[Restripe, ...]:
    """Which kinds with a single piece of less than a metre could have another stripe."""
    kinds: dict[str, list[Piece]] = {}
    for piece in pieces:
        if piece.colour is not None and piece.size is not None and not piece.spare:
            kinds.setdefault(piece.spool.name, []).append(piece)
    found = []
    for name, group in sorted(kinds.items()):
        only = group[0]
        if len({piece.wire for piece in group}) > 1 or only.cut is None or sum(p.cut or 0.0 for p in group) >= _SHORT:
            continue
        parts = _parts_of(group)
        instead = tuple(
            other
            for other, pieces_of in sorted(kinds.items())
            if other != name
            and len(pieces_of) > 1
            and (each := pieces_of[0]).size == only.size
            and each.wire_class == only.wire_class
            and _base(each) == _base(only)
            and not parts & _parts_of(pieces_of)
        )
        if instead:
            found.append(Restripe(kind=name, piece=only.name, cut=sum(p.cut or 0.0 for p in group), instead=instead))
    return tuple(found)


_SHORT: Final = 1.0
"""m of a kind of wire below which a roll of it is mostly waste (ours)."""


def _parts_of(pieces: Iterable[Piece]) -> set[str]:
    return {end.end.part for piece in pieces for end in piece.ends if end.end is not None}


def _base(piece: Piece) -> str:
    return piece.colour.base if piece.colour else ""


# --- on the ends -----------------------------------------------------------------------------------------------------
def _crimps(harness: Harness, pieces: Sequence[Piece]) -> Iterator[Item]:
    """Crimps by what they are and the conductor that they take; wires in one crimp need one of them."""
    sizes = {piece.name: piece.size.area if piece.size else None for piece in pieces}
    sizes.update({s.name: s.size.area if s.size else None for s in harness.segments if s.name not in sizes})
    seen: set[tuple[str, frozenset[str]]] = set()
    names: list[str] = []
    for piece in pieces:
        for end in piece.ends:
            if end.end is None or end.crimp is None or end.crimp.sort in ("bare", "splice"):
                continue
            shared = frozenset((piece.name, *end.beside))
            if (end.end.node, shared) in seen:
                continue
            seen.add((end.end.node, shared))
            areas = [sizes.get(name) for name in sorted(shared)]
            known = [_nominal(area) for area in areas if area is not None]
            of = f" for {shown(Quantity(sum(known), 'mm2'))}" if known and len(known) == len(areas) else ""
            names.append(end.crimp.name + of)
    yield from _counted("crimp", names)


def _nominal(area: float) -> float:
    """The standard size that strands of this many mm2 are meant as; the area itself where they are meant as none."""
    return next((s.area for s in metric_sizes() if abs(area - s.area) <= SAME_SIZE * s.area), area)


def _splices(harness: Harness, pieces: Sequence[Piece]) -> Iterator[Item]:
    """A crimp for each splice that new wires end in, and what seals it."""
    areas: dict[str, list[float | None]] = {}
    for piece in pieces:
        for end in piece.ends:
            if end.end is not None and end.is_splice:
                areas.setdefault(end.end.part, []).append(piece.size.area if piece.size else None)
    names = []
    for splice, of in areas.items():
        kept = [
            segment.size.area if segment.size else None
            for wire in harness.wires.values()
            if wire.kept
            for segment in wire.segments
            for end in (segment.a, segment.b)
            if end.part == splice
        ]
        known = [_nominal(area) for area in (*of, *kept) if area is not None]
        whole = len(known) == len(of) + len(kept)
        names.append("crimp splice" + (f" for {shown(Quantity(sum(known), 'mm2'))} in all" if whole else ""))
    yield from _counted("crimp", names)
    shrunk = len(areas)
    if shrunk:
        yield Item(kind="heat-shrink", name="adhesive-lined heat-shrink for a splice", need=shrunk)


def _housings(harness: Harness, pieces: Sequence[Piece]) -> Iterator[Item]:
    """Both halves of each new connector, and the housings of parts that plug in by themselves."""
    reached = {end.end.part for end in _ends(pieces) if end.end is not None}
    names = []
    for part in harness.parts.values():
        if isinstance(part, Connector) and not part.kept and part.name in reached:
            names += [f"{half} housing, {_family(part)}" for half in ("socket", "pin")]
    yield from _counted("housing", names)
    for housing in harness.fitting.housings:
        if housing.part in reached:
            sealed = ", sealed" if housing.sealed else ""
            name = f"housing for {housing.part}, {housing.ways} ways{sealed}"
            yield Item(kind="housing", name=name, need=1, use=housing.part)


def _family(part: Connector) -> str:
    words = [f"{part.ways} ways", "" if part.amps is None else shown(Quantity(part.amps, "A"))]
    return ", ".join(word for word in (*words, "sealed" if part.sealed else "") if word)


def _blanks(harness: Harness, pieces: Sequence[Piece]) -> Iterator[Item]:
    """A plug for each empty way of a sealed connector that is new, and of a sealed housing."""
    reached = {end.end.part for end in _ends(pieces) if end.end is not None}
    used = Counter(end.part for end in {end for segment in harness.segments for end in (segment.a, segment.b)})
    ways: dict[str, list[str]] = {}
    for part in harness.parts.values():
        if isinstance(part, Connector) and part.sealed and not part.kept and part.name in reached:
            amps = "" if part.amps is None else f" of a {shown(Quantity(part.amps, 'A'))} connector"
            ways.setdefault(f"blanking plug for a way{amps}", []).extend(
                [part.name] * (2 * part.ways - used[part.name])
            )
    for name, parts in ways.items():
        if parts:
            yield Item(kind="blanking plug", name=name, need=len(parts), use=", ".join(dict.fromkeys(parts)))
    for housing in harness.fitting.housings:
        empty = housing.ways - used[housing.part]
        if housing.sealed and housing.part in reached and empty > 0:
            name = f"blanking plug for the housing of {housing.part}"
            yield Item(kind="blanking plug", name=name, need=empty, use=housing.part)


# --- around them -----------------------------------------------------------------------------------------------------
def _covers(harness: Harness, looms: Sequence[Loom]) -> Iterator[Item]:
    """Metres of cover by what it is and the bundle that it goes over; ties without one."""
    metres: dict[str, float] = {}
    ties = 0
    for loom in looms:
        for stretch in stretches(harness, loom.pieces):
            if stretch.cover == "loose":
                ties += math.ceil(stretch.length / bench_figure("tie_spacing").value) + 1
            elif stretch.cover is not None:
                around = f"{stretch.cover} over {shown(Quantity(math.ceil(stretch.loose - 1e-9), 'mm'))}"
                metres[around] = metres.get(around, 0.0) + stretch.length
    for name, length in metres.items():
        yield Item(kind="cover", name=name, need=round(length, 6))
    if ties:
        yield Item(kind="tie", name="tie", need=ties)


# --- parts -----------------------------------------------------------------------------------------------------------
def _fuses(harness: Harness) -> Iterator[Item]:
    """New fuses, and a spare for each sort that the motorcycle has."""
    sorts: dict[str, list[Fuse]] = {}
    for part in harness.parts.values():
        if isinstance(part, Fuse) and part.amps is not None:
            sorts.setdefault(f"{part.form or ''} fuse {shown(Quantity(part.amps, 'A'))}".strip(), []).append(part)
    for name, held in sorts.items():
        new = [part.name for part in held if not part.kept]
        yield Item(kind="fuse", name=name, need=len(new) + 1, spare=1, use=", ".join(new))


def _parts(harness: Harness) -> Iterator[Item]:
    """What is new and no wire: lamps and relays by sort, everything else by name."""
    sorts: dict[tuple[Kind, str], list[str]] = {}
    for part in harness.parts.values():
        if not part.kept and not isinstance(part, Splice | Ground | Connector | Fuse):
            for sort in _described(harness, part):
                sorts.setdefault(sort, []).append(part.name)
    for (kind, name), names in sorts.items():
        parts = dict.fromkeys(names)
        yield Item(kind=kind, name=name, need=len(names), use=", ".join(parts) if len(parts) > 1 else "")


def _described(harness: Harness, part: Part) -> Iterator[tuple[Kind, str]]:
    """What is bought of a part, each by itself: two filaments with a common terminal are one bulb, others are not."""
    label = f", {part.label}" if part.label else ""
    if isinstance(part, Load) and part.elements and all(element.what == "lamp" for element in part.elements):
        watts = [shown(element.watts) for element in part.elements if element.watts is not None]
        if len(watts) == len(part.elements):
            one = len(watts) == 2 and len({end for e in part.elements for end in (e.plus, e.minus)}) == 3
            volts = shown(Quantity(harness.volts, "V"))
            for bulb in ["/".join(watts)] if one else watts:
                yield "lamp", f"lamp {volts} {bulb} W for {part.name}"
            return
    if isinstance(part, Relay) and part.amps is not None:
        yield "relay", f"relay {shown(Quantity(part.amps, 'A'))} for {part.name}"
    elif isinstance(part, Source) and part.what == "battery":
        known = (Quantity(harness.volts, "V"), Quantity(part.amp_hours, "Ah") if part.amp_hours else None)
        yield "part", f"battery {' '.join(shown(each) for each in known if each)} {part.name}{label}"
    else:
        figures = ratings(part)
        yield "part", f"{_word(part)} {part.name}{f', {figures}' if figures else ''}{label}"


def _word(part: Part) -> str:
    """What a part is called in a shop: a load by what it is, or by what all its elements are."""
    word = part.kind
    if isinstance(part, Load) and part.what == "ignition" and part.elements:
        return _of_ignition(part)
    if isinstance(part, Source | Load) and part.what:
        word = part.what
    elif isinstance(part, Load) and len(kinds := {element.what for element in part.elements}) == 1:
        word = kinds.pop()
    return WHAT_IS_BOUGHT.get(word, word)


def _of_ignition(part: Load) -> str:
    """A box where an exciter feeds it, a coil where the ohms of its winding are stated; else it may be either."""
    if any(element.exciter for element in part.elements):
        return "ignition box"
    return "ignition coil" if all(element.ohms for element in part.elements) else WHAT_IS_BOUGHT["ignition"]


WHAT_IS_BOUGHT: Final = {"ignition": "ignition coil or box", "motor": "motor", "led": "LED"}
"""What a shop calls it, where the language has another word."""


# --- with what is on the shelf ---------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """An item beside what the shelf has: ``buy`` in whole packs, ``left`` over afterwards. ``pack`` 0: not known."""

    item: Item
    have: float
    pack: float
    buy: float
    left: float


def with_shelf(items: Iterable[Item], have: Mapping[str, float], packs: Mapping[str, float]) -> tuple[Line, ...]:
    """What is missing of each item, rounded up to packs; a metre of wire and a tenth of cover where none is known."""
    lines = []
    for item in items:
        there, pack = have.get(item.name, 0.0), packs.get(item.name, 0.0)
        missing = max(0.0, item.need - there)
        step = pack or (1.0 if item.unit == "pieces" or item.kind == "wire" else 0.1)
        buy = round(math.ceil(missing / step - 1e-9) * step, 6)
        lines.append(Line(item=item, have=there, pack=pack, buy=buy, left=round(there + buy - item.need, 6)))
    return tuple(lines)
