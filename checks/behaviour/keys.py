"""The key, and whoever has none: which positions stop the engine, and what counts as out, as on, and as riding."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.model.parts import Switch
from ...lang.records import dataclass
from ...lang.vocabulary.words import KEY_OUT
from ..logic.predicates import AllOf, In

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ..logic.switching_network import SwitchingNetwork

BRAKES = ("front-brake", "rear-brake")


@dataclass(frozen=True, slots=True)
class StopControl:
    """A position that must stop the engine: ``stop`` of a switch, or a key removed."""

    switch: str
    control: str
    position: str

    def __str__(self) -> str:
        return f"{self.switch} {self.position}"


def stop_controls(network: SwitchingNetwork) -> tuple[StopControl, ...]:
    """Every position that must stop the engine, in the order of the text."""
    found = []
    for part in network.harness.parts.values():
        if not isinstance(part, Switch) or part.name in network.circuit.removed:
            continue
        for position in part.positions:
            is_stop = position.stops and part.senses not in BRAKES
            # Off, run, off: whoever turns a switch of the ignition off on either side expects it to stop.
            turned_off = part.key or (part.system == "ignition" and part.senses is None)
            if is_stop or (turned_off and position.name in KEY_OUT):
                found.append(StopControl(part.name, part.control, position.name))
    return tuple(found)


def keys(network: SwitchingNetwork) -> tuple[Switch, ...]:
    """Every key switch, in the order of the text."""
    removed = network.circuit.removed
    return tuple(
        part
        for part in network.harness.parts.values()
        if isinstance(part, Switch) and part.key and part.name not in removed
    )


def key_on(network: SwitchingNetwork) -> AllOf:
    """Every key in a position that is not out; always, without one."""
    return AllOf(
        tuple(In(key.control, tuple(p.name for p in key.positions if p.name not in KEY_OUT)) for key in keys(network))
    )


def key_out(network: SwitchingNetwork) -> AllOf:
    """Every key off; always, without one."""
    return AllOf(
        tuple(In(key.control, tuple(p.name for p in key.positions if p.name in KEY_OUT)) for key in keys(network))
    )


def untouched(network: SwitchingNetwork) -> dict[str, In]:
    """Every switch that a thumb moves at rest, by name."""
    controls = network.circuit.controls.values()
    return {c.name: In(c.name, (c.rest,)) for c in controls if c.name != "engine" and c.sensed is None}


def at_rest(network: SwitchingNetwork) -> dict[str, In]:
    """Momentary controls and what is sensed at rest, by name."""
    controls = network.circuit.controls.values()
    return {c.name: In(c.name, (c.rest,)) for c in controls if c.momentary or (c.sensed and not c.free)}


def engine(*positions: str) -> In:
    return In("engine", positions)


def not_stopped(network: SwitchingNetwork) -> AllOf:
    """No stop control thrown, the key aside."""
    thrown: dict[str, set[str]] = {}
    for stop in stop_controls(network):
        thrown.setdefault(stop.control, set()).add(stop.position)
    return AllOf(tuple(_others(network, thrown)))


def _others(network: SwitchingNetwork, thrown: dict[str, set[str]]) -> Iterable[In]:
    for name, positions in thrown.items():
        control = network.circuit.controls[name]
        yield In(name, tuple(p for p in control.positions if p not in positions))
