"""Where a probe goes: pairs of terminals that somebody can reach, and those that alternating current spoils."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.graphs import always_joins
from ...lang.circuit.ids import End
from ...lang.circuit.paths import steps_over
from ...lang.model.parts import Connector, Ground, Source, Splice, Unit, UnitOutput
from ...lang.records import dataclass
from ...lang.search.walks import shortest
from .observations import Places

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ..operation.operation import OperatingPoint


UNEASY, HIDDEN, FAR, THROUGH, UNTOUCHED = 1, 2, 1, 2, 9
"""How hard a terminal is to reach (ours), where a plug, a fuse or bare metal is 0: behind a switch or a load; inside a
unit or a machine; for one that touches none of the suspects, or that reads a voltage through a load, so that nobody
sees what it has to do with them. The last is a splice under tape, for which the tape must come off.
"""


@dataclass(frozen=True, slots=True)
class Pair:
    """Where the two leads go, in the words of an observation, and how hard that is to ``reach``."""

    red: End
    black: End
    where: str
    reach: int


def pairs(point: OperatingPoint, known: Places, shunned: frozenset[End] = frozenset()) -> Iterator[Pair]:
    """Where the two leads may go: every terminal against the battery's ground pole; across what has two ends; against
    a body of ground. In the order of the text; no lead on one of the terminals ``shunned``.
    """
    circuit = point.circuit
    reach = {
        node: cost + THROUGH * (not _connected(point, node))
        for node in point.flow.network.nodes
        if (cost := _reach(point, node)) is not None
    }
    for node in _sparking(point) | shunned:
        reach.pop(node, None)
    for node, cost in reach.items():
        if node != known.ground:
            yield Pair(*known.at(node), f"at {node}", cost)
    for branch in circuit.branches:
        if (
            branch.segment is None
            and branch.a in reach
            and branch.b in reach
            and known.ground not in (branch.a, branch.b)
        ):
            yield Pair(branch.a, branch.b, f"from {branch.a} to {branch.b}", reach[branch.a] + reach[branch.b] + 1)
    bodies = [n for n in reach if isinstance(circuit.harness.parts.get(n), Ground)]
    for body in bodies:
        for node, cost in reach.items():
            if node not in (body, known.ground):
                red, black = (body, node) if known.positive else (node, body)
                yield Pair(red, black, f"from {red} to {black}", cost + 1)


def _reach(point: OperatingPoint, node: End) -> int | None:
    """How hard a terminal is to reach; ``None``: not at all, a splice under tape or the inside of a machine."""
    circuit = point.circuit
    part = circuit.harness.parts.get(node.part)
    if node not in circuit.at or part is None or isinstance(part, Splice):
        return None
    if isinstance(part, Connector | Ground) or any(b.branch_type is BranchType.FUSE for b in circuit.at[node]):
        return 0
    if isinstance(part, Source) and part.what == "battery":
        return 0
    return HIDDEN if isinstance(part, Unit | Source) else UNEASY


@dataclass(frozen=True, slots=True)
class Lead:
    """Where a lead goes to measure resistance at the terminal ``of``: to ``at``, which the wires ``by`` join to it, in
    order. ``None``: to no terminal, since nothing that a probe reaches is joined to it.
    """

    of: End
    at: End | None
    by: tuple[str, ...] = ()


def leads(point: OperatingPoint, branch: Branch, suspects: Collection[str]) -> tuple[Lead, Lead]:
    """Where the two leads go for the resistance of a branch."""
    first = _lead(point, branch, branch.a, branch.b, suspects)
    return first, _lead(point, branch, branch.b, first.at or branch.a, suspects)


def _lead(point: OperatingPoint, branch: Branch, of: End, other: End, suspects: Collection[str]) -> Lead:
    """Where a lead goes for one end of a branch while the other lead is on ``other``: there, or where the fewest wires
    lead from there, over none of the branches ``suspects``, by their keys, where there is such a way: these may be
    open.
    """
    if _reach(point, of) is not None:
        return Lead(of, of)

    def copper(step: Branch) -> bool:
        return always_joins(step) and step.branch_type is not BranchType.FUSE and step.key != branch.key

    def sure(step: Branch) -> bool:
        return copper(step) and step.key not in suspects

    def bare(node: str) -> bool:
        return isinstance(node, End) and node != other and _reach(point, node) is not None

    for passes in (sure, copper):
        found = shortest([of], bare, steps_over(point.circuit, passes), stop_at=(other,))
        if found is not None:
            return Lead(of, _end(of, found), tuple(step.key for step in reversed(found)))
    return Lead(of, None)


def _end(start: End, steps: Iterable[Branch]) -> End:
    """Where some branches lead from a terminal."""
    for step in steps:
        start = step.other_end(start)
    return start


def _connected(point: OperatingPoint, node: End) -> bool:
    """Whether a pole of a source is connected to a terminal past no load."""
    return point.connectivity.fed(node) or point.connectivity.reaches_pole(node)


def alternating(point: OperatingPoint, keys: Sequence[str]) -> frozenset[End]:
    """The terminals of phases, of windings and of the consumers ``keys`` that depend on them: those not solved."""
    circuit = point.circuit
    found = {node for s in circuit.supplies for node in s.phases}
    untold = {each.winding for each in point.flow.left_out}
    found |= {node for b in circuit.branches if b.key in untold or b.key in keys for node in (b.a, b.b)}
    direct = {node for s in circuit.supplies if s.kind != "winding" for node in s.plus}
    return _nets_of(point, found, direct | {s.minus for s in circuit.supplies})


def _nets_of(point: OperatingPoint, nodes: Iterable[End], kept: Iterable[End]) -> frozenset[End]:
    """The terminals that nothing can part from some nodes, those of bodies of ground and of ``kept`` left out."""
    circuit = point.circuit
    nets = circuit.nets
    bodies = (n for n in circuit.ends if isinstance(circuit.harness.parts.get(n), Ground))
    never = {nets.of[n] for n in (*bodies, *kept)}
    return frozenset(node for start in nodes if nets.of[start] not in never for node in nets.nodes[nets.of[start]])


def _sparking(point: OperatingPoint) -> frozenset[End]:
    """Where an ignition coil is switched, and stop leads: with the engine turning hundreds of volts are there for a
    moment.
    """
    circuit = point.circuit
    if point.engine == "off":
        return frozenset()
    found = {
        node
        for b in circuit.branches
        if b.branch_type is BranchType.IGNITION
        for node in (b.a, b.b)
        if not point.connectivity.fed(node)
    }
    return _nets_of(point, found, (p for s in circuit.supplies for p in (*s.plus, s.minus)))


def _swinging(point: OperatingPoint) -> frozenset[End]:
    """The terminals that a flasher or a flashing output feeds."""
    circuit = point.circuit
    found: set[End] = set()
    for branch in circuit.branches:
        flashes = branch.branch_type is BranchType.FLASHER or (
            isinstance(branch.item, UnitOutput) and branch.item.flashing
        )
        if flashes and point.connectivity.conducts(branch):
            found |= point.connectivity.nodes([branch.b], without=branch.part)
    return frozenset(found)
