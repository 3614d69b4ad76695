"""A survey in the editor: what is wrong with it, what can be typed, and what a half or a lead is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING, Final

from ...checks.survey.answers import HalfAnswer, answers
from ...checks.survey.identify import Identification
from ...lang.circuit.build import build_circuit
from ...lang.diagnostics.diagnostic import Span
from ...lang.quantities.units import UNITS_OF
from ...lang.survey.colours import KNOWN
from ...lang.survey.record import Survey, SurveyReading
from ...lang.survey.words import BODIES, LINES, MEASURED, NOTHING, OPEN, SIDES, WITH
from ...lang.vocabulary.words import ENGINE
from ..report.survey import half_lines
from .diagnostics import Problem, of_mistakes
from .hover_text import Hover
from .offers import Offer, Offers

if TYPE_CHECKING:
    from ...lang.model.harness import Reading

_WORD: Final = re.compile(r'"[^"]*"?|[:,]|[^\s:,"]+')


class SurveyInEditor:
    """A survey as it was read; what its halves are is worked out when it is first asked, by one thread only."""

    def __init__(self, reading: SurveyReading, text: str) -> None:
        self.reading = reading
        self.rows = text.removeprefix("\ufeff").split("\n")

    @property
    def survey(self) -> Survey:
        return self.reading.survey

    @cached_property
    def answers(self) -> dict[str, HalfAnswer]:
        """What is reported on each half; nothing without a diagram."""
        survey = self.survey
        if survey.harness is None or not any(half.wired for half in survey.halves.values()):
            return {}
        return {answer.half.name: answer for answer in answers(Identification(survey))}

    # --- what is wrong
    def problems(self, harness_reading: Reading) -> tuple[Problem, ...]:
        """The mistakes of the survey, and that its diagram has some."""
        found = [problem for problem in of_mistakes(harness_reading) if problem.origin is not None]
        diagram = self.reading.diagram
        if diagram is not None and diagram.mistakes:
            message = f"the diagram {diagram.harness.file} has mistakes: what was understood of it is used"
            found.append(Problem(Span(self.survey.file, 1, 1, 2), "warning", "unreadable-use", message))
        return tuple(found)

    # --- what can be typed
    def completion(self, line: int, column: int) -> Offers:
        """What can be at a place, best first."""
        row = self.rows[line - 1][: column - 1] if line <= len(self.rows) else ""
        words = _WORD.findall(row.partition("#")[0])
        partial = words.pop() if words and row and not row[-1].isspace() and words[-1] not in (",", ":") else ""
        if partial.startswith('"') or "#" in row:
            return Offers((), column)
        return Offers(tuple(dict.fromkeys(self._offers(words))), column - len(partial))

    def _offers(self, words: list[str]) -> Iterator[Offer]:
        if not words:
            yield from (Offer(word, "statement", form.says) for word, form in LINES.items())
            yield from self._points()
        elif WITH in words and words[0] not in ("half", "plug"):
            yield from self._settings(words[len(words) - words[::-1].index(WITH) :])
        elif words[0] in ("half", "plug"):
            yield from self._half(words)
        elif words[0] == "survey":
            yield from (Offer(word, "word") for word in ("of", "like", "at"))
            yield from self._places()
        elif words[0] == "setup":
            yield from (Offer(word, "word") for word in ("all apart", "apart", "parts out", "parts in"))
        elif words[0] in ("knob", "found"):
            yield from (Offer(word, "word") for word in (("of",) if words[0] == "knob" else ("is", "not")))
            yield from self._halves()
        elif words[0] == "touched" and "over" in words:
            yield from (self._points() if ":" in words else self._halves())
            yield Offer(NOTHING, "word", "none of them beeped")
        else:
            yield from (Offer(word, "word") for word in self._words_after(words))
            yield from self._points()

    @staticmethod
    def _words_after(words: list[str]) -> tuple[str, ...]:
        if words[0] == "touched":
            return ("over",)
        if words[0] == "beeper" or "." in words[0] or words[0] in BODIES:
            return (OPEN, WITH, *UNITS_OF["resistance"])
        return (WITH,)

    def _half(self, words: list[str]) -> Iterator[Offer]:
        if words[-1] == "at":
            yield from self._places()
        elif words[-1] == "mates":
            yield from self._halves()
        elif len(words) > 1:
            yield from (Offer(colour, "colour") for colour in KNOWN)
            yield from (Offer(word, "word") for word in (*SIDES, "mates", "at"))

    def _places(self) -> Iterator[Offer]:
        harness = self.survey.harness
        yield from (Offer(place, "place") for place in (harness.places if harness else ()))

    def _halves(self) -> Iterator[Offer]:
        yield from (Offer(half, "part") for half in self.survey.halves)

    def _points(self) -> Iterator[Offer]:
        for half in self.survey.halves.values():
            yield from (Offer(str(lead), "terminal", " + ".join(map(str, lead.colours))) for lead in half.wired)
        yield from (Offer(body, "terminal") for body in BODIES)

    def _settings(self, words: list[str]) -> Iterator[Offer]:
        """Controls and knobs, or the positions of the one before."""
        harness = self.survey.harness
        controls = build_circuit(harness).controls if harness else {}
        positions = {name: control.positions for name, control in controls.items() if name != ENGINE}
        positions |= {name: knob.positions for name, knob in self.survey.knobs.items()}
        if words and words[-1] in positions:
            yield from (Offer(position, "position") for position in positions[words[-1]])
        else:
            yield from (Offer(name, "part") for name in positions)

    # --- what it means
    def hover(self, line: int, column: int) -> Hover | None:
        """What a half or a lead is, or what a word begins."""
        row = self.rows[line - 1].removesuffix("\r") if line <= len(self.rows) else ""
        for match in _WORD.finditer(row.partition("#")[0]):
            if match.start() < column <= match.end() + 1 and (text := self._about(match[0], match.start() == 0)):
                return Hover(text, Span(self.survey.file, line, match.start() + 1, match.end() + 1))
        return None

    def _about(self, word: str, first: bool) -> str:
        name = word.partition(".")[0]
        if name in self.survey.halves:
            answer = self.answers.get(name)
            if answer is None:
                return "This survey has no diagram: `loomwright draft` writes one from its readings."
            return "```text\n" + "\n".join(half_lines(answer)) + "\n```"
        if first and word in LINES:
            return f"`{LINES[word].written}`\n\n{LINES[word].says}"
        return f"`{MEASURED.written}`\n\n{MEASURED.says}" if word == OPEN else ""
