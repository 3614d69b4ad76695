"""Sets of combinations: what rules that compare several answers reckon with, instead of tables of bits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.records import dataclass
from .undecided import shown_for_sure

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ...lang.circuit.branch import Branch
    from ..logic import Combination, SwitchingLogic
    from ..logic.predicates import Question
    from ..logic.state_space import StateSpace
    from ..logic.truth_tables import Table


@dataclass(frozen=True, slots=True)
class Cases:
    """Some combinations out of all those of what a few questions depend on.

    Reckoned with as sets are: ``&``, ``|``, ``-`` and ``~``; empty is false. Only sets of one ``Space`` go together:
    anything else raises ``ValueError``.
    """

    space: Space
    table: Table

    def __and__(self, other: Cases) -> Cases:
        return Cases(self.space, self.table & self._here(other))

    def __or__(self, other: Cases) -> Cases:
        return Cases(self.space, self.table | self._here(other))

    def __sub__(self, other: Cases) -> Cases:
        return Cases(self.space, self.space.scope.without(self.table, self._here(other)))

    def __invert__(self) -> Cases:
        return Cases(self.space, self.space.scope.inverse(self.table))

    def __bool__(self) -> bool:
        return bool(self.table)

    def _here(self, other: Cases) -> Table:
        """The table of another set. Raises ``ValueError`` where it tells of other combinations than this one."""
        if other.space.scope is not self.space.scope:
            raise ValueError("sets of combinations go together only where they are of one space")
        return other.table

    def whatever(self, names: Iterable[str]) -> Cases:
        """These, and those that differ from one of them in nothing but these variables."""
        return Cases(self.space, self.space.scope.some(self.table, names))

    def holds_at(self, shown: Combination) -> bool:
        """Whether a combination of the same space is among these."""
        return bool((self.table >> shown.index) & 1)

    def shown(self, alike: Cases | None = None) -> Combination | None:
        """The one nearest to rest, those that a rider meets with first; ``None`` without one.

        ``alike``: where the answer is the same, so that no control is named that only leads from one of these to
        another. Raises ``UndecidedError`` where nobody knows of any whether it comes about.
        """
        anywhere = None if alike is None else alike.table
        return shown_for_sure(self.space.logic, self.space.scope, self.table, anywhere)


class Space:
    """Every combination of what some questions depend on. Raises ``TooWideError`` where these are too many."""

    def __init__(self, logic: SwitchingLogic, *questions: Question) -> None:
        self.logic = logic
        self.scope: StateSpace = logic.scope(*questions)

    def __contains__(self, name: str) -> bool:
        """Whether a control, a joint or a condition that remembers matters to one of the questions."""
        return name in self.scope

    @property
    def names(self) -> tuple[str, ...]:
        """All that matters: controls, joints and conditions that remember."""
        return tuple(self.scope.by_name)

    @property
    def controls(self) -> tuple[str, ...]:
        """What somebody or something sets."""
        return self.scope.visible

    @property
    def remembered(self) -> tuple[str, ...]:
        """The conditions that remember: relays pulled, outputs on, latches set, machines excited."""
        return self.scope.bits

    @property
    def unset(self) -> tuple[str, ...]:
        """What nobody sets: unreliable joints, points, and whatever may work through loads."""
        return self.scope.free

    def of(self, table: Table) -> Cases:
        return Cases(self, table)

    @property
    def every(self) -> Cases:
        return Cases(self, self.scope.full)

    @property
    def none(self) -> Cases:
        return Cases(self, 0)

    @property
    def possible(self) -> Cases:
        """Those that settle and can be reached, past no dead short."""
        return Cases(self, self.scope.counted)

    @property
    def occurring(self) -> Cases:
        """Those that settle and can be reached, dead shorts among them."""
        return Cases(self, self.scope.occurring)

    @property
    def plausible(self) -> Cases:
        """Those that a rider meets with."""
        return Cases(self, self.scope.plausible)

    @property
    def lasting(self) -> Cases:
        """Those in which no timer still holds anything."""
        return Cases(self, self.scope.lasting)

    def where(self, asked: Question) -> Cases:
        """Those in which a question, one of those that this was made for or a part of one, is answered with yes."""
        return Cases(self, asked.table(self.scope))

    def at_rest(self, names: Iterable[str]) -> Cases:
        """Those with these variables at rest."""
        return Cases(self, self.scope.rest(names))

    def unmoved(self, names: Iterable[str]) -> Cases:
        """Those that are reached with these controls never moved."""
        return Cases(self, self.scope.unmoved(names))

    def at(self, name: str, position: str) -> Cases:
        return Cases(self, self.scope.at(name, position))

    def at_all(self, positions: dict[str, str]) -> Cases:
        """The one combination with these variables in these positions, and all others at rest."""
        return Cases(self, 1 << self.scope.index({name: at for name, at in positions.items() if name in self.scope}))

    def only(self, shown: Combination) -> Cases:
        return Cases(self, 1 << shown.index)

    def conducting(self, branch: Branch) -> Cases:
        """Those in which a contact is closed, or whatever else may open."""
        return Cases(self, self.scope.conducting(branch))

    def must(self, cases: Cases, among: Cases) -> Cases:
        """Where something holds however what is remembered stands, and whichever unreliable joint is open."""
        return Cases(self, self.scope.must(cases.table, among.table))

    def rest_of(self, name: str) -> str:
        """The position in which a variable rests."""
        return self.scope.positions(0)[name]
