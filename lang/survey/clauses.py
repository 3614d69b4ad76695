"""What every line of a survey needs: its clauses, a resistance, and how a word is reported that does not fit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import Diagnostics, listed
from ..quantities.units import UNITS, UNITS_OF, is_number, unglue, unit_name
from .lines import SurveyLine, Word
from .words import LINES, OPEN

GREATEST_OHMS: Final = 1e8
"""No meter of a workshop shows more."""


def parted(words: Sequence[Word]) -> list[list[Word]]:
    """Words between commas."""
    clauses: list[list[Word]] = [[]]
    for word in words:
        if word.text == ",":
            clauses.append([])
        else:
            clauses[-1].append(word)
    return clauses


def once(mistakes: Diagnostics, lines: Sequence[SurveyLine]) -> SurveyLine | None:
    for line in lines[1:]:
        repeated(mistakes, line.span, f"`{line.words[0].text}` is stated twice", lines[0].span)
    return lines[0] if lines else None


def repeated(mistakes: Diagnostics, span: Span, message: str, first: Span) -> None:
    mistakes.add("repeated", span, message, expected="one of the two", notes=(Note("first stated here", first),))


def wanted(mistakes: Diagnostics, line: SurveyLine, word: Word | None, expected: str) -> None:
    """A word that does not fit, or (``None``) a line that ends too early."""
    if expected == "found …":
        expected = f"`{LINES['found'].written}`"
    elif expected in {form.written for form in LINES.values()}:
        expected = f"`{expected}`"
    if word is None:
        mistakes.add("unexpected-end", line.span, "this line ends too early", expected=expected)
    else:
        mistakes.add("unexpected-word", word.span, f"`{word.text}` does not fit here", expected=expected)


def ohms(mistakes: Diagnostics, line: SurveyLine, words: Sequence[Word]) -> float | None:
    """A resistance in ohm from a number and a unit, above zero only where a beeper has it."""
    if not words:
        wanted(mistakes, line, None, "a resistance such as `210 ohm`")
        return None
    number = words[0]
    stuck = unglue(number.text)
    if stuck is not None:
        mistakes.add(
            "glued-unit",
            number.span,
            f"`{number.text}` sticks to its unit",
            expected=f"`{stuck[0]} {stuck[1]}`, with a space",
        )
        return None
    if not is_number(number.text):
        mistakes.add(
            "bad-number",
            number.span,
            f"`{number.text}` is no plain number",
            expected="a number such as `210` or `0.5`, then `ohm`, `kohm` or `mohm`",
        )
        return None
    unit = unit_name(words[1].text) if len(words) > 1 else None
    if len(words) < 2:
        mistakes.add(
            "missing-unit", number.span, f"`{number.text}` has no unit", expected=listed(UNITS_OF["resistance"])
        )
        return None
    if unit is None or UNITS[unit].dimension != "resistance":
        mistakes.add(
            "unknown-unit" if unit is None else "wrong-dimension",
            words[1].span,
            f"`{words[1].text}` is no unit of resistance",
            expected=listed(UNITS_OF["resistance"]),
        )
        return None
    if len(words) > 2:
        wanted(mistakes, line, words[2], "the end of the line")
        return None
    ohms = float(number.text) * UNITS[unit].factor
    if not 0.0 <= ohms <= GREATEST_OHMS or (ohms == 0.0 and line.words[0].text == "beeper"):
        mistakes.add(
            "out-of-range",
            number.span,
            f"{number.text} {words[1].text} is no resistance that a meter shows",
            expected=f"from 0 to 100,000 kohm; `{OPEN}` where it is beyond the meter's range",
        )
        return None
    return ohms
