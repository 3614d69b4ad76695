"""What is still joined in a damaged harness.

Asked again and again, and mostly answered by the sound one: what opens parts nothing but the ways that lead over it.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.graphs import always_joins
from ...lang.records import dataclass
from ...lang.search.walks import closure
from ..dc.connectivity import way

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Supply
    from ...lang.circuit.graphs import Edge
    from ..dc.laws import Laws
    from ..dc.situation import Situation
    from ..operation.operation import OperatingPoint
    from .failure_modes import Damage

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Feeding:
    """How a terminal is fed: the keys of a ``way`` from a feed pole (none: it is not), the ``nets`` that it touches,
    and the keys of the ``walls`` that the search ended at.
    """

    walls: frozenset[str]
    way: tuple[str, ...] = ()
    nets: frozenset[int] = frozenset()


class SoundWays:
    """The ways of current in the sound harness, each found once."""

    def __init__(self, point: OperatingPoint) -> None:
        self.circuit = point.circuit
        self.network = point.flow.network
        self._walls: tuple[tuple[frozenset[str], str], dict[tuple[str, ...], tuple[set[str], set[str]]]]
        self._walls = ((frozenset(), ""), {})

    @cached_property
    def _found(self) -> dict[tuple[str, tuple[str, ...], frozenset[str]], tuple[str, ...] | None]:
        return {}

    def way(self, start: str, ends: tuple[str, ...], conducting: frozenset[str]) -> tuple[str, ...] | None:
        """The keys of the branches on the shortest way of current between terminals of the sound harness."""
        asked = (start, ends, conducting & self.network.topology.deciding(start, ends))
        if asked not in self._found:
            self._found[asked] = way(self.circuit, (start,), ends, conducting)
        return self._found[asked]

    def feeding(self, node: str, situation: Situation) -> Feeding:
        """How the feed pole of a source reaches a terminal of the sound harness."""
        running = tuple(m.supply for m in situation.machines)
        asked = (node, situation.conducting & self.deciding(node), running)
        if asked not in self._feeding:
            self._feeding[asked] = self.feed(node, situation)
        return self._feeding[asked]

    @cached_property
    def _feeding(self) -> dict[tuple[str, frozenset[str], tuple[str, ...]], Feeding]:
        return {}

    def deciding(self, node: str) -> frozenset[str]:
        """The keys of all that may open and can be met between a terminal and the poles of the sources."""
        if node not in self._met:
            nets = self.network.circuit.nets
            poles = {nets.of[pole] for s in self.circuit.supplies for pole in (*s.plus, s.minus)}
            start = nets.of[node]

            def edges(net: int) -> list[Edge]:
                return self._edges.get(net, []) if net == start or net not in poles else []

            met = closure([start], lambda net: (end for edge in edges(net) for end in (edge.a, edge.b)))
            self._met[node] = frozenset(edge.branch.key for net in met for edge in edges(net))
        return self._met[node]

    @cached_property
    def _met(self) -> dict[str, frozenset[str]]:
        return {}

    @cached_property
    def _edges(self) -> dict[int, list[Edge]]:
        """The edges that may open, at each net."""
        found: dict[int, list[Edge]] = {}
        for edge in self.network.circuit.nets.switched:
            found.setdefault(edge.a, []).append(edge)
            found.setdefault(edge.b, []).append(edge)
        return found

    def feed(self, node: str, situation: Situation, gone: frozenset[str] = frozenset(), grounded: str = "") -> Feeding:
        """How the feed pole of a source reaches a terminal; no way leads over its other pole."""
        circuit = self.circuit
        running = {m.supply for m in situation.machines}
        walls: set[str] = set()

        for supply in circuit.supplies:
            if supply.kind != "battery" and supply.name not in running:
                continue
            negative = circuit.return_sign == "-"
            nodes, keys = self._joined_to((supply.minus,) if negative else supply.plus, gone, grounded)
            walls |= keys
            starts, ends = (supply.plus, (node,)) if negative else ((node,), (supply.minus,))
            found = way(circuit, starts, ends, situation.conducting, gone, nodes)
            if found is not None:
                of, by_key = self.network.circuit.nets.of, circuit.by_key
                nets = {of[end] for key in found for end in (by_key[key].a, by_key[key].b)}
                return Feeding(frozenset(walls), found or (supply.name,), frozenset(nets | {of[node]}))
        return Feeding(frozenset(walls))

    def _joined_to(self, poles: tuple[str, ...], gone: frozenset[str], grounded: str) -> tuple[set[str], set[str]]:
        """The terminals that nothing can part from some poles but what is gone, and the keys of what joins them.

        Asked of one damage again and again, and kept for the last one.
        """
        if self._walls[0] != (gone, grounded):
            self._walls = ((gone, grounded), {})
        found = self._walls[1].get(poles)
        if found is None:
            found = self._find_walls(poles, gone, grounded) if gone or grounded else self._sound_walls(poles)
            self._walls[1][poles] = found
        return found

    def _sound_walls(self, poles: tuple[str, ...]) -> tuple[set[str], set[str]]:
        if poles not in self._unhurt:
            self._unhurt[poles] = self._find_walls(poles, frozenset(), "")
        return self._unhurt[poles]

    @cached_property
    def _unhurt(self) -> dict[tuple[str, ...], tuple[set[str], set[str]]]:
        return {}

    def _find_walls(self, poles: tuple[str, ...], gone: frozenset[str], grounded: str) -> tuple[set[str], set[str]]:
        if gone and not grounded and gone.isdisjoint(self._sound_walls(poles)[1]):
            return self._sound_walls(poles)  # what opens elsewhere parts none of this
        starts = {*poles, grounded} if grounded and self.circuit.ground in poles else set(poles)

        def joins(node: str) -> list[tuple[str, str]]:
            return [join for join in self._joins.get(node, ()) if join[1] not in gone]

        nodes = closure(starts, lambda node: (other for other, _ in joins(node)))
        return nodes, {key for node in nodes for _, key in joins(node)}

    @cached_property
    def _joins(self) -> dict[str, list[tuple[str, str]]]:
        """What always joins two terminals of the sound harness: from each the other one, and the branch's key."""
        found: dict[str, list[tuple[str, str]]] = {}
        for branch in self.circuit.branches:
            if always_joins(branch):
                found.setdefault(branch.a, []).append((branch.b, branch.key))
                found.setdefault(branch.b, []).append((branch.a, branch.key))
        return found


class FaultedCircuit:
    """The damaged harness in one situation, as ``settling.Solved`` asks for it."""

    def __init__(
        self, ways: SoundWays, situation: Situation, damage: Damage, whole: FaultedCircuit | None = None
    ) -> None:
        """``whole``: the same with more that conducts."""
        self._whole = whole
        self._ways = ways
        self._network = ways.network
        self._damage = damage
        self._gone = damage.keys
        self.grounded = damage.grounded
        self.situation = situation
        self.volts: Floats
        self.amps: Floats
        self.laws: Laws
        self.good = False

    def at(self, node: str) -> float:
        return float(self.volts[self._network.index[node]])

    @property
    def law_amps(self) -> dict[str, float]:
        return dict(zip(self.laws.keys, self.amps.tolist(), strict=True))

    def gives(self, supply: Supply, conducting: frozenset[str]) -> bool:
        """Whether a machine still has two phases, where it has any, and the field that it excites itself by."""
        if self._network.machines.own_windings.get(supply.name) in self._gone:
            return False
        if supply.phases:
            there = sum(self.leads(phase, self._network.machines.stators, conducting) for phase in supply.phases)
            if there < 2:
                return False
        fields = self._network.machines.own_fields.get(supply.name, ())
        return all(self.leads(end, (pole,), conducting) for end, pole in fields)

    @cached_property
    def parted(self) -> FaultedCircuit:
        """What is joined while the contacts that the engine moves are open; no volts are to be asked of it."""
        situation = self.situation
        opened = replace(situation, conducting=situation.conducting - situation.pulsing, pulsing=frozenset())
        return FaultedCircuit(self._ways, opened, self._damage, self)

    def reaches(self, start: str, ends: tuple[str, ...]) -> bool:
        return self.leads(start, ends, self.situation.conducting)

    def leads(self, start: str, ends: tuple[str, ...], conducting: frozenset[str]) -> bool:
        """Whether current gets from a terminal to one of others: without what is open, over ground where that lies."""
        if self._goes(start, ends, conducting):
            return True
        ground = self._network.circuit.ground
        return bool(self.grounded) and (
            (self._goes(start, (self.grounded,), conducting) and self._goes(ground, ends, conducting))
            or (self._goes(start, (ground,), conducting) and self._goes(self.grounded, ends, conducting))
        )

    def _goes(self, start: str, ends: tuple[str, ...], conducting: frozenset[str]) -> bool:
        if not self._network.topology.reaches(conducting, start, ends):
            return False
        sound = self._ways.way(start, ends, conducting) if self._gone else ()
        if sound is not None and self._gone.isdisjoint(sound):
            return True
        return way(self._network.circuit, (start,), ends, conducting, self._gone) is not None

    def fed(self, node: str) -> bool:
        """Whether a terminal is connected to the feed pole of a source."""
        return bool(self.fed_by(node))

    def fed_by(self, node: str) -> tuple[str, ...]:
        """The keys of a way from the feed pole of a source to a terminal; none where there is no way."""
        if node not in self._ways_to:
            whole = self._whole.fed_by(node) if self._whole is not None else ()
            steady = self._whole is None or self._whole.situation.pulsing.isdisjoint(whole)
            self._ways_to[node] = whole if self._whole is not None and steady else self._find_feed(node)
        return self._ways_to[node]

    @cached_property
    def _ways_to(self) -> dict[str, tuple[str, ...]]:
        return {}

    def _find_feed(self, node: str) -> tuple[str, ...]:
        feeding = self._ways.feeding(node, self.situation)
        if feeding.way and self._gone.isdisjoint(feeding.way):
            if not self.grounded or self._network.circuit.nets.of[self.grounded] not in feeding.nets:
                return feeding.way
        elif not feeding.way and self._gone.isdisjoint(feeding.walls):
            return ()  # what opens or is shorted to ground feeds nothing that was not fed
        return self._ways.feed(node, self.situation, self._gone, self.grounded).way
