"""What a name or a word means, and what the harness does there: Markdown for whoever points at it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ...checks.operation.load_status import load_status
from ...checks.runner.run import rule_named
from ...lang.diagnostics.diagnostic import Span
from ...lang.quantities.units import ALSO_READ, UNITS
from ...lang.vocabulary.kinds import KINDS
from ...lang.vocabulary.meanings import MEANINGS
from ...lang.vocabulary.statements import STATEMENTS
from ..formats.entries import number
from .hover_parts import inner_lines, part_lines, terminal_lines
from .hover_text import Hover
from .hover_wires import NOT_WORKED_OUT, listed, settings_listed, source_line, wire_lines
from .line_start import line_start
from .occurrences import Occurrence, mention_at, mentions_near

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from .workspace import Understood


_WORD: Final = re.compile(r"[\w+\-°%]+")


def hover(known: Understood, file: str, line: int, column: int) -> Hover | None:
    """What is at a place of a file that was read. It may ask the examination."""
    mention = mention_at(mentions_near(known.syntaxes[file], known.harness, line), line, column)
    if mention is not None:
        paragraphs = [text for text in _about(known, mention) if text]
        return Hover("\n\n".join(paragraphs), mention.span) if paragraphs else None
    return _word(known, file, line, column)


def _about(known: Understood, mention: Occurrence) -> Iterator[str]:
    harness = known.harness
    match mention.sort:
        case "rule":
            yield from _rule(mention.name)
        case "place":
            parts = [part.name for part in harness.parts.values() if mention.name in part.places]
            yield f"**{mention.name}**: a place" + (", wet" if _wet(harness, mention.name) else "")
            yield f"here: {listed(parts)}"
        case "pattern":
            parts = [part.name for part in harness.parts.values() if part.pattern == mention.name]
            yield f"**{mention.name}**: a pattern, used by {listed(parts)}"
            yield source_line(known, mention)
        case "state":
            yield from _state(known, mention)
        case "wire":
            wire = harness.wires.get(mention.name)
            yield from wire_lines(known, wire) if wire is not None else (source_line(known, mention),)
        case "part":
            if (wire := harness.wires.get(mention.name)) is not None:
                yield from wire_lines(known, wire)
            elif (part := harness.parts.get(mention.name)) is not None:
                yield from part_lines(known, part, mention)
            elif any(spare.name == mention.name for spare in harness.fitting.spare_wires):
                yield source_line(known, mention)
        case "terminal":
            yield from terminal_lines(known, mention)
        case "inner":
            yield from inner_lines(known, mention)
        case "file" | "old":
            return


def _wet(harness: Harness, place: str) -> bool:
    return place in harness.places and harness.places[place].wet


# --- words and rules -------------------------------------------------------------------------------------------------
def _word(known: Understood, file: str, line: int, column: int) -> Hover | None:
    rows = known.syntaxes[file].text.split("\n")
    row = rows[line - 1] if line <= len(rows) else ""
    match = next((m for m in _WORD.finditer(row) if m.start() < column <= m.end() + 1), None)
    if match is None or row[: match.start()].count('"') % 2:
        return None
    word, span = match[0], Span(file, line, match.start() + 1, match.end() + 1)
    start = line_start(known.syntaxes[file], line, match.start() + 1)
    if start is None:
        return None
    says = list(_says(word, start.words, start.block))
    return Hover("\n\n".join(says), span) if says else None


def _says(word: str, before: tuple[str, ...], block: tuple[str, ...] | None) -> Iterator[str]:
    """What a word means behind those before it, in the block that those of ``block`` opened."""
    if block and not before:
        spec = KINDS.get(block[1] if block[0] == "pattern" and len(block) > 1 else block[0])
        line = (spec.lines.get(word) or spec.properties.get(word)) if spec is not None else None
        if line is not None:
            yield f"**{word}**: {line.says}"
            return
    if block is None and not before and word in STATEMENTS:
        yield f"**{word}**" + (f": {MEANINGS[word]}" if word in MEANINGS else "")
        yield f"`{STATEMENTS[word].written}`"
    elif (unit := ALSO_READ.get(word, word)) in UNITS:
        yield f"**{word}**: a unit of {UNITS[unit].dimension}"
    elif word in MEANINGS:
        yield f"**{word}**: {MEANINGS[word]}"


def _rule(name: str) -> Iterator[str]:
    rule = rule_named(name)
    if rule is None:
        yield f"no rule is named `{name}`"
        return
    yield f"**{rule.name}** ({rule.level.word}, {rule.family}): {rule.catches}"
    yield from (" ".join(paragraph.split()) for paragraph in rule.why.split("\n\n"))
    if rule.cautions:
        yield f"Caution: {' '.join(rule.cautions.split())}"
    yield f"By: {rule.source}"


# --- states ----------------------------------------------------------------------------------------------------------
def _state(known: Understood, mention: Occurrence) -> Iterator[str]:
    state = known.harness.states.get(mention.name)
    if state is None:
        return
    settings = settings_listed(state.in_numbers)
    yield f"**{state.name}**: {settings or 'everything at rest'}"
    if not known.sound:
        yield NOT_WORKED_OUT
        return
    operation = known.study.operation
    if mention.name in operation.unsolved:
        yield f"no numbers: {operation.unsolved[mention.name]}"
        return
    point = operation.points[mention.name]
    stands = [(b.key, load_status(point, b.key)) for b in known.study.circuit.branches if b.branch_type.consumes]
    for word in ("live", "dim"):
        names = [key for key, stand in stands if stand is not None and stand.word == word]
        if names:
            yield f"{word}: {listed(names)}"
    for supply in known.study.circuit.supplies:
        if supply.kind != "winding":
            volts, amps = point.mean_across(supply.key), point.mean_amps(supply.key)
            gives = "gives" if amps >= 0 else "takes"
            yield f"`{supply.name}` {gives} {number(abs(amps))} A at {number(volts)} V"


# --- wires -----------------------------------------------------------------------------------------------------------


# --- parts -----------------------------------------------------------------------------------------------------------
