"""Whether an element that is joined to no source is dead all the same, or lives on what comes through other loads.

First a bound, then the island solved by itself (``islands``), a class of combinations that leave it alike at a time;
what neither decides is said, never passed over.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...lang.circuit import Law, Way
from ...lang.model import Element
from ..dc.elements import rated
from ..tables.laws import laws, shares
from .islands import Island, Islands
from .network import DIRECT
from .questions import ThroughLoads

if TYPE_CHECKING:
    from ...lang.circuit import Branch, Circuit
    from .analysis import Combination, Conduction
    from .scope import Scope
    from .tables import Table

Decider = Callable[["Conduction", "Combination", "Branch"], "bool | None"]
"""Whether an element gets more than its dead share in a combination, by numbers; ``None``: could not be told."""

GRAPH_LAWS = {
    Law.COIL: "coil",
    Law.SUPPLY: "unit supply",
    Law.LAMP: "lamp",
    Law.LED: "led",
    Law.IGNITION: "ignition",
    Law.MOTOR: "motor",
    Law.SOLENOID: "solenoid",
    Law.PUMP: "pump",
    Law.HORN: "horn",
    Law.HEATER: "heater",
    Law.ELECTRONICS: "electronics",
}
"""The row of the table of shares that holds for a law."""


TRIED = 64
"""Of cases that are too many to be solved, so many are solved all the same (ours): the nearest to rest may refute."""

SERIES_LAWS = (Law.FIELD, Law.RESISTOR, Law.SENSOR)
"""What is made to stand in series with others: no load by itself."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """What was found of the combinations asked about, each the first of its class or ``None``.

    ``alive``: the element gets more than its dead share. ``open``: neither proved nor refuted, and ``why``.
    """

    alive: Combination | None = None
    open: Combination | None = None
    why: str = ""


def judge(
    conduction: Conduction, scope: Scope, branch: Branch, asked: Table, decider: Decider | None = None
) -> Judgement:
    """Whether what comes through other loads keeps an element alive in any of some combinations.

    ``asked`` is a table of a scope that ``ThroughLoads(branch.key)`` fits in; combinations in which the element is
    joined must not be in it. With a ``decider`` those count alone that it finds alive as well.
    """
    left = asked & ThroughLoads(branch.key, DIRECT).table(scope) & scope.counted
    limit = dead_amps(branch, conduction.circuit)
    islands = Islands(conduction.network, scope, branch)
    cases: list[tuple[int, Island, Table]] = []
    while left and len(cases) <= laws().solved_classes:
        index = scope.nearest((left & scope.plausible) or left, scope.visible)
        island = islands.at(index)
        same = left & island.same
        left ^= same
        most = islands.most_amps(island)
        if most is None or limit is None or most >= limit:
            cases.append((index, island, same))
    too_many = len(cases) > laws().solved_classes
    open_ = Judgement()
    for index, island, same in cases[:TRIED] if too_many else cases:
        bound = islands.bound(island)
        alive = not bound.why and is_alive(branch, conduction.circuit, bound.volts, bound.amps)
        if not alive and not bound.why and bound.proved:
            continue  # dead: the bound proves it
        shown = conduction.show(scope, 1 << index, anywhere=same)
        told = alive if decider is None or shown is None or not alive else decider(conduction, shown, branch)
        if told:
            return Judgement(alive=shown)
        if open_.open is None and (told is None or not alive):
            floating = "neither of its ends is joined to a source, and at other volts it may get more"
            why = bound.why or (floating if not alive else "its numbers could not be worked out")
            open_ = Judgement(open=shown, why=why)
    if too_many and open_.open is None:
        first = conduction.show(scope, 1 << cases[0][0], anywhere=cases[0][2])
        return Judgement(open=first, why=f"more than {laws().solved_classes} different cases")
    return open_


def dead_amps(branch: Branch, circuit: Circuit) -> float | None:
    """The current in A below which an element is dead; ``None`` where a rating is missing."""
    kind = GRAPH_LAWS.get(branch.law)
    law = rated(branch, circuit)
    if kind is None or law.missing:
        return None
    share = shares()[kind]
    if share.of == "rated amps":
        return None if law.amps is None else share.dead * law.amps
    volts = share.dead * circuit.harness.volts
    if law.ohms:
        return volts / law.ohms
    return law.curve.amps(volts) if law.curve else None


def has_share(branch: Branch) -> bool:
    """Whether an element is of a kind that is dead below some share of its volts or amps."""
    return branch.law in GRAPH_LAWS


def is_alive(branch: Branch, circuit: Circuit, volts: float, amps: float) -> bool:
    """Whether an element that has ``volts`` across it and takes ``amps`` is above its dead share."""
    kind = GRAPH_LAWS.get(branch.law)
    if kind is None:
        return False
    share = shares()[kind]
    if branch.law.wide is Way.BOTH:
        volts, amps = abs(volts), abs(amps)
    if share.of == "rated amps":
        most = rated(branch, circuit).amps
        return most is not None and amps >= share.dead * most
    return volts >= share.dead * circuit.harness.volts


def works(branch: Branch, circuit: Circuit, volts: float, amps: float) -> bool:
    """Whether an element that has ``volts`` across it and takes ``amps`` has its working share."""
    needed = needed_volts(branch, circuit)
    if needed is not None:
        return abs(volts) >= needed
    kind = GRAPH_LAWS.get(branch.law)
    most = rated(branch, circuit).amps
    return kind is not None and most is not None and abs(amps) >= shares()[kind].works * most


def needed_volts(branch: Branch, circuit: Circuit) -> float | None:
    """The volts that an element needs to work: its own ``needs``, else its kind's share of nominal volts."""
    if isinstance(branch.item, Element) and branch.item.needs is not None:
        return branch.item.needs
    kind = GRAPH_LAWS.get(branch.law)
    share = shares()[kind] if kind else None
    return None if share is None or share.of == "rated amps" else share.works * circuit.harness.volts
