"""Return conductors whose loss makes a dead load work through another."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.circuit.ids import BranchId, End
from ...lang.model.parts import Element
from ...lang.quantities.ranking import ranked
from ...lang.records import dataclass
from ...lang.search.bridges import bridges
from ..operation.load_status import limits, load_status
from .failure_modes import Damage, series_groups

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.ids import End
    from ..dc.nodal_equations import NodalEquations
    from ..operation.operation import OperatingPoint, Operation


@dataclass(frozen=True, slots=True)
class LostGround:
    """In a state, ``conductor`` open: ``woken`` loads that were dead, each with the share it gets, the most first."""

    conductor: Branch
    state: str
    woken: tuple[tuple[Branch, float], ...]


def lost_grounds(operation: Operation) -> tuple[LostGround, ...]:
    """Every return conductor that does so in a named state, each in the first state that shows it."""
    if LostGround not in operation.told:
        operation.told[LostGround] = tuple(_lost_grounds(operation))
    found: tuple[LostGround, ...] = operation.told[LostGround]
    return found


def _lost_grounds(operation: Operation) -> Iterator[LostGround]:
    series = series_groups(operation.circuit)
    told: set[str] = set()
    tried: dict[tuple[str, frozenset[str]], list[frozenset[str]]] = {}
    for point in operation.points.values():
        asked: dict[str, Branch] = {}
        for conductor, dead, live in _candidates(point):
            chain = series.get(conductor.key, conductor.key)
            before = tried.setdefault((chain, dead), [])
            if chain not in told and not any(live <= more for more in before):
                before.append(live)  # fewer live loads give the same dead ones no more
                asked.setdefault(chain, conductor)
        first = list(asked.values())
        if not first:
            continue
        for conductor, woken in _woken(operation, point, first):
            told.add(series.get(conductor.key, conductor.key))
            yield LostGround(conductor, point.state, woken)


def _candidates(point: OperatingPoint) -> Iterator[tuple[Branch, frozenset[str], frozenset[str]]]:
    """Conductors that alone return a live load and a dead one which leads on to somewhere; those dead ones, and the
    live ones.

    What lies beyond each bridge is found from the return poles over what is joined.
    """
    circuit, connectivity = point.circuit, point.connectivity
    ends: dict[End, list[tuple[Branch, End]]] = {}
    for branch in circuit.branches:
        if branch.branch_type.consumes:
            for near, far in ((branch.a, branch.b), (branch.b, branch.a)):
                ends.setdefault(near, []).append((branch, far))
    roots = [s.minus if circuit.return_sign == "-" else s.plus[0] for s in connectivity.sources if s.kind == "battery"]
    roots += [s.minus if circuit.return_sign == "-" else s.plus[0] for s in connectivity.sources]
    negative = circuit.return_sign == "-"
    sources = {pole for s in connectivity.sources for pole in (*s.plus, s.minus)}

    def step(node: str) -> list[tuple[End, str]]:
        """What current that returns can have come by."""
        return [
            (b.other_end(node), b.key)
            for b in circuit.at.get(node, ())
            if connectivity.conducts(b)
            and (
                b.branch_type.joined is Direction.BOTH
                or (b.branch_type.joined is Direction.FORWARD and (b.b == node) is negative)
            )
        ]

    beyond = _Beyond(point)
    for bridge in bridges(roots, step):
        conductor = circuit.by_key[bridge.edge]
        copper = conductor.branch_type.fails_open and conductor.branch_type.joined is Direction.BOTH
        if not copper or not sources.isdisjoint(bridge.beyond):
            continue
        hanging = [end for node in bridge.beyond for end in ends.get(node, ())]
        here = {b.key for b, _ in hanging}
        live = frozenset(key for key in here if connectivity.joined(key))
        dead = frozenset(
            b.key
            for b, far in hanging
            if b.key not in live
            and not _is_tell_tale(b)
            and (b.branch_type.as_load is Direction.BOTH or (b.b == far) is negative)  # lets current on to its far end
            and (connectivity.reaches_pole(far) or _can_wake(point, b, beyond.of(far, here)))
        )
        if live and dead:
            yield conductor, dead, live


class _Beyond:
    """The loads through which current can go on from a node at one operating point: asked once for each node, of which
    many returns lie one behind the other.
    """

    def __init__(self, point: OperatingPoint) -> None:
        self._point = point
        self._known: dict[End, tuple[Branch, ...]] = {}

    def of(self, far: End, here: set[BranchId]) -> list[Branch]:
        """Those from a load's far end, but for those on the same return, ``here``."""
        if far not in self._known:
            point = self._point
            met = point.connectivity.nodes([far], forward=point.circuit.return_sign == "-")
            touching = (b for node in sorted(met) for b in point.circuit.at.get(node, ()))
            self._known[far] = tuple({b.key: b for b in touching if b.branch_type.consumes}.values())
        return [branch for branch in self._known[far] if branch.key not in here]


def _can_wake(point: OperatingPoint, branch: Branch, onward: list[Branch]) -> bool:
    """Whether a load and those ``onward`` from it could pass each other enough for one of them not to stay dead."""
    network = point.flow.network
    highest = max(network.regulated[""], point.circuit.harness.volts * 1.05)
    through, beyond = _amps(network, branch, highest), sum(_amps(network, other, highest) for other in onward)
    return beyond >= _needed(network, branch) or any(
        through >= _needed(network, other) and not _is_tell_tale(other) for other in onward
    )


def _needed(network: NodalEquations, branch: Branch) -> float:
    """The amps from which a load is not dead any more; what has no standing never comes on."""
    known = limits(branch)
    if known is None:
        return math.inf
    if known.of == "rated amps":
        return known.dead * (network.rated[branch.key].amps or 0.0)
    return _amps(network, branch, known.dead * branch.made_for(network.circuit.harness.volts))


def _amps(network: NodalEquations, branch: Branch, volts: float) -> float:
    """A consumer's current at some volts, the more of both directions; none where it has no rating."""
    rating = network.rated[branch.key]
    if rating.ohms is not None:
        return volts / rating.ohms
    return max(rating.curve.amps(volts), -rating.curve.amps(-volts)) if rating.curve is not None else 0.0


def _is_tell_tale(branch: Branch) -> bool:
    return isinstance(branch.item, Element) and "tell-tale" in branch.item.roles


def _woken(
    operation: Operation, point: OperatingPoint, conductors: list[Branch]
) -> Iterator[tuple[Branch, tuple[tuple[Branch, float], ...]]]:
    """The loads that each conductor's loss brings to life."""
    from .effects import Elements
    from .propagation import Propagation

    elements = Elements(point)
    dead = {
        b.key
        for b in elements.branches
        if (s := load_status(point, b.key)) is not None and s.word == "dead" and not _is_tell_tale(b)
    }
    found = elements.after(Propagation(operation, point).of([Damage((conductor,)) for conductor in conductors]))
    for conductor, shares, words in zip(conductors, found, elements.words(found), strict=True):
        woken = [  # what does not settle without it is left to the sweep: its shares are no numbers, and no words
            (branch, float(shares[place]))
            for place, branch in enumerate(elements.branches)
            if branch.key in dead and words[place] > 0
        ]
        if woken:
            yield conductor, tuple(ranked(woken, key=lambda pair: pair[1]))
