"""The words and quantities of one line become facts, as the table in ``words`` tells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import Diagnostics, listed
from ..diagnostics.spelling import slipped
from ..named_tuples import NamedTuple
from ..quantities.units import UNITS, UNITS_OF, is_number, unglue, unit_name
from ..syntax.tree import Inner, Marked, Statement
from ..vocabulary.colours import ALSO_COLOURS, COLOURS, IEC_60757, Colour, called_otherwise, colour_of
from ..vocabulary.words import IN, Words
from .measures import _SCIENTIFIC, UPPER, measure
from .sizes import conductor_size, is_size_in_mm, report_size_in_mm, strands

if TYPE_CHECKING:
    from ..syntax.tokens import Token


@dataclass(slots=True, eq=False, repr=False)
class Facts:
    """What a line states: fact -> value, and where each is stated."""

    values: dict[str, Any] = field(default_factory=dict)
    spans: dict[str, Span] = field(default_factory=dict)

    def get(self, fact: str, default: Any = None) -> Any:
        return self.values.get(fact, default)

    def over(self, below: Facts, words: Words, mistakes: Diagnostics) -> Facts:
        """These facts and those of a pattern, or of the line above, together; what both say differently is reported."""
        values, spans = dict(below.values), dict(below.spans)
        for fact, value in self.values.items():
            if fact in words.many and fact in values:
                value = tuple(dict.fromkeys((*values[fact], *value)))
            elif fact in values and values[fact] != value:
                say_twice(fact, self.spans[fact], spans[fact], mistakes)
            values[fact] = value
            spans[fact] = self.spans[fact]
        return Facts(values, spans)


def say_twice(what: str, span: Span, first: Span, mistakes: Diagnostics) -> None:
    """Reports something said a second time."""
    mistakes.add(
        "repeated",
        span,
        f"{_SPOKEN.get(what, what.replace('_', ' '))} is stated twice",
        expected="one of the two",
        notes=(Note("first stated here", first),),
    )


_SPOKEN: Final = {
    "amps": "the rating in A",
    "watts": "the rating in W",
    "ohms": "the resistance",
    "volts": "the rating in V",
    "rated_volts": "the rated voltage",
    "farads": "the capacity",
    "amp_hours": "the capacity",
    "open_volts": "the open-circuit voltage",
    "short_amps": "the short-circuit current",
    "control": "how it limits the voltage",
    "what": "what it is",
    "how": "how it works",
    "form": "the form of the fuse",
    "size": "the size",
    "wire_class": "the class",
    "places": "the place",
    "thread": "the thread",
    "cover": "the cover",
    "positions": "this position",
    "system": "the system",
    "label": "the label",
    "senses": "what it senses",
    "pattern": "the pattern",
}


class Within(NamedTuple):
    """``in CONTROL POSITION``: what a word is meant for, as written; the control may be read later."""

    control: Token
    position: Token
    where: Statement | Inner


@dataclass(slots=True, eq=False, repr=False)
class Reader:
    """Reads the items of one line. ``whose`` names in messages what the line describes: "a fuse", "a wire".

    ``marks`` are the kept words that may begin a trait here, and ``label`` tells whether a text may be given.
    """

    where: Statement | Inner
    mistakes: Diagnostics
    words: Words
    whose: str
    marks: tuple[str, ...] = ()
    label: bool = False
    facts: Facts = field(default_factory=Facts)
    marked: list[tuple[Marked, Span]] = field(default_factory=list)

    def read(self, items: Sequence[Token | Marked]) -> Facts:
        place = 0
        while place < len(items):
            item = items[place]
            place += 1
            if isinstance(item, Marked):
                if item.word == "to" and self.words.upto:
                    place = self._upper(item, items, place)
                else:
                    self._mark(item)
            elif item.type == "STRING":
                self._text(item)
            elif item.type == "STRIPED":
                self._colour(item)
            elif is_number(item.value):
                place = self._number(item, items, place)
            else:
                place = self._word(item, items, place)
        return self.facts

    # --- single items
    def _mark(self, item: Marked) -> None:
        span = self.where.span(item.names[0], item.names[-1])
        if item.word in self.marks:
            self.marked.append((item, span))
        else:
            self.mistakes.add("misplaced", span, f"{self.whose} has no `{item.word}`", expected=self._expected())

    def _upper(self, item: Marked, items: Sequence[Token | Marked], place: int) -> int:
        """The upper end of a range, behind its ``to``; gives the place after."""
        number, fact = item.names[0], self.words.upto
        if fact not in self.facts.values or not is_number(number.value):
            self.mistakes.add(
                "unexpected-word",
                self.where.span(number),
                "`to` goes between the two ends of a range",
                expected="such as `42 W to 84 W`",
            )
            return place
        dimension = next(name for name, stated in self.words.ratings.items() if stated == fact)
        place = self._number(number, items, place, {dimension: UPPER})
        upper = self.facts.get(UPPER)
        if upper is not None and upper < self.facts.values[fact]:
            self.mistakes.add(
                "out-of-range",
                self.facts.spans[UPPER],
                "this range ends below its beginning",
                expected="the lesser quantity first",
            )
        return place

    def _text(self, item: Token) -> None:
        if self.label:
            self._state("label", item.value[1:-1], self.where.span(item))
        else:
            self.mistakes.add(
                "misplaced",
                self.where.span(item),
                f"a text is not allowed with {self.whose}",
                expected=self._expected(),
            )

    def _colour(self, item: Token) -> None:
        span = self.where.span(item)
        if not self.words.colour:
            self.mistakes.add("misplaced", span, f"{self.whose} has no colour", expected=self._expected())
            return
        named = []
        column = span.column
        for written in item.value.split("/"):
            colour = colour_of(written)
            if colour is None:
                self._unknown_colour(written, replace(span, column=column, end_column=column + len(written)))
                return
            named.append(colour)
            column += len(written) + 1
        self._state("colour", Colour(*named), span)

    def _unknown_colour(self, written: str, span: Span) -> None:
        self.mistakes.add(
            "unknown-colour",
            span,
            f"`{written}` is no colour of the list",
            expected=f"{listed(IEC_60757.values())}, plain or with `light-` or `dark-` before",
            wrong=written,
            known=(*COLOURS, *ALSO_COLOURS),
            meant=called_otherwise(written),
        )

    def _word(self, item: Token, items: Sequence[Token | Marked], place: int) -> int:
        """A word and what belongs to it; gives the place after."""
        text, span = item.value, self.where.span(item)
        if text in self.words.flags:
            fact, value = self.words.flags[text]
            if text in self.words.within and place < len(items) and items[place] == IN:
                return self._within(item, fact, items, place)
            self._state(fact, (value,) if fact in self.words.many else value, span)
            return place
        following = items[place] if place < len(items) else None
        token = None if isinstance(following, Marked) else following
        if text in self.words.keyed:
            fact, dimension = self.words.keyed[text]
            if token is not None and self._stuck(token.value, self.where.span(token)):
                return place + 1
            if token is None or not is_number(token.value):
                self.mistakes.add(
                    "unexpected-end" if token is None else "unexpected-word",
                    span if token is None else self.where.span(token),
                    f"after `{text}` comes a quantity",
                    expected=f"`{text}`, a number and {listed(UNITS_OF[dimension])}",
                )
                return place
            return self._number(token, items, place + 1, {dimension: fact})
        if text in self.words.choices:
            fact, choices = self.words.choices[text]
            if token is None or token.value not in choices:
                self.mistakes.add(
                    "unknown-word",
                    span if token is None else self.where.span(token),
                    f"`{text}` needs one of its words after it"
                    if token is None
                    else f"`{token.value}` is no {text} that the language knows",
                    expected=f"`{text}` and {listed(choices)}",
                )
            else:
                self._state(fact, token.value, self.where.span(item, token))
            return place + (token is not None)
        if text in self.words.named:
            if token is None or token.type == "STRING":
                self.mistakes.add(
                    "unexpected-end", span, f"`{text}` has no name after it", expected=f"`{text}` and a name"
                )
                return place
            self._state(self.words.named[text], (token,), self.where.span(item, token))
            return place + 1
        if self.words.colour and (colour := colour_of(text)):
            self._state("colour", Colour(colour), span)
        elif not self._stuck(text, span):
            return self._behind_unknown(self._unknown_word(text, span), items, place)
        elif token is not None and unit_name(token.value) is not None:
            return place + 1
        return place

    def _behind_unknown(self, meant: str | None, items: Sequence[Token | Marked], place: int) -> int:
        """The place behind what belongs to a word that was mistyped: ``tray`` of ``aat tray`` is no second mistake."""
        following = [item for item in items[place : place + 2] if not isinstance(item, Marked)]
        if meant is None or not following or following[0].type == "STRING" or isinstance(items[place], Marked):
            return place
        if meant in self.words.keyed:
            if not is_number(following[0].value):
                return place
            return place + 1 + (len(following) > 1 and unit_name(following[1].value) is not None)
        takes_name = meant in self.marks or meant in self.words.choices or meant in self.words.named
        return place + (takes_name and not is_number(following[0].value))

    def _within(self, item: Token, fact: str, items: Sequence[Token | Marked], place: int) -> int:
        """A word and the position that it is meant for, behind the ``in`` at ``place``; gives the place after."""
        named = [each for each in items[place + 1 : place + 3] if not isinstance(each, Marked) and each.type == "WORD"]
        span = self.where.span(item, named[-1] if named else items[place])  # type: ignore[arg-type]
        if len(named) < 2:
            self.mistakes.add(
                "unexpected-end",
                span,
                f"`{item} in` does not say in which position of which switch",
                expected=f"such as `{item} in KEY park`",
            )
        else:
            self._state(fact, Within(named[0], named[1], self.where), span)
        return place + 1 + len(named)

    def _unknown_word(self, text: str, span: Span) -> str | None:
        """Reports a word without meaning; gives the one that a slip of the finger made it of, if one did."""
        if self.words.colour and called_otherwise(text) is not None:
            self._unknown_colour(text, span)
            return None
        known = (*self.marks, *self.words.spoken(), *((*COLOURS, *ALSO_COLOURS) if self.words.colour else ()))
        meant = slipped(text, known)
        self.mistakes.add(
            "unknown-word",
            span,
            f"`{text}` says nothing about {self.whose}",
            expected=self._expected(),
            wrong=text,
            known=known,
            meant=meant,
        )
        return meant

    def _stuck(self, text: str, span: Span) -> bool:
        """Reports a number that something sticks to."""
        if stuck := unglue(text):
            self.mistakes.add(
                "glued-unit",
                span,
                f"`{text}` needs a space between number and unit",
                expected=f"`{stuck[0]} {stuck[1]}`",
            )
        elif _SCIENTIFIC.fullmatch(text):
            self.mistakes.add("bad-number", span, f"`{text}` is no plain number", expected="digits and one point")
        else:
            return False
        return True

    # --- quantities
    def _number(
        self, number: Token, items: Sequence[Token | Marked], place: int, ratings: dict[str, str] | None = None
    ) -> int:
        """A number, the unit after it and the fact that they state; gives the place after."""
        following = items[place] if place < len(items) else None
        unit = None if isinstance(following, Marked) else following
        if ratings is None:
            if "area" in self.words.ratings and unit is not None and unit.value == "x":
                return self._strands(number, items, place + 1)
            ratings = dict(self.words.ratings)
        if {"area", "length"} <= ratings.keys() and unit is not None and is_size_in_mm(number, unit, items):
            report_size_in_mm(number, unit, self.where, self.mistakes)
            return place + 1
        size = "area" in ratings and unit is not None and UNITS[unit_name(unit.value) or "V"].dimension == "area"
        if size and unit is not None and unit.start_pos != number.end_pos:
            found = conductor_size(number, unit, self.where, self.mistakes)
            if found is not None:
                self._state("size", found, self.where.span(number, unit))
            return place + 1
        value = measure(
            number, unit, ratings, self.where, self.mistakes, whose=self.whose, known=self._known_after_number()
        )
        if value.taken and value.fact is not None:
            self._state(value.fact, value.value, self.where.span(number, unit))
        return place + value.taken

    def _known_after_number(self) -> frozenset[str]:
        return frozenset((*self.words.spoken(), *(COLOURS if self.words.colour else ())))

    def _strands(self, count: Token, items: Sequence[Token | Marked], place: int) -> int:
        """``28 x 0.30 mm``: the count is read, ``place`` is behind the ``x``; gives the place after."""
        rest = [item for item in items[place : place + 2] if not isinstance(item, Marked)]
        size, last, taken = strands(count, rest, self.where, self.mistakes)
        if size is not None:
            self._state("size", size, self.where.span(count, last))
        return place + taken

    # --- bookkeeping
    def _state(self, fact: str, value: Any, span: Span) -> None:
        if fact in self.words.many:
            value = tuple(dict.fromkeys((*self.facts.get(fact, ()), *value)))
        elif fact in self.facts.values:
            say_twice(fact, span, self.facts.spans[fact], self.mistakes)
            return
        elif fact in self.words.one_of:
            for other in self.words.one_of:
                if other in self.facts.values:
                    say_twice("the rating", span, self.facts.spans[other], self.mistakes)
                    return
        self.facts.values[fact] = value
        self.facts.spans[fact] = span

    def _expected(self) -> str:
        """What may be on this line, for people."""
        units = [unit for dimension in self.words.ratings for unit in UNITS_OF[dimension]]
        says = [f"a number and {listed(units)}"] if units else []
        if self.words.spoken():
            says.append(listed(self.words.spoken()))
        if self.words.colour:
            says.append("a colour")
        if self.marks:
            says.append(listed(f"{mark} …" for mark in self.marks))
        if self.label:
            says.append('a text in `"`')
        return "; ".join(says) or "nothing more"
