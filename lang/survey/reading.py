"""From a survey file, or its text, to a survey: the way in.

Names are resolved when all lines are read, so that the order of lines means nothing but the numbers of leads. A mistake
costs its own line; a line that names what a lost one defined is left out without a second report.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path
from typing import Final

from ..circuit.branch import Control
from ..circuit.build import build_circuit
from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import Diagnostics, listed
from ..files.reading import UnreadableError, load_text, read_text
from ..model.harness import Harness, Reading
from ..model.parts import Connector, Ground, Splice
from ..quantities.units import UNITS, UNITS_OF, is_number, unglue, unit_name
from ..vocabulary.words import ENGINE
from .colours import KNOWN, seen_colours
from .layout import half_parts
from .lines import SurveyLine, Word, survey_lines
from .record import Arrangement, Found, Half, Knob, Lead, MeterReading, Point, Setting, Shows, Survey, SurveyReading
from .words import ALSO_LINES, BODIES, LINES, MEASURED, NOT_NAMES, NOTHING, OPEN, SIDES, SURVEY, WITH

MOST_LEADS: Final = 200
"""Leads of one half (ours): the largest plugs of a motorcycle have some sixty."""

MOST_HALVES: Final = 400
"""Halves of one survey (ours): a whole motorcycle has some sixty."""

MOST_POSITIONS: Final = 8
"""Positions of a knob (ours)."""

GREATEST_OHMS: Final = 1e8
"""No meter of a workshop shows more."""

_NAME: Final = re.compile(r"[^\W\d_][\w-]*")
_POINT: Final = re.compile(r"([^\W\d_][\w-]*)(?:\.([\w-]*[+-]?))?")

Load = Callable[[Path], str]


def read_survey_file(path: str | os.PathLike[str]) -> SurveyReading:
    """Reads a survey and the diagram that it names. Raises ``UnreadableError`` where the survey itself cannot be read;
    a diagram that cannot be read is among the mistakes.
    """
    name = os.fspath(path)
    try:
        text = load_text(Path(name))
    except (OSError, ValueError) as error:
        reason = (isinstance(error, OSError) and error.strerror) or str(error)
        raise UnreadableError(f"{name!r}: {reason}" if "\0" in name else f"{name}: {reason.lower()}") from error
    return read_survey(text, name)


def read_survey(
    text: str, file: str = "survey.loom", *, load: Load = load_text, diagram: Reading | None = None
) -> SurveyReading:
    """Reads a survey from a text, as if ``file`` held it. ``load`` gives the text of the diagram by its real path;
    ``diagram`` is that diagram where it was read before, and saves reading it again.
    """
    mistakes = Diagnostics()
    lines = survey_lines(text, file, mistakes)
    reader = _Reader(file, mistakes, load, known=diagram)
    survey = reader.read(lines, text)
    found = reader.diagram
    return SurveyReading(
        survey=survey,
        mistakes=mistakes.sorted((file,)),
        texts={file: text, **(found.texts if found else {})},
        diagram=found,
    )


@dataclass(slots=True, eq=False, repr=False)
class _Reader:
    """Reads the lines of one survey; ``diagram`` is the reading of the harness that it names."""

    file: str
    mistakes: Diagnostics
    load: Load
    known: Reading | None = None
    diagram: Reading | None = None
    halves: dict[str, Half] = field(default_factory=dict)
    knobs: dict[str, Knob] = field(default_factory=dict)
    said: dict[str, SurveyLine] = field(default_factory=dict)
    lost: set[str] = field(default_factory=set)
    controls: dict[str, Control] = field(default_factory=dict)

    @property
    def harness(self) -> Harness | None:
        return self.diagram.harness if self.diagram else None

    # --- the whole
    def read(self, lines: Sequence[SurveyLine], text: str) -> Survey:
        worded = [line for line in lines if line.words]
        by_head: dict[str, list[SurveyLine]] = {head: [] for head in (*LINES, "")}
        for line in worded:
            head = self._head(line)
            if head is not None:
                by_head[head].append(line)
        if not by_head[SURVEY]:
            self._no_title(worded, text)
        title, relation, file, place = self._title(by_head[SURVEY])
        if self.harness is not None:
            self.controls = {n: c for n, c in build_circuit(self.harness).controls.items() if n != ENGINE}
        for line in by_head["half"]:
            self._half(line, place)
        for line in by_head["knob"]:
            self._knob(line)
        self._mates(by_head["half"])
        arrangement = self._setup(by_head["setup"])
        beeper = self._beeper(by_head["beeper"])
        found = [each for line in by_head["found"] for each in self._found(line)]
        heads = ("beeps", "silent", "touched", "one-way", "")
        readings = [
            each
            for line in sorted((ln for head in heads for ln in by_head[head]), key=lambda ln: ln.number)
            for each in self._readings(line)
        ]
        return Survey(
            file=self.file,
            title=title,
            relation=relation if self.harness is not None else "",
            diagram=file,
            harness=self.harness,
            place=place,
            arrangement=arrangement,
            beeper=beeper,
            halves=self.halves,
            knobs=self.knobs,
            readings=tuple(readings),
            found=tuple(found),
        )

    def _head(self, line: SurveyLine) -> str | None:
        """What a line is, by its first word; empty for a reading that begins with a point, ``None`` for none."""
        first = line.words[0]
        head = ALSO_LINES.get(first.text, first.text)
        if head in LINES:
            return head
        if first.text == "ohm":
            self.mistakes.add(
                "unknown-statement",
                first.span,
                "no line of a survey begins with `ohm`",
                expected=f"{MEASURED.written}, such as `P4.1 P4.2 210 ohm`",
            )
            return None
        if _POINT.fullmatch(first.text) and ("." in first.text or first.text in BODIES):
            return ""
        self.mistakes.add(
            "unknown-statement",
            first.span,
            f"no line of a survey begins with `{first.text}`",
            expected=f"{listed((*LINES, 'a point such as P4.1'))}".replace("`a point such as P4.1`", "a point: `P4.1`"),
            wrong=first.text,
            known=(*LINES, *ALSO_LINES),
        )
        return None

    def _no_title(self, worded: Sequence[SurveyLine], text: str) -> None:
        if any(line.words[0].text == SURVEY for line in worded):
            return
        first = worded[0] if worded else None
        span = first.words[0].span if first else Span(self.file, 1, 1, max(2, len(text.split("\n", maxsplit=1)[0]) + 1))
        is_harness = first is not None and first.words[0].text == "loom"
        self.mistakes.add(
            "missing-word",
            span,
            "this is a harness and no survey" if is_harness else "no line begins with `survey`",
            expected='`survey "TITLE"` on the first line, with `of "FILE.loom"` where there is a diagram',
        )

    # --- survey, setup, beeper
    def _title(self, lines: Sequence[SurveyLine]) -> tuple[str, str, str | None, str | None]:
        """Title, relation, file of the diagram and place; reads the diagram."""
        title = relation = ""
        file = place = None
        line = self._once(lines)
        if line is None:
            return title, relation, file, place
        words = list(line.words[1:])
        if not words or not words[0].is_text:
            self._wanted(line, words[0] if words else None, 'a title in `"`')
            return title, relation, file, place
        title = words.pop(0).text[1:-1]
        place_word = None
        while words:
            word = words.pop(0)
            if word.text not in ("of", "like", "at") or not words:
                self._wanted(line, word if word.text not in ("of", "like", "at") else None, LINES[SURVEY].written)
                break
            value = words.pop(0)
            if word.text == "at":
                if place_word is not None:
                    self._repeated(value.span, "the place is stated twice", place_word.span)
                place_word = value
            elif not value.is_text:
                self._wanted(line, value, 'the name of a file in `"`')
            elif file is not None:
                self._repeated(value.span, "the diagram is stated twice", line.span)
            else:
                relation, file = word.text, value.text[1:-1]
                self._read_diagram(value)
        if place_word is not None:
            place = self._place(place_word)
        return title, relation, file, place

    def _read_diagram(self, value: Word) -> None:
        written = value.text[1:-1]
        folder = Path(os.path.realpath(Path(self.file).parent if "\0" not in self.file else "."))
        name = os.path.normpath(Path(self.file).parent / written) if written else ""
        reason = "the name of a file is missing" if not written else ""
        if written:
            try:
                target = Path(os.path.realpath(name))
                if Path(written).is_absolute() or not target.is_relative_to(folder):
                    self.mistakes.add(
                        "outside-use",
                        value.span,
                        f"`{written}` is outside the folder of the survey",
                        expected="a file in the folder of the survey, or below it",
                        remedy="copy the file there",
                    )
                    return
                if self.known is not None and self.known.harness.file == name:
                    self.diagram = self.known
                else:
                    self.diagram = read_text(self.load(target), name)
                return
            except (OSError, ValueError) as error:
                reason = _why(error)
        self.mistakes.add(
            "unreadable-use",
            value.span,
            f"`{written}` cannot be used: {reason}",
            expected="the name of the file with the diagram, as seen from this one",
        )

    def _setup(self, lines: Sequence[SurveyLine]) -> Arrangement:
        line = self._once(lines)
        if line is None:
            return Arrangement()
        apart: frozenset[str] | None = None
        apart_said = False
        parts_in = False
        for clause in _parted(line.words[1:]):
            texts = [word.text for word in clause]
            if texts in (["parts", "in"], ["parts", "out"]):
                parts_in = texts[1] == "in"
            elif texts == ["all", "apart"]:
                apart, apart_said = None, True
            elif len(texts) > 1 and texts[-1] == "apart":
                names = [self._connector(word) for word in clause[:-1]]
                apart, apart_said = frozenset(name for name in names if name), True
            else:
                self._wanted(line, clause[0] if clause else None, f"`{LINES['setup'].written}`")
                return Arrangement()
        if parts_in and not apart_said:
            apart = frozenset()
        if not parts_in and apart is not None:
            self.mistakes.add(
                "misplaced",
                line.span,
                "with the parts out, every connector is apart",
                expected="`setup all apart, parts out`, or `parts in` and the connectors that are apart",
            )
            return Arrangement()
        return Arrangement(apart=apart, parts_in=parts_in)

    def _connector(self, word: Word) -> str | None:
        known = [p.name for p in self.harness.parts.values() if isinstance(p, Connector)] if self.harness else []
        if word.text in known:
            return word.text
        self.mistakes.add(
            "unknown-part",
            word.span,
            f"the diagram has no connector `{word.text}`"
            if self.harness
            else "without a diagram no connector has a name",
            expected="`all apart`, or connectors of the diagram before `apart`",
            wrong=word.text,
            known=known,
        )
        return None

    def _beeper(self, lines: Sequence[SurveyLine]) -> float:
        line = self._once(lines)
        if line is None:
            return Survey(file="").beeper
        ohms = self._ohms(line, line.words[1:])
        return Survey(file="").beeper if ohms is None else ohms

    def _ohms(self, line: SurveyLine, words: Sequence[Word]) -> float | None:
        """A resistance in ohm from a number and a unit, above zero only where a beeper has it."""
        if not words:
            self._wanted(line, None, "a resistance such as `210 ohm`")
            return None
        number = words[0]
        stuck = unglue(number.text)
        if stuck is not None:
            self.mistakes.add(
                "glued-unit",
                number.span,
                f"`{number.text}` sticks to its unit",
                expected=f"`{stuck[0]} {stuck[1]}`, with a space",
            )
            return None
        if not is_number(number.text):
            self.mistakes.add(
                "bad-number",
                number.span,
                f"`{number.text}` is no plain number",
                expected="a number such as `210` or `0.5`, then `ohm`, `kohm` or `mohm`",
            )
            return None
        unit = unit_name(words[1].text) if len(words) > 1 else None
        if len(words) < 2:
            self.mistakes.add(
                "missing-unit", number.span, f"`{number.text}` has no unit", expected=listed(UNITS_OF["resistance"])
            )
            return None
        if unit is None or UNITS[unit].dimension != "resistance":
            self.mistakes.add(
                "unknown-unit" if unit is None else "wrong-dimension",
                words[1].span,
                f"`{words[1].text}` is no unit of resistance",
                expected=listed(UNITS_OF["resistance"]),
            )
            return None
        if len(words) > 2:
            self._wanted(line, words[2], "the end of the line")
            return None
        ohms = float(number.text) * UNITS[unit].factor
        if not 0.0 <= ohms <= GREATEST_OHMS or (ohms == 0.0 and line.words[0].text == "beeper"):
            self.mistakes.add(
                "out-of-range",
                number.span,
                f"{number.text} {words[1].text} is no resistance that a meter shows",
                expected=f"from 0 to 100,000 kohm; `{OPEN}` where it is beyond the meter's range",
            )
            return None
        return ohms

    # --- halves and knobs
    def _half(self, line: SurveyLine, place: str | None) -> None:
        name = self._name(line, "half")
        if name is None:
            return
        head, leads = half_parts([word.text for word in line.words])
        side = mates = ""
        good = True
        given: dict[str, Word] = {}
        words = line.words[2 : len(head)]
        index = 0
        while index < len(words):
            word = words[index]
            index += 1
            fact = "side" if word.text in SIDES else word.text
            if fact in given:
                self._repeated(word.span, f"the {_FACTS[fact]} is stated twice", given[fact].span)
                good = False
            given[fact] = word
            if fact == "side":
                side = word.text
                continue
            if index == len(words):
                self._wanted(line, None, f"{_FACTS[fact]} after `{fact}`")
                self.lost.add(name)
                return
            value = words[index]
            index += 1
            if fact == "mates":
                mates = value.text
            else:
                place = self._place(value)
                good = good and place is not None
        made = self._leads(name, line, line.words[len(head) :])
        if not leads and good:
            self._wanted(line, None, "the colours of its leads")
        if made is None or not leads or not good:
            self.lost.add(name)
            return
        if len(self.halves) >= MOST_HALVES:
            self.mistakes.add(
                "too-large", line.span, f"more than {MOST_HALVES} halves", expected="a survey of one motorcycle"
            )
            self.lost.add(name)
            return
        self.halves[name] = Half(
            name=name, leads=made, span=line.words[1].span, side=side, mates=mates or None, place=place
        )

    def _leads(self, half: str, line: SurveyLine, words: Sequence[Word]) -> tuple[Lead, ...] | None:
        if len(words) > MOST_LEADS:
            self.mistakes.add(
                "too-large", line.span, f"{len(words)} leads in one half", expected=f"at most {MOST_LEADS}"
            )
            return None
        leads = []
        good = True
        for number, word in enumerate(words, 1):
            colours = seen_colours(word.text)
            if isinstance(colours, str):
                misplaced = word.text in (*SIDES, "mates", "at")
                self.mistakes.add(
                    "misplaced" if misplaced else "unknown-colour",
                    word.span,
                    f"`{word.text}` stands behind the leads" if misplaced else f"`{colours}` is no colour of the list",
                    expected=f"before the first lead: `{LINES['half'].written}`"
                    if misplaced
                    else "letters such as `og/rd`, words such as `orange/red`, `?`, `-`, or two joined by `+`",
                    wrong=None if misplaced else colours,
                    known=KNOWN,
                )
                good = False
            elif len(colours) > MOST_POSITIONS:
                self.mistakes.add(
                    "too-large", word.span, f"{len(colours)} wires in one way", expected=f"at most {MOST_POSITIONS}"
                )
                good = False
            else:
                leads.append(Lead(half, number, colours, word.span))
        return tuple(leads) if good else None

    def _knob(self, line: SurveyLine) -> None:
        name = self._name(line, "knob")
        if name is None:
            return
        words = line.words[2:]
        if len(words) < 4 or words[0].text != "of":
            self._wanted(line, words[0] if words and words[0].text != "of" else None, LINES["knob"].written)
            self.lost.add(name)
            return
        half, positions = words[1], words[2:]
        if len(positions) > MOST_POSITIONS or len({word.text for word in positions}) < len(positions):
            self.mistakes.add(
                "repeated",
                positions[-1].span,
                f"`{name}` has {len(positions)} positions, or one of them twice",
                expected=f"two to {MOST_POSITIONS} positions of different names",
            )
            self.lost.add(name)
        elif not self._is_half(half):
            self.lost.add(name)
        else:
            self.knobs[name] = Knob(name, half.text, tuple(word.text for word in positions), line.words[1].span)

    def _mates(self, lines: Sequence[SurveyLine]) -> None:
        """Each half that came off another: it must be there, and no half came off two."""
        taken: dict[str, Half] = {}
        words = {word.text: word for line in lines for word in line.words}
        for half in tuple(self.halves.values()):
            if half.mates is None:
                continue
            if half.mates == half.name:
                self.mistakes.add(
                    "same-ends", half.span, f"`{half.name}` mates itself", expected="the half that it came off"
                )
            elif half.mates not in self.halves:
                self._is_half(words[half.mates])
            elif half.mates in taken:
                other = taken[half.mates]
                self._repeated(half.span, f"`{half.mates}` mates `{other.name}` already", other.span)
            else:
                taken[half.mates] = half

    def _is_half(self, word: Word) -> bool:
        if word.text in self.halves:
            return True
        if word.text not in self.lost:
            self.mistakes.add(
                "unknown-name",
                word.span,
                f"no half is named `{word.text}`",
                expected="the name of a `half` of this survey",
                wrong=word.text,
                known=self.halves,
            )
        return False

    # --- what was seen by eye
    def _found(self, line: SurveyLine) -> Iterator[Found]:
        words = line.words[1:]
        if len(words) != 3 or words[1].text not in ("is", "not"):
            self._wanted(line, words[1] if len(words) > 1 and words[1].text not in ("is", "not") else None, "found …")
            return
        subject, verb, target = words
        half, _, number = subject.text.partition(".")
        if not self._is_half(Word(half, subject.span)):
            return
        if number:
            point = self._point(subject)
            if point is None:
                return
        if self.harness is None:
            self.mistakes.add(
                "misplaced",
                target.span,
                "this survey has no diagram, so nothing can be found on it",
                expected='`survey "TITLE" of "FILE.loom"`',
            )
            return
        known = tuple(_ends(self.harness)) if number else tuple(_halves(self.harness))
        if target.text not in known:
            what = "end" if number else "half or part"
            self.mistakes.add(
                "unknown-terminal" if number else "unknown-part",
                target.span,
                f"the diagram has no {what} `{target.text}`",
                expected="an end such as `C1.4p` or `KEY.30`" if number else "a half such as `C1.p`, or a part",
                wrong=target.text,
                known=known,
            )
            return
        yield Found(half, int(number) if number else None, target.text, verb.text == "is", line.span)

    # --- readings
    def _readings(self, line: SurveyLine) -> Iterator[MeterReading]:
        head = line.words[0].text
        words = list(line.words) if head not in LINES else list(line.words[1:])
        setting: Setting | None = ()
        for place, word in enumerate(words):
            if word.text == WITH:
                setting = self._setting(line, words[place + 1 :])
                words = words[:place]
                break
        if setting is None:
            return
        if head == "touched":
            yield from self._touched(line, words, setting)
            return
        if head not in LINES:
            yield from self._measured(line, words, setting)
            return
        points = self._points(words)
        wanted = 2 if head == "one-way" else None
        if len(words) < 2 or (wanted and len(words) != wanted):
            self._wanted(line, words[2] if len(words) > 2 else None, f"`{LINES[head].written}`")
            return
        if points is None:
            return
        if head == "beeps":
            pairs: Iterable[tuple[Point, Point]] = ((points[0], other) for other in points[1:])
            shows = Shows.BEEP
        elif head == "silent":
            pairs, shows = combinations(points, 2), Shows.SILENCE
        else:
            pairs, shows = [(points[0], points[1])], Shows.ONE_WAY
        for a, b in pairs:
            yield MeterReading(shows=shows, a=a, b=b, span=line.span, setting=setting)

    def _measured(self, line: SurveyLine, words: Sequence[Word], setting: Setting) -> Iterator[MeterReading]:
        if len(words) < 3:
            self._wanted(line, None, f"`{MEASURED.written}`")
            return
        points = self._points(words[:2])
        if words[2].text == OPEN and len(words) == 3:
            if points is not None:
                yield MeterReading(shows=Shows.OPEN, a=points[0], b=points[1], span=line.span, setting=setting)
            return
        ohms = self._ohms(line, words[2:])
        if ohms is not None and points is not None:
            yield MeterReading(shows=Shows.OHMS, a=points[0], b=points[1], span=line.span, ohms=ohms, setting=setting)

    def _touched(self, line: SurveyLine, words: Sequence[Word], setting: Setting) -> Iterator[MeterReading]:
        texts = [word.text for word in words]
        if len(words) < 5 or texts[1] != "over" or ":" not in texts:
            self._wanted(
                line, words[1] if len(words) > 1 and texts[1] != "over" else None, f"`{LINES['touched'].written}`"
            )
            return
        colon = texts.index(":")
        over, beeped = words[2:colon], words[colon + 1 :]
        if not over or not beeped:
            self._wanted(line, None, f"the halves before the colon, and behind it the leads that beeped or `{NOTHING}`")
            return
        probe = self._points(words[:1])
        halves = [word.text for word in over if self._is_half(word)]
        hits = [] if texts[colon + 1 :] == [NOTHING] else self._points(beeped)
        if probe is None or hits is None or len(halves) < len(over):
            return
        for hit in hits:
            if hit.lead is None or hit.lead[0] not in halves:
                self.mistakes.add(
                    "misplaced",
                    hit.span,
                    f"`{hit.text}` is no lead of {listed(halves)}",
                    expected="only leads that were touched can have beeped",
                )
                return
        beeping = {hit.lead for hit in hits}
        for half in dict.fromkeys(halves):
            for lead in self.halves[half].wired:
                if lead.name == probe[0].lead:
                    continue
                shows = Shows.BEEP if lead.name in beeping else Shows.SILENCE
                other = Point(str(lead), line.span, lead.name)
                yield MeterReading(shows=shows, a=probe[0], b=other, span=line.span, setting=setting)

    def _points(self, words: Sequence[Word]) -> list[Point] | None:
        """The points that words name; ``None`` where one is not known, or one stands twice."""
        found = [self._point(word) for word in words]
        points = [point for point in found if point is not None]
        if len(points) < len(words):
            return None
        seen: dict[object, Point] = {}
        for point in points:
            key = point.lead or point.node
            if key in seen:
                self.mistakes.add(
                    "same-ends",
                    point.span,
                    f"`{point.text}` is touched with itself",
                    expected="two different points",
                )
                return None
            seen[key] = point
        return points

    def _point(self, word: Word) -> Point | None:
        match = _POINT.fullmatch(word.text)
        if match is None:
            self._wanted_point(word)
            return None
        name, terminal = match[1], match[2]
        if name in self.halves:
            return self._lead_point(word, self.halves[name], terminal)
        if name in self.lost:
            return None
        if terminal is None and name in BODIES:
            return Point(word.text, word.span, node=name)
        if self.harness is not None and word.text in _nodes(self.harness):
            return Point(word.text, word.span, node=word.text)
        self._wanted_point(word)
        return None

    def _lead_point(self, word: Word, half: Half, terminal: str | None) -> Point | None:
        number = int(terminal) if terminal and terminal.isascii() and terminal.isdigit() and len(terminal) < 6 else 0
        if not 1 <= number <= len(half.leads):
            self.mistakes.add(
                "unknown-terminal",
                word.span,
                f"`{half.name}` has no lead `{terminal}`" if terminal else f"`{half.name}` is a half, not a lead",
                expected=f"`{half.name}.1` to `{half.name}.{len(half.leads)}`"
                if len(half.leads) > 1
                else f"`{half.name}.1`",
            )
            return None
        if not half.leads[number - 1].colours:
            self.mistakes.add(
                "misplaced",
                word.span,
                f"way {number} of `{half.name}` is empty by its line",
                expected="a lead",
                remedy="write the colour in place of the `-`, or `?` where it cannot be seen",
                notes=(Note("empty here", half.leads[number - 1].span),),
            )
            return None
        return Point(word.text, word.span, lead=(half.name, number))

    def _wanted_point(self, word: Word) -> None:
        ends = "" if self.harness is None else ", or an end of the diagram such as `C1.4p`, `KEY.30` or a splice"
        known = [str(lead) for half in self.halves.values() for lead in half.leads]
        known += [*BODIES, *(_nodes(self.harness) if self.harness else ())]
        self.mistakes.add(
            "unknown-name",
            word.span,
            f"`{word.text}` is no point of this survey",
            expected=f"a lead such as `P1.3`, `FRAME` or `ENGINE`{ends}",
            wrong=word.text,
            known=known,
        )

    def _setting(self, line: SurveyLine, words: Sequence[Word]) -> Setting | None:
        """Controls and their positions after ``with``; ``None`` where one is not known."""
        setting: dict[str, str] = {}
        for clause in _parted(words):
            if len(clause) != 2:
                self._wanted(line, clause[0] if clause else None, "a control and its position, such as `with KEY on`")
                return None
            control, position = clause
            if control.text in self.lost:
                return None
            positions = self._positions(control.text)
            if positions is None:
                self.mistakes.add(
                    "unknown-control",
                    control.span,
                    f"`{control.text}` is no control of the diagram and no knob of this survey",
                    expected="a switch of the diagram, or a name that a `knob` line gives",
                    wrong=control.text,
                    known=(*self.controls, *self.knobs),
                )
                return None
            if position.text not in positions:
                self.mistakes.add(
                    "unknown-position",
                    position.span,
                    f"`{control.text}` has no position `{position.text}`",
                    expected=listed(positions),
                    wrong=position.text,
                    known=positions,
                )
                return None
            if control.text in setting:
                self._repeated(position.span, f"`{control.text}` is in one position at a time", control.span)
                return None
            setting[control.text] = position.text
        return tuple(sorted(setting.items()))

    def _positions(self, control: str) -> tuple[str, ...] | None:
        if control in self.knobs:
            return self.knobs[control].positions
        return self.controls[control].positions if control in self.controls else None

    # --- what every line needs
    def _name(self, line: SurveyLine, what: str) -> str | None:
        """The name that a line gives, after reporting what is wrong with it."""
        if len(line.words) < 2:
            self._wanted(line, None, f"`{LINES[what].written}`")
            return None
        word = line.words[1]
        name = word.text
        if name in NOT_NAMES or _NAME.fullmatch(name) is None:
            reserved = name in NOT_NAMES
            self.mistakes.add(
                "reserved-name" if reserved else "bad-name",
                word.span,
                f"`{name}` is a word of survey files" if reserved else f"`{name}` cannot be the name of a {what}",
                expected="another name" if reserved else "a letter, then letters, digits, `-` and `_`, such as `P1`",
            )
            return None
        taken = self.halves.get(name) or self.knobs.get(name)
        if taken is not None:
            self.mistakes.add(
                "duplicate-name",
                word.span,
                f"`{name}` is named twice",
                expected="another name",
                notes=(Note("first defined here", taken.span),),
            )
            return None
        on_diagram = self.harness is not None and (name in self.harness.parts or name in self.controls)
        if on_diagram or name in BODIES:
            self.mistakes.add(
                "duplicate-name",
                word.span,
                f"`{name}` is on the diagram already" if on_diagram else f"`{name}` is a point of every motorcycle",
                expected="another name, such as `P1`",
            )
            self.lost.add(name)
            return None
        return name

    def _place(self, word: Word) -> str | None:
        places = self.harness.places if self.harness is not None else None
        if places is None or word.text in places:
            if _NAME.fullmatch(word.text):
                return word.text
            self.mistakes.add(
                "bad-name",
                word.span,
                f"`{word.text}` cannot be the name of a place",
                expected="a letter, then letters, digits, `-` and `_`",
            )
            return None
        self.mistakes.add(
            "unknown-place",
            word.span,
            f"the diagram names no place `{word.text}`",
            expected=listed(places) if places else "no place: the diagram names none",
            wrong=word.text,
            known=places,
        )
        return None

    def _once(self, lines: Sequence[SurveyLine]) -> SurveyLine | None:
        for line in lines[1:]:
            self._repeated(line.span, f"`{line.words[0].text}` is stated twice", lines[0].span)
        return lines[0] if lines else None

    def _repeated(self, span: Span, message: str, first: Span) -> None:
        self.mistakes.add(
            "repeated", span, message, expected="one of the two", notes=(Note("first stated here", first),)
        )

    def _wanted(self, line: SurveyLine, word: Word | None, expected: str) -> None:
        """A word that does not fit, or (``None``) a line that ends too early."""
        if expected == "found …":
            expected = f"`{LINES['found'].written}`"
        elif expected in {form.written for form in LINES.values()}:
            expected = f"`{expected}`"
        if word is None:
            self.mistakes.add("unexpected-end", line.span, "this line ends too early", expected=expected)
        else:
            self.mistakes.add("unexpected-word", word.span, f"`{word.text}` does not fit here", expected=expected)


_FACTS: Final = {"side": "side", "mates": "half that it came off", "at": "place"}


def _why(error: OSError | ValueError) -> str:
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    if isinstance(error, IsADirectoryError):
        return "this is a folder, not a file"
    if isinstance(error, PermissionError):
        return "permission to read it is missing"
    return (getattr(error, "strerror", None) or "it cannot be read").lower()


def _parted(words: Sequence[Word]) -> list[list[Word]]:
    """Words between commas."""
    clauses: list[list[Word]] = [[]]
    for word in words:
        if word.text == ",":
            clauses.append([])
        else:
            clauses[-1].append(word)
    return clauses


def _nodes(harness: Harness) -> dict[str, None]:
    """Every end of a diagram that a probe can touch, by its name."""
    found: dict[str, None] = {}
    for part in harness.parts.values():
        if isinstance(part, (Splice, Ground)):
            found[part.name] = None
        elif isinstance(part, Connector):
            found.update((f"{part.name}.{way}{half}", None) for way in range(1, part.ways + 1) for half in "sp")
        else:
            found.update((f"{part.name}.{terminal}", None) for terminal in part.terminals)
    return found


def _ends(harness: Harness) -> Iterator[str]:
    yield from _nodes(harness)


def _halves(harness: Harness) -> Iterator[str]:
    """Every half and every part of a diagram that a half of a survey can be."""
    for part in harness.parts.values():
        if isinstance(part, Connector):
            yield f"{part.name}.s"
            yield f"{part.name}.p"
        elif not isinstance(part, Splice):
            yield part.name
