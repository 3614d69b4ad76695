"""Where a fuse belongs that is to protect wires too thin for what protects them: at the feed end of the first of them.

A fuse in a wire at the far end of a branch protects that wire alone. In the first thin wire on the way from the feed it
protects all behind it, where nothing else feeds them; and where one of these is too thin for a fuse that carries the
loads of all, that one gets its own, in the same way.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ...lang.search.walks import reachable
from ..tables.fuses import largest_rating_within, ratings

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.ids import BranchId, End
    from .protection import Protection
    from .sustained_fault import SustainedFault


@dataclass(frozen=True, slots=True)
class ThinWire:
    """A wire rated ``amps`` A, less than what the devices of its worst ``fault`` pass."""

    fault: SustainedFault
    amps: float


@dataclass(frozen=True, slots=True)
class FusePlace:
    """A fuse of ``rating`` A, or up to ``most``, in ``wire`` at its end ``at``, nearest to the feed. It protects what
    it ``covers``, that wire among them, and not the wires ``beyond``, which are too thin for it.
    """

    wire: str
    at: End
    rating: float
    most: float
    covers: tuple[str, ...]
    beyond: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _First:
    """The first thin wire on the way to another one: its piece, and the end of that towards the feed."""

    piece: Branch
    at: End


def fuse_places(
    protection: Protection,
    thin: Mapping[str, ThinWire],
    least: Callable[[BranchId], float],
    unknown: Collection[End] = (),
) -> dict[str, FusePlace]:
    """For each of some thin wires, by name, the fuse that protects it; nothing for one that no single fuse can.

    ``least``: the A that a fuse in a branch must be rated to carry what flows. ``unknown``: the ends of loads of which
    nobody knows what they take: a fuse that feeds one is as large as its wires allow.
    """
    found: dict[str, FusePlace] = {}
    left = dict(thin)
    while left:
        behind: dict[_First, list[str]] = {}
        for name, wire in left.items():
            behind.setdefault(_first(protection, wire.fault, left), []).append(name)
        left = {}
        for first, names in behind.items():
            place = _place(protection, first, {name: thin[name] for name in names}, least(first.piece.key), unknown)
            found |= dict.fromkeys(place.covers, place) if place is not None else {}
            left |= {name: thin[name] for name in names if name not in found and name != first.piece.owner}
    return found


def _place(
    protection: Protection, first: _First, thin: Mapping[str, ThinWire], least: float, unknown: Collection[End]
) -> FusePlace | None:
    """A fuse in the first thin wire, with those of the wires behind it that it protects."""
    only_past = _only_past(protection, first)
    passive = only_past | protection.returns
    behind = {name: wire for name, wire in thin.items() if _ends(wire.fault.conductor, first) <= passive}
    own = first.piece.owner
    if own not in behind:
        return None
    if not least or any(end in only_past for end in unknown):
        rating = largest_rating_within("blade", min(wire.amps for wire in behind.values()))
    else:
        rating = min((amps for amps in ratings("blade") if amps >= least), default=None)
    if rating is None or rating > behind[own].amps:
        return None
    covers = tuple(name for name, wire in behind.items() if wire.amps >= rating)
    most = largest_rating_within("blade", min(behind[name].amps for name in covers)) or rating
    return FusePlace(own, first.at, rating, most, covers, tuple(name for name in behind if name not in covers))


def _ends(conductor: Branch, first: _First) -> set[End]:
    return {conductor.a, conductor.b} - ({first.at} if conductor.key == first.piece.key else set())


def _first(protection: Protection, fault: SustainedFault, thin: Iterable[str]) -> _First:
    """The first piece of a thin wire on the way of a fault current to a conductor, which is one of them."""
    names = set(thin)
    own = fault.conductor
    way = [*protection.distances.branches_to(fault), own]
    node = fault.at
    ends = {own.key: node}
    for branch in reversed(way[:-1]):
        node = branch.other_end(node)
        ends[branch.key] = node
    piece = next(branch for branch in way if branch.segment is not None and branch.owner in names)
    return _First(piece, ends[piece.key])


def _only_past(protection: Protection, first: _First) -> frozenset[End]:
    """The nodes that a source reaches through this piece alone, contacts closed in any position.

    Looked for from the far end of the piece: what another branch enters from outside is reached without it. Of a piece
    near the end of a large harness that is little.
    """
    key, poles = first.piece.key, {protection.feed_pole(s) for s in protection.sources}
    poles |= {tap for s in protection.sources for tap in s.plus[1:] if protection.circuit.return_sign == "-"}

    def step(node: End) -> Iterator[tuple[End, Branch]]:
        for far, branch in protection.steps(node, outward=True):
            if branch.key != key and far not in protection.returns:
                yield far, branch

    def entered(node: End) -> bool:
        before = protection.steps(node, outward=False)
        return node in poles or any(
            near in protection.feeds and near not in beyond for near, branch in before if branch.key != key
        )

    beyond: dict[End, Branch | None] = reachable([first.piece.other_end(first.at)], step)
    entries: list[End] = [node for node in beyond if entered(node)]
    return frozenset(beyond) - reachable(entries, step).keys()
