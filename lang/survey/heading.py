"""What a survey says of itself: its title, the diagram that it goes by, how the bike stood, when the beeper sounds."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..diagnostics.messages import Diagnostics
from ..diagnostics.unreadable import why_unreadable
from ..files.reading import read_text
from ..model.harness import Harness, Reading
from ..model.parts import Connector
from .clauses import ohms, once, parted, repeated, wanted
from .lines import SurveyLine, Word
from .names import place_of
from .record import Arrangement, Survey
from .words import LINES, SURVEY


@dataclass(frozen=True, slots=True)
class Title:
    """``relation``: the motorcycle is that ``of`` the diagram or ``like`` it; ``file`` is its name as written and
    ``diagram`` what was read of it; ``place`` where halves are unless they say otherwise.
    """

    title: str = ""
    relation: str = ""
    file: str | None = None
    place: str | None = None
    diagram: Reading | None = None


Load = Callable[[Path], str]


@dataclass(frozen=True, slots=True)
class Shelf:
    """Where diagrams come from: beside ``file``, by ``load``, or ``known`` since it was read before."""

    file: str
    load: Load
    known: Reading | None = None


def read_title(mistakes: Diagnostics, lines: Sequence[SurveyLine], shelf: Shelf) -> Title:
    """What the first line says; reads the diagram."""
    title = relation = ""
    file = place = diagram = None
    line = once(mistakes, lines)
    if line is None:
        return Title()
    words = list(line.words[1:])
    if not words or not words[0].is_text:
        wanted(mistakes, line, words[0] if words else None, 'a title in `"`')
        return Title(title, relation, file, place, diagram)
    title = words.pop(0).text[1:-1]
    place_word = None
    while words:
        word = words.pop(0)
        if word.text not in ("of", "like", "at") or not words:
            wanted(mistakes, line, word if word.text not in ("of", "like", "at") else None, LINES[SURVEY].written)
            break
        value = words.pop(0)
        if word.text == "at":
            if place_word is not None:
                repeated(mistakes, value.span, "the place is stated twice", place_word.span)
            place_word = value
        elif not value.is_text:
            wanted(mistakes, line, value, 'the name of a file in `"`')
        elif file is not None:
            repeated(mistakes, value.span, "the diagram is stated twice", line.span)
        else:
            relation, file = word.text, value.text[1:-1]
            diagram = _read_diagram(mistakes, value, shelf)
    if place_word is not None:
        place = place_of(mistakes, diagram.harness if diagram else None, place_word)
    return Title(title, relation, file, place, diagram)


def _read_diagram(mistakes: Diagnostics, value: Word, shelf: Shelf) -> Reading | None:
    written = value.text[1:-1]
    folder = Path(os.path.realpath(Path(shelf.file).parent if "\0" not in shelf.file else "."))
    name = os.path.normpath(Path(shelf.file).parent / written) if written else ""
    reason = "the name of a file is missing" if not written else ""
    if written:
        try:
            target = Path(os.path.realpath(name))
            if Path(written).is_absolute() or not target.is_relative_to(folder):
                mistakes.add(
                    "outside-use",
                    value.span,
                    f"`{written}` is outside the folder of the survey",
                    expected="a file in the folder of the survey, or below it",
                    remedy="copy the file there",
                )
                return None
            if shelf.known is not None and shelf.known.harness.file == name:
                return shelf.known
            return read_text(shelf.load(target), name)
        except (OSError, ValueError) as error:
            reason = why_unreadable(error)
    mistakes.add(
        "unreadable-use",
        value.span,
        f"`{written}` cannot be used: {reason}",
        expected="the name of the file with the diagram, as seen from this one",
    )
    return None


def read_setup(mistakes: Diagnostics, lines: Sequence[SurveyLine], harness: Harness | None) -> Arrangement:
    line = once(mistakes, lines)
    if line is None:
        return Arrangement()
    apart: frozenset[str] | None = None
    apart_said = False
    parts_in = False
    for clause in parted(line.words[1:]):
        texts = [word.text for word in clause]
        if texts in (["parts", "in"], ["parts", "out"]):
            parts_in = texts[1] == "in"
        elif texts == ["all", "apart"]:
            apart, apart_said = None, True
        elif len(texts) > 1 and texts[-1] == "apart":
            names = [_connector(mistakes, harness, word) for word in clause[:-1]]
            apart, apart_said = frozenset(name for name in names if name), True
        else:
            wanted(mistakes, line, clause[0] if clause else None, f"`{LINES['setup'].written}`")
            return Arrangement()
    if parts_in and not apart_said:
        apart = frozenset()
    if not parts_in and apart is not None:
        mistakes.add(
            "misplaced",
            line.span,
            "with the parts out, every connector is apart",
            expected="`setup all apart, parts out`, or `parts in` and the connectors that are apart",
        )
        return Arrangement()
    return Arrangement(apart=apart, parts_in=parts_in)


def _connector(mistakes: Diagnostics, harness: Harness | None, word: Word) -> str | None:
    known = [p.name for p in harness.parts.values() if isinstance(p, Connector)] if harness else []
    if word.text in known:
        return word.text
    mistakes.add(
        "unknown-part",
        word.span,
        f"the diagram has no connector `{word.text}`" if harness else "without a diagram no connector has a name",
        expected="`all apart`, or connectors of the diagram before `apart`",
        wrong=word.text,
        known=known,
    )
    return None


def read_beeper(mistakes: Diagnostics, lines: Sequence[SurveyLine]) -> float:
    line = once(mistakes, lines)
    if line is None:
        return Survey(file="").beeper
    found = ohms(mistakes, line, line.words[1:])
    return Survey(file="").beeper if found is None else found
