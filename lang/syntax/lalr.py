"""A lexer and a parser that run on tables: the regular expressions and the LALR(1) states that Lark made of a grammar.

Shift a token or reduce by a rule, as DeRemer (1969) has it. The tables are Lark's; to run them here spares every start
the import of Lark, and tokens carry no more than a line's words need.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from ..named_tuples import NamedTuple
from .tokens import Token, token

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

END: Final = "$END"
"""The terminal behind the last token."""


class Rule(NamedTuple):
    """A rule of a grammar: it takes ``size`` symbols and becomes ``origin``.

    ``made_by``: the method that makes a node of them; empty where they are put into the rule around them. ``taken``:
    of which symbols, by place, with whether that one's own are put in and how many ``None`` are before it for what
    was left out; ``None`` where it is all of them as they are. ``left_out``: as many ``None`` are behind the last.
    """

    origin: str
    size: int
    made_by: str
    taken: tuple[tuple[int, bool, int], ...] | None
    left_out: int


class Tables(NamedTuple):
    """``pattern``: every terminal as a named group, the first that fits counts. ``kept_words``: by terminal, the words
    that are terminals of their own. ``ignored`` terminals make no token.

    ``states``: by symbol the state that follows, or, counted down from -1, the rule to reduce by. ``starts`` and
    ``ends``: the first and the last state by the rule that a text is of.
    """

    pattern: str
    kept_words: Mapping[str, Mapping[str, str]]
    ignored: frozenset[str]
    states: Sequence[Mapping[str, int]]
    rules: Sequence[Rule]
    starts: Mapping[str, int]
    ends: Mapping[str, int]


class MisfitError(Exception):
    """A token, or the end (``None``), that cannot follow those before it; ``fitting``: the terminals that could."""

    def __init__(self, found: Token | None, fitting: frozenset[str]) -> None:
        super().__init__(f"{found!r} where {sorted(fitting)} could follow")
        self.token = found
        self.fitting = fitting


def lexer(tables: Tables) -> Callable[[str], list[Token]]:
    """What cuts one line into tokens. Every character of it must fit some terminal."""
    every = re.compile(tables.pattern).finditer
    kept, ignored = tables.kept_words, tables.ignored

    def lex(line: str) -> list[Token]:
        found = []
        for match in every(line):
            kind = match.lastgroup
            if kind is None or kind in ignored:
                continue
            value = match[0]
            if kind in kept:
                kind = kept[kind].get(value, kind)
            found.append(token(kind, value, match.start()))
        return found

    return lex


def parser(tables: Tables, nodes: object) -> Callable[[Sequence[Token], str], Any]:
    """What makes a node of tokens that are of a rule, by the methods of ``nodes``. It raises ``MisfitError``."""
    states, starts, ends = tables.states, tables.starts, tables.ends
    rules = [
        (each.origin, each.size, getattr(nodes, each.made_by) if each.made_by else None, each.taken, each.left_out)
        for each in tables.rules
    ]

    def parse(tokens: Sequence[Token], rule: str) -> Any:
        stack: list[int] = [starts[rule]]
        values: list[Any] = []
        end = ends[rule]
        for given in (*tokens, None):
            kind = given.type if given is not None else END
            while True:
                action = states[stack[-1]].get(kind)
                if action is None:
                    raise MisfitError(given, fitting(tables, stack, end))
                if action >= 0:
                    stack.append(action)
                    values.append(given)
                    break
                origin, size, make, taken, left_out = rules[-1 - action]
                made: list[Any] = []
                if size:
                    made = values[-size:]
                    del stack[-size:], values[-size:]
                if taken is not None:
                    made = _taken(made, taken, left_out)
                values.append(made if make is None else make(made))
                stack.append(states[stack[-1]][origin])
                if given is None and stack[-1] == end:
                    return values[-1]
        raise AssertionError(rule)  # the end is never shifted

    return parse


def _taken(symbols: list[Any], taken: tuple[tuple[int, bool, int], ...], left_out: int) -> list[Any]:
    """What a rule makes its node of."""
    made: list[Any] = []
    for place, put_in, before in taken:
        if before:
            made += [None] * before
        if put_in:
            made += symbols[place]
        else:
            made.append(symbols[place])
    if left_out:
        made += [None] * left_out
    return made


def fitting(tables: Tables, stack: Sequence[int], end: int) -> frozenset[str]:
    """The terminals that can follow in a state: those after which, once all rules are reduced, one is shifted."""
    return frozenset(
        name for name in tables.states[stack[-1]] if name.isupper() and _follows(tables, list(stack), end, name)
    )


def _follows(tables: Tables, stack: list[int], end: int, name: str) -> bool:
    while True:
        action = tables.states[stack[-1]].get(name)
        if action is None:
            return False
        if action >= 0:
            return True
        rule = tables.rules[-1 - action]
        del stack[len(stack) - rule.size :]
        stack.append(tables.states[stack[-1]][rule.origin])
        if name == END and stack[-1] == end:
            return True
