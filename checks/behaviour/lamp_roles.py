"""Lamps by what they are for, and stop and tail lamps that do the wrong one's work. Three rules tell of that."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from ...lang.model.parts import Element
from ...lang.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from contextlib import AbstractContextManager

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ..logic import Combination
    from .behaviour import Behaviour
    from .cases import Cases, Space

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


def misfed(behaviour: Behaviour, judging: Callable[[str], AbstractContextManager[None]]) -> tuple[Misfed, ...]:
    """Every stop and tail lamp that does not its own work, stop lamps first, in the order of the text.

    ``judging`` goes on to the next lamp where one, of a part, cannot be judged.
    """
    circuit = behaviour.circuit
    stops = [b for b in of_role(circuit, "stop-lamp") if isinstance(b.item, Element) and not _turns(b.item)]
    if not stops:
        return ()
    tails = [b for b in of_role(circuit, "tail-lamp") if b not in stops]
    unbidden: dict[Branch, Combination] = {}
    braked: dict[Branch, Combination] = {}
    for lamp in stops:
        with judging(lamp.part):
            if (shown := _without_a_brake(behaviour, lamp)) is not None:
                unbidden[lamp] = shown
    for lamp in tails:
        with judging(lamp.part):
            if (shown := _by_brake_only(behaviour, lamp, stops)) is not None:
                braked[lamp] = shown
    pairs = {lamp: next((tail for tail in braked if tail.part == lamp.part), None) for lamp in unbidden}
    found = []
    for lamp in stops:
        swapped = pairs.get(lamp)
        # A tail lamp that is exchanged with its own stop lamp is on the lead of every other one: that is reported once.
        others = (tail for tail in tails if tail not in pairs.values())
        beside = next((tail for tail in others if _net(behaviour, tail.a) == _net(behaviour, lamp.a)), None)
        if _bridged(behaviour, lamp):
            beside = None  # a wire leads past the switches: that the tail lamp is there too changes nothing
        if swapped is not None:
            found.append(Misfed(lamp, "on without a brake", unbidden[lamp], swapped, exchanged=True))
        elif lamp in unbidden:
            found.append(Misfed(lamp, "on without a brake", unbidden[lamp], beside))
        elif beside is not None and behaviour.wired(lamp) and _net(behaviour, beside.b) == _net(behaviour, lamp.b):
            found.append(Misfed(lamp, "one net", None, beside))
    told = {one.other for one in found if one.exchanged}
    found += [Misfed(tail, "on with a brake only", shown) for tail, shown in braked.items() if tail not in told]
    return tuple(found)


def _turns(item: Element) -> bool:
    """Whether one filament is stop lamp and turn lamp at once, as the law of some countries has it."""
    return any(role.startswith("turn-") for role in item.roles)


def _net(behaviour: Behaviour, node: str) -> object:
    return behaviour.network.net(node)


def _brakes(behaviour: Behaviour) -> list[str]:
    return [name for name in BRAKES if name in behaviour.circuit.controls]


def _bridged(behaviour: Behaviour, lamp: Branch) -> bool:
    """Whether copper joins both sides of a brake's contact, and the stop lamp with them."""
    controls = behaviour.circuit.controls
    switches = {name for brake in _brakes(behaviour) for name in controls[brake].switches}
    fed = _net(behaviour, lamp.a)
    return any(
        b.part in switches and _net(behaviour, b.a) == fed == _net(behaviour, b.b) for b in behaviour.circuit.branches
    )


def _nothing_held(behaviour: Behaviour, space: Space) -> Cases:
    """Where no brake and nothing that springs back is pressed."""
    controls = behaviour.circuit.controls
    return space.at_rest([n for n in space.names if n in BRAKES or (n in controls and controls[n].momentary)])


def _always(lit: Cases, among: Cases, names: Iterable[str]) -> Cases:
    """Of ``lit``, where these variables could be as they like and it would be lit all the same."""
    return lit - (among - lit).whatever(names)


def _without_a_brake(behaviour: Behaviour, lamp: Branch) -> Combination | None:
    """A plausible combination in which a stop lamp is on though no brake is pressed, ``None`` without one.

    What dims it through a resistor is no stop light. Where no switch is declared to sense a brake, any switch may be
    the brake's: then it must be on however they all stand, the key aside.
    """
    on = behaviour.connected(lamp.key)
    space = behaviour.space(on)
    at_rest = _nothing_held(behaviour, space)
    every = space.possible & space.plausible
    among = every & at_rest
    lit = _always(space.where(on) & among, among, space.unset)
    if not _brakes(behaviour):
        controls = behaviour.circuit.controls
        others = [n for n in space.names if n in controls and n != "engine" and not controls[n].key]
        lit = _always(lit, (every - space.where(on)) | lit, [*others, *space.remembered])
    # That the brakes are at rest is stated: of the controls only those that light it are reported.
    return lit.shown(alike=lit | ~at_rest)


def _by_brake_only(behaviour: Behaviour, tail: Branch, stops: list[Branch]) -> Combination | None:
    """A plausible combination in which a brake lights a tail lamp and no stop lamp; or a tail lamp that nothing but a
    brake ever lights.
    """
    on = behaviour.connected(tail.key)
    brakes = [name for name in _brakes(behaviour) if name in behaviour.depends_on(on)]
    if not brakes:
        return None
    others = [behaviour.connected(lamp.key) for lamp in stops]
    space = behaviour.space(on, *others)
    here = [name for name in brakes if name in space]
    lit = space.where(on) & space.possible
    unbraked = lit & space.at_rest(here)
    wrong = (lit & space.plausible) - unbraked.whatever((*here, *space.remembered))
    if unbraked:
        for other in others:
            wrong -= space.where(other)
    return wrong.shown()


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
