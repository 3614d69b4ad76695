"""Lines of what a meter showed, and of what was seen by eye."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations
from typing import Final

from ..diagnostics.diagnostic import Note
from ..diagnostics.messages import Diagnostics, listed
from ..model.harness import Harness
from ..model.parts import Connector, Splice
from .clauses import ohms, parted, repeated, wanted
from .lines import SurveyLine, Word
from .names import Names, nodes
from .record import Found, Half, MeterReading, Point, Setting, Shows
from .words import BODIES, LINES, MEASURED, NOTHING, OPEN, WITH

POINT: Final = re.compile(r"([^\W\d_][\w-]*)(?:\.([\w-]*[+-]?))?")


def read_found(names: Names, line: SurveyLine) -> Iterator[Found]:
    words = line.words[1:]
    if len(words) != 3 or words[1].text not in ("is", "not"):
        wanted(
            names.mistakes, line, words[1] if len(words) > 1 and words[1].text not in ("is", "not") else None, "found …"
        )
        return
    subject, verb, target = words
    half, _, number = subject.text.partition(".")
    if not names.is_half(Word(half, subject.span)):
        return
    if number:
        point = _point(names, subject)
        if point is None:
            return
    if names.harness is None:
        names.mistakes.add(
            "misplaced",
            target.span,
            "this survey has no diagram, so nothing can be found on it",
            expected='`survey "TITLE" of "FILE.loom"`',
        )
        return
    known: tuple[str, ...] = tuple(nodes(names.harness)) if number else tuple(_halves(names.harness))
    found = next((each for each in known if each == target.text), None)
    if found is None:
        what = "end" if number else "half or part"
        names.mistakes.add(
            "unknown-terminal" if number else "unknown-part",
            target.span,
            f"the diagram has no {what} `{target.text}`",
            expected="an end such as `C1.4p` or `KEY.30`" if number else "a half such as `C1.p`, or a part",
            wrong=target.text,
            known=known,
        )
        return
    yield Found(half, int(number) if number else None, found, verb.text == "is", line.span)


def _halves(harness: Harness) -> Iterator[str]:
    """Every half and every part of a diagram that a half of a survey can be."""
    for part in harness.parts.values():
        if isinstance(part, Connector):
            yield f"{part.name}.s"
            yield f"{part.name}.p"
        elif not isinstance(part, Splice):
            yield part.name


def read_readings(names: Names, line: SurveyLine) -> Iterator[MeterReading]:
    head = line.words[0].text
    words = list(line.words) if head not in LINES else list(line.words[1:])
    setting: Setting | None = ()
    for place, word in enumerate(words):
        if word.text == WITH:
            setting = _setting(names, line, words[place + 1 :])
            words = words[:place]
            break
    if setting is None:
        return
    if head == "touched":
        yield from _touched(names, line, words, setting)
        return
    if head not in LINES:
        yield from _measured(names, line, words, setting)
        return
    points = _points(names, words)
    ends = 2 if head == "one-way" else None
    if len(words) < 2 or (ends and len(words) != ends):
        wanted(names.mistakes, line, words[2] if len(words) > 2 else None, f"`{LINES[head].written}`")
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


def _measured(names: Names, line: SurveyLine, words: Sequence[Word], setting: Setting) -> Iterator[MeterReading]:
    if len(words) < 3:
        wanted(names.mistakes, line, None, f"`{MEASURED.written}`")
        return
    points = _points(names, words[:2])
    if words[2].text == OPEN and len(words) == 3:
        if points is not None:
            yield MeterReading(shows=Shows.OPEN, a=points[0], b=points[1], span=line.span, setting=setting)
        return
    measured = ohms(names.mistakes, line, words[2:])
    if measured is not None and points is not None:
        yield MeterReading(shows=Shows.OHMS, a=points[0], b=points[1], span=line.span, ohms=measured, setting=setting)


def _touched(names: Names, line: SurveyLine, words: Sequence[Word], setting: Setting) -> Iterator[MeterReading]:
    texts = [word.text for word in words]
    if len(words) < 5 or texts[1] != "over" or ":" not in texts:
        wanted(
            names.mistakes,
            line,
            words[1] if len(words) > 1 and texts[1] != "over" else None,
            f"`{LINES['touched'].written}`",
        )
        return
    colon = texts.index(":")
    over, beeped = words[2:colon], words[colon + 1 :]
    if not over or not beeped:
        wanted(
            names.mistakes,
            line,
            None,
            f"the halves before the colon, and behind it the leads that beeped or `{NOTHING}`",
        )
        return
    probe = _points(names, words[:1])
    halves = [word.text for word in over if names.is_half(word)]
    hits = [] if texts[colon + 1 :] == [NOTHING] else _points(names, beeped)
    if probe is None or hits is None or len(halves) < len(over):
        return
    for hit in hits:
        if hit.lead is None or hit.lead[0] not in halves:
            names.mistakes.add(
                "misplaced",
                hit.span,
                f"`{hit.text}` is no lead of {listed(halves)}",
                expected="only leads that were touched can have beeped",
            )
            return
    beeping = {hit.lead for hit in hits}
    for half in dict.fromkeys(halves):
        for lead in names.halves[half].wired:
            if lead.name == probe[0].lead:
                continue
            shows = Shows.BEEP if lead.name in beeping else Shows.SILENCE
            other = Point(str(lead), line.span, lead.name)
            yield MeterReading(shows=shows, a=probe[0], b=other, span=line.span, setting=setting)


def _points(names: Names, words: Sequence[Word]) -> list[Point] | None:
    """The points that words name; ``None`` where one is not known, or one stands twice."""
    found = [_point(names, word) for word in words]
    points = [point for point in found if point is not None]
    if len(points) < len(words):
        return None
    seen: dict[object, Point] = {}
    for point in points:
        key = point.lead or point.node
        if key in seen:
            names.mistakes.add(
                "same-ends",
                point.span,
                f"`{point.text}` is touched with itself",
                expected="two different points",
            )
            return None
        seen[key] = point
    return points


def _point(names: Names, word: Word) -> Point | None:
    match = POINT.fullmatch(word.text)
    if match is None:
        _wanted_point(names, word)
        return None
    name, terminal = match[1], match[2]
    if name in names.halves:
        return _lead_point(names.mistakes, word, names.halves[name], terminal)
    if name in names.lost:
        return None
    if terminal is None and name in BODIES:
        return Point(word.text, word.span, node=name)
    if names.harness is not None and word.text in nodes(names.harness):
        return Point(word.text, word.span, node=word.text)
    _wanted_point(names, word)
    return None


def _wanted_point(names: Names, word: Word) -> None:
    ends = "" if names.harness is None else ", or an end of the diagram such as `C1.4p`, `KEY.30` or a splice"
    known = [str(lead) for half in names.halves.values() for lead in half.leads]
    known += [*BODIES, *(nodes(names.harness) if names.harness else ())]
    names.mistakes.add(
        "unknown-name",
        word.span,
        f"`{word.text}` is no point of this survey",
        expected=f"a lead such as `P1.3`, `FRAME` or `ENGINE`{ends}",
        wrong=word.text,
        known=known,
    )


def _setting(names: Names, line: SurveyLine, words: Sequence[Word]) -> Setting | None:
    """Controls and their positions after ``with``; ``None`` where one is not known."""
    setting: dict[str, str] = {}
    for clause in parted(words):
        if len(clause) != 2:
            wanted(
                names.mistakes, line, clause[0] if clause else None, "a control and its position, such as `with KEY on`"
            )
            return None
        control, position = clause
        if control.text in names.lost:
            return None
        positions = names.positions(control.text)
        if positions is None:
            names.mistakes.add(
                "unknown-control",
                control.span,
                f"`{control.text}` is no control of the diagram and no knob of this survey",
                expected="a switch of the diagram, or a name that a `knob` line gives",
                wrong=control.text,
                known=(*names.controls, *names.knobs),
            )
            return None
        if position.text not in positions:
            names.mistakes.add(
                "unknown-position",
                position.span,
                f"`{control.text}` has no position `{position.text}`",
                expected=listed(positions),
                wrong=position.text,
                known=positions,
            )
            return None
        if control.text in setting:
            repeated(names.mistakes, position.span, f"`{control.text}` is in one position at a time", control.span)
            return None
        setting[control.text] = position.text
    return tuple(sorted(setting.items()))


def _lead_point(mistakes: Diagnostics, word: Word, half: Half, terminal: str | None) -> Point | None:
    number = int(terminal) if terminal and terminal.isascii() and terminal.isdigit() and len(terminal) < 6 else 0
    if not 1 <= number <= len(half.leads):
        mistakes.add(
            "unknown-terminal",
            word.span,
            f"`{half.name}` has no lead `{terminal}`" if terminal else f"`{half.name}` is a half, not a lead",
            expected=f"`{half.name}.1` to `{half.name}.{len(half.leads)}`"
            if len(half.leads) > 1
            else f"`{half.name}.1`",
        )
        return None
    if not half.leads[number - 1].colours:
        mistakes.add(
            "misplaced",
            word.span,
            f"way {number} of `{half.name}` is empty by its line",
            expected="a lead",
            remedy="write the colour in place of the `-`, or `?` where it cannot be seen",
            notes=(Note("empty here", half.leads[number - 1].span),),
        )
        return None
    return Point(word.text, word.span, lead=(half.name, number))
