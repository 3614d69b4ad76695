"""Lamps by what they are for, and stop and tail lamps that do the wrong one's work. Three rules tell of that."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from ...lang.model.parts import Element
from ...lang.records import dataclass
from . import Joined
from .properties import shown_for_sure

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from contextlib import AbstractContextManager

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ..logic import Combination, SwitchingLogic
    from ..logic.state_space import StateSpace
    from ..logic.truth_tables import Table

BRAKES = ("front-brake", "rear-brake")

Duty = Literal["on without a brake", "on with a brake only", "one net"]


@dataclass(frozen=True, slots=True)
class Misfed:
    """A stop or tail lamp that does not what its role asks.

    ``duty``: a stop lamp that is ``on without a brake``, a tail lamp that is ``on with a brake only``, or a stop lamp
    that has ``one net`` with a tail lamp on both sides. ``other``: the tail lamp whose feed is the stop lamp's too, or
    the lamp of the same part that does this one's work (``exchanged``). ``shown`` is ``None`` for ``one net`` alone.
    """

    lamp: Branch
    duty: Duty
    shown: Combination | None
    other: Branch | None = None
    exchanged: bool = False


def of_role(circuit: Circuit, *roles: str) -> tuple[Branch, ...]:
    """The lamps of any of these roles, tell-tales left out, in the order of the text."""
    return tuple(
        b
        for b in circuit.branches
        if isinstance(b.item, Element) and set(roles) & set(b.item.roles) and "tell-tale" not in b.item.roles
    )


def watts_of(lamp: Branch, volts: float) -> float | None:
    """What a lamp takes at the voltage that it is made for, else that of the system, in W, by whichever rating the text
    gives; ``None`` where it gives none.
    """
    item, volts = lamp.item, lamp.made_for(volts)
    if not isinstance(item, Element):
        return None
    if item.watts is not None:
        return item.watts
    if item.amps is not None:
        return item.amps * volts
    return volts * volts / item.ohms if item.ohms else None


def misfed(logic: SwitchingLogic, judging: Callable[[str], AbstractContextManager[None]]) -> tuple[Misfed, ...]:
    """Every stop and tail lamp that does not its own work, stop lamps first, in the order of the text.

    ``judging`` goes on to the next lamp where one, of a part, cannot be judged.
    """
    circuit = logic.circuit
    stops = [b for b in of_role(circuit, "stop-lamp") if isinstance(b.item, Element) and not _turns(b.item)]
    if not stops:
        return ()
    tails = [b for b in of_role(circuit, "tail-lamp") if b not in stops]
    unbidden: dict[Branch, Combination] = {}
    braked: dict[Branch, Combination] = {}
    for lamp in stops:
        with judging(lamp.part):
            if (shown := _without_a_brake(logic, lamp)) is not None:
                unbidden[lamp] = shown
    for lamp in tails:
        with judging(lamp.part):
            if (shown := _by_brake_only(logic, lamp, stops)) is not None:
                braked[lamp] = shown
    pairs = {lamp: next((tail for tail in braked if tail.part == lamp.part), None) for lamp in unbidden}
    found = []
    for lamp in stops:
        swapped = pairs.get(lamp)
        # A tail lamp that is exchanged with its own stop lamp is on the lead of every other one: that is told once.
        others = (tail for tail in tails if tail not in pairs.values())
        beside = next((tail for tail in others if _net(logic, tail.a) == _net(logic, lamp.a)), None)
        if _bridged(logic, lamp):
            beside = None  # a wire leads past the switches: that the tail lamp is there too changes nothing
        if swapped is not None:
            found.append(Misfed(lamp, "on without a brake", unbidden[lamp], swapped, exchanged=True))
        elif lamp in unbidden:
            found.append(Misfed(lamp, "on without a brake", unbidden[lamp], beside))
        elif beside is not None and logic.wired(lamp) and _net(logic, beside.b) == _net(logic, lamp.b):
            found.append(Misfed(lamp, "one net", None, beside))
    told = {one.other for one in found if one.exchanged}
    found += [Misfed(tail, "on with a brake only", shown) for tail, shown in braked.items() if tail not in told]
    return tuple(found)


def _turns(item: Element) -> bool:
    """Whether one filament is stop lamp and turn lamp at once, as the law of some countries has it."""
    return any(role.startswith("turn-") for role in item.roles)


def _net(logic: SwitchingLogic, node: str) -> object:
    return logic.network.net(node)


def _brakes(logic: SwitchingLogic) -> list[str]:
    return [name for name in BRAKES if name in logic.circuit.controls]


def _bridged(logic: SwitchingLogic, lamp: Branch) -> bool:
    """Whether copper joins both sides of a brake's contact, and the stop lamp with them."""
    controls = logic.circuit.controls
    switches = {name for brake in _brakes(logic) for name in controls[brake].switches}
    fed = _net(logic, lamp.a)
    return any(b.part in switches and _net(logic, b.a) == fed == _net(logic, b.b) for b in logic.circuit.branches)


def _nothing_held(logic: SwitchingLogic, scope: StateSpace) -> Table:
    """Where no brake and nothing that springs back is pressed."""
    controls = logic.circuit.controls
    return scope.rest([n for n in scope.by_name if n in BRAKES or (n in controls and controls[n].momentary)])


def _always(scope: StateSpace, lit: Table, among: Table, names: list[str]) -> Table:
    """Of ``lit``, where these variables could stand as they like and it would be lit all the same."""
    return scope.without(lit, scope.some(scope.without(among, lit), names))


def _without_a_brake(logic: SwitchingLogic, lamp: Branch) -> Combination | None:
    """A plausible combination in which a stop lamp is on though no brake is pressed, ``None`` where there is none.

    What dims it through a resistor is no stop light. Where no switch is said to sense a brake, any switch may be
    the brake's: then it must be on however they all stand, the key aside.
    """
    live = Joined(lamp.key)
    scope = logic.scope(live)
    at_rest = _nothing_held(logic, scope)
    among = scope.counted & scope.plausible & at_rest
    lit = _always(scope, live.table(scope) & among, among, [*scope.free])
    if not _brakes(logic):
        controls = logic.circuit.controls
        others = [n for n in scope.by_name if n in controls and n != "engine" and not controls[n].key]
        every = scope.counted & scope.plausible
        lit = _always(scope, lit, scope.without(every, live.table(scope)) | lit, [*others, *scope.bits])
    # That the brakes are at rest is said: of the controls only those that light it are told.
    return shown_for_sure(logic, scope, lit, anywhere=lit | scope.inverse(at_rest))


def _by_brake_only(logic: SwitchingLogic, tail: Branch, stops: list[Branch]) -> Combination | None:
    """A plausible combination in which a brake lights a tail lamp and no stop lamp; or a tail lamp that nothing but a
    brake ever lights.
    """
    live = Joined(tail.key)
    brakes = [name for name in _brakes(logic) if name in logic.support(live)]
    if not brakes:
        return None
    questions = [Joined(lamp.key) for lamp in stops]
    scope = logic.scope(live, *questions)
    here = [name for name in brakes if name in scope.by_name]
    lit = live.table(scope) & scope.counted
    unbraked = lit & scope.rest(here)
    wrong = scope.without(lit & scope.plausible, scope.some(unbraked, (*here, *scope.bits)))
    if unbraked:
        for question in questions:
            wrong = scope.without(wrong, question.table(scope))
    return shown_for_sure(logic, scope, wrong)


def bulbs_of_two_beams(circuit: Circuit) -> Iterator[tuple[Branch, Branch]]:
    """Dipped and main filament of each bulb that has both: the only two of their part, with one terminal in common."""
    dips, mains = of_role(circuit, "dip-beam"), of_role(circuit, "main-beam")
    for dip in dips:
        beside = [b for b in dips if b.part == dip.part]
        across = [b for b in mains if b.part == dip.part and b not in beside]
        if len(beside) == 1 and len(across) == 1:
            main = across[0]
            both = isinstance(dip.item, Element) and isinstance(main.item, Element)
            filaments = both and all(b.branch_type.name == "LAMP" for b in (dip, main))
            if filaments and {dip.a, dip.b} & {main.a, main.b}:
                yield dip, main
