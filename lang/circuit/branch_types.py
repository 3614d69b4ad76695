"""What a branch of a circuit is: one record a type, which declares all that the analyses ask of it.

A new type is written here with every field; whoever matches on types ends in ``assert_never``, so that mypy names each
place that has yet to say what the new one does.
"""

from __future__ import annotations

from enum import Enum, unique
from typing import TYPE_CHECKING, Final

from ..records import dataclass

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ..vocabulary.kinds import What


class Direction(Enum):
    """In which direction a branch conducts, seen from ``a`` to ``b``."""

    NEVER = "never"
    BOTH = "both"
    FORWARD = "forward"


@dataclass(frozen=True, slots=True, kw_only=True)
class BranchTypeRecord:
    """What a type of branch is.

    ``title`` names it. ``joined``: in which direction it joins nets; ``as_load``: in which it conducts where loads
    conduct too. ``conductor``: copper that cannot open by itself. ``in_series``: made to be in series with a load,
    and none by itself. ``polarised``: a load that works one way round only. ``fails_open``: whether single faults open
    it. ``share_row``: its row of the shares of dead and live (``device_constants.toml``); ``odds_row``: its row of the
    odds of failure (``odds.toml``). Both are empty where it has none.
    """

    title: str
    joined: Direction
    as_load: Direction
    conductor: bool
    in_series: bool
    polarised: bool
    fails_open: bool
    share_row: str
    odds_row: str


def _joins(
    title: str, joined: Direction, odds_row: str, *, conductor: bool = False, fails_open: bool = True
) -> BranchTypeRecord:
    """What joins nets: copper, and what may open, as a contact, a fuse or a diode does."""
    return BranchTypeRecord(
        title=title,
        joined=joined,
        as_load=joined,
        conductor=conductor,
        in_series=False,
        polarised=False,
        fails_open=fails_open,
        share_row="",
        odds_row=odds_row,
    )


def _consumes(
    title: str, as_load: Direction, *, share_row: str, odds_row: str, in_series: bool = False
) -> BranchTypeRecord:
    """A load, what is in series with one, or what no direct current passes. What conducts one way is polarised."""
    return BranchTypeRecord(
        title=title,
        joined=Direction.NEVER,
        as_load=as_load,
        conductor=False,
        in_series=in_series,
        polarised=as_load is Direction.FORWARD,
        fails_open=False,
        share_row=share_row,
        odds_row=odds_row,
    )


@unique  # two equal records would silently become one member
class BranchType(Enum):
    """The types of branches. Each has the fields of its record as attributes."""

    WIRE = _joins("wire", Direction.BOTH, "wire", conductor=True)
    WAY = _joins("way", Direction.BOTH, "way", conductor=True)
    MOUNT = _joins("mount", Direction.BOTH, "ground joint", conductor=True)
    # inside one part: a unit's common, a regulator's two grounds
    LINK = _joins("link", Direction.BOTH, "", conductor=True, fails_open=False)
    FUSE = _joins("fuse", Direction.BOTH, "fuse")
    CONTACT = _joins("contact", Direction.BOTH, "contact")
    METER = _joins("meter", Direction.BOTH, "meter")
    FLASHER = _joins("flasher", Direction.BOTH, "flasher")
    PASS = _joins("pass", Direction.BOTH, "pass")  # a field regulator: it may be on
    DIODE = _joins("diode", Direction.FORWARD, "diode")
    LEG = _joins("rectifier leg", Direction.FORWARD, "", fails_open=False)
    CUT_OUT = _joins("cut-out", Direction.FORWARD, "cut-out")
    OUTPUT = _joins("output", Direction.FORWARD, "output")
    RESISTOR = _consumes("resistor", Direction.BOTH, share_row="", odds_row="other load", in_series=True)
    COIL = _consumes("coil", Direction.BOTH, share_row="coil", odds_row="other load")
    FIELD = _consumes("field", Direction.BOTH, share_row="", odds_row="other load", in_series=True)
    SENSOR = _consumes("sensor", Direction.BOTH, share_row="", odds_row="other load", in_series=True)
    LAMP = _consumes("lamp", Direction.BOTH, share_row="lamp", odds_row="lamp")
    MOTOR = _consumes("motor", Direction.BOTH, share_row="motor", odds_row="other load")
    HORN = _consumes("horn", Direction.BOTH, share_row="horn", odds_row="other load")
    SOLENOID = _consumes("solenoid", Direction.BOTH, share_row="solenoid", odds_row="other load")
    PUMP = _consumes("pump", Direction.BOTH, share_row="pump", odds_row="other load")
    HEATER = _consumes("heater", Direction.BOTH, share_row="heater", odds_row="other load")
    IGNITION = _consumes("ignition", Direction.BOTH, share_row="ignition", odds_row="other load")
    LED = _consumes("led", Direction.FORWARD, share_row="led", odds_row="other load")
    ELECTRONICS = _consumes("electronics", Direction.FORWARD, share_row="electronics", odds_row="other load")
    SUPPLY = _consumes("unit supply", Direction.FORWARD, share_row="unit supply", odds_row="other load")
    CAPACITOR = _consumes("capacitor", Direction.NEVER, share_row="", odds_row="other load")
    PRIMARY = _consumes("magneto primary", Direction.NEVER, share_row="", odds_row="other load")
    WINDING = _consumes("winding", Direction.NEVER, share_row="", odds_row="other load")

    def __init__(self, record: BranchTypeRecord) -> None:
        self.title = record.title
        self.joined = record.joined
        self.as_load = record.as_load
        self.conductor = record.conductor
        self.in_series = record.in_series
        self.polarised = record.polarised
        self.fails_open = record.fails_open
        self.share_row = record.share_row
        self.odds_row = record.odds_row
        self.consumes = record.joined is Direction.NEVER and record.as_load is not Direction.NEVER
        """Whether it takes current to do something: conducts as a load, joins nothing."""


OF_ELEMENT: Final[Mapping[What, BranchType]] = {
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
"""The branch type of an element, by its word in the text."""
