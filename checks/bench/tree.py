"""A loom as a tree of places: the longest way through it is the trunk, what leaves that is a branch.

A loop of routes is opened at the stretch that fewest pieces run along. Kept pieces go with the loom that they join or
run beside, apart from its own. Lengths in m.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal

from ...lang.model.parts import Ground, Splice
from ...lang.records import dataclass
from ...lang.resolve.routes import LEG
from ..conversion.trunk import longest_way
from .looms import halves_of
from .stretches import stretches

if TYPE_CHECKING:
    import networkx as nx

    from ...lang.model.harness import Harness
    from .looms import Loom
    from .pieces import Piece, PieceEnd
    from .stretches import Stretch

FEW: Final = 8
"""This many pieces that cannot be laid are named, each with why."""


class CannotLayError(ValueError):
    """Pieces whose way is not known; the text says which, and what to write."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """What leaves the loom at a place for one thing: ``sort`` says which. ``length`` in m, to its terminals."""

    name: str
    sort: Literal["half", "part", "ground", "spare"]
    length: float
    pieces: tuple[Piece, ...]

    @property
    def kept(self) -> bool:
        """Whether no new piece ends there."""
        return all(piece.kept for piece in self.pieces)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """What a loom has at one place: legs, splices that lie in it, and the pieces ``inside`` it, both ends there."""

    place: str
    legs: tuple[Leg, ...]
    splices: tuple[str, ...]
    inside: tuple[Piece, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """A stretch between two places of a loom: what is ``new`` in it, and the ``kept`` pieces beside that."""

    a: str
    b: str
    length: float
    new: Stretch | None
    kept: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Limb:
    """A straight way by its places; of a branch the first is the place that it leaves. Branches leave at its places."""

    way: tuple[str, ...]
    branches: tuple[Limb, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LoomTree:
    """``trunks`` are several where no routes join parts of the loom. ``opened`` are stretches at which loops are
    opened. ``astray`` are kept pieces whose way the text does not tell: they are in no drawing.
    """

    loom: Loom
    trunks: tuple[Limb, ...]
    spots: Mapping[str, Spot]
    courses: tuple[Course, ...]
    opened: tuple[Course, ...]
    astray: tuple[Piece, ...] = ()


def loom_trees(harness: Harness, looms: Sequence[Loom], pieces: Iterable[Piece]) -> tuple[LoomTree, ...]:
    """The tree of each loom. Raises :class:`CannotLayError` where a new piece has no way along the routes, and where
    there is no new piece.
    """
    pieces = tuple(pieces)
    new = [piece for piece in pieces if not piece.kept]
    if not new:
        raise CannotLayError(
            "no loom to lay: every wire is kept" if pieces else "no loom to lay: the harness has no wire"
        )
    lost = [piece for piece in new if not piece.route]
    if lost:
        more = f"\n  and {len(lost) - FEW} more" if len(lost) > FEW else ""
        said = "".join(f"\n  {piece.name}: {_why_no_way(harness, piece)}" for piece in lost[:FEW])
        raise CannotLayError(f"no route is known for {len(lost)} of {len(new)} new pieces of wire:{said}{more}")
    beside = _kept_beside(harness, looms, [piece for piece in pieces if piece.kept])
    return tuple(_tree(harness, loom, beside[loom.name]) for loom in looms)


def _why_no_way(harness: Harness, piece: Piece) -> str:
    for end in piece.ends:
        if end.end is not None and not harness.parts[end.end.part].places:
            return f"{end.end.part} has no place: write `at PLACE` on its line"
    a, b = (end.place or harness.parts[end.end.part].places[0] if end.end else end.place or "" for end in piece.ends)
    return f"no routes lead from {a} to {b}: write `route {a} {b} LENGTH`"


# --- kept pieces -----------------------------------------------------------------------------------------------------
def _kept_beside(harness: Harness, looms: Sequence[Loom], kept: Sequence[Piece]) -> dict[str, list[Piece]]:
    """The kept pieces of each loom by its name: that which has most of a piece's ends, or runs beside it longest."""
    lengths = {frozenset((route.a, route.b)): route.length for route in harness.routes}
    ends = {loom.name: {name for piece in loom.pieces for name in _joins(harness, piece)} for loom in looms}
    ways = {loom.name: {pair for piece in loom.pieces for pair in _pairs(piece)} for loom in looms}
    found: dict[str, list[Piece]] = {loom.name: [] for loom in looms}
    for piece in kept:
        joins, pairs = set(_joins(harness, piece)), _pairs(piece)

        def fits(loom: Loom, joins: set[str] = joins, pairs: set[frozenset[str]] = pairs) -> tuple[int, float]:
            return len(joins & ends[loom.name]), sum(lengths[pair] for pair in pairs & ways[loom.name])

        found[max(looms, key=fits).name].append(piece)
    return found


def _joins(harness: Harness, piece: Piece) -> Iterator[str]:
    """What a piece ends in and shares with others: halves of connectors and parts; a ground ties nothing together."""
    for end in piece.ends:
        if end.end is not None and not isinstance(harness.parts[end.end.part], Ground):
            yield next((half.name for half in halves_of(harness, end)), end.end.part)


def _pairs(piece: Piece) -> set[frozenset[str]]:
    return {frozenset(pair) for pair in pairwise(piece.route)}


# --- one loom --------------------------------------------------------------------------------------------------------
def _tree(harness: Harness, loom: Loom, kept: Sequence[Piece]) -> LoomTree:
    import networkx as nx

    laid = (*loom.pieces, *(piece for piece in kept if piece.route))
    courses = _courses(harness, loom, laid)
    spots = _spots(harness, laid)
    order = {place: number for number, place in enumerate(harness.places)}
    whole = nx.Graph()
    whole.add_nodes_from(sorted(spots, key=order.__getitem__))
    used = {frozenset((course.a, course.b)): _used(course) for course in courses}
    ranked = sorted(courses, key=lambda course: (used[frozenset((course.a, course.b))], -course.length))
    for rank, course in enumerate(ranked):
        whole.add_edge(course.a, course.b, weight=course.length, rank=rank)
    tree = nx.maximum_spanning_tree(whole, weight="rank")
    parts = sorted(nx.connected_components(tree), key=lambda part: (-len(part), min(map(order.__getitem__, part))))
    trunks = []
    for part in parts:
        way = longest_way(tree, part, order)
        trunks.append(Limb(tuple(way), tuple(_branches(tree, way, set(way), order))))
    return LoomTree(
        loom=loom,
        trunks=tuple(trunks),
        spots=spots,
        courses=tuple(course for course in courses if tree.has_edge(course.a, course.b)),
        opened=tuple(course for course in courses if not tree.has_edge(course.a, course.b)),
        astray=tuple(piece for piece in kept if not piece.route),
    )


def _used(course: Course) -> tuple[int, int]:
    return len(course.new.pieces) if course.new is not None else 0, len(course.kept)


def _branches(tree: nx.Graph, way: Sequence[str], seen: set[str], order: Mapping[str, int]) -> Iterator[Limb]:
    """What leaves a way, each branch as long as it can be, with its own branches; ``seen`` grows by what is in them."""
    import networkx as nx

    for place in way:
        for near in sorted(tree[place], key=order.__getitem__):
            if near in seen:
                continue
            free = tree.subgraph(set(tree) - seen)
            part = tree.subgraph({place, *nx.node_connected_component(free, near)})
            lengths, paths = nx.single_source_dijkstra(part, place)
            end = min(lengths, key=lambda each: (-round(lengths[each], 6), order[each]))
            branch = paths[end]
            seen.update(branch)
            yield Limb(tuple(branch), tuple(_branches(tree, branch[1:], seen, order)))


def _courses(harness: Harness, loom: Loom, laid: Sequence[Piece]) -> list[Course]:
    """The stretches that pieces run along, in the order of the routes."""
    new = {frozenset((stretch.a, stretch.b)): stretch for stretch in stretches(harness, loom.pieces)}
    kept: dict[frozenset[str], list[str]] = {}
    for piece in laid:
        if piece.kept:
            for pair in _pairs(piece):
                kept.setdefault(pair, []).append(piece.name)
    return [
        Course(a=route.a, b=route.b, length=route.length, new=new.get(key), kept=tuple(kept.get(key, ())))
        for route in harness.routes
        if (key := frozenset((route.a, route.b))) in new or key in kept
    ]


def _spots(harness: Harness, laid: Sequence[Piece]) -> dict[str, Spot]:
    """Every place that pieces end at or pass, in the order of the text."""
    legs: dict[str, dict[str, list[Piece]]] = {}
    sorts: dict[str, tuple[Literal["half", "part", "ground", "spare"], float]] = {}
    splices: dict[str, dict[str, None]] = {}
    inside: dict[str, list[Piece]] = {}
    passed = {place for piece in laid for place in piece.route}
    for piece in laid:
        if len(piece.route) == 1:
            inside.setdefault(piece.route[0], []).append(piece)
        for end, place in zip(piece.ends, (piece.route[0], piece.route[-1]), strict=True):
            if end.end is not None and isinstance(harness.parts[end.end.part], Splice):
                splices.setdefault(place, {})[end.end.part] = None
                continue
            name, sort, length = _leg(harness, piece, end)
            sorts[name] = sort, length
            here = legs.setdefault(place, {}).setdefault(name, [])
            if piece not in here:
                here.append(piece)
    return {
        place: Spot(
            place=place,
            legs=tuple(
                Leg(name=name, sort=sorts[name][0], length=sorts[name][1], pieces=tuple(ended))
                for name, ended in legs.get(place, {}).items()
            ),
            splices=tuple(splices.get(place, ())),
            inside=tuple(inside.get(place, ())),
        )
        for place in harness.places
        if place in passed
    }


def _leg(
    harness: Harness, piece: Piece, end: PieceEnd
) -> tuple[str, Literal["half", "part", "ground", "spare"], float]:
    """The name of the leg that an end is in, its sort, and its length."""
    if end.end is None:
        return piece.name, "spare", LEG
    part = harness.parts[end.end.part]
    length = LEG if part.leg is None else part.leg
    half = next(halves_of(harness, end), None)
    if half is not None:
        return half.name, "half", length
    return part.name, "ground" if isinstance(part, Ground) else "part", length
