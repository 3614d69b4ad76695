"""Return conductors whose loss makes a dead load work through another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...lang.circuit import Way
from ...lang.model import Element
from ..dc.elements import UnsolvableError
from ..dc.standing import standing
from .effects import Elements
from .modes import CAN_OPEN, chains
from .plain import opened
from .ports import Ports, can_be_ported

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit import Branch
    from ..dc.operating import Operation, Point


@dataclass(frozen=True, slots=True)
class LostGround:
    """In a state, ``conductor`` open: ``woken`` loads that were dead, each with the share it gets, the most first."""

    conductor: Branch
    state: str
    woken: tuple[tuple[Branch, float], ...]


def lost_grounds(operation: Operation) -> Iterator[LostGround]:
    """Every return conductor that does so in a named state, each in the first state that shows it."""
    series = chains(operation.circuit)
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


def _candidates(point: Point) -> Iterator[tuple[Branch, frozenset[str], frozenset[str]]]:
    """Conductors that alone return a live load and a dead one which leads on to somewhere; those dead ones, and the
    live ones.

    One depth-first search from the return poles over what is joined finds the bridges and what hangs beyond each.
    """
    circuit, joins = point.circuit, point.joins
    nets = point.flow.network.nets
    ends: dict[str, list[tuple[Branch, str]]] = {}
    beside: dict[int, int] = {}
    for branch in circuit.branches:
        if branch.law.consumes:
            for near, far in ((branch.a, branch.b), (branch.b, branch.a)):
                ends.setdefault(near, []).append((branch, far))
                beside[nets.of[near]] = beside.get(nets.of[near], 0) + 1
    roots = [s.minus if circuit.return_sign == "-" else s.plus[0] for s in joins.sources if s.kind == "battery"]
    roots += [s.minus if circuit.return_sign == "-" else s.plus[0] for s in joins.sources]
    number: dict[str, int] = {}
    lowest: dict[str, int] = {}
    inside: dict[str, list[tuple[Branch, str]]] = {}
    holds_source: dict[str, bool] = {}
    negative = circuit.return_sign == "-"
    sources = {pole for s in joins.sources for pole in (*s.plus, s.minus)}

    def steps(node: str) -> list[Branch]:
        """What current that returns can have come by."""
        return [
            b
            for b in circuit.at.get(node, ())
            if joins.conducts(b)
            and (b.law.joined is Way.BOTH or (b.law.joined is Way.FORWARD and (b.b == node) is negative))
        ]

    for root in roots:
        if root in number:
            continue
        number[root] = lowest[root] = len(number)
        inside[root] = list(ends.get(root, ()))
        holds_source[root] = True
        stack = [(root, "", iter(steps(root)))]
        while stack:
            node, by, rest = stack[-1]
            for branch in rest:
                other = branch.b if branch.a == node else branch.a
                if branch.key == by:
                    continue
                if other in number:
                    lowest[node] = min(lowest[node], number[other])
                    continue
                number[other] = lowest[other] = len(number)
                inside[other] = list(ends.get(other, ()))
                holds_source[other] = other in sources
                stack.append((other, branch.key, iter(steps(other))))
                break
            else:
                stack.pop()
                if not stack:
                    continue
                above = stack[-1][0]
                lowest[above] = min(lowest[above], lowest[node])
                inside[above] += inside[node]
                holds_source[above] |= holds_source[node]
                conductor = circuit.by_key[by]
                if holds_source[node]:
                    continue
                if lowest[node] > number[above] and conductor.law in CAN_OPEN and can_be_ported(conductor):
                    hanging = inside[node]
                    live = frozenset(b.key for b, _ in hanging if joins.joined(b.key))
                    dead = frozenset(
                        b.key
                        for b, far in hanging
                        if b.key not in live
                        and not _is_tell_tale(b)
                        and (beside[nets.of[far]] > 1 or joins.reaches_pole(far))
                    )
                    if live and dead:
                        yield conductor, dead, live


def _is_tell_tale(branch: Branch) -> bool:
    return isinstance(branch.item, Element) and "tell-tale" in branch.item.roles


def _woken(
    operation: Operation, point: Point, conductors: list[Branch]
) -> Iterator[tuple[Branch, tuple[tuple[Branch, float], ...]]]:
    """The loads that each conductor's loss brings to life."""
    elements = Elements(point)
    dead = {
        b.key
        for b in elements.branches
        if (s := standing(point, b.key)) is not None and s.word == "dead" and not _is_tell_tale(b)
    }
    struck = Ports(point).open([b.key for b in conductors])
    shares = elements.shares(struck.volts, struck.law_amps)
    for i, conductor in enumerate(conductors):
        found = shares[i]
        if struck.moved[i]:
            try:
                found = elements.at(opened(operation, point, conductor.key))[0]
            except UnsolvableError:
                continue  # what comes to no rest without it is told by the sweep
        words = elements.words(found[None, :])[0]
        woken = [
            (branch, float(found[place]))
            for place, branch in enumerate(elements.branches)
            if branch.key in dead and words[place] > 0
        ]
        if woken:
            yield conductor, tuple(sorted(woken, key=lambda pair: (-pair[1], pair[0].key)))
