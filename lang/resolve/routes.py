"""Places and the routes between them, and the shortest way along those."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Final, cast

from ..diagnostics.diagnostic import Note, Span
from ..model.parts import Place
from ..model.wires import Route
from ..named_tuples import NamedTuple
from ..search.cheapest import nearest
from ..syntax.tree import PlaceLine, RouteLine, Statement
from ..vocabulary.wires import ROUTE_WORDS
from ..vocabulary.words import DEFAULT_AMBIENT
from .attributes import Reader
from .names import Scope, claim, name_of
from .templates import find_place

SLACK: Final = 0.05
"""Share by which a wire is longer than its way where the text says no other: a loom is not pulled tight (ours)."""

LEG: Final = 0.075
"""m from the branch of the loom to a terminal where the part says no other (ours)."""

TAILS: Final = 2 * LEG
"""m that a wire between two such is longer than its way."""

_ALIKE: Final = 1e-9
"""m within which two ways are equally short: less than any rounding of what people write, more than that of floats."""


def wire_length(distance: float, slack: float = SLACK, more: float = 0.0, legs: float = TAILS) -> float:
    """Length in m of a wire between places ``distance`` m apart along the routes.

    ``slack`` is the share by which it is longer, ``more`` the m that the slack of single routes adds to that, ``legs``
    the m of both its ends.
    """
    return distance * (1 + slack) + more + legs


class Way(NamedTuple):
    """The shortest way between two places: m, the places on it, what holds along it, and whether another is as short.

    Where two are, ``ambient`` and ``flexing`` are the harder of both, and ``places`` are those of the first by name.
    ``more`` is the m that the slack of its routes adds to that of all wires.
    """

    distance: float
    places: tuple[str, ...]
    ambient: float
    flexing: bool
    tied: bool
    more: float = 0.0


@dataclass(slots=True, eq=False, repr=False)
class Ways:
    """Shortest ways along a harness's routes, each worked out once."""

    routes: Iterable[Route]
    slack: float = SLACK
    _next: dict[str, list[Route]] = field(default_factory=dict)
    _from: dict[str, dict[str, Way]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for route in self.routes:
            self._next.setdefault(route.a, []).append(route)
            self._next.setdefault(route.b, []).append(route)

    def between(self, a: str, b: str) -> Way | None:
        """The shortest way, or ``None`` where no routes join the two places."""
        if a not in self._from:
            self._from[a] = self._search(a)
        return self._from[a].get(b)

    def past(self, places: Sequence[str]) -> Way | None:
        """The shortest way by these places, in this order; ``None`` where no routes join two of them."""
        whole: Way | None = None
        for here, there in pairwise(places):
            step = self.between(here, there)
            if step is None:
                return None
            whole = step if whole is None else _joined(whole, step)
        return whole

    def _search(self, start: str) -> dict[str, Way]:
        """A place that is as near by two ways has a tie, and what lies behind it too."""

        def step(here: str) -> list[tuple[str, Route]]:
            return [(route.b if route.a == here else route.a, route) for route in self._next.get(here, ())]

        found = {start: Way(0.0, (start,), DEFAULT_AMBIENT, False, False)}
        for here, _, by in nearest([start], step, lambda metres, route: metres + route.length):
            if by is not None:
                known = [(found[near], route) for near, route in step(here) if near in found]
                found[here] = _first([_along(way, route, here, self.slack) for way, route in known])
        return found


def _joined(way: Way, on: Way) -> Way:
    """A way and the one that goes on from its end."""
    ambients = [each.ambient for each in (way, on) if len(each.places) > 1] or [DEFAULT_AMBIENT]
    return Way(
        way.distance + on.distance,
        (*way.places, *on.places[1:]),
        max(ambients),
        way.flexing or on.flexing,
        way.tied or on.tied,
        way.more + on.more,
    )


def _first(ways: list[Way]) -> Way:
    """The shortest of some ways to one place; of several alike what all of them share."""
    shortest = min(ways, key=lambda way: way.distance)
    alike = [way for way in ways if way.distance <= shortest.distance + _ALIKE]
    if len(alike) == 1:
        return shortest
    return Way(
        shortest.distance,
        min(way.places for way in alike),
        max(way.ambient for way in alike),
        any(way.flexing for way in alike),
        True,
        max(way.more for way in alike),
    )


def _along(way: Way, route: Route, there: str, slack: float) -> Way:
    """A way with one more route."""
    ambient = DEFAULT_AMBIENT if route.ambient is None else route.ambient
    hottest = ambient if len(way.places) == 1 else max(way.ambient, ambient)
    more = way.more + (0.0 if route.slack is None else route.length * (route.slack - slack))
    return Way(way.distance + route.length, (*way.places, there), hottest, way.flexing or route.flexing, way.tied, more)


def resolve_places(statements: list[Statement], scope: Scope) -> None:
    taken: dict[str, Span] = {}
    for statement in statements:
        node = cast(PlaceLine, statement.node)
        wet = False
        for word in node.words:
            if word.value == "wet" and len(node.names) == 1 and not wet:
                wet = True
            else:
                scope.mistakes.add(
                    "misplaced" if word.value == "wet" else "unknown-word",
                    statement.span(word),
                    "`wet` belongs to one place, and this line names several"
                    if word.value == "wet"
                    else f"`{word}` says nothing about a place",
                    expected=f"`place {node.names[-1]} wet` on a separate line" if word.value == "wet" else "`wet`",
                    wrong=None if word.value == "wet" else word.value,
                    known=("wet",),
                )
        for token in node.names:
            name = name_of(token, statement, scope.mistakes, what="place")
            if name is None:
                scope.lost.names.add(token.value)
            elif claim(taken, name, statement.span(token), "place", scope.mistakes):
                scope.places[name] = Place(name, statement.span(token), wet)


def resolve_routes(statements: list[Statement], scope: Scope) -> tuple[Route, ...]:
    routes = []
    taken: dict[frozenset[str], Span] = {}
    for statement in statements:
        node = cast(RouteLine, statement.node)
        before = len(scope.mistakes)
        facts = Reader(statement, scope.mistakes, ROUTE_WORDS, "a route").read(node.values)
        sound = before == len(scope.mistakes)
        both = [find_place(token, statement, scope) for token in (node.a, node.b)]
        ends = frozenset((node.a.value, node.b.value))
        length: Any = facts.get("length")
        if len(ends) == 1:
            scope.mistakes.add(
                "same-places",
                statement.span(node.a, node.b),
                f"this route goes from `{node.a}` to itself",
                expected="two places",
            )
        elif length is None:
            if sound:
                scope.mistakes.add(
                    "missing-word",
                    statement.span(),
                    "this route has no length",
                    expected="a number and a unit of length, such as `0.65 m`",
                )
        elif ends in taken:
            scope.mistakes.add(
                "repeated",
                statement.span(node.a, node.b),
                "these two places have a route already",
                expected="one route between two places; name a place on the way for another one",
                notes=(Note("first defined here", taken[ends]),),
            )
        elif all(both):
            taken[ends] = statement.span(node.a, node.b)
            routes.append(
                Route(
                    node.a.value,
                    node.b.value,
                    length,
                    statement.span(),
                    facts.get("flexing", False),
                    facts.get("ambient"),
                    facts.get("cover"),
                    facts.get("slack"),
                )
            )
    return tuple(routes)
