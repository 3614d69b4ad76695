"""What parts when one device opens: the nodes that are still joined without it, contacts closed in any position."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.branch import Branch, InPosition, Pulled
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.records import dataclass
from ...lang.search.walks import back, reachable

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.ids import End


@dataclass(frozen=True, slots=True)
class Opening:
    """One device that opens: a fuse, a switch in a position, a relay that drops out. ``opened``: keys of its branches.

    ``part`` is what a user knows it by; ``where`` the position of a switch (empty for a fuse); ``momentary`` whether
    it only opens while a control is held.
    """

    part: str
    what: str
    opened: frozenset[str]
    where: str = ""


def openings(circuit: Circuit, branches: Iterable[Branch]) -> Iterator[Opening]:
    """The ways in which some device among ``branches`` can open, each once; no momentary control counts."""
    seen: set[Opening] = set()
    for branch in branches:
        for opening in _of(circuit, branch):
            if opening not in seen:
                seen.add(opening)
                yield opening


def _of(circuit: Circuit, branch: Branch) -> Iterator[Opening]:
    if branch.branch_type is BranchType.FUSE:
        yield Opening(branch.part, "fuse", frozenset((branch.key,)))
        return
    match branch.guard:
        case InPosition(control=name, positions=closed):
            control = circuit.controls[name]
            for place in () if control.momentary else control.positions:
                if place not in closed:
                    opened = frozenset(
                        other.key
                        for other in circuit.branches
                        if isinstance(other.guard, InPosition)
                        and other.guard.control == name
                        and place not in other.guard.positions
                    )
                    yield Opening(branch.part, "switch", opened, place)
        case Pulled(relay=name, pulled=True):
            opened = frozenset(
                other.key
                for other in circuit.branches
                if isinstance(other.guard, Pulled) and other.guard.relay == name and other.guard.pulled
            )
            yield Opening(branch.part, "relay", opened)


def joined_to(
    circuit: Circuit,
    starts: Iterable[str],
    *,
    without: Collection[str] = (),
    shut: Collection[str] = (),
    past: Collection[str] = (),
    both_ways: bool = False,
) -> dict[str, Branch | None]:
    """Every node that is connected to one of ``starts`` past no consumer, and by which branch it was reached.

    ``without``: keys of branches that are open; nodes in ``shut`` are not entered, those in ``past`` not left again.
    ``both_ways``: past no diode either.
    """

    def step(node: str) -> Iterator[tuple[End, Branch]]:
        for branch in circuit.at.get(node, ()):
            joined = branch.branch_type.joined
            if joined is Direction.NEVER or branch.key in without or (both_ways and joined is not Direction.BOTH):
                continue
            far = branch.other_end(node)
            if far not in shut:
                yield far, branch

    return reachable(starts, step, stop_at=past)


def way_back(reached: dict[str, Branch | None], node: str) -> Iterator[Branch]:
    """The branches from a node that was reached back to where the search began."""
    return back(reached.__getitem__, node, Branch.other_end)
