"""Stage 3 (d): the engine runs. Charging, lamps that go out, and each stop control by itself.

In neutral, all of it: nobody sits on the motorcycle.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ....lang.diagnostics.messages import plainly_listed
from ...dc.memory import AT_REST
from ...tables.proving import proving
from .moves import move_rows, no_effect, standing
from .watching import Band

if TYPE_CHECKING:
    from .moments import FirstPower
    from .motorcycle import Motorcycle, Positions
    from .watching import Watched

SHEET: Final = "engine running"
SPEEDS: Final = (("idling", "idling"), ("running", "fast, as on the road"))


def engine_rows(power: FirstPower) -> None:
    """The rows, put to those of ``power``; none where nothing turns."""
    motorcycle = power.motorcycle
    ignitions = any(getattr(part, "is_ignition", False) for part in motorcycle.harness.parts.values())
    if not ignitions and all(supply.kind == "battery" for supply in motorcycle.circuit.supplies):
        return
    pressure = {
        name: control.positions[-1]
        for name, control in motorcycle.circuit.controls.items()
        if control.sensed == "oil-pressure"
    }
    base = motorcycle.in_neutral({**motorcycle.base, **pressure})
    _cranking(power)
    idle: Watched | None = None
    for engine, words in SPEEDS:
        watched = power.solved(motorcycle.operation, {**base, "engine": engine})
        if watched is None:
            power.untold.append(f"engine {words}, in neutral: no operating point")
            continue
        if idle is None:
            idle = watched
            power.look(watched, SHEET, f"engine {words}, in neutral", standing(watched))
            _fires(power, watched, f"engine {words}, in neutral")
        _battery(power, watched, f"engine {words}, in neutral")
    if idle is None:
        return
    _moves(power, {**base, "engine": "running"})
    _stops(power, {**base, "engine": "idling"}, idle)


def _fires(power: FirstPower, watched: Watched, do: str) -> None:
    """That each coil fires, where there are several: an engine runs on one of them, and no lamp tells.

    A drop of water that hisses on the pipe of each cylinder: common practice, no source.
    """
    if len(watched.sparks) > 1:
        names = sorted(watched.sparks)
        do = f"{do}; a drop of water on the exhaust pipe of each cylinder, near the head"
        words = f"it hisses on each: {plainly_listed(names)} fire"
        power.look(watched, SHEET, do, words, tuple(names), watched.sparks)


def _moves(power: FirstPower, base: Positions) -> None:
    """Each control there and back without a battery; with one those that told nothing until a winding turns."""
    motorcycle = power.motorcycle
    if not motorcycle.batteries:
        move_rows(power, motorcycle.operation, base)
        return
    silent = {
        (control.name, position): nothing
        for control in motorcycle.hands
        for position in control.positions
        if (nothing := no_effect(motorcycle, control, position)) in power.untold
        and not motorcycle.stops(control, position)
    }
    if silent:
        power.untold[:] = [said for said in power.untold if said not in silent.values()]
        move_rows(power, motorcycle.operation, base, only=silent)


def _cranking(power: FirstPower) -> None:
    """The starter's cable is on again: the motor turns in the first named state that cranks, put in neutral."""
    motorcycle = power.motorcycle
    if not motorcycle.starter_cables:
        return
    for name, state in motorcycle.harness.states.items():
        if dict(state.settings).get("engine") != "cranking":
            continue
        watched = power.solved(motorcycle.operation, motorcycle.in_neutral(motorcycle.operation.positions(name)))
        if watched is not None and _turning(watched, motorcycle):
            moved = motorcycle.said(watched.point.positions, motorcycle.in_neutral(motorcycle.base))
            power.look(
                watched,
                SHEET,
                "battery off, gearbox in neutral, starter cable on, battery on; "
                f"{moved or 'no control moved'}: the engine cranks and starts",
                f"{', '.join(sorted(motorcycle.starters))} turns",
                tuple(branch.owner for branch in motorcycle.starter_cables),
                _turning(watched, motorcycle),
            )
            return
    power.untold.append(f"{', '.join(sorted(motorcycle.starters))}: no named state cranks in neutral")


def _turning(watched: Watched, motorcycle: Motorcycle) -> frozenset[str]:
    """The starters that turn, by the names of ``lit``."""
    elements = (str(b.key) for b in motorcycle.circuit.branches if b.part in motorcycle.starters)
    return frozenset(n for n in (*motorcycle.starters, *elements) if watched.lit.get(n, "dead") != "dead")


def _battery(power: FirstPower, watched: Watched, do: str) -> None:
    off = proving("charge_volts") * power.motorcycle.harness.volts / 12.0
    for name in power.motorcycle.batteries:
        supply = next(s for s in power.motorcycle.circuit.supplies if s.name == name)
        volts = watched.point.across(name)
        band = Band(supply.plus[0], supply.minus, round(volts - off, 1), round(volts + off, 1))
        power.volts(watched, SHEET, do, band, (name,))


def _stops(power: FirstPower, base: Positions, idle: Watched) -> None:
    """Each position that stops the engine, alone, from idling."""
    motorcycle = power.motorcycle
    for control in motorcycle.hands:
        for position in control.positions:
            if position == base[control.name] or not motorcycle.stops(control, position):
                continue
            said = motorcycle.position(control, position)
            moved = {**base, control.name: position}
            there = power.solved(motorcycle.operation, moved, idle.point.memory) or power.solved(
                motorcycle.operation, moved, AT_REST
            )
            if there is None:
                power.untold.append(f"{said}: no operating point with the engine idling")
                continue
            if there.running:
                power.untold.append(f"{said}: the engine would run on, by {plainly_listed(sorted(there.running))}")
                continue
            power.look(
                there,
                SHEET,
                f"engine idling, in neutral, {said}; then start it again",
                "the engine stops",
                control.switches,
                frozenset(),
            )
            nothing = no_effect(motorcycle, control, position)
            if nothing in power.untold:  # at rest nothing told it; here something does
                power.untold.remove(nothing)
