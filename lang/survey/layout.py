"""The one layout of a survey: one space between words, first forms of colours, units and words; a lost line stays."""

from __future__ import annotations

from typing import Final

from ..diagnostics.messages import Diagnostics
from ..quantities.units import ALSO_READ
from .colours import seen_colours, short_way
from .lines import SurveyLine, Word, survey_lines
from .words import ALSO_LINES, SIDES

_GLUED: Final = (":", ",")
_TAKES_NAME: Final = ("mates", "at")


def laid_out_survey(text: str, file: str, hurt: frozenset[int]) -> str:
    """``text`` in the one layout. Comments, blank lines, order and line endings stay; lines of the numbers ``hurt``
    stay letter for letter.
    """
    rows = text.removeprefix("\ufeff").split("\n")
    lines = survey_lines(text, file, Diagnostics())
    out: list[str] = []
    ending = "\n"
    for row, line in zip(rows, lines, strict=False):
        last = line.number == len(rows)
        if last and not row.strip():
            break
        if not last:
            ending = "\r\n" if row.endswith("\r") else "\n"
        body = row.removesuffix("\r")
        out.append((body if line.number in hurt or not line.readable else laid_out_line(line)) + ending)
    return "".join(out)


def laid_out_line(line: SurveyLine) -> str:
    """The words of a line as it is best written, with its comment."""
    texts = [_joined(_first_forms(line.words))] if line.words else []
    return " ".join([*texts, *([line.comment] if line.comment else [])])


def _joined(words: list[str]) -> str:
    text = ""
    for word in words:
        text += word if not text or word in _GLUED else f" {word}"
    return text


def _first_forms(words: tuple[Word, ...]) -> list[str]:
    texts = [word.text for word in words]
    texts[0] = ALSO_LINES.get(texts[0], texts[0])
    if texts[0] != "half":
        return [ALSO_READ.get(text, text) for text in texts]
    head, leads = half_parts(texts)
    return [*head, *(_way(lead) for lead in leads)]


def half_parts(texts: list[str]) -> tuple[list[str], list[str]]:
    """The words of a half before its leads, and its leads."""
    place = 2
    while place < len(texts) and (texts[place] in SIDES or texts[place] in _TAKES_NAME):
        place += 1 if texts[place] in SIDES else 2
    return texts[:place], texts[place:]


def _way(written: str) -> str:
    colours = seen_colours(written)
    return written if isinstance(colours, str) else short_way(colours)
