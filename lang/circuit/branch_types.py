"""What a branch of a circuit is, and which way current passes it."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    pass


class Way(Enum):
    """In which direction a branch lets current through, seen from ``a`` to ``b``."""

    NEVER = "never"
    BOTH = "both"
    FORWARD = "forward"


class Law(Enum):
    """What a branch is. ``joined``: how it counts among nets; ``wide``: how it counts where consumers conduct too."""

    WIRE = ("wire", Way.BOTH, Way.BOTH)
    WAY = ("way", Way.BOTH, Way.BOTH)
    MOUNT = ("mount", Way.BOTH, Way.BOTH)
    FUSE = ("fuse", Way.BOTH, Way.BOTH)
    LINK = ("link", Way.BOTH, Way.BOTH)  # inside one part: a unit's common, a regulator's two grounds
    CONTACT = ("contact", Way.BOTH, Way.BOTH)
    METER = ("meter", Way.BOTH, Way.BOTH)
    FLASHER = ("flasher", Way.BOTH, Way.BOTH)
    PASS = ("pass", Way.BOTH, Way.BOTH)  # a field regulator: it may be on
    DIODE = ("diode", Way.FORWARD, Way.FORWARD)
    LEG = ("rectifier leg", Way.FORWARD, Way.FORWARD)
    CUT_OUT = ("cut-out", Way.FORWARD, Way.FORWARD)
    OUTPUT = ("output", Way.FORWARD, Way.FORWARD)
    RESISTOR = ("resistor", Way.NEVER, Way.BOTH)
    COIL = ("coil", Way.NEVER, Way.BOTH)
    FIELD = ("field", Way.NEVER, Way.BOTH)
    SENSOR = ("sensor", Way.NEVER, Way.BOTH)
    LAMP = ("lamp", Way.NEVER, Way.BOTH)
    MOTOR = ("motor", Way.NEVER, Way.BOTH)
    HORN = ("horn", Way.NEVER, Way.BOTH)
    SOLENOID = ("solenoid", Way.NEVER, Way.BOTH)
    PUMP = ("pump", Way.NEVER, Way.BOTH)
    HEATER = ("heater", Way.NEVER, Way.BOTH)
    IGNITION = ("ignition", Way.NEVER, Way.BOTH)
    LED = ("led", Way.NEVER, Way.FORWARD)
    ELECTRONICS = ("electronics", Way.NEVER, Way.FORWARD)
    SUPPLY = ("unit supply", Way.NEVER, Way.FORWARD)
    CAPACITOR = ("capacitor", Way.NEVER, Way.NEVER)
    WINDING = ("winding", Way.NEVER, Way.NEVER)

    def __init__(self, title: str, joined: Way, wide: Way) -> None:
        self.title = title
        self.joined = joined
        self.wide = wide

    @property
    def consumes(self) -> bool:
        """Whether it takes current to do something: conducts in the wide graph, joins nothing."""
        return self.joined is Way.NEVER and self.wide is not Way.NEVER

    @property
    def conductor(self) -> bool:
        """Whether it is copper that cannot open by itself: wire, way, mount, a link inside a part."""
        return self in (Law.WIRE, Law.WAY, Law.MOUNT, Law.LINK)


_ELEMENT_LAWS = {
    "lamp": Law.LAMP,
    "led": Law.LED,
    "motor": Law.MOTOR,
    "horn": Law.HORN,
    "solenoid": Law.SOLENOID,
    "pump": Law.PUMP,
    "heater": Law.HEATER,
    "electronics": Law.ELECTRONICS,
    "ignition": Law.IGNITION,
}
