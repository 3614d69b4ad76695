"""Which way current runs through a harness: every node's place between supply and ground.

A current-path diagram has the supply at its head and the ground at its foot. With every contact closed and every
consumer a resistance, each node has a potential between the two; sorting by it puts whatever feeds above whatever is
fed. Only the order is used, never the figures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import End
from ...lang.model.harness import Harness
from ...lang.model.parts import Ground, Load, Rectifier, Source, Unit
from ...lang.records import dataclass
from ...lang.search.disjoint_set import DisjointSet
from ...lang.search.walks import hops

if TYPE_CHECKING:
    from collections.abc import Iterator

_CONDUCTOR = 1.0
_CONTACT = 0.05  # two switches side by side feed one lamp; neither feeds what the other is fed from
_CONSUMER = 1e-4
_WEAK = 1e-6  # what only gives a dead lead its direction: inputs, windings, capacitors
_DIGITS = 9  # beyond these, a difference of potential is rounding and no current
_LOOSE = 1e-12  # keeps what is connected to nothing solvable


def feed_poles(circuit: Circuit) -> tuple[str, ...]:
    """The feed pole of each battery; without one, of every machine."""
    negative = circuit.return_sign == "-"
    batteries = [s for s in circuit.supplies if s.kind == "battery"]
    chosen = batteries or list(circuit.supplies)
    return tuple(supply.plus[0] if negative else supply.minus for supply in chosen)


def _conductances(circuit: Circuit) -> Iterator[tuple[str, str, float]]:
    for branch in circuit.branches:
        if branch.branch_type is BranchType.LINK:
            continue  # a unit's common is where its sensors return to, not a way to ground
        if branch.branch_type is BranchType.LEG or branch.branch_type.consumes:
            yield branch.a, branch.b, _CONSUMER
        elif branch.branch_type in (BranchType.WINDING, BranchType.CAPACITOR):
            yield branch.a, branch.b, _WEAK
        else:
            yield branch.a, branch.b, _CONDUCTOR if branch.guard is None else _CONTACT
    for supply in circuit.supplies:
        if supply.kind == "machine":
            yield supply.plus[0], supply.minus, _CONSUMER
    for part in circuit.harness.parts.values():
        match part:
            case Source(phases=phases) if phases:
                for phase in phases:
                    yield End(part.name, phases[0]), End(part.name, phase), _WEAK
            case Rectifier(output=None):
                for phase in part.phases:
                    yield End(part.name, part.phases[0]), End(part.name, phase), _WEAK
            case Unit():
                yield from _inside_unit(part)
            case Load(stop_lead=(lead, back)):
                feeds = [e.plus for e in part.elements if e.plus != lead]
                yield End(part.name, lead), End(part.name, feeds[0] if feeds else back), _WEAK
            case _:
                pass


def _inside_unit(unit: Unit) -> Iterator[tuple[str, str, float]]:
    """What an input looks like from outside: pulled up where grounding it counts, a load where feeding it does."""
    if not unit.supplies:
        return
    plus, minus = (End(unit.name, t) for t in (unit.supplies[0].plus, unit.supplies[0].minus))
    for given in unit.inputs:
        yield End(unit.name, given.terminal), minus if given.mode == "fed" else plus, _WEAK
        if given.back:
            yield End(unit.name, given.back), plus, _WEAK  # what hangs between the two hangs below the unit
    for common in unit.commons:
        yield End(unit.name, common), plus, _WEAK


def potentials(circuit: Circuit, harness: Harness) -> dict[str, float]:
    """Every node's potential, 1 at the supply and 0 at the ground, by nodal analysis."""
    import numpy

    links = list(_conductances(circuit))
    feeds = set(feed_poles(circuit))
    grounds = {part.name for part in harness.parts.values() if isinstance(part, Ground)}
    if not grounds:
        grounds = {
            s.minus if circuit.return_sign == "-" else s.plus[0] for s in circuit.supplies if s.kind == "battery"
        }
    alternating = {s.plus[0] for s in circuit.supplies if s.kind == "winding"}
    stop_leads = {
        End(part.name, part.stop_lead[0])
        for part in harness.parts.values()
        if isinstance(part, Load | Unit) and part.stop_lead
    }
    names = list(dict.fromkeys([n for a, b, _ in links for n in (a, b)] + sorted(feeds | grounds)))
    joined = DisjointSet(names)
    for a, b, _ in links:
        joined.merge(a, b)
    islands: dict[str, list[str]] = {}
    for name in names:
        islands.setdefault(joined.leader(name), []).append(name)
    inside: dict[str, list[tuple[str, str, float]]] = {leader: [] for leader in islands}
    for link in links:
        inside[joined.leader(link[0])].append(link)
    solved: dict[str, float] = {}
    for leader, island in islands.items():  # each alone: what is not joined has no part in it
        index = {name: i for i, name in enumerate(island)}
        matrix = numpy.zeros((len(island), len(island)))
        right = numpy.zeros(len(island))
        for a, b, conductance in inside[leader]:
            i, j = index[a], index[b]
            if i != j:
                matrix[i, i] += conductance
                matrix[j, j] += conductance
                matrix[i, j] -= conductance
                matrix[j, i] -= conductance
        for name, i in index.items():
            matrix[i, i] += _LOOSE
            right[i] += 0.5 * _LOOSE
            if name in alternating or name in stop_leads:
                pull = _CONDUCTOR if name in alternating else _WEAK
                matrix[i, i] += pull
                right[i] += pull * 0.95
            if name in feeds or name in grounds:
                matrix[i, :] = 0
                matrix[i, i] = 1
                right[i] = 1.0 if name in feeds else 0.0
        solved |= zip(island, map(float, numpy.linalg.solve(matrix, right)), strict=True)
    return {name: solved[name] for name in names}


@dataclass(frozen=True)
class Currents:
    """Where every node is between supply (0) and ground.

    ``still`` are the nodes that no current passes, ``adrift`` those of them that are connected to none that does.
    """

    places: dict[str, int]
    still: frozenset[str]
    adrift: frozenset[str]

    def place(self, node: str) -> int:
        """A node's place in the order from supply to ground; one that is not connected is last."""
        return self.places.get(node, len(self.places))


def currents_of(circuit: Circuit) -> Currents:
    """The order of all nodes: what feeds comes before what is fed.

    Leads that carry nothing lie at one potential; there, what is nearer to the live part of the harness comes first.
    """
    levels = potentials(circuit, circuit.harness)
    neighbours: dict[str, list[str]] = {name: [] for name in levels}
    for a, b, _ in _conductances(circuit):
        neighbours[a].append(b)
        neighbours[b].append(a)
    feeds = [node for node in feed_poles(circuit) if node in levels]
    alive = {a for a, around in neighbours.items() for b in around if abs(levels[a] - levels[b]) > 10**-_DIGITS}
    steps = hops([*feeds, *(n for n in levels if n in alive and n not in feeds)], neighbours.__getitem__)
    number = {name: i for i, name in enumerate(levels)}
    ranked = sorted(levels, key=lambda n: (-round(levels[n], _DIGITS), steps.get(n, len(levels)), number[n]))
    return Currents(
        places={name: i for i, name in enumerate(ranked)},
        still=frozenset(n for n in levels if n not in alive),
        adrift=frozenset(n for n in levels if n not in steps),
    )
