"""What a harness does: the one place to ask what is live, dead, dim, fed, stopped, or cannot be.

Logic (``logic``) decides what it can decide exactly and hands over to numbers (``dc``) what goes through loads.
Every question has a *may*, in some settled combination that can be reached, with what comes through loads counted, and
a *must*, in all of them without it. Dangers use may, duties must; what lies between is dim and satisfies neither.

Rules, tracing, expectations, faults and the editor ask ``Behaviour``; how a question is answered is nobody else's
business.
"""

from ..logic import ANY, BATTERY, DIRECT, Combination, TooWideError
from ..logic.part_predicates import feed_keys, is_ignition, stop_lead
from ..logic.predicates import Question
from .behaviour import Behaviour, Word
from .histories import ImpossibleStateError, histories, refuse_impossible
from .sneak_paths import Decider, Judgement
from .undecided import UndecidedError, too_wide

__all__ = [
    "ANY",
    "BATTERY",
    "DIRECT",
    "Behaviour",
    "Combination",
    "Decider",
    "ImpossibleStateError",
    "Judgement",
    "Question",
    "TooWideError",
    "UndecidedError",
    "Word",
    "feed_keys",
    "histories",
    "is_ignition",
    "refuse_impossible",
    "stop_lead",
    "too_wide",
]
