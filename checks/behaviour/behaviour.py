"""One object that answers for one circuit, by exact logic and, through loads, by the island solved alone.

Ask a question in the words of the trade of every combination at once::

    shown = behaviour.may(behaviour.fed("BOX.kill"))  # a combination in which it is, None where it never is
    sure = behaviour.must(behaviour.live("HEAD.dip"), behaviour.control("KEY", "on"))

What compares several answers takes the combinations of all of them (``space``) and reckons with these as sets.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Literal

from ..logic import SwitchingLogic, current_paths
from ..logic.named_states import contradiction
from ..logic.part_predicates import Live, Runs, Stopped
from ..logic.predicates import (
    AllOf,
    AnyOf,
    AtPole,
    AtPoleThroughLoads,
    Driven,
    In,
    Joined,
    JoinedInSeries,
    Linked,
    Shorted,
    Shows,
    ThroughLoads,
)
from ..logic.terms import ANY, DIRECT, JOINED, OPEN
from .cases import Space
from .sneak_paths import judge, reached_at_all, works_through_loads

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ..logic import Combination
    from ..logic.named_states import Settings
    from ..logic.predicates import Question
    from ..logic.switching_network import SwitchingNetwork
    from ..logic.terms import Graph, Kind, Origin, Reach
    from .cases import Cases
    from .sneak_paths import Decider, Judgement

Word = Literal["live", "dim", "dead", "undecided"]

ALWAYS = AllOf(())
"""Whatever the controls do."""


class Behaviour:
    """What is live, dead, dim, fed and stopped in a circuit, over every combination that can come about.

    All answers raise ``TooWideError`` where more combinations matter than can be gone through, and those that show a
    combination raise ``UndecidedError`` where nobody knows whether it comes about.
    """

    def __init__(self, logic: SwitchingLogic, circuit: Circuit | None = None) -> None:
        """``circuit``: the one to show, where that of the logic knows no places in a text (``lang.model.bare``)."""
        self.logic = logic
        self.circuit = circuit or logic.circuit

    @classmethod
    def of(cls, circuit: Circuit) -> Behaviour:
        return cls(SwitchingLogic(circuit))

    def without(self, names: Iterable[str]) -> Behaviour:
        """The same harness with parts or wires taken out while it works: its relays and machines start as they were."""
        names = tuple(names)
        if not names:
            return self
        left = self.logic.without(names)
        return Behaviour(left, left.circuit if self.circuit is self.logic.circuit else self.circuit.without(names))

    @cached_property
    def network(self) -> SwitchingNetwork:
        return self.logic.network.showing(self.circuit)

    @cached_property
    def consumers(self) -> tuple[Branch, ...]:
        return tuple(branch for branch in self.circuit.branches if branch.branch_type.consumes)

    def wired(self, branch: Branch) -> bool:
        """Whether something outside the part reaches both terminals of an element."""
        return self.logic.wired(branch)

    def sources(self) -> tuple[Origin, ...]:
        """Every battery and machine, each with the poles that it feeds from and returns to."""
        return tuple(self.logic.network.origins_of(DIRECT))

    # --- questions: what may be asked of every combination
    @staticmethod
    def live(key: str, by: frozenset[Kind] = ANY) -> Question:
        """An element, by its branch, is connected to both poles of one of these kinds of source, or gets more than its
        dead share through what is made to be in series with it.
        """
        return JoinedInSeries(key, by)

    @staticmethod
    def connected(key: str, by: frozenset[Kind] = ANY) -> Question:
        """An element, by its branch, is connected to both poles of a source by copper and contacts alone."""
        return Joined(key, by)

    @staticmethod
    def fed(terminal: str, by: frozenset[Kind] = DIRECT) -> Question:
        """A terminal is connected to the feed pole of a source."""
        return AtPole(terminal, True, by)

    @staticmethod
    def fed_through_loads(terminal: str, by: frozenset[Kind] = DIRECT) -> Question:
        """A terminal is led to the feed pole of a source with every load conducting, and not grounded by copper: what
        it gets there is for numbers.
        """
        return AtPoleThroughLoads(terminal, True, by)

    @staticmethod
    def grounded(terminal: str, by: frozenset[Kind] = DIRECT) -> Question:
        """A terminal is connected to the return pole of a source."""
        return AtPole(terminal, False, by)

    @staticmethod
    def joined(start: str, end: str) -> Question:
        """Current can get from one terminal to another, sources left aside."""
        return Linked(start, end)

    @staticmethod
    def reached_through_loads(key: str, by: frozenset[Kind] = ANY) -> Question:
        """An element is reached both ways with every other load conducting: whether it gets enough is for numbers."""
        return ThroughLoads(key, by)

    @staticmethod
    def driven(enter: str, leave: str) -> Question:
        """One source drives current into one terminal and out of the other."""
        return Driven(enter, leave, ((enter, leave),))

    @staticmethod
    def driven_either_way(a: str, b: str) -> Question:
        return Driven(a, b, ((a, b), (b, a)))

    @staticmethod
    def shorted(source: Origin) -> Question:
        """The + of a source is connected to its own -."""
        return Shorted(source)

    @staticmethod
    def runs(part: str, by: frozenset[Kind] = ANY, *, past_ballast: bool = True) -> Question:
        """An ignition part is fed and not stopped; without a feed, the engine turns and it is not stopped."""
        return Runs(part, by, "ballast" if past_ballast else "nets")

    @staticmethod
    def stopped(part: str) -> Question:
        """An ignition part whose kill wire is connected to its own return, both ways."""
        return Stopped(part)

    @staticmethod
    def works(part: str, element: str | None = None) -> Question:
        """A part that works: an ignition part that runs, another with an element joined."""
        return Live(part, element)

    @staticmethod
    def condition(name: str) -> Question:
        """A condition that remembers holds: a relay pulled, an output on, a latch set, a machine excited."""
        return Shows(name)

    @staticmethod
    def control(name: str, *positions: str) -> Question:
        """A control is in one of these positions."""
        return In(name, positions)

    @staticmethod
    def all_of(*questions: Question) -> Question:
        return AllOf(questions)

    @staticmethod
    def any_of(*questions: Question) -> Question:
        return AnyOf(questions)

    # --- answers
    def space(self, *questions: Question) -> Space:
        """Every combination of what these questions depend on."""
        return Space(self.logic, *questions)

    def depends_on(self, *questions: Question) -> frozenset[str]:
        """The controls, joints and conditions that the answers can depend on."""
        return self.logic.support(*questions)

    def depends_in_the_end(self, *questions: Question) -> tuple[str, ...]:
        """The same, and whatever these depend on in turn, in a fixed order."""
        return self.logic.before(*questions)

    def cannot_be(self, settings: Settings) -> bool:
        """Whether no memory settles in a named state."""
        return contradiction(self.logic, settings) is not None

    def holds_in(self, asked: Question, while_: Question = ALWAYS, *, plausible: bool = False) -> Cases:
        """The combinations of a condition in which something holds; plausible ones alone where that is asked."""
        space = self.space(asked, while_)
        found = space.where(asked) & space.where(while_) & space.possible
        return found & space.plausible if plausible else found

    def may(self, asked: Question, while_: Question = ALWAYS, *, lasting: bool = False) -> Combination | None:
        """A combination of a condition in which something holds, the nearest to rest; ``None`` where it never does.

        ``lasting``: past what a timer still holds.
        """
        found = self.holds_in(asked, while_)
        return (found & found.space.lasting if lasting else found).shown()

    def must(self, asked: Question, while_: Question = ALWAYS) -> bool:
        """Whether something holds in every combination of a condition, and there is one."""
        space = self.space(asked, while_)
        among = space.where(while_) & space.possible
        there = among.whatever((*space.remembered, *space.unset))
        return bool(there) and not there - space.must(space.where(asked), among)

    def fails(self, asked: Question, while_: Question) -> Combination | None:
        """A plausible combination of a condition in which something does not hold; ``None`` where it always does."""
        space = self.space(asked, while_)
        return ((space.where(while_) & space.possible & space.plausible) - space.where(asked)).shown()

    def lost_without(self, joint: str, asked: Question) -> bool:
        """Whether something holds in some combination only as long as an unreliable joint is there."""
        space = self.space(asked)
        if joint not in space:
            return False
        holds = space.where(asked) & space.possible
        hidden = (*space.remembered, *space.unset)
        with_it, without = ((holds & space.at(joint, how)).whatever(hidden) for how in (JOINED, OPEN))
        return bool(with_it - without)

    def straight_on(self, key: str) -> bool:
        """Whether only contacts and copper are between an element and a battery or a machine, and never a resistor."""
        space = self.space(self.live(key, DIRECT))
        connected = space.where(self.connected(key, DIRECT)) & space.possible
        branch = self.circuit.by_key[key]
        series = space.of(space.scope.joined_through(branch, "series", DIRECT)) & space.possible
        return bool(connected) and not series - connected

    # --- through loads
    def judged(self, asked: Cases, branch: Branch, decide: Decider | None = None) -> Judgement:
        """What comes to an element in combinations in which it is reached through loads, by the bound, else by
        numbers.
        """
        return judge(self.logic, asked.space.scope, branch, asked.table, decide)

    def works_through_loads(self, asked: Cases, branch: Branch) -> bool:
        """Whether what comes through other loads may do for an element's working share in one of some combinations."""
        return works_through_loads(self.logic, asked.space.scope, branch, asked.table) is not None

    def reached_at_all(self, branch: Branch) -> bool:
        """Whether anything reaches an element, through whatever loads."""
        return reached_at_all(self.logic, branch)

    # --- what settles
    def restless(self, name: str) -> tuple[Combination, tuple[str, ...]] | None:
        """A combination in which a condition never settles, and all that do not there; ``None`` where it does."""
        space = self.space(Shows(name))
        scope = space.scope
        restless = _restless(space)

        def moving(bit: str) -> Cases:
            return restless & space.of(scope.expressions[bit] ^ scope.at(bit, "yes"))

        shown = moving(name).shown(alike=moving(name).whatever(space.remembered))
        if shown is None:
            return None
        here = space.only(shown).whatever(space.remembered)
        return self.logic.plainly(shown), tuple(bit for bit in space.remembered if here & moving(bit))

    # --- evidence: the way of the current in a combination
    def closed(self, shown: Combination, branch: Branch) -> bool:
        """Whether a branch joins its two ends in a combination."""
        return self.logic.closed(shown, branch)

    def way(self, shown: Combination, start: str, end: str) -> tuple[Branch, ...] | None:
        """The shortest way of current from a terminal to another, as branches in order."""
        return self._shown(current_paths.way(self.logic, shown, start, (end,)))

    def ways_through_loads(self, shown: Combination, start: str, end: str) -> Iterator[tuple[Branch, ...]]:
        """The shortest way from a terminal to another with every load conducting, past no feed of a source, for each
        source.
        """
        feeds: list[Reach | None] = [self.network.feeds(source) for source in self.sources()]
        for opposite in feeds or [None]:
            way = self._shown(current_paths.way(self.logic, shown, start, (end,), graph="wide", opposite=opposite))
            if way is not None:
                yield way

    def _shown(self, way: tuple[Branch, ...] | None) -> tuple[Branch, ...] | None:
        """A way in the branches of the circuit to show."""
        return None if way is None else tuple(self.circuit.by_key[branch.key] for branch in way)

    def loop(self, shown: Combination, branch: Branch, graph: Graph = "nets") -> tuple[str, ...]:
        """The way of the current from a source through an element and back, as names in order; empty where none."""
        return current_paths.loop(self.logic, shown, branch, graph=graph)

    def feed(self, shown: Combination, terminal: str, by: frozenset[Kind] = DIRECT) -> tuple[str, ...]:
        """The way from the feed pole of a source to a terminal, as names in order; empty without one."""
        return current_paths.feed(self.logic, shown, terminal, True, by)


def _restless(space: Space) -> Cases:
    """Where something never settles, without the conditions in which what does settle has not done so yet.

    What is on, or off, however all that still moves stands, takes that condition and keeps it: a relay that a button
    pulls in chatters no more for another one that does.
    """
    scope = space.scope
    here = space.of(scope.chattering)
    while True:
        before = here
        for bit in space.remembered:
            wanted = space.of(scope.expressions[bit])
            for position, so in (("yes", here & wanted), ("no", here - wanted)):
                surely = here - (here - so).whatever(space.remembered)
                here = (here - surely) | (surely & space.at(bit, position))
        if here.table == before.table:
            return here
