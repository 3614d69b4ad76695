"""Exact logic over every combination of a harness's controls: what is joined, what stops, what a relay remembers."""

from .analysis import Combination, Conduction, Settled, TooWideError
from .network import ANY, BATTERY, DIRECT, MACHINE
from .questions import (
    Active,
    AtPole,
    Holds,
    In,
    Joined,
    JoinedInSeries,
    Linked,
    Live,
    Runs,
    Shorted,
    Shows,
    Stopped,
    ThroughLoads,
)

__all__ = [
    "ANY",
    "BATTERY",
    "DIRECT",
    "MACHINE",
    "Active",
    "AtPole",
    "Combination",
    "Conduction",
    "Holds",
    "In",
    "Joined",
    "JoinedInSeries",
    "Linked",
    "Live",
    "Runs",
    "Settled",
    "Shorted",
    "Shows",
    "Stopped",
    "ThroughLoads",
    "TooWideError",
]
