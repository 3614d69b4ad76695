"""Templates filled with facts: the one place where a finding gets its words.

::

    filled("wire {wire} carries {current}, rated {limit} continuous", facts)
    # wire 2 carries 13.42 A, rated 13.4 A continuous
    filled("{wires:wire} {wires:carries|carry} it", facts)      # wires 2 and 3 carry it
    filled("{load} is off[, with {control} open]", facts)       # what is between brackets goes where a fact is empty
    filled("{parts...} are on it", facts)                       # L1, L2, L3, L4, L5, L6 and 3 more are on it
    filled("{count:wire} {count:is|are} open", facts)           # 2 wires are open

Quantities of one unit in one template are shown with as many digits as it takes to see that they differ; the first of
two that six digits do not tell apart is "just over" or "just under" the other. Several names are listed, of many with
three points behind them the first ``MOST_NAMED``. After a colon stands a word, or a singular and a plural: a noun comes
before the names that it counts and behind a number, whatever has a bar takes the form that agrees with them and stands
alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Final

from ...lang.diagnostics.messages import plainly_listed
from ...lang.quantities.quantity import Quantity, all_apart, apart, shown
from .facts import Fact, Facts

MOST_NAMED: Final = 6
"""This many names of a list that is cut short are in a sentence; the facts hold them all (ours)."""

_FIELD = re.compile(r"\{(\w+)(\.\.\.)?(?::([^{}]*))?\}")
_OPTIONAL = re.compile(r"\[([^\[\]]*)\]")


def filled(template: str, facts: Facts) -> str:
    """The text of a template. Raises ``KeyError`` for a fact that it names and that is not there."""
    known = dict(facts)
    kept = _OPTIONAL.sub(
        lambda part: part[1] if all(_is_there(known, name) for name in fields(part[1])) else "", template
    )
    numbers = _numbers(kept, known)
    return _FIELD.sub(lambda field: _text(_cut(known[field[1]], field[2]), field[3], numbers.get(field[1], "")), kept)


@cache
def fields(template: str) -> tuple[str, ...]:
    """The names of the facts in a template, each once, in their order."""
    return tuple(dict.fromkeys(found[1] for found in _FIELD.finditer(template)))


def _is_there(known: Mapping[str, Fact], name: str) -> bool:
    return known.get(name, "") not in ("", ())


def _numbers(template: str, known: Mapping[str, Fact]) -> dict[str, str]:
    """The quantities in a template as text, those of one unit together."""
    return {name: text for group in _by_unit(template, known) for name, text in _shown_apart(group)}


def _by_unit(template: str, known: Mapping[str, Fact]) -> Iterator[list[tuple[str, Quantity]]]:
    groups: dict[str, list[tuple[str, Quantity]]] = {}
    for name in fields(template):
        fact = known[name]
        if isinstance(fact, Quantity):
            groups.setdefault(fact.unit, []).append((name, fact))
    yield from groups.values()


def _shown_apart(group: list[tuple[str, Quantity]]) -> Iterator[tuple[str, str]]:
    names, values = zip(*group, strict=True)
    texts = apart(*values) if len(values) == 2 else all_apart(values)
    yield from zip(names, texts, strict=True)


def _cut(fact: Fact, points: str | None) -> Fact:
    """A fact as it is named: of a list with points behind it no more than the first names, and how many are left."""
    if not points or not isinstance(fact, tuple) or len(fact) <= MOST_NAMED:
        return fact
    return (*fact[:MOST_NAMED], f"{shown(len(fact) - MOST_NAMED)} more")


def _text(fact: Fact, word: str | None, number: str) -> str:
    if isinstance(fact, Quantity):
        count, listed, behind = fact.value, number, True
    else:
        names = (fact,) if isinstance(fact, str) else fact
        count, listed, behind = float(len(names)), plainly_listed(names), False
    if word is None:
        return listed
    one, bar, several = word.partition("|")
    agreeing = one if count == 1.0 else (several or f"{one}s")
    if bar:
        return agreeing
    return f"{listed} {agreeing}" if behind else f"{agreeing} {listed}"
