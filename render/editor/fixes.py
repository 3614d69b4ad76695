"""Changes that an editor can offer for what was found: a nearer name, a size that stands its current, a waiver.

A proposal says what decides it. It is the user who knows whether it fits, and every rule judges again what comes of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Final

from ...checks.finding import Finding
from ...checks.sizing import sizing
from ...lang.mistake import Mistake, Span
from ...lang.model import Fuse
from ...lang.resizing import edit_of
from .desk import in_library
from .renaming import Change

if TYPE_CHECKING:
    from ...checks.sizing import Sizing
    from ...lang.model import Size
    from .desk import Understood
    from .diagnostics import Problem

_ALIKE: Final = 0.65
"""The likeness from which a name counts as near, as where the nearest one was looked for."""

_ONLY: Final = re.compile(r"`([^`]+)`")


@dataclass(frozen=True, slots=True)
class Fix:
    """A change that answers one problem. ``sure``: nothing else can have been meant."""

    title: str
    changes: tuple[Change, ...]
    problem: Problem
    sure: bool = False


def fixes(known: Understood, problem: Problem) -> Iterator[Fix]:
    """What can be offered for a problem, best first. It may ask the examination where the problem is a finding."""
    if in_library(problem.span.file) or problem.span.file not in known.syntaxes:
        return
    if isinstance(problem.origin, Mistake):
        yield from _of_mistake(known, problem, problem.origin)
    elif isinstance(problem.origin, Finding):
        yield from _of_finding(known, problem, problem.origin)


# --- mistakes --------------------------------------------------------------------------------------------------------
def _of_mistake(known: Understood, problem: Problem, mistake: Mistake) -> Iterator[Fix]:
    found = _text(known, mistake.span)
    if mistake.nearest is not None:
        if (wrong := _likest(found, mistake.nearest)) is None or wrong[0] == mistake.nearest:
            return
        column = mistake.span.column + wrong.start()
        span = Span(mistake.span.file, mistake.span.line, column, column + len(wrong[0]))
        yield Fix(f"Write {mistake.nearest}", (Change(span, mistake.nearest),), problem, sure=True)
    elif mistake.kind in ("glued-unit", "decimal-comma", "inch-mark") and (only := _ONLY.fullmatch(mistake.expected)):
        yield Fix(f"Write {only[1]}", (Change(mistake.span, only[1]),), problem, sure=True)
    elif mistake.kind in ("stray-brace", "control-character") and mistake.remedy.startswith("delete it"):
        yield Fix("Delete it", (Change(mistake.span, ""),), problem, sure=True)


def _text(known: Understood, span: Span) -> str:
    rows = known.syntaxes[span.file].text.split("\n")
    return rows[span.line - 1][span.column - 1 : span.end_column - 1] if span.line <= len(rows) else ""


def _likest(text: str, name: str) -> re.Match[str] | None:
    """The word of a text that a name was found near to."""
    words = list(re.finditer(r"\S+", text))
    if len(words) == 1:
        return words[0]
    likeness = {word: SequenceMatcher(None, word[0].casefold(), name.casefold()).ratio() for word in words}
    best = max(words, key=lambda word: likeness[word], default=None)
    return best if best is not None and likeness[best] >= _ALIKE else None


# --- findings --------------------------------------------------------------------------------------------------------
SIZED: Final = (
    "thin-conductor",
    "thin-return",
    "oversized-fuse",
    "overloaded-fuse",
    "short-not-cleared",
    "voltage-drop",
)
"""Rules of which a size of a wire or a rating of a fuse can be the answer."""

MOST_FUSES: Final = 4
"""So many of the fuses that a finding is about are sized, since each takes a check or two."""


def _of_finding(known: Understood, problem: Problem, finding: Finding) -> Iterator[Fix]:
    if finding.rule in SIZED:
        harness = known.harness
        larger = finding.rule == "overloaded-fuse"
        for name in [n for n in finding.about if isinstance(harness.parts.get(n), Fuse)][:MOST_FUSES]:
            yield from _other_fuse(known, problem, name, larger=larger)
        wires = tuple(dict.fromkeys(n for n in finding.about if n in harness.wires))
        if wires:
            yield from _thicker(known, problem, wires)
    yield from _waiver(known, problem, finding)


def _proposals(known: Understood, names: tuple[str, ...]) -> Sizing:
    """What some wires and fuses need, all else as it is."""
    examination = known.examination
    foreign = {m.name for m in known.all_mentions if m.defines and in_library(m.span.file)}
    return sizing(known.reading, today=examination.today, profile=examination.profile, names=names, foreign=foreign)


def _other_fuse(known: Understood, problem: Problem, name: str, *, larger: bool) -> Iterator[Fix]:
    """Another rating of a fuse, ``larger`` or smaller, with what decides it."""
    found = _proposals(known, (name,))
    for fuse in found.fuses:
        if fuse.proposed is not None and fuse.changes and larger is (fuse.proposed > (fuse.present or 0.0)):
            says = fuse.says if larger else f"{fuse.says}, and no more than the wires behind it may carry"
            changes = _written(known, {}, {name: fuse.proposed})
            yield Fix(f"Make {name} {fuse.proposed:g} A: {says}, by profile {found.profile}", changes, problem)


def _thicker(known: Understood, problem: Problem, names: tuple[str, ...]) -> Iterator[Fix]:
    """Thicker wires, all that a finding is about at once: one alone would leave the rest of it."""
    found = _proposals(known, names)
    thicker = {wire.name: wire for wire in found.wires if wire.changes}
    sizes = {name: wire.proposed for name, wire in thicker.items() if wire.proposed is not None}
    if not sizes or any(wire.short_of for wire in found.wires):
        return
    first = next(iter(thicker.values()))
    says = first.decides.says if first.decides is not None else "enough for all that is asked of it"
    wires = "wire" if len(sizes) == 1 else "wires"
    listed = ", ".join(f"{name} {size.text}" for name, size in sizes.items())
    title = f"Make {wires} {listed}: {says}, by profile {found.profile}"
    yield Fix(title, _written(known, sizes, {}), problem)


def _written(known: Understood, sizes: Mapping[str, Size], ratings: Mapping[str, float]) -> tuple[Change, ...]:
    """Sizes and ratings as changes of the text."""
    return tuple(
        Change(Span(file, edit.line, edit.start + 1, edit.end + 1), edit.text)
        for file, syntax in known.syntaxes.items()
        for statement in syntax.statements
        if (edit := edit_of(statement, sizes, ratings)) is not None
    )


def _waiver(known: Understood, problem: Problem, finding: Finding) -> Iterator[Fix]:
    """A waiver without a reason, which counts for nothing until somebody writes one."""
    harness = known.harness
    pieces = {piece.name for piece in harness.pieces}
    named = next((n for n in finding.about if n in harness.parts or n in harness.wires or n in pieces), None)
    if named is None or finding.rule in ("idle-waiver", "expired-waiver"):
        return
    syntax = known.syntaxes[problem.span.file]
    rows = syntax.text.split("\n")
    waivers = [statement.line for statement in syntax.statements if statement.head == "waive"]
    last = waivers[-1] if waivers else max((n for n, row in enumerate(rows, 1) if row.strip()), default=1)
    row = rows[last - 1]
    ending = "\r\n" if row.endswith("\r") else "\n"
    column = len(row.removesuffix("\r")) + 1
    gap = "" if waivers else ending
    text = f'{gap}{ending}waive {finding.rule} for {named} because ""'
    title = f"Waive {finding.rule} for {named}: a reason has to be written before it counts"
    yield Fix(title, (Change(Span(syntax.file, last, column, column), text),), problem)
