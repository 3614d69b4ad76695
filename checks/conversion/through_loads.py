"""What comes to a terminal through other loads, in volts and amps, in the old harness and in the new one.

A terminal that no contact connects to a feed may still get current through a lamp: a field its first, an oil switch
what lights the lamp. It is solved in the combination nearest to rest in which that is so, and again with it grounded:
 open-circuit volts and short-circuit amps tell what is behind it. That is a search in few combinations, not a
proof over all.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.records import dataclass
from ..dc.conducting import rest_positions, situation_of
from ..dc.devices import NEGLIGIBLE_OHMS, UnsolvableError
from ..dc.flow import Flow, flow_of, near_by
from ..dc.kron_reduction import stamp
from ..dc.memory import Memory
from ..dc.newton import Inner, NotConvergedError
from ..dc.nodal_equations import DENSE_LIMIT
from ..logic.terms import BATTERY, MACHINE
from .questions import FedThroughLoads

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from ..logic import Combination, SwitchingLogic
    from ..logic.terms import Kind
    from ..operation.operation import OperatingPoint, Operation
    from .matching import Common
    from .side import Side

NEAR = 0.05
"""Volts and amps within this share of each other are alike (ours)."""
SHORT = "short to ground"
"""The branch by which a terminal is grounded (``Circuit.damaged``)."""
NO_FEED = 1e-3
"""A; less than this through other loads feeds nothing (ours)."""

THROUGH = 0.02
"""A load belongs to the way where its current rises by more than this share of what flows to ground (ours); what is
beside the terminal gets less then."""


@dataclass(frozen=True, slots=True)
class Feed:
    """Open-circuit V and short-circuit A at a terminal, and the loads ``through`` which these come.

    ``source``: V of the source, while the terminal is on ground. ``direct``: it is connected to a pole without a load.
    """

    volts: float
    amps: float
    through: tuple[str, ...] = ()
    source: float = 0.0
    direct: bool = False


Settings = tuple[tuple[str, str], ...]
Found = tuple[Settings, Feed, Feed]
"""The positions that show it, as the new harness names them; what the terminal gets in the old and in the new one."""


def compared(
    old: Side,
    new: Side,
    common: Sequence[Common],
    before: End,
    now: End,
    is_at_pole: Callable[[bool, End, frozenset[Kind], Mapping[str, str]], bool],
) -> Iterator[Found]:
    """Where a terminal gets another current through loads: the first such place for each kind of source.

    ``is_at_pole``: whether, in the old harness or not, a terminal is connected to a pole of a source of these kinds in
    all that can come about with the controls of that harness so; then nothing is solved. Raises ``TooWideError``.
    """
    for kinds in (BATTERY, MACHINE):
        found = _first(old, new, common, before, now, kinds, is_at_pole)
        if found is not None:
            yield found
            return


def _first(
    old: Side,
    new: Side,
    common: Sequence[Common],
    before: End,
    now: End,
    kinds: frozenset[Kind],
    is_at_pole: Callable[[bool, End, frozenset[Kind], Mapping[str, str]], bool],
) -> Found | None:
    tried: set[tuple[Settings, Settings]] = set()
    for side, node, is_old in ((old, before, True), (new, now, False)):
        shown = _nearest(side.logic, node, kinds)
        if shown is None:
            continue
        given = _positions(shown, common, is_old)
        if given is None:
            continue
        here, there, when = given
        if is_at_pole(not is_old, now if is_old else before, kinds, there):
            continue
        then, since = (here, there) if is_old else (there, here)
        both = _whole(old, then), _whole(new, since)
        if both in tried:
            continue  # what comes nearest to rest in the one does so in the other
        tried.add(both)
        was, is_now = feed_at(old.operation, before, then, kinds), feed_at(new.operation, now, since, kinds)
        if was is None or is_now is None or was.direct or is_now.direct or alike(was, is_now):
            continue
        if kinds == MACHINE and is_now.amps < was.amps:
            continue  # what a machine leads back through a load is wanted by nothing
        return when, was, is_now
    return None


def _whole(side: Side, positions: Mapping[str, str]) -> Settings:
    """The position of every control of a harness."""
    return tuple({**rest_positions(side.circuit), **positions}.items())


def _nearest(logic: SwitchingLogic, node: End, kinds: frozenset[Kind]) -> Combination | None:
    asked = FedThroughLoads(node, kinds)
    if asked not in logic.told:
        logic.told[asked] = _shown(logic, asked)
    found: Combination | None = logic.told[asked]
    return found


def _shown(logic: SwitchingLogic, asked: FedThroughLoads) -> Combination | None:
    if not asked.needs(logic.network):
        return None
    scope = logic.scope(asked)
    return logic.show(scope, asked.table(scope) & scope.counted & scope.plausible)


def _positions(
    shown: Combination, common: Sequence[Common], is_old: bool
) -> tuple[dict[str, str], dict[str, str], tuple[tuple[str, str], ...]] | None:
    """A combination of one harness, the same positions in the other, and the ones that matter in the new one's names;
    ``None`` where the other has no such position.
    """
    by_name = {(each.old if is_old else each.new): each for each in common}
    here: dict[str, str] = {}
    there: dict[str, str] = {}
    names: dict[str, tuple[str, str]] = {}
    for name, position in shown.positions.items():
        each = by_name.get(name)
        if each is None:
            continue
        here[name] = position
        for label in each.labels:
            mine, other = (label.old, label.new) if is_old else (label.new, label.old)
            if mine == {position}:
                if len(other) > 1:
                    return None
                there[each.new if is_old else each.old] = next(iter(other))
                names[name] = (each.new, label.name)
                break
    return here, there, tuple(names[name] for name, _ in shown.shown if name in names)


def feed_at(operation: Operation, node: End, positions: dict[str, str], kinds: frozenset[Kind]) -> Feed | None:
    """What a terminal gets with the controls there and the others at rest; ``None`` where no solution is found.

    ``kinds``: of the sources of which it is asked whether the terminal is connected to one of their poles.
    """
    asked = ("feed", node, tuple(positions.items()), kinds)
    if asked not in operation.told:
        operation.told[asked] = _feed_at(operation, node, positions, kinds)
    found: Feed | None = operation.told[asked]
    return found


def _feed_at(operation: Operation, node: End, positions: dict[str, str], kinds: frozenset[Kind]) -> Feed | None:
    circuit = operation.circuit
    known = {name: at for name, at in positions.items() if name in circuit.controls}
    sources = [supply for supply in circuit.supplies if supply.kind in kinds]
    # A machine is a source where it charges already: whether it begins to is a separate question.
    before = Memory(excited=frozenset(s.name for s in sources if s.field_keys))
    try:
        point = operation.at(known, before)
        flow = point.flow
        if node == circuit.ground or any(
            flow.reaches(node, (s.minus,)) or any(flow.reaches(plus, (node,)) for plus in s.plus) for s in sources
        ):
            return Feed(0.0, 0.0, direct=True)
        short, amps = grounded_at(operation, point, node)
    except UnsolvableError:
        return None
    through_short = short.amps
    through = tuple(
        b.key
        for b in circuit.branches
        if b.branch_type.consumes
        and b.part != node.part
        and abs(through_short[b.key]) - abs(point.amps(b.key)) > THROUGH * amps
    )
    source = max((short.at(s.plus[0]) - short.at(s.minus) for s in sources), default=0.0)
    return Feed(abs(point.volts(node) - point.volts(circuit.ground)), amps, through, source)


def connected_at(
    side: Side, node: End, positions: dict[str, str], kinds: frozenset[Kind], *, feed: bool
) -> bool | None:
    """Whether a terminal is connected to the feed pole (``feed``), else to the return pole, of a source of these kinds,
    with the controls there, the others at rest, and all as it comes about from rest; ``None`` without a solution.
    """
    known = {name: at for name, at in positions.items() if name in side.circuit.controls}
    try:
        flow = side.operation.at(known).flow
    except UnsolvableError:
        return None
    plus = feed is (side.circuit.return_sign == "-")
    sources = [supply for supply in side.circuit.supplies if supply.kind in kinds]
    if plus:
        return any(flow.reaches(pole, (node,)) for supply in sources for pole in supply.plus)
    return any(flow.reaches(node, (supply.minus,)) for supply in sources)


def grounded_at(operation: Operation, point: OperatingPoint, node: End) -> tuple[Flow, float]:
    """The same moment with a terminal grounded, and the A that flow to ground there: nothing pulls in or drops out for
    that. Raises ``UnsolvableError``.
    """
    network, ground = operation.network, operation.circuit.ground
    setpoints = {name: volts for name, volts in network.regulated.items() if name}
    situation = situation_of(network, point.positions, point.memory, setpoints)
    a, b = (network.reduction.place.get(network.index[end]) for end in (node, ground))
    if (
        a is None or b is None or network.kept_count > DENSE_LIMIT
    ):  # a terminal that the solver has taken out, or many nodes
        other = operation.damaged(frozenset(), node).network
        there = situation_of(other, point.positions, point.memory, setpoints)
        flow = flow_of(other, there, near_by(other, point.flow))
        return flow, abs(flow.amps[SHORT])
    matrix, laws = network.reduced(situation)
    stamp(matrix, [(a, b, 1.0 / NEGLIGIBLE_OHMS)])
    chosen = laws.running(situation.machines, network.regulated)
    try:
        kept = Inner(matrix, chosen.tops, chosen.bottoms).solve(chosen.bank, point.flow.kept)
    except NotConvergedError as error:
        raise UnsolvableError(node.part, str(error)) from error
    flow = Flow(network, situation, kept, chosen)
    return flow, abs(flow.at(node) - flow.at(ground)) / NEGLIGIBLE_OHMS


def alike(a: Feed, b: Feed) -> bool:
    """Whether two terminals get much the same through loads."""
    if max(a.amps, b.amps) < NO_FEED:
        return True
    return _near(a.volts, b.volts) and _near(a.amps, b.amps)


def _near(a: float, b: float) -> bool:
    return abs(a - b) <= NEAR * max(abs(a), abs(b))
