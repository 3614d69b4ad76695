"""From a survey file, or its text, to a survey: the way in.

Names are resolved when all lines are read, so that the order of lines means nothing but the numbers of leads. A mistake
costs its own line; a line that names what a lost one defined is left out without a second report.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from ..circuit.build import build_circuit
from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import Diagnostics, listed
from ..files.reading import UnreadableError, load_text
from ..model.harness import Reading
from ..vocabulary.words import ENGINE
from .halves import check_mates, read_half, read_knob
from .heading import Load, Shelf, read_beeper, read_setup, read_title
from .lines import SurveyLine, survey_lines
from .names import Names
from .readings import POINT, read_found, read_readings
from .record import Survey, SurveyReading
from .words import ALSO_LINES, BODIES, LINES, MEASURED, SURVEY


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
    survey, found = _read(mistakes, lines, text, Shelf(file, load, known=diagram))
    return SurveyReading(
        survey=survey,
        mistakes=mistakes.sorted((file,)),
        texts={file: text, **(found.texts if found else {})},
        diagram=found,
    )


def _read(mistakes: Diagnostics, lines: Sequence[SurveyLine], text: str, shelf: Shelf) -> tuple[Survey, Reading | None]:
    """A survey from its lines, and the reading of the diagram that it names."""
    worded = [line for line in lines if line.words]
    if is_harness := bool(worded) and worded[0].words[0].text == "loom":
        _not_a_survey(mistakes, worded[0].words[0].span)
        known = {*LINES, *ALSO_LINES}  # one mistake, and none for each of its lines
        worded = [line for line in worded if line.words[0].text in known]
    by_head: dict[str, list[SurveyLine]] = {head: [] for head in (*LINES, "")}
    for line in worded:
        head = _head(mistakes, line)
        if head is not None:
            by_head[head].append(line)
    if not by_head[SURVEY] and not is_harness:
        _no_title(mistakes, worded, text, shelf.file)
    title = read_title(mistakes, by_head[SURVEY], shelf)
    names = Names(mistakes, title.diagram.harness if title.diagram else None)
    if names.harness is not None:
        names.controls = {n: c for n, c in build_circuit(names.harness).controls.items() if n != ENGINE}
    for line in by_head["half"]:
        read_half(names, line, title.place)
    for line in by_head["knob"]:
        read_knob(names, line)
    check_mates(names, by_head["half"])
    arrangement = read_setup(mistakes, by_head["setup"], names.harness)
    beeper = read_beeper(mistakes, by_head["beeper"])
    found = [each for line in by_head["found"] for each in read_found(names, line)]
    heads = ("beeps", "silent", "touched", "one-way", "")
    readings = [
        each
        for line in sorted((ln for head in heads for ln in by_head[head]), key=lambda ln: ln.number)
        for each in read_readings(names, line)
    ]
    survey = Survey(
        file=shelf.file,
        title=title.title,
        relation=title.relation if names.harness is not None else "",
        diagram=title.file,
        harness=names.harness,
        place=title.place,
        arrangement=arrangement,
        beeper=beeper,
        halves=names.halves,
        knobs=names.knobs,
        readings=tuple(readings),
        found=tuple(found),
    )
    return survey, title.diagram


def _head(mistakes: Diagnostics, line: SurveyLine) -> str | None:
    """What a line is, by its first word; empty for a reading that begins with a point, ``None`` for none."""
    first = line.words[0]
    head = ALSO_LINES.get(first.text, first.text)
    if head in LINES:
        return head
    if first.text == "ohm":
        mistakes.add(
            "unknown-statement",
            first.span,
            "no line of a survey begins with `ohm`",
            expected=f"{MEASURED.written}, such as `P4.1 P4.2 210 ohm`",
        )
        return None
    if POINT.fullmatch(first.text) and ("." in first.text or first.text in BODIES):
        return ""
    mistakes.add(
        "unknown-statement",
        first.span,
        f"no line of a survey begins with `{first.text}`",
        expected=f"{listed((*LINES, 'a point such as P4.1'))}".replace("`a point such as P4.1`", "a point: `P4.1`"),
        wrong=first.text,
        known=(*LINES, *ALSO_LINES),
    )
    return None


def _not_a_survey(mistakes: Diagnostics, span: Span) -> None:
    mistakes.add(
        "missing-word",
        span,
        "this is a harness and no survey",
        expected='a survey, which begins with `survey "TITLE"`',
        remedy="`loomwright check` reads a harness; name this one in the survey, after `of`",
    )


def _no_title(mistakes: Diagnostics, worded: Sequence[SurveyLine], text: str, file: str) -> None:
    if any(line.words[0].text == SURVEY for line in worded):
        return
    first = Span(file, 1, 1, max(2, len(text.split("\n", maxsplit=1)[0]) + 1))
    mistakes.add(
        "missing-word",
        worded[0].words[0].span if worded else first,
        "no line begins with `survey`",
        expected='`survey "TITLE"` on the first line, with `of "FILE.loom"` where there is a diagram',
    )
