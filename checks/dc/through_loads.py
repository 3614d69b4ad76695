"""What reaches an element through other loads: dead for certain, not dead, or not decided.

Only a net that is joined to neither pole can carry a halfway voltage. Where an element is not joined but has a way both
ways through consumers, first a bound: not more reaches it than the consumers between the rails and its island would
carry at the highest system voltage. Then numbers: combinations that leave the island alike are one class, each solved
once. Never silence: beyond ``solved_classes`` the answer is that it was not decided, and ``undecided-path`` says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from ..tables.laws import laws as figures
from .elements import UnsolvableError
from .settling import Memory, situation_of
from .standing import Standing, limits, stands

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit import Branch
    from ...lang.graphs import Net
    from ..conduction import Conduction
    from ..conduction.scope import Scope
    from ..conduction.tables import Table
    from .operating import Operation


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was found of an element over a set of combinations.

    ``how``: ``dead`` in all of them; ``reached`` at the combination ``index`` of the scope, where it ``stands`` at or
    above its dead share with ``volts`` V across it and ``amps`` A through it; ``undecided`` after so many ``classes``,
    and ``why``.
    """

    how: Literal["dead", "reached", "undecided"]
    index: int = -1
    volts: float = 0.0
    amps: float = 0.0
    stands: Standing | None = None
    classes: int = 0
    why: str = ""


DEAD = Verdict("dead")
OPEN = "open"
"""The position of an unreliable joint in a scope that does not conduct."""


def through_loads(operation: Operation, conduction: Conduction, scope: Scope, key: str, where: Table) -> Verdict:
    """Whether an element, not joined in any combination of ``where``, stays dead there.

    ``scope`` must hold ``ThroughLoads(key)``; ``where`` are combinations that count. The combination shown is the first
    class found, in the order nearest to rest, that is not dead.
    """
    from ..conduction import Joined, ThroughLoads  # deferred: the logic is only needed where it is asked

    circuit = operation.circuit
    branch = circuit.by_key[key]
    known = limits(branch)
    if known is None:
        return DEAD
    reached = where & ThroughLoads(key).table(scope)
    reached &= reached ^ Joined(key).table(scope)
    if not reached:
        return DEAD
    rating = operation.network.rated[key]
    if rating.ohms is None and rating.curve is None:
        return Verdict("undecided", why=f"{key} has no rating")
    if _bound(operation, branch) < _dead_amps(operation, branch):
        return DEAD
    unrated = _unrated_beside(operation, branch)
    highest = max(operation.network.regulated[""], 1.0)
    solved = 0
    failed = ""
    for index, members in _classes(conduction, scope, reached):
        solved += 1
        if solved > figures().solved_classes:
            return Verdict(
                "undecided", classes=solved, why=f"more than {figures().solved_classes} classes of combinations"
            )
        try:
            volts, amps, feed = _solved(operation, scope, branch, index)
        except UnsolvableError as error:
            failed = str(error)
            continue
        scale = highest / feed if 0.0 < feed < highest and not _all_off(scope, members) else 1.0
        stand = stands(operation.network, branch, volts * scale, amps * scale)
        if stand is not None and stand.word != "dead":
            return Verdict("reached", index, volts, amps, stand, solved)
    if unrated and not failed:
        failed = f"{', '.join(unrated)}: no rating, so what comes through it is not known"
    return Verdict("undecided", classes=solved, why=failed) if failed else DEAD


def _all_off(scope: Scope, members: Table) -> bool:
    """Whether the engine is off in all combinations of a class, so that the battery's volts are the highest."""
    return "engine" in scope and not members & (members ^ scope.at("engine", "off"))


def _solved(operation: Operation, scope: Scope, branch: Branch, index: int) -> tuple[float, float, float]:
    """Volts across an element, amps through it and the highest source's volts, conditions as the logic has them."""
    network = operation.network
    circuit = operation.circuit
    positions = {name: control.rest for name, control in circuit.controls.items()}
    at = scope.positions(index)
    positions.update({name: position for name, position in at.items() if name in circuit.controls})
    memory = Memory(
        pulled=frozenset(_holding(scope, index, " pulled")),
        on=frozenset(_holding(scope, index, " on")),
        latched=frozenset(_holding(scope, index, " set")),
        excited=frozenset(_holding(scope, index, " excited")),
    )
    setpoints = {name: volts for name, volts in network.regulated.items() if name}
    opened = frozenset(name for name, position in at.items() if position == OPEN)
    flow = network.solve(situation_of(network, positions, memory, setpoints, opened))
    volts = flow.at(branch.a) - flow.at(branch.b)
    running = {m.supply for m in flow.situation.machines}
    feed = max(
        (flow.at(s.plus[0]) - flow.at(s.minus) for s in circuit.supplies if s.kind == "battery" or s.name in running),
        default=0.0,
    )
    return volts, flow.amps[branch.key], feed


def _holding(scope: Scope, index: int, ending: str) -> Iterator[str]:
    for name, table in scope.decided.items():
        if name.endswith(ending) and (table >> index) & 1:
            yield name.removesuffix(ending)


def _classes(conduction: Conduction, scope: Scope, where: Table) -> Iterator[tuple[int, Table]]:
    """Combinations in sets that leave every guarded edge of the scope alike, each with the one nearest to rest."""
    groups = [where]
    most = figures().solved_classes
    for number, edge in enumerate(conduction.network.edges):
        if edge.branch.guard is None and edge.branch.reliable:
            continue
        closed = scope.guard_of(number)
        split: list[Table] = []
        for group in groups:
            inside = group & closed
            outside = group ^ inside
            split.extend(part for part in (inside, outside) if part)
        groups = split
        if len(groups) > most:
            break
    engine = [scope.at("engine", p) for p in ("running", "idling", "cranking", "off")] if "engine" in scope else []
    parts = [g & e for g in groups for e in engine if g & e] if engine else groups
    found = [(scope.nearest(part, scope.visible), part) for part in parts]
    yield from sorted(found, key=lambda pair: (bin(pair[0]).count("1"), pair[0]))


# --- the bound -------------------------------------------------------------------------------------------------------
def _dead_amps(operation: Operation, branch: Branch) -> float:
    """The current below which an element is dead."""
    known = limits(branch)
    rating = operation.network.rated[branch.key]
    nominal = operation.circuit.harness.volts
    if known is None:
        return math.inf
    if known.of == "rated amps":
        return known.dead * (rating.amps or 0.0)
    return _amps_at(operation, branch, known.dead * nominal)


def _amps_at(operation: Operation, branch: Branch, volts: float) -> float:
    rating = operation.network.rated[branch.key]
    if rating.ohms is not None:
        return volts / rating.ohms
    return abs(rating.curve.amps(volts)) if rating.curve is not None else math.inf


def _island(operation: Operation, node: str) -> set[Net]:
    """Every net that can be joined to a terminal when all that may close is closed."""
    nets = operation.nets
    near = operation.neighbours
    island = {nets.of[node]}
    stack = list(island)
    while stack:
        for other in near.get(stack.pop(), ()):
            if other not in island:
                island.add(other)
                stack.append(other)
    return island


def _unrated_beside(operation: Operation, branch: Branch) -> list[str]:
    """Consumers beside an element's islands whose currents are not known."""
    island = _island(operation, branch.a) | _island(operation, branch.b)
    return [
        edge.branch.key
        for edge in operation.nets.consumers
        if edge.branch.key != branch.key
        and (edge.a in island or edge.b in island)
        and math.isinf(_amps_at(operation, edge.branch, 1.0))
    ]


def _bound(operation: Operation, branch: Branch) -> float:
    """The most amps that can come to, or leave, an element's island through consumers, whichever is less.

    The island of a terminal is what can be joined to it when all that may close is closed; what feeds it are the
    consumers between it and everything else, each at the highest system voltage. Where a pole can be joined to the
    island there is no bound, and the numbers must tell.
    """
    network = operation.network
    circuit = operation.circuit
    nets = operation.nets
    highest = max(network.regulated[""], circuit.harness.volts * 1.05)
    poles = {nets.of[p] for s in circuit.supplies for p in (*s.plus, s.minus)}
    sides = []
    for end in (branch.a, branch.b):
        island = _island(operation, end)
        if island & poles:
            continue
        total = 0.0
        for edge in nets.consumers:
            if edge.branch.key != branch.key and (edge.a in island) != (edge.b in island):
                total += _amps_at(operation, edge.branch, highest)
        sides.append(total)
    return min(sides, default=math.inf)
