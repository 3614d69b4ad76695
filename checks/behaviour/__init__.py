"""What a harness does: the one place to ask what is live, dead, dim, fed, stopped, or cannot be.

Logic (``logic``) decides what it can decide exactly and hands over to numbers (``dc``) what goes through loads.
Every question has a *may*, in some settled combination that can be reached with what comes through loads counted, and a
*must*, in all of them without it. Dangers use may, duties must; what lies between is dim and satisfies neither.

Rules, tracing, expectations, faults and the editor ask here; how a question is answered is nobody else's business.
"""

from ..logic.load_shares import SERIES_LAWS
from ..logic.named_states import InState, contradiction
from ..logic.predicates import (
    Active,
    AllOf,
    AnyOf,
    AtPole,
    Holds,
    In,
    Joined,
    JoinedInSeries,
    Linked,
    Live,
    Question,
    Runs,
    Shorted,
    Shows,
    Stopped,
    ThroughLoads,
    consumer_keys,
    driven_coils,
    feed_keys,
    implied,
    is_ignition,
    stop_lead,
)
from .behaviour import Behaviour, Word
from .histories import ImpossibleStateError, histories, refuse_impossible
from .sneak_paths import Decider, Judgement, judge, reached_at_all, works_through_loads

__all__ = [
    "SERIES_LAWS",
    "Active",
    "AllOf",
    "AnyOf",
    "AtPole",
    "Behaviour",
    "Decider",
    "Holds",
    "ImpossibleStateError",
    "In",
    "InState",
    "Joined",
    "JoinedInSeries",
    "Judgement",
    "Linked",
    "Live",
    "Question",
    "Runs",
    "Shorted",
    "Shows",
    "Stopped",
    "ThroughLoads",
    "Word",
    "consumer_keys",
    "contradiction",
    "driven_coils",
    "feed_keys",
    "histories",
    "implied",
    "is_ignition",
    "judge",
    "reached_at_all",
    "refuse_impossible",
    "stop_lead",
    "works_through_loads",
]
