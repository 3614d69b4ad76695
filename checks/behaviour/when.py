"""When something holds, in words: a truth table over the controls as the few settings that bring it about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ..logic import TooWideError

if TYPE_CHECKING:
    from ..logic.predicates import Question
    from ..logic.state_space import StateSpace
    from ..logic.truth_tables import Table
    from .behaviour import Behaviour

MOST_TERMS = 6
"""This many settings a reader takes in; what needs more is shown by the one nearest to rest."""

Setting = tuple[tuple[str, str], ...]
"""Controls, each with its position."""

Term = tuple[tuple[str, tuple[str, ...]], ...]
"""Controls, each with the positions that will do: all of them together."""


@dataclass(frozen=True, slots=True)
class When:
    """When something holds: in each setting of ``always`` whatever went before, in those of ``at_times`` only where
    what a relay or a latch remembers, or the turning engine, makes it so. ``more``: there are further settings.
    ``settings`` are the same as single positions, nearest to rest first, of those that always bring it about before the
    others. ``undecided`` tells why it could not be worked out.
    """

    always: tuple[str, ...] = ()
    at_times: tuple[str, ...] = ()
    more: bool = False
    settings: tuple[Setting, ...] = ()
    undecided: str = ""

    @property
    def never(self) -> bool:
        return not (self.always or self.at_times or self.undecided)

    def words(self) -> str:
        """``when KEY on, KILL run; or KEY park``; ``never``; ``always``."""
        if self.undecided:
            return f"not worked out: it {self.undecided}, more than can be worked through"
        if self.never:
            return "never"
        said = []
        if self.always:
            said.append("always" if "" in self.always else f"when {'; or '.join(self.always)}")
        if self.at_times:
            said.append("at times" + ("" if "" in self.at_times else f" when {'; or '.join(self.at_times)}"))
        return "; and ".join(said) + ("; and in other settings" if self.more else "")


def when(behaviour: Behaviour, question: Question) -> When:
    """The settings of the controls in which a question is answered with yes."""
    try:
        scope = behaviour.space(question).scope
    except TooWideError as wide:
        return When(undecided=str(wide))
    counted = scope.counted
    holds = question.table(scope) & counted
    hidden = (*scope.bits, *scope.free)
    nowhere = scope.full ^ scope.some(counted, hidden)
    possible = scope.some(holds, hidden)
    sometimes_not = scope.some(counted & (counted ^ holds), hidden)
    sure = possible & (possible ^ (possible & sometimes_not))
    always, more, settings = _cover(scope, sure, sure | nowhere)
    at_times, still_more, others = _cover(scope, possible ^ sure, possible | nowhere)
    return When(always, at_times, more or still_more, (*settings, *others))


def _cover(scope: StateSpace, table: Table, wide: Table) -> tuple[tuple[str, ...], bool, tuple[Setting, ...]]:
    """Settings, in words and one by one, that hold all of a table and nothing outside of ``wide``, nearest to rest
    first, and whether there are more of them.
    """
    names = tuple(name for name in scope.visible if name not in scope.free)
    found: list[Term] = []
    while table and len(found) < 2 * MOST_TERMS:
        index = scope.nearest(table, names)
        positions = scope.positions(index)
        kept = scope.needed(wide, index, names)
        found.append(tuple((name, (positions[name],)) for name in kept))
        setting = scope.full
        for name in kept:
            setting &= scope.at(name, positions[name])
        table &= table ^ setting
    merged = _merged(scope, found)
    words = tuple(_words(scope, term) for term in merged[:MOST_TERMS])
    settings = tuple(tuple((name, positions[0]) for name, positions in term) for term in found[:MOST_TERMS])
    return words, bool(table) or len(merged) > MOST_TERMS, settings


def _merged(scope: StateSpace, terms: list[Term]) -> list[Term]:
    """Settings that differ in one control only, as one."""
    merged: list[Term] = []
    for term in terms:
        for place, other in enumerate(merged):
            both = _together(scope, other, term)
            if both is not None:
                merged[place] = both
                break
        else:
            merged.append(term)
    return merged if len(merged) == len(terms) else _merged(scope, merged)


def _together(scope: StateSpace, one: Term, other: Term) -> Term | None:
    if [name for name, _ in one] != [name for name, _ in other]:
        return None
    differing = [name for (name, here), (_, there) in zip(one, other, strict=True) if here != there]
    if len(differing) != 1:
        return None
    return tuple(
        (name, tuple(p for p in scope.by_name[name].positions if p in (*here, *there)))
        for (name, here), (_, there) in zip(one, other, strict=True)
    )


def _words(scope: StateSpace, term: Term) -> str:
    """``KEY on, DIP low or high, engine not off``; empty where no control matters."""
    said = []
    for name, positions in term:
        others = [position for position in scope.by_name[name].positions if position not in positions]
        if len(positions) > 2 and len(others) == 1:
            said.append(f"{name} not {others[0]}")
        else:
            said.append(f"{name} {' or '.join(positions)}")
    return ", ".join(said)
