"""What an invented motorcycle is to have."""

from __future__ import annotations

from typing import Final, Literal, get_args

from ...lang.records import dataclass

Ignition = Literal["points", "coil", "capacitor-discharge", "magneto"]
Charging = Literal["none", "field", "magnets"]
Control = Literal["switches", "relays", "unit"]
Accessory = Literal["lamp", "led", "heater", "electronics", "horn"]

IGNITIONS: Final[tuple[Ignition, ...]] = get_args(Ignition)
CHARGINGS: Final[tuple[Charging, ...]] = get_args(Charging)
CONTROLS: Final[tuple[Control, ...]] = get_args(Control)
ACCESSORIES: Final[tuple[Accessory, ...]] = get_args(Accessory)

MAIN: Final = "bike.loom"
"""The file that is checked; it uses the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bike:
    """What a motorcycle is to have. ``accessories`` stand each behind a fuse and a switch of their own.

    A control unit and the electronics of a coil want the battery's minus on the frame, as they are sold (common
    practice, no source): with ``positive`` ground, or 6 V, there are contacts instead. ``files``: 1 to 3.
    """

    ignition: Ignition = "points"
    charging: Charging = "none"
    control: Control = "switches"
    volts: Literal[6, 12] = 12
    positive: bool = False
    connectors: bool = False
    splices: bool = False
    patterns: bool = False
    files: Literal[1, 2, 3] = 1
    horn: bool = False
    accessories: tuple[Accessory, ...] = ()

    @property
    def modern(self) -> bool:
        return self.volts == 12 and not self.positive
