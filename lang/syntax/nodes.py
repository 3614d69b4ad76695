"""What each rule of the grammar makes of its children, and the lexer and the parser that are made from it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from .grammar import grammar_tables
from .lalr import lexer, parser
from .tree import (
    BundleLine,
    CappedLine,
    Claimed,
    Conditional,
    DeclaredLine,
    EndsLine,
    ExpectLine,
    Group,
    HouseLine,
    HousingLine,
    Joined,
    JudgeLine,
    Marked,
    MountLine,
    Negated,
    OwnLine,
    PartLine,
    PatternLine,
    PlaceLine,
    PlainLine,
    RemovedLine,
    RouteLine,
    SettingsLine,
    SpareWireLine,
    StateLine,
    Tested,
    TitledLine,
    TogetherLine,
    UseLine,
    WaiveLine,
    WireLine,
)

if TYPE_CHECKING:
    from .tokens import Token


_Made = list[Any]


class Nodes:
    """A method a rule, by its name: from what its symbols became, in order, to the node of the whole."""

    def part(self, made: _Made) -> PartLine:
        return PartLine(made[1], tuple(made[2:]))

    def pattern(self, made: _Made) -> PatternLine:
        return PatternLine(made[1], made[2], tuple(made[3:]))

    def wire(self, made: _Made) -> WireLine:
        return WireLine(made[1], made[2], made[3], tuple(made[4:]))

    def place(self, made: _Made) -> PlaceLine:
        return PlaceLine(made[1], tuple(made[2:]))

    def route(self, made: _Made) -> RouteLine:
        return RouteLine(made[1], made[2], tuple(made[3:]))

    def mount(self, made: _Made) -> MountLine:
        return MountLine(*made[1:])

    def capped(self, made: _Made) -> CappedLine:
        return CappedLine(made[1])

    def state(self, made: _Made) -> StateLine:
        return StateLine(made[1])

    def expect(self, made: _Made) -> ExpectLine:
        claims = tuple(item for item in made if isinstance(item, Claimed))
        when = made[1] if isinstance(made[1], Conditional) else None
        without = next((item for item in made if type(item) is tuple), ())
        return ExpectLine(None if when else made[1], None if when else made[2], when, without, claims)

    def waive(self, made: _Made) -> WaiveLine:
        return WaiveLine(made[1], *made[3:])

    def house(self, made: _Made) -> HouseLine:
        return HouseLine(made[1], tuple(made[2:]))

    def judge(self, made: _Made) -> JudgeLine:
        return JudgeLine(*made[1:])

    def declared(self, made: _Made) -> DeclaredLine:
        return DeclaredLine(*made[1:])

    def removed(self, made: _Made) -> RemovedLine:
        return RemovedLine(made[1])

    def bundle(self, made: _Made) -> BundleLine:
        return BundleLine(made[1])

    def together(self, made: _Made) -> TogetherLine:
        return TogetherLine(tuple(made[1:-2]), made[-1])

    def spare_wire(self, made: _Made) -> SpareWireLine:
        return SpareWireLine(made[1], made[2], made[3], tuple(made[4:]))

    def ends(self, made: _Made) -> EndsLine:
        return EndsLine(made[1], tuple(made[2:-1]), made[-1])

    def housing(self, made: _Made) -> HousingLine:
        return HousingLine(made[1], tuple(made[2:]))

    def titled(self, made: _Made) -> TitledLine:
        return TitledLine(made[1])

    def use(self, made: _Made) -> UseLine:
        return UseLine(made[1])

    def plain(self, made: _Made) -> PlainLine:
        return PlainLine(tuple(made[1:]))

    def line(self, made: _Made) -> OwnLine:
        return OwnLine(*made)

    def connected(self, made: _Made) -> tuple[Group, ...]:
        return tuple(group for group in made if group)

    def group(self, made: _Made) -> Group:
        return Group(tuple(made[:-1]), made[-1])

    def settings(self, made: _Made) -> SettingsLine:
        return SettingsLine(tuple(made))

    def condition(self, made: _Made) -> Conditional:
        return made[0] if len(made) == 1 else Joined(tuple(made[::2]), tuple(made[1::2]))

    def joint(self, made: _Made) -> Token:
        return made[0]  # type: ignore[no-any-return]

    def negated(self, made: _Made) -> Negated:
        return Negated(made[0])

    def test(self, made: _Made) -> Tested:
        return Tested(*made)

    def live(self, made: _Made) -> Claimed:
        return Claimed(made[0], made[1], None)

    def bound(self, made: _Made) -> Claimed:
        return Claimed(made[0], made[2], tuple(made[3:]))

    def marked(self, made: _Made) -> Marked:
        names = made[1]
        return Marked(made[0].value, names if type(names) is tuple else (names,))

    def upto(self, made: _Made) -> Marked:
        return Marked("to", tuple(made))

    def drawn(self, made: _Made) -> Marked:
        return Marked("from", tuple(made))

    def own(self, made: _Made) -> tuple[Any, ...]:
        return tuple(made)

    names = things = setting = offered = own


@cache
def tools() -> tuple[Callable[[str], list[Token]], Callable[[Sequence[Token], str], Any]]:
    """The lexer of one line and the parser of one piece's tokens, made from the grammar when the first text is read."""
    tables = grammar_tables()
    return lexer(tables), parser(tables, Nodes())
