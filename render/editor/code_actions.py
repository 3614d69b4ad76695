"""Changes that an editor can offer for what was found: a nearer name, what a rule proposes, a waiver.

What a rule proposes is offered only where it was tried on this very harness and did no harm
(``checks.runner.fix_trial``). It is the user who knows whether it fits the motorcycle.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Final

from ...checks.findings.finding import Finding
from ...checks.runner.fix_trial import proved
from ...lang.diagnostics.diagnostic import Diagnostic, Span
from ...lang.records import dataclass
from .renaming import Change
from .workspace import in_library

if TYPE_CHECKING:
    from .diagnostics import Problem
    from .workspace import Understood

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
    if isinstance(problem.origin, Diagnostic):
        yield from _of_mistake(known, problem, problem.origin)
    elif isinstance(problem.origin, Finding):
        yield from _of_finding(known, problem, problem.origin)


# --- mistakes --------------------------------------------------------------------------------------------------------
def _of_mistake(known: Understood, problem: Problem, mistake: Diagnostic) -> Iterator[Fix]:
    found = _text(known, mistake.span)
    if mistake.nearest is not None:
        if (wrong := _likest(found, mistake.nearest)) is None or wrong[0] == mistake.nearest:
            return
        column = mistake.span.column + wrong.start()
        span = Span(mistake.span.file, mistake.span.line, column, column + len(wrong[0]))
        yield Fix(f"Write {mistake.nearest}", (Change(span, mistake.nearest),), problem, sure=True)
    elif mistake.kind in ("glued-unit", "decimal-comma", "inch-mark") and (only := _ONLY.fullmatch(mistake.expected)):
        yield Fix(f"Write {only[1]}", (Change(mistake.span, only[1]),), problem, sure=True)
    elif mistake.kind in ("stray-brace", "control-character") and not mistake.expected:
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
def _of_finding(known: Understood, problem: Problem, finding: Finding) -> Iterator[Fix]:
    """What the rule proposes and what was proved to do no harm to this very harness, then a waiver."""
    own = tuple(syntax for file, syntax in known.syntaxes.items() if not in_library(file))
    for each in proved(known.reading, own, known.study, finding):
        changes = tuple(
            Change(Span(file, edit.line, edit.start + 1, edit.end + 1), edit.text)
            for file, edits in each.edits.items()
            for edit in edits
        )
        yield Fix(each.proposal.says[0].upper() + each.proposal.says[1:], changes, problem)
    yield from _waiver(known, problem, finding)


def _waiver(known: Understood, problem: Problem, finding: Finding) -> Iterator[Fix]:
    """A waiver without a reason, which counts for nothing until somebody writes one."""
    harness = known.harness
    segments = {segment.name for segment in harness.segments}
    named = next((n for n in finding.about if n in harness.parts or n in harness.wires or n in segments), None)
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
