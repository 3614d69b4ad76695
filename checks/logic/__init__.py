"""Exact logic over every combination of a harness's controls: what is joined, what stops, what a relay remembers.

What can be asked is in ``questions``. Whoever judges asks ``checks.behaviour``, which knows what loads lead as
well.
"""

from .analysis import Combination, Settled, SwitchingLogic, TooWideError
from .terms import ANY, BATTERY, DIRECT, MACHINE

__all__ = ["ANY", "BATTERY", "DIRECT", "MACHINE", "Combination", "Settled", "SwitchingLogic", "TooWideError"]
