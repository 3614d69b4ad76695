"""Lines of halves and knobs: the leads of each, what it came off, and what turns in it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ..diagnostics.messages import Diagnostics
from .clauses import repeated, wanted
from .colours import KNOWN, seen_colours
from .layout import half_parts
from .lines import SurveyLine, Word
from .names import Names, place_of
from .record import Half, Knob, Lead
from .words import LINES, SIDES

MOST_LEADS: Final = 200
"""Leads of one half (ours): the largest plugs of a motorcycle have some sixty."""

MOST_HALVES: Final = 400
"""Halves of one survey (ours): a whole motorcycle has some sixty."""

MOST_POSITIONS: Final = 8
"""Positions of a knob (ours)."""

_FACTS: Final = {"side": "side", "mates": "half that it came off", "at": "place"}


def read_half(names: Names, line: SurveyLine, place: str | None) -> None:
    name = names.new(line, "half")
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
            repeated(names.mistakes, word.span, f"the {_FACTS[fact]} is stated twice", given[fact].span)
            good = False
        given[fact] = word
        if fact == "side":
            side = word.text
            continue
        if index == len(words):
            wanted(names.mistakes, line, None, f"{_FACTS[fact]} after `{fact}`")
            names.lost.add(name)
            return
        value = words[index]
        index += 1
        if fact == "mates":
            mates = value.text
        else:
            place = place_of(names.mistakes, names.harness, value)
            good = good and place is not None
    made = _leads(names.mistakes, name, line, line.words[len(head) :])
    if not leads and good:
        wanted(names.mistakes, line, None, "the colours of its leads")
    if made is None or not leads or not good:
        names.lost.add(name)
        return
    if len(names.halves) >= MOST_HALVES:
        names.mistakes.add(
            "too-large", line.span, f"more than {MOST_HALVES} halves", expected="a survey of one motorcycle"
        )
        names.lost.add(name)
        return
    names.halves[name] = Half(
        name=name, leads=made, span=line.words[1].span, side=side, mates=mates or None, place=place
    )


def read_knob(names: Names, line: SurveyLine) -> None:
    name = names.new(line, "knob")
    if name is None:
        return
    words = line.words[2:]
    if len(words) < 4 or words[0].text != "of":
        wanted(names.mistakes, line, words[0] if words and words[0].text != "of" else None, LINES["knob"].written)
        names.lost.add(name)
        return
    half, positions = words[1], words[2:]
    if len(positions) > MOST_POSITIONS or len({word.text for word in positions}) < len(positions):
        names.mistakes.add(
            "repeated",
            positions[-1].span,
            f"`{name}` has {len(positions)} positions, or one of them twice",
            expected=f"two to {MOST_POSITIONS} positions of different names",
        )
        names.lost.add(name)
    elif not names.is_half(half):
        names.lost.add(name)
    else:
        names.knobs[name] = Knob(name, half.text, tuple(word.text for word in positions), line.words[1].span)


def check_mates(names: Names, lines: Sequence[SurveyLine]) -> None:
    """Each half that came off another: it must be there, and no half came off two."""
    taken: dict[str, Half] = {}
    words = {word.text: word for line in lines for word in line.words}
    for half in tuple(names.halves.values()):
        if half.mates is None:
            continue
        if half.mates == half.name:
            names.mistakes.add(
                "same-ends", half.span, f"`{half.name}` mates itself", expected="the half that it came off"
            )
        elif half.mates not in names.halves:
            names.is_half(words[half.mates])
        elif half.mates in taken:
            other = taken[half.mates]
            repeated(names.mistakes, half.span, f"`{half.mates}` mates `{other.name}` already", other.span)
        else:
            taken[half.mates] = half


def _leads(mistakes: Diagnostics, half: str, line: SurveyLine, words: Sequence[Word]) -> tuple[Lead, ...] | None:
    if len(words) > MOST_LEADS:
        mistakes.add("too-large", line.span, f"{len(words)} leads in one half", expected=f"at most {MOST_LEADS}")
        return None
    leads = []
    good = True
    for number, word in enumerate(words, 1):
        colours = seen_colours(word.text)
        if isinstance(colours, str):
            misplaced = word.text in (*SIDES, "mates", "at")
            mistakes.add(
                "misplaced" if misplaced else "unknown-colour",
                word.span,
                f"`{word.text}` comes after the leads" if misplaced else f"`{colours}` is no colour of the list",
                expected=f"before the first lead: `{LINES['half'].written}`"
                if misplaced
                else "letters such as `og/rd`, words such as `orange/red`, `?`, `-`, or two joined by `+`",
                wrong=None if misplaced else colours,
                known=KNOWN,
            )
            good = False
        elif len(colours) > MOST_POSITIONS:
            mistakes.add(
                "too-large", word.span, f"{len(colours)} wires in one way", expected=f"at most {MOST_POSITIONS}"
            )
            good = False
        else:
            leads.append(Lead(half, number, colours, word.span))
    return tuple(leads) if good else None
