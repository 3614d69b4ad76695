"""One object that answers for one circuit, by exact logic and, through loads, by the island solved alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from ..logic.named_states import InState, contradiction
from ..logic.predicates import AllOf, AtPole, Joined, JoinedInSeries, Live, Stopped, ThroughLoads
from ..logic.switching_network import DIRECT
from .sneak_paths import judge

if TYPE_CHECKING:
    from ..logic import SwitchingLogic
    from ..logic.named_states import Settings
    from ..logic.predicates import Question
    from .sneak_paths import Judgement

Word = Literal["live", "dim", "dead", "undecided"]


class Behaviour:
    """What is live, dead, dim, fed and stopped in a circuit, over every combination that can come about."""

    def __init__(self, logic: SwitchingLogic) -> None:
        self.logic = logic

    def cannot_be(self, settings: Settings) -> bool:
        """Whether no memory settles in a named state. Raises ``TooWideError``."""
        return contradiction(self.logic, settings) is not None

    def may(self, asked: Question, while_: Question) -> bool:
        """Whether something holds in some combination of a condition. Raises ``TooWideError``."""
        scope = self.logic.scope(asked, while_)
        return bool(asked.table(scope) & while_.table(scope) & scope.counted)

    def must(self, asked: Question, while_: Question) -> bool:
        """Whether something holds in every combination of a condition, and there is one. Raises ``TooWideError``."""
        scope = self.logic.scope(asked, while_)
        among = while_.table(scope) & scope.counted
        there = scope.some(among, (*scope.bits, *scope.free))
        return bool(there) and not there & (there ^ scope.must(asked.table(scope), among))

    def live(self, key: str, while_: Question) -> Word:
        """How an element, by its branch, stands in all combinations of a condition."""
        joined = JoinedInSeries(key)
        if self.may(joined, while_):
            return "live" if self.must(joined, while_) else "dim"
        told = self.through_loads(key, while_)
        return "undecided" if told.open is not None else "dim" if told.alive is not None else "dead"

    def through_loads(self, key: str, while_: Question) -> Judgement:
        """What comes to an element through other loads where it is not joined. Raises ``TooWideError``."""
        branch = self.logic.circuit.by_key[key]
        wide = ThroughLoads(key, DIRECT)
        scope = self.logic.scope(wide, Joined(key), while_)
        asked = wide.table(scope) & while_.table(scope) & scope.counted
        joined = Joined(key).table(scope)
        return judge(self.logic, scope, branch, asked & (asked ^ joined))

    @staticmethod
    def fed(node: str) -> Question:
        """A terminal at the feed pole of a source, to be asked by ``may`` and ``must``."""
        return AtPole(node, feed=True)

    @staticmethod
    def part_live(part: str, element: str | None = None) -> Question:
        """A part that works: an ignition part that runs, another with an element joined."""
        return Live(part, element)

    @staticmethod
    def stopped(part: str) -> Question:
        """An ignition part whose stop lead is joined to its own return, both ways."""
        return Stopped(part)

    @staticmethod
    def in_state(settings: Settings, *others: Question) -> Question:
        """A named state, and whatever else must hold."""
        return AllOf((InState(settings), *others))
