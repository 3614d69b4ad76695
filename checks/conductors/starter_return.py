"""The return path of a starter's current: how stout it is, and what is left of it when one lead of it comes off."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.paths import steps_over
from ...lang.records import dataclass
from ...lang.search.cheapest import cheapest

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.ids import End
    from ...lang.model.wires import Segment
    from .loading import Conductors


@dataclass(frozen=True, slots=True)
class WayBack:
    """The stoutest way between a starter and a battery's pole: its thinnest ``segment`` and what that withstands, in A,
    for the profile's cranking time; ``None`` and infinity where no wire of known size is in it.
    """

    amps: float
    segment: Segment | None
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Left:
    """With ``lost`` off, a starter's ``amps`` A go through ``segment``, which withstands ``stands`` A."""

    starter: str
    amps: float
    lost: Branch
    segment: Segment
    stands: float


def starter_amps(conductors: Conductors, armature: Branch) -> float | None:
    """The A of a starter as written; ``None`` where the text gives none."""
    return conductors.analyses.operation.network.rated[armature.key].amps


def return_end(conductors: Conductors, armature: Branch) -> str:
    """The end of a starter that the system grounds."""
    return armature.b if conductors.analyses.circuit.return_sign == "-" else armature.a


def way_back(conductors: Conductors, armature: Branch, without: Collection[str] = ()) -> WayBack | None:
    """The stoutest return path of a starter's current, with some branches off; ``None`` without one."""
    protection, circuit = conductors.analyses.protection, conductors.analyses.circuit
    poles = {protection.return_pole(s) for s in protection.sources if s.kind == "battery"}
    fed = protection.feeds - protection.returns

    def returns(branch: Branch) -> bool:
        joins = branch.branch_type.joined is Direction.BOTH and branch.branch_type is not BranchType.FUSE
        return joins and branch.key not in without

    both_ways = steps_over(circuit, returns)

    def step(node: str) -> Iterator[tuple[End, Branch]]:
        return ((far, branch) for far, branch in both_ways(node) if far not in fed)

    def thinnest(least: float, branch: Branch) -> float:
        """Of the stoutest path the least is what counts: negative, since a search looks for the smallest."""
        return max(least, -_stands(conductors, branch))

    found = cheapest([return_end(conductors, armature)], poles.__contains__, step, thinnest, at_first=-math.inf)
    if found is None:
        return None
    negative, way = found
    return WayBack(-negative, _thinnest(conductors, way), tuple(branch.key for branch in way))


def _thinnest(conductors: Conductors, way: Iterable[Branch]) -> Segment | None:
    """The first of the wires on a path that withstand least; ``None`` where it has no wire of a known size."""
    least, found = math.inf, None
    for branch in way:
        if (stands := _stands(conductors, branch)) < least:
            least, found = stands, branch.segment
    return found


def _stands(conductors: Conductors, branch: Branch) -> float:
    """What a branch stands for the profile's cranking time, in A; infinite where it is no wire of a known size."""
    segment = branch.segment
    if segment is None or segment.size is None:
        return math.inf
    return conductors.of(segment).short_time_limit


def left_to_thin_wires(conductors: Conductors) -> Iterator[Left]:
    """Each lead in a starter's return path whose loss leaves its current to a wire that does not withstand it."""
    if conductors.analyses.protection.shorted:
        return  # `dead-short` says it: nothing tells a feed from a return then
    for armature in conductors.analyses.protection.cranking_path.armatures:
        amps, whole = starter_amps(conductors, armature), way_back(conductors, armature)
        if amps is None or whole is None or whole.amps < amps:
            continue  # no figure, no return path, or one that is too thin already: other rules say so
        for key in whole.keys:
            branch = conductors.analyses.circuit.by_key[key]
            if branch.branch_type not in (BranchType.WIRE, BranchType.MOUNT, BranchType.WAY):
                continue  # a contact that opens stops the starter on purpose, and what is inside a part stays
            left = way_back(conductors, armature, {key})
            if left is not None and left.segment is not None and left.amps < amps:
                yield Left(armature.part, amps, branch, left.segment, left.amps)
