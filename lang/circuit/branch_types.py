"""What a branch of a circuit is, and which way current passes it."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    pass


class Direction(Enum):
    """In which direction a branch lets current through, seen from ``a`` to ``b``."""

    NEVER = "never"
    BOTH = "both"
    FORWARD = "forward"


class BranchType(Enum):
    """What a branch is. ``joined``: how it counts among nets; ``wide``: how it counts where consumers conduct too."""

    WIRE = ("wire", Direction.BOTH, Direction.BOTH)
    WAY = ("way", Direction.BOTH, Direction.BOTH)
    MOUNT = ("mount", Direction.BOTH, Direction.BOTH)
    FUSE = ("fuse", Direction.BOTH, Direction.BOTH)
    LINK = ("link", Direction.BOTH, Direction.BOTH)  # inside one part: a unit's common, a regulator's two grounds
    CONTACT = ("contact", Direction.BOTH, Direction.BOTH)
    METER = ("meter", Direction.BOTH, Direction.BOTH)
    FLASHER = ("flasher", Direction.BOTH, Direction.BOTH)
    PASS = ("pass", Direction.BOTH, Direction.BOTH)  # a field regulator: it may be on
    DIODE = ("diode", Direction.FORWARD, Direction.FORWARD)
    LEG = ("rectifier leg", Direction.FORWARD, Direction.FORWARD)
    CUT_OUT = ("cut-out", Direction.FORWARD, Direction.FORWARD)
    OUTPUT = ("output", Direction.FORWARD, Direction.FORWARD)
    RESISTOR = ("resistor", Direction.NEVER, Direction.BOTH)
    COIL = ("coil", Direction.NEVER, Direction.BOTH)
    FIELD = ("field", Direction.NEVER, Direction.BOTH)
    SENSOR = ("sensor", Direction.NEVER, Direction.BOTH)
    LAMP = ("lamp", Direction.NEVER, Direction.BOTH)
    MOTOR = ("motor", Direction.NEVER, Direction.BOTH)
    HORN = ("horn", Direction.NEVER, Direction.BOTH)
    SOLENOID = ("solenoid", Direction.NEVER, Direction.BOTH)
    PUMP = ("pump", Direction.NEVER, Direction.BOTH)
    HEATER = ("heater", Direction.NEVER, Direction.BOTH)
    IGNITION = ("ignition", Direction.NEVER, Direction.BOTH)
    LED = ("led", Direction.NEVER, Direction.FORWARD)
    ELECTRONICS = ("electronics", Direction.NEVER, Direction.FORWARD)
    SUPPLY = ("unit supply", Direction.NEVER, Direction.FORWARD)
    CAPACITOR = ("capacitor", Direction.NEVER, Direction.NEVER)
    WINDING = ("winding", Direction.NEVER, Direction.NEVER)

    def __init__(self, title: str, joined: Direction, wide: Direction) -> None:
        self.title = title
        self.joined = joined
        self.wide = wide

    @property
    def consumes(self) -> bool:
        """Whether it takes current to do something: conducts in the wide graph, joins nothing."""
        return self.joined is Direction.NEVER and self.wide is not Direction.NEVER

    @property
    def conductor(self) -> bool:
        """Whether it is copper that cannot open by itself: wire, way, mount, a link inside a part."""
        return self in (BranchType.WIRE, BranchType.WAY, BranchType.MOUNT, BranchType.LINK)


_ELEMENT_LAWS = {
    "lamp": BranchType.LAMP,
    "led": BranchType.LED,
    "motor": BranchType.MOTOR,
    "horn": BranchType.HORN,
    "solenoid": BranchType.SOLENOID,
    "pump": BranchType.PUMP,
    "heater": BranchType.HEATER,
    "electronics": BranchType.ELECTRONICS,
    "ignition": BranchType.IGNITION,
}
