"""Every branch of a circuit as a resistance or a law, from its ratings; and what could not be said for want of one."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.model.parts import (
    Coil,
    Connector,
    Diode,
    Element,
    Field,
    Flasher,
    Fuse,
    Meter,
    Regulator,
    Relay,
    Resistor,
    Sensor,
    Source,
    Switch,
    Unit,
    UnitOutput,
    UnitSupply,
)
from ...lang.quantities.quantity import Quantity, shown
from ...lang.records import dataclass
from ...lang.vocabulary.words import SYSTEM_VOLTS
from ..tables.batteries import rest_volts, usual_resistance
from ..tables.conductors import resistance_per_metre
from ..tables.device_constants import contact_ohms, lamp_rated_volts, lamp_test_volts, shares, termination_ohms
from ..tables.device_constants import laws as figures
from ..tables.fuses import cold_resistance, continuous_amps
from ..tables.relays import usual_coil_ohms
from . import device_models as laws
from .device_models import Curve

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.harness import Harness

NEGLIGIBLE_OHMS = 1e-4
"""A conductor whose size or length is unknown, and a sound mounting (ours): as good as none."""

MACHINE_OHMS = 1e-4
"""Inside a machine below its limit (ours): its regulator holds the volts at its terminals."""

USUAL_AMP_HOURS = 12.0
"""A motorcycle's battery whose capacity is not written (ours)."""

TAP_SIEMENS = 1e3
"""From the inside of a machine to each of several + terminals, one way (ours); their diodes are within regulation."""


class UnsolvableError(ArithmeticError):
    """Numbers cannot be had: ``part`` is what prevents it, the message says why and what to do."""

    def __init__(self, part: str, message: str) -> None:
        super().__init__(message)
        self.part = part


@dataclass(frozen=True, slots=True)
class Missing:
    """A number that the text leaves out: of which part or wire, what, and what was taken instead (may be empty)."""

    owner: str
    what: str
    instead: Quantity | str = ""

    @property
    def taken(self) -> str:
        """What was taken instead, as text."""
        return self.instead if isinstance(self.instead, str) else shown(self.instead)


@dataclass(frozen=True, slots=True)
class Rated:
    """A branch for numbers: ``ohms`` where it is a plain resistance, else ``curve``; both ``None``: left open.

    ``amps``: its rated current at nominal volts where it has one. ``impossible``: why there can be no numbers with it.
    """

    ohms: float | None = None
    curve: Curve | None = None
    amps: float | None = None
    missing: tuple[Missing, ...] = ()
    impossible: str = ""


def default_regulated(system: float) -> float:
    """V at which an alternator is regulated where the file does not say: 14.2 V on 12 V, in proportion to
    ``system`` V.
    """
    return system * 14.2 / 12.0


def rated(branch: Branch, circuit: Circuit) -> Rated:
    """What a branch is in numbers, apart from what depends on the state (duty, sleep)."""
    harness = circuit.harness
    part = harness.parts.get(branch.part)
    match branch.branch_type:
        case BranchType.WIRE:
            return _wire(branch)
        case BranchType.MOUNT | BranchType.LINK:
            return Rated(ohms=NEGLIGIBLE_OHMS if branch.reliable else figures().mount_ohms)
        case BranchType.WAY:
            return _contact(part.amps if isinstance(part, Connector) else None, branch.part)
        case BranchType.CONTACT:
            return _contact(part.amps if isinstance(part, Switch | Relay) else None, branch.part)
        case BranchType.METER:
            return _contact(part.amps if isinstance(part, Meter) else None, branch.part)
        case BranchType.PASS:
            return _contact(part.amps if isinstance(part, Regulator) else None, branch.part)
        case BranchType.FLASHER:
            watts = part.watts if isinstance(part, Flasher) else None
            return _contact(watts[1] / harness.volts if watts else None, branch.part)
        case BranchType.FUSE:
            return _fuse(part)
        case BranchType.DIODE:
            amps = part.amps if isinstance(part, Diode) else None
            return Rated(curve=laws.diode(figures().diode_volts, figures().diode_ohms), amps=amps)
        case BranchType.LEG:
            return Rated(curve=laws.diode(figures().diode_volts, figures().diode_ohms))
        case BranchType.CUT_OUT:  # a contact that its own coil closes while the machine is above the battery
            return _cut_out(part.amps if isinstance(part, Regulator) else None)
        case BranchType.OUTPUT:
            return _output(branch, harness)
        case BranchType.CAPACITOR | BranchType.WINDING | BranchType.PRIMARY:  # nothing that is fed
            return Rated()
        case BranchType.RESISTOR:
            return _ohms(part.ohms if isinstance(part, Resistor) else None, harness.volts, branch.part)
        case BranchType.SENSOR:
            return _ohms(part.ohms if isinstance(part, Sensor) else None, harness.volts, branch.part)
        case BranchType.COIL | BranchType.FIELD:
            return _coil(branch.item, branch.made_for(harness.volts), branch.part)
        case BranchType.SUPPLY:
            return supply_draw(branch, harness, asleep=False)
        case (
            BranchType.LAMP
            | BranchType.LED
            | BranchType.ELECTRONICS
            | BranchType.MOTOR
            | BranchType.HORN
            | BranchType.SOLENOID
            | BranchType.PUMP
            | BranchType.HEATER
            | BranchType.IGNITION
        ):
            return _element(branch, harness)
        case _:
            assert_never(branch.branch_type)


def _wire(branch: Branch) -> Rated:
    segment = branch.segment
    if segment is None or segment.size is None or segment.length is None:
        what = [w for w, v in (("size", segment and segment.size), ("length", segment and segment.length)) if v is None]
        owner = branch.owner
        return Rated(ohms=NEGLIGIBLE_OHMS, missing=tuple(Missing(owner, w, "0 ohm") for w in what))
    area, celsius = segment.size.area, segment.ambient
    ohms = resistance_per_metre(area, celsius) * segment.length + 2.0 * termination_ohms(area, celsius)
    return Rated(ohms=ohms)


def _contact(amps: float | None, owner: str) -> Rated:
    ohms = contact_ohms(amps)
    if not amps:
        return Rated(ohms=ohms, missing=(Missing(owner, "rating", Quantity(ohms * 1e3, "mohm")),))
    return Rated(ohms=ohms, amps=amps)


def _cut_out(amps: float | None) -> Rated:
    return Rated(curve=laws.one_way(1.0 / contact_ohms(amps)), amps=amps)


def _fuse(part: object) -> Rated:
    amps = continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None
    if amps:
        return Rated(ohms=cold_resistance(amps), amps=amps)
    ohms = contact_ohms(None)
    return Rated(ohms=ohms, missing=(Missing(getattr(part, "name", ""), "rating", Quantity(ohms * 1e3, "mohm")),))


def reference_volts(branch: Branch, harness: Harness) -> float | None:
    """V that an output regulates to, whatever its supply has; ``None`` where it has those of its supply.

    A unit makes them from its supply, so that they hold wherever it works, as long as it needs more than that itself.
    """
    item = branch.item
    if not isinstance(item, UnitOutput) or item.volts is None or item.grounded:
        return None
    return item.volts if item.volts <= shares()["unit supply"].works * harness.volts else None


def references(circuit: Circuit) -> dict[str, End]:
    """The outputs that give volts of their own, by key, with the return of their supply, against which they give them.

    What they give is in what the unit takes at its supply: its rating says that.
    """
    found: dict[str, End] = {}
    for part in circuit.harness.parts.values():
        if not isinstance(part, Unit):
            continue
        returns = {supply.name: End(part.name, supply.minus) for supply in reversed(part.supplies)}
        for output in part.outputs:
            branch = circuit.element(part.name, output.name)
            if branch is not None and reference_volts(branch, circuit.harness) is not None:
                first = End(part.name, part.supplies[0].minus)
                found[branch.key] = returns.get(output.supply, first)
    return found


def _output(branch: Branch, harness: Harness) -> Rated:
    item, owner = branch.item, branch.part
    amps = item.amps or item.trips if isinstance(item, UnitOutput) else None
    own = reference_volts(branch, harness)
    if own is not None:
        what = () if amps else (Missing(owner, "output rating", "no limit"),)
        return Rated(curve=laws.reference(own, amps), amps=amps, missing=what)
    if not amps:
        ohms = contact_ohms(None)
        missing = Missing(owner, "output rating", Quantity(ohms * 1e3, "mohm"))
        return Rated(curve=laws.one_way(1.0 / ohms), missing=(missing,))
    return Rated(curve=laws.one_way(amps / figures().output_volts), amps=amps)


def _ohms(ohms: float | None, volts: float, owner: str) -> Rated:
    if not ohms:
        return Rated(missing=(Missing(owner, "resistance"),))
    return Rated(ohms=ohms, amps=volts / ohms)


def _coil(item: object, volts: float, owner: str) -> Rated:
    ohms = item.ohms if isinstance(item, Coil | Field) else None
    if not ohms and isinstance(item, Coil):
        ohms = volts**2 / item.watts if item.watts else volts / item.amps if item.amps else None
        if not ohms:
            typical = usual_coil_ohms(volts)
            return Rated(
                ohms=typical,
                amps=volts / typical,
                missing=(Missing(owner, "coil resistance", Quantity(typical, "ohm")),),
            )
    return _ohms(ohms, volts, owner)


def supply_draw(branch: Branch, harness: Harness, *, asleep: bool) -> Rated:
    """What a unit takes at a supply: awake, or asleep where it says so."""
    item = branch.item
    amps = None
    if isinstance(item, UnitSupply):
        amps = item.asleep if asleep and item.asleep is not None else item.amps
    if amps is None:
        return Rated(missing=(Missing(branch.part, "supply current"),))
    if amps == 0.0:
        return Rated(amps=0.0)
    return Rated(curve=laws.saturating(amps, harness.volts, figures().electronics_knee_share, one_way=True), amps=amps)


def _element(branch: Branch, harness: Harness) -> Rated:
    item = branch.item
    if not isinstance(item, Element):  # a flasher's own supply has no rating in the language
        return Rated()
    if item.exciter and item.rated_volts is None and not item.ohms:
        return Rated(missing=(Missing(_name(branch), "voltage at which it takes its rating"),))
    nominal = branch.made_for(harness.volts)
    if not (item.watts or item.amps or item.ohms):
        return Rated(missing=(Missing(_name(branch), "rating"),))
    match branch.branch_type:
        case BranchType.LAMP:
            volts = lamp_rated_volts(item.watts, nominal) if item.watts else nominal
            watts = item.watts or (item.amps * volts if item.amps else volts**2 / (item.ohms or 1.0))
            return Rated(curve=laws.lamp(watts, volts), amps=watts / volts)
        case BranchType.LED:
            amps = item.amps or (item.watts / tested_volts(nominal) if item.watts else nominal / (item.ohms or 1.0))
            return Rated(curve=laws.led(amps, nominal, figures().led_dark_share, figures().led_rated_share), amps=amps)
        case BranchType.ELECTRONICS:
            if item.amps:
                return Rated(
                    curve=laws.saturating(item.amps, nominal, figures().electronics_knee_share, one_way=True),
                    amps=item.amps,
                )
            siemens = item.watts / nominal**2 if item.watts else 1.0 / (item.ohms or 1.0)
            return Rated(curve=laws.one_way(siemens), amps=siemens * nominal)
        case BranchType.MOTOR if item.amps:
            return Rated(curve=laws.saturating(item.amps, nominal, figures().motor_knee_share), amps=item.amps)
        case _:
            ohms = item.ohms or (nominal / item.amps if item.amps else nominal**2 / (item.watts or 1.0))
            return Rated(ohms=ohms, amps=nominal / ohms)


def tested_volts(made_for: float) -> float:
    """V at which lamps are tested and an LED has its watts: the standard's for what it is made for, or the text's."""
    return lamp_test_volts(made_for) if made_for in SYSTEM_VOLTS else made_for


def bulb_watts(branch: Branch, rated: Rated, system: float) -> float:
    """The nominal W of a filament lamp or an LED, as on its base."""
    made_for = branch.made_for(system)
    if isinstance(branch.item, Element) and branch.item.watts:
        return branch.item.watts
    return (rated.amps or 0.0) * (tested_volts(made_for) if branch.branch_type is BranchType.LED else made_for)


def _name(branch: Branch) -> str:
    return branch.key


def battery_at_rest(battery: Source | None, system: float) -> float:
    """V of a battery at rest: as written, else those of a full one of its kind in a system of ``system`` V."""
    if battery is not None and battery.volts is not None:
        return battery.volts
    return rest_volts(1.0, "lithium" if battery is not None and battery.lithium else "flooded", system)


def source_curve(supply: Supply, harness: Harness, regulated: float) -> Rated:
    """A battery as a law between its poles; its missing numbers taken as usual ones (ours)."""
    part = harness.parts[supply.name]
    if not isinstance(part, Source):
        raise TypeError(f"{supply.name} is no battery")
    missing = []
    volts, hours, ohms = part.volts, part.amp_hours, part.ohms
    if volts is None:
        volts = battery_at_rest(part, harness.volts)
        missing.append(Missing(part.name, "voltage", Quantity(volts, "V")))
    if hours is None:
        hours = USUAL_AMP_HOURS
        missing.append(Missing(part.name, "capacity", Quantity(hours, "Ah")))
    if ohms is None:
        ohms = usual_resistance(hours, harness.volts)
        missing.append(Missing(part.name, "resistance", Quantity(ohms * 1e3, "mohm")))
    if ohms <= 0.0:
        usual = usual_resistance(hours, harness.volts)
        why = (
            f"{part.name} has no resistance, and what flows between two sources cannot be said then;"
            f" a battery of {shown(hours)} Ah has some {shown(usual * 1e3)} mohm"
        )
        return Rated(missing=tuple(missing), impossible=why)
    most = figures().battery_charge_share * hours
    return Rated(curve=laws.battery(volts, ohms, most, regulated), missing=tuple(missing))
