"""Stage 3 (a) and (b): the battery, nothing without a fuse, then each fuse in order of supply with a lamp across its
clips.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ....lang.circuit.build import build_circuit
from ....lang.circuit.ids import End
from ....lang.model.parts import Element, Fuse, Load, Source
from ....lang.quantities.quantity import Quantity, shown
from ...dc.devices import battery_at_rest
from ...operation.operation import Operation
from ...tables.batteries import rest_volts
from ...tables.proving import lamp_watts, proving
from .lamp import LAMP
from .watching import Band

if TYPE_CHECKING:
    from .moments import FirstPower
    from .motorcycle import Motorcycle, Positions
    from .watching import Watched

LOADED: Final = 0.05
"""A from which a fuse counts as loaded: less does not show across the test lamp (ours)."""
GLOWS: Final = 0.1
"""Of its rated current from which a filament may be seen to glow (ours)."""
DARK: Final = 0.02
"""V across the test lamp below which nothing loads it (ours)."""
CLEARLY: Final = 1.5
"""Times the load of a simpler setting that another one is worth moving more for (ours)."""
CHARGED: Final = 0.75
"""Share to which a battery is charged at least before its motorcycle is judged by its volts (ours)."""


def fuse_rows(power: FirstPower) -> None:
    """The rows, put to those of ``power``."""
    motorcycle = power.motorcycle
    bare = motorcycle.cableless.without([fuse.name for fuse in motorcycle.fuses])
    watched = power.solved(bare, motorcycle.rest)
    if watched is None:
        power.untold.append("no fuse in: no operating point, or a dead short without a fuse")
        return
    _batteries(power, watched)
    amps = max(watched.point.mean_amps(name) for name in motorcycle.batteries)
    pole, sheet = motorcycle.grounded_pole, "no fuse in"
    dark = amps < GLOWS * lamp_watts(motorcycle.harness.volts) / motorcycle.harness.volts
    # An untried loom has wires without a fuse: what is shorted in them a lamp bears, and a meter does not.
    power.tick(
        sheet,
        f"all fuses out, {motorcycle.setting(motorcycle.rest)}, all leads of {motorcycle.live_pole} on; test lamp "
        f"between {pole} and the bunch of its leads",
        "the lamp stays out" if dark else "the lamp is not at full brightness",
        motorcycle.batteries,
        watched,
    )
    most = max(proving("no_fuse_amps"), round(1.5 * amps, 3))
    meter = "in place of the lamp a meter that has its own fuse, in its highest range first"
    power.amps(watched, sheet, f"{meter}; then all leads of {pole} on", most)
    for fuse in motorcycle.fuses:
        _fuse(power, fuse)


def _batteries(power: FirstPower, watched: Watched) -> None:
    """A row for each battery by itself: what a flat one does looks like a bad joint in all rows with volts."""
    harness = power.motorcycle.harness
    for supply in power.motorcycle.circuit.supplies:
        part = harness.parts.get(supply.name)  # not of a winding, which is named after its magneto
        if supply.kind == "battery" and isinstance(part, Source):
            kind = "lithium" if part.lithium else "flooded"
            spent = rest_volts(1.0, kind, harness.volts) - rest_volts(CHARGED, kind, harness.volts)
            least = math.floor((battery_at_rest(part, harness.volts) - spent) * 10.0 + 1e-9) / 10.0
            do = f"{supply.name} at rest for an hour, no lead on it; if it reads less, charge it first"
            power.battery(watched, "the battery", do, supply, least)


def _fuse(power: FirstPower, fuse: Fuse) -> None:
    """A lamp across its clips, all off, then with the control that loads it; then the fuse."""
    motorcycle = power.motorcycle
    sheet, about = f"fuse {fuse.name}", (fuse.name,)
    operation = _with_lamp(motorcycle, fuse)
    rest = motorcycle.setting(motorcycle.rest)
    loaded = _loading(power, fuse)
    for positions in (motorcycle.rest, *([loaded] if loaded is not None else [])):
        watched = power.solved(operation, positions)
        if watched is None:
            power.untold.append(f"{fuse.name}: no voltage is worked out for the lamp across it")
            continue
        at_rest = positions is motorcycle.rest
        band = _across(watched, fuse)
        if at_rest or band is not None:
            do = f"lamp across the clips of {fuse.name}, {rest}" if at_rest else _moved(power, positions)
            ends = End(fuse.name, "1"), End(fuse.name, "2")
            power.volts(watched, sheet, do, band or Band(*ends, 0.0, proving("lamp_volts")), about, looking=False)
    rated = shown(Quantity(fuse.amps, "A")) if fuse.amps is not None else "as marked"
    power.tick(sheet, f"{rest}, lamp off, fuse in", f"{fuse.name} is in, {rated}", about)


def _across(watched: Watched, fuse: Fuse) -> Band | None:
    """V across the lamp, the red lead where it is higher; ``None`` where nothing loads it."""
    one, other = End(fuse.name, "1"), End(fuse.name, "2")
    volts = watched.point.volts(one) - watched.point.volts(other)
    if abs(volts) < DARK:
        return None
    red, black = (one, other) if volts > 0 else (other, one)
    off = proving("lamp_share") * abs(volts) + proving("lamp_volts")
    return Band(red, black, max(0.0, round(abs(volts) - off, 1)), round(abs(volts) + off, 1))


def _moved(power: FirstPower, positions: Positions) -> str:
    motorcycle = power.motorcycle
    held = any(c.momentary and positions[c.name] != c.rest for c in motorcycle.hands)
    return f"{motorcycle.setting(positions)}{' (held)' if held else ''}"


def _with_lamp(motorcycle: Motorcycle, fuse: Fuse) -> Operation:
    """The motorcycle with a lamp in the place of a fuse, the later fuses out and the starter's cable off."""
    harness = motorcycle.harness
    lamp = Element(name=LAMP, plus="1", minus="2", span=fuse.span, what="lamp", watts=lamp_watts(harness.volts))
    part = Load(
        kind="load", name=fuse.name, span=fuse.span, terminals=fuse.terminals, places=fuse.places, elements=(lamp,)
    )
    changed = replace(harness, parts={**harness.parts, fuse.name: part}, states={}, expectations=())
    later = motorcycle.fuses[motorcycle.fuses.index(fuse) + 1 :]
    cables = frozenset(branch.key for branch in motorcycle.starter_cables)
    return Operation(build_circuit(changed).damaged(cables).without([other.name for other in later]))


def _loading(power: FirstPower, fuse: Fuse) -> Positions | None:
    """The controls as they load a fuse, the fewer moved and held the better; ``None`` where nothing does."""
    motorcycle = power.motorcycle
    base = motorcycle.base
    moved = [
        {**base, control.name: at}
        for control in motorcycle.hands
        for at in control.positions
        if at != base[control.name] and not control.key
    ]
    keys = [control.name for control in motorcycle.hands if control.key]
    named = [positions for positions in motorcycle.named if all(positions[key] == base[key] for key in keys)]
    best: tuple[float, Positions] | None = None
    for positions in (base, *moved, *named):
        watched = power.solved(motorcycle.cableless, positions)
        if watched is not None:
            amps = abs(watched.point.amps(fuse.name)) / (2.0 if watched.point.momentary else 1.0)
            if amps > (CLEARLY * best[0] if best else LOADED):
                best = amps, positions
    return None if best is None else best[1]
