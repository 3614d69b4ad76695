"""Changes that an editor can offer for what was found: a nearer name, a size that stands its current, a waiver.

A proposal says by which figures it was chosen. It is the user who knows whether it fits, and every rule judges again
what comes of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Final

from ...checks.finding import Finding
from ...checks.tables.ampacity import ampacity
from ...checks.tables.conductors import awg_area, metric_sizes, stocked_gauges
from ...checks.tables.fuses import continuous_amps, largest_rating_within, ratings
from ...checks.tables.short_time import short_time_amps
from ...lang.mistake import Mistake, Span
from ...lang.model import Fuse
from ...lang.syntax import Marked, PartLine, Statement, WireLine
from ...lang.units import UNITS, is_number, unit_name
from ..formats.entries import number
from .desk import in_library
from .renaming import Change

if TYPE_CHECKING:
    from lark import Token

    from ...checks.examination import Examination
    from ...lang.model import Wire
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
    if mistake.nearest is not None and (wrong := _likest(found, mistake.nearest)) is not None:
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
def _of_finding(known: Understood, problem: Problem, finding: Finding) -> Iterator[Fix]:
    examination = known.examination
    if finding.rule in ("thin-conductor", "thin-return"):
        wire = next((known.harness.wires[name] for name in finding.about if name in known.harness.wires), None)
        if wire is not None:
            yield from _thicker(known, problem, wire, _greatest(examination, wire), _held(examination, wire))
    elif finding.rule == "oversized-fuse":
        yield from _of_fuse_and_wire(known, problem, finding)
    elif finding.rule == "overloaded-fuse":
        yield from _larger_fuse(known, problem, finding)
    yield from _waiver(known, problem, finding)


def _greatest(examination: Examination, wire: Wire) -> float:
    return max(examination.operation.loading(f"wire {piece.name}").continuous.amps for piece in wire.pieces)


def _held(examination: Examination, wire: Wire) -> float:
    return max(examination.operation.loading(f"wire {piece.name}").held.amps for piece in wire.pieces)


def _thicker(
    known: Understood, problem: Problem, wire: Wire, lasting: float, held: float, *, why: str = "carries"
) -> Iterator[Fix]:
    """A wire of the smallest size that stands so many A for ever, and so many while a control is held."""
    statement = _defining(known, wire.name)
    span = _size(statement) if statement is not None else None
    found = _least_size(known.examination, wire, lasting, held)
    if span is not None and found is not None:
        text, amps = found
        profile = known.examination.protection.profile.title
        title = (
            f"Make wire {wire.name} {text}: it {why} {number(max(lasting, held))} A, "
            f"and {text} may carry {number(amps)} A for ever by profile {profile}"
        )
        yield Fix(title, (Change(span, text),), problem)


def _least_size(examination: Examination, wire: Wire, lasting: float, held: float) -> tuple[str, float] | None:
    """The smallest size thicker than a wire's, of the same sort, that stands the currents; with its ampacity in A."""
    profile = examination.protection.profile
    if wire.size is None:
        return None
    if wire.size.standard == "AWG":
        ladder = [(awg_area(gauge), f"{gauge} AWG") for gauge in stocked_gauges() if gauge >= 0]
    else:
        ladder = [(size.area, f"{size.area:g} mm2") for size in metric_sizes()]
    for area, name in ladder:
        found = [ampacity(area, piece.wire_class, piece.ambient, profile).amps for piece in wire.pieces]
        amps = min((0.0 if each is None else each) for each in found)
        brief = min(short_time_amps(area, piece.wire_class, profile.cranking_seconds) for piece in wire.pieces)
        if area > wire.size.area and amps >= lasting and max(amps, brief) >= held:
            return name, amps
    return None


def _of_fuse_and_wire(known: Understood, problem: Problem, finding: Finding) -> Iterator[Fix]:
    """A fuse that the wire stands, if the fuse then still stands its load; or a wire that stands the fuse."""
    examination = known.examination
    profile = examination.protection.profile
    figures = {figure.label: figure.value for figure in finding.figures}
    fuses = [part for name in finding.about if isinstance(part := known.harness.parts.get(name), Fuse)]
    wire = next((known.harness.wires[name] for name in finding.about if name in known.harness.wires), None)
    exposure, carries = figures.get("exposure", 0.0), figures.get("ampacity", 0.0)
    if len(fuses) == 1 and len(finding.about) == 2:
        fuse = fuses[0]
        fits = largest_rating_within(fuse.form, carries)
        loading = examination.operation.loading(fuse.name)
        works = fits is not None and (
            loading.continuous.amps <= profile.continuous_share * fits
            and loading.held.amps <= profile.held_share * fits
        )
        if fits is not None and works:
            title = (
                f"Make {fuse.name} {fits:g} A: the wire may carry {number(carries)} A for ever, and the fuse carries "
            )
            yield from _rerated(known, problem, fuse, fits, f"{title}{number(loading.held.amps)} A at most")
    if wire is not None and exposure:
        yield from _thicker(known, problem, wire, exposure, 0.0, why="can be made to carry")


def _larger_fuse(known: Understood, problem: Problem, finding: Finding) -> Iterator[Fix]:
    """The smallest rating that stands the load, if every wire that the fuse protects stands that fuse."""
    examination = known.examination
    profile = examination.protection.profile
    fuse = next((part for name in finding.about if isinstance(part := known.harness.parts.get(name), Fuse)), None)
    rating = continuous_amps(fuse.amps, fuse.blows) if fuse is not None else None
    if fuse is None or rating is None:
        return
    loading = examination.operation.loading(fuse.name)
    needed = max(loading.continuous.amps / profile.continuous_share, loading.held.amps / profile.held_share)
    larger = min((each for each in ratings(fuse.form or "blade") if each >= needed), default=None)
    if larger is None:
        return
    for exposure in examination.protection.exposures.values():
        piece = exposure.conductor.piece
        if piece is not None and fuse.name in exposure.devices:
            may = examination.protection.ampacity(piece)
            if may is None or may.amps is None or exposure.amps + larger - rating > may.amps:
                return
    title = (
        f"Make {fuse.name} {larger:g} A: it carries {number(loading.held.amps)} A, and every wire behind it stands that"
    )
    yield from _rerated(known, problem, fuse, larger, title)


def _rerated(known: Understood, problem: Problem, fuse: Fuse, amps: float, title: str) -> Iterator[Fix]:
    statement = _defining(known, fuse.name)
    if statement is not None and (span := _rating(statement)) is not None:
        yield Fix(title, (Change(span, f"{amps:g} A"),), problem)


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


# --- where it is written ---------------------------------------------------------------------------------------------
def _defining(known: Understood, name: str) -> Statement | None:
    """The statement of a part or a wire, in a file that may be changed."""
    for file, syntax in known.syntaxes.items():
        for statement in syntax.statements:
            node = statement.node
            if isinstance(node, PartLine | WireLine) and node.name.value == name:
                return None if in_library(file) else statement
    return None


def _size(statement: Statement) -> Span | None:
    """The words of a wire's size."""
    if not isinstance(statement.node, WireLine):
        return None
    traits = statement.node.traits
    for place, item in enumerate(traits):
        if isinstance(item, Marked) or not is_number(item.value):
            continue
        if (last := _strands(traits, place)) is not None:
            return statement.span(item, last)
        unit = _token(traits, place + 1)
        if unit is not None and _dimension(unit) == "area":
            return statement.span(item, unit)
    return None


def _rating(statement: Statement) -> Span | None:
    """The words of a fuse's continuous rating."""
    if not isinstance(statement.node, PartLine):
        return None
    traits = statement.node.traits
    for place, item in enumerate(traits):
        if isinstance(item, Marked) or not is_number(item.value):
            continue
        before, unit = _token(traits, place - 1) if place else None, _token(traits, place + 1)
        if unit is not None and _dimension(unit) == "current" and (before is None or before.value != "blows"):
            return statement.span(item, unit)
    return None


def _strands(traits: Sequence[Token | Marked], place: int) -> Token | None:
    """The last word of ``28 x 0.30 mm``, where its first is at ``place``."""
    by = _token(traits, place + 1)
    return _token(traits, place + 3) if by is not None and by.value == "x" else None


def _token(traits: Sequence[Token | Marked], place: int) -> Token | None:
    item = traits[place] if 0 <= place < len(traits) else None
    return None if isinstance(item, Marked) else item


def _dimension(unit: Token) -> str:
    name = unit_name(unit.value)
    return UNITS[name].dimension if name else ""
