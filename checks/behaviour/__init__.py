"""What a harness does: the one place to ask what is live, dead, dim, fed, stopped, or cannot be.

Logic (``conduction``) decides what it can decide exactly and hands over to numbers (``dc``) what goes through loads.
Every question has a *may*, in some settled combination that can be reached with what comes through loads counted, and a
*must*, in all of them without it. Dangers use may, duties must; what lies between is dim and satisfies neither.
"""

from ..conduction.named import InState, contradiction
from .behaviour import Behaviour, Word
from .histories import ImpossibleStateError, histories, refuse_impossible

__all__ = [
    "Behaviour",
    "ImpossibleStateError",
    "InState",
    "Word",
    "contradiction",
    "histories",
    "refuse_impossible",
]
