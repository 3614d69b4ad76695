"""What each fuse feeds: the way from it outward, up to the next fuse, contacts and outputs closed in any position; and
what no fuse protects.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import TYPE_CHECKING, Final

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import End
from ...lang.records import dataclass
from ...lang.search.walks import hops, reachable
from ..behaviour import Behaviour
from ..protection.sides import Sides

if TYPE_CHECKING:
    from ..logic.terms import Kind

_BATTERY: Final[frozenset[Kind]] = frozenset({"battery"})


@dataclass(frozen=True, slots=True, kw_only=True)
class FedBy:
    """What one fuse feeds. ``fuses`` are the next ones behind it, ``elements`` the consumers before those, both in the
    order of the text. ``side`` says where a fuse is that feeds nothing so: in the return, or away from the feeds.
    """

    fuse: str
    fuses: tuple[str, ...] = ()
    elements: tuple[Branch, ...] = ()
    side: str = "feed"


def fed_by(circuit: Circuit) -> tuple[FedBy, ...]:
    """Every fuse in the order of the text."""
    sides = Sides(circuit)
    return tuple(_fed(sides, branch) for branch in circuit.branches if branch.branch_type is BranchType.FUSE)


class FuseOut:
    """One harness with a fuse out, one after the other. What the whole harness can do is asked once."""

    def __init__(self, behaviour: Behaviour) -> None:
        self._behaviour = behaviour
        self._whole: dict[str, bool] = {}

    def off(self, fuse: str, fed: Collection[str]) -> tuple[Branch, ...]:
        """The consumers that the battery feeds in no setting any more, besides those ``fed`` through the fuse: what a
        relay or a unit switches that needs it. Raises ``TooWideError``, ``UndecidedError``.
        """
        without = self._behaviour.without([fuse])
        others = (b for b in self._behaviour.consumers if b.key not in fed)
        return tuple(b for b in others if self._lit(b) and not _lit(without, b))

    def _lit(self, branch: Branch) -> bool:
        if branch.key not in self._whole:
            self._whole[branch.key] = _lit(self._behaviour, branch)
        return self._whole[branch.key]


def _lit(behaviour: Behaviour, branch: Branch) -> bool:
    """Whether the battery feeds a consumer in some setting."""
    return behaviour.may(Behaviour.connected(branch.key, _BATTERY)) is not None


def all_fed(found: Mapping[str, FedBy], fuse: str) -> frozenset[str]:
    """The keys of all that a fuse feeds, through those behind it as well."""
    fuses = (fuse, *hops([fuse], lambda name: found[name].fuses))
    return frozenset(branch.key for name in fuses for branch in found[name].elements)


def without_fuse(circuit: Circuit) -> tuple[str, ...]:
    """The wires that a battery feeds past no fuse, in the order of the text."""
    sides = Sides(circuit)
    reached = reachable(sorted(_poles(sides)), lambda node: _steps(sides, node, fuses=False))
    wires = (b.segment.wire for b in circuit.branches if b.segment is not None and {b.a, b.b} <= set(reached))
    return tuple(dict.fromkeys(wires))


def _poles(sides: Sides) -> list[End]:
    """The feed poles of the batteries; of all sources where there is no battery."""
    batteries = [supply for supply in sides.sources if supply.kind == "battery"]
    poles = [sides.feed_pole(supply) for supply in batteries or sides.sources]
    return [pole for pole in poles if pole not in sides.returns]


def _fed(sides: Sides, fuse: Branch) -> FedBy:
    beyond = _beyond(sides, fuse)
    if not beyond:
        return FedBy(fuse=fuse.part, side="return" if {fuse.a, fuse.b} & sides.returns else "elsewhere")
    reached = reachable(sorted(beyond), lambda node: _steps(sides, node, fuses=False))
    branches = sides.circuit.branches
    others = (b for b in branches if b.branch_type is BranchType.FUSE and b is not fuse)
    consumers = (b for b in branches if b.branch_type.consumes)
    return FedBy(
        fuse=fuse.part,
        fuses=tuple(b.part for b in others if {b.a, b.b} & set(reached)),
        elements=tuple(b for b in consumers if sides.feed_end(b) in reached),
    )


def _beyond(sides: Sides, fuse: Branch) -> tuple[End, ...]:
    """The end of a fuse that lies away from the feed: away from the battery, where there is one; both ends where a
    feed reaches either past the fuse, so that it is between two of them.
    """
    near = reachable(
        sorted(_poles(sides)),
        lambda node: ((far, b) for far, b in _steps(sides, node, fuses=True) if b is not fuse),
    )
    ends = (fuse.a, fuse.b)
    if not any(end in near for end in ends):
        return ()
    return tuple(end for end in ends if end not in near) or ends


def _steps(sides: Sides, node: End, *, fuses: bool) -> Iterator[tuple[End, Branch]]:
    for far, branch in sides.steps(node, outward=True):
        if far not in sides.returns and (fuses or branch.branch_type is not BranchType.FUSE):
            yield far, branch
