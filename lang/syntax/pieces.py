"""A piece becomes a node by the rule that its first word names; a piece that has not its shape is reported."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import Diagnostics
from ..vocabulary.statements import STATEMENTS
from ..vocabulary.words import KEPT_WORDS
from .lalr import MisfitError
from .misfits import Slip, slip_at
from .tree import _span

if TYPE_CHECKING:
    from collections.abc import Iterable

    from .tokens import Token


DEEPEST_BRACKETS: Final = 20


_CONDITIONAL: Final = ("expect", "line")
"""Rules of which a condition can be a part."""


_SAYS: Final = {
    "WORD": "a name or a word",
    "END": "an end such as `PART.TERMINAL`",
    "DECIMAL": "a number",
    "STRING": 'a text in `"`',
    "STRIPED": "a colour",
    "_COLON": "`:`",
    "_COMMA": "`,`",
    "_OPEN": "`(`",
    "_CLOSE": "`)`",
    "$END": "the end of the line",
}


def _expected(terminals: Iterable[str]) -> str:
    """Words for the terminals that could have stood where another one was found."""
    says = {_SAYS.get(name) or f"`{name.strip('_').lower()}`" for name in terminals}
    if _SAYS["WORD"] in says:
        says -= {_SAYS["DECIMAL"], _SAYS["STRIPED"]}
    return " or ".join(sorted(says, key=lambda word: (word == _SAYS["$END"], word.startswith("`"), word)))


@dataclass(slots=True, eq=False, repr=False)
class Pieces:
    """Parses pieces, each alone."""

    file: str
    mistakes: Diagnostics
    parse_tokens: Callable[[Sequence[Token], str], Any]

    def node(self, tokens: tuple[Token, ...], rule: str, number: int, *, in_block: bool) -> Any:
        """The node of a piece, or ``None`` after reporting what is wrong with its shape."""
        if rule in _CONDITIONAL and self._too_deep(tokens, number):
            return None
        try:
            return self.parse_tokens(tokens, rule)
        except MisfitError as error:
            slip = slip_at(tokens, error.token, lambda spelt: self._parses(spelt, rule))
            if slip is None:
                self._shape(error.token, error.fitting, tokens, number, in_block=in_block)
            else:
                self._slip(slip, tokens, number)
            return None

    def _parses(self, tokens: tuple[Token, ...], rule: str) -> bool:
        try:
            self.parse_tokens(tokens, rule)
        except MisfitError:
            return False
        return True

    def _slip(self, slip: Slip, tokens: tuple[Token, ...], number: int) -> None:
        self.mistakes.add(
            "unexpected-word",
            _span(self.file, number, tokens, slip.first, slip.last),
            f"`{slip.written}` is not allowed here",
            expected=f"`{slip.meant}`",
            meant=slip.meant if slip.first is slip.last else None,
        )

    def _too_deep(self, tokens: tuple[Token, ...], number: int) -> bool:
        depth = 0
        for token in tokens:
            depth += (token.type == "_OPEN") - (token.type == "_CLOSE")
            if depth > DEEPEST_BRACKETS:
                self.mistakes.add(
                    "too-deep",
                    _span(self.file, number, tokens, token, None),
                    f"more than {DEEPEST_BRACKETS} brackets inside each other",
                    remedy="write the condition with fewer",
                )
                return True
        return False

    def _shape(
        self, found: Token | None, expected: frozenset[str], tokens: tuple[Token, ...], number: int, *, in_block: bool
    ) -> None:
        head = tokens[0].value
        written = STATEMENTS[head].written if head in STATEMENTS and not in_block else ""
        remedy = f"write `{written}`" if written and " or " not in written else ""
        if found is None:
            last = tokens[-1]
            span = Span(self.file, number, last.end_column, last.end_column + 1)
            if not self.mistakes.on_line(span.file, span.line):
                said = f"the line ends after `{last}`"
                self.mistakes.add("unexpected-end", span, said, expected=_expected(expected), remedy=remedy)
            return
        if head == "use" and found.type == "_COMMA":
            remedy = f"write a line for each: `use {tokens[1]}`, and so on"
        place = next(index for index, token in enumerate(tokens) if token is found)
        span = _span(self.file, number, tokens, found, None)
        before = tokens[place - 1] if place else None
        after = tokens[place + 1] if place + 1 < len(tokens) else None
        if found.type == "_COMMA" and before and after and _joined_digits(before, found, after):
            self.mistakes.add(
                "decimal-comma",
                _span(self.file, number, tokens, before, after),
                f"`{before},{after}` has a comma; numbers have a point",
                expected=f"`{before}.{after}`",
            )
        elif found.value in KEPT_WORDS and "WORD" in expected:
            self.mistakes.add(
                "unexpected-word",
                span,
                f"`{found}` is a kept word and never a name",
                expected=_expected(expected),
                remedy=remedy,
            )
        else:
            self.mistakes.add(
                "unexpected-word", span, f"`{found}` is not allowed here", expected=_expected(expected), remedy=remedy
            )


def _joined_digits(before: Token, comma: Token, after: Token) -> bool:
    touching = before.end_pos == comma.start_pos and comma.end_pos == after.start_pos
    return touching and before.value.lstrip("-").isdecimal() and after.value[:1].isdecimal()
