"""What can be on a line of a block: of a part, a pattern or a state."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from ...lang.model.parts import Source, Switch, Unit
from ...lang.quantities.units import UNITS_OF, is_number
from ...lang.vocabulary.kinds import GAP, KINDS
from ...lang.vocabulary.words import LATCH_LINES, SENSED, Kind
from .offered_names import controls, positions, reached
from .offered_traits import traits
from .offers import Cursor, Offer, words_of

if TYPE_CHECKING:
    from ...lang.model.parts import Part


LATCH_WORDS: Final = frozenset(word for words in LATCH_LINES for word in words)
"""What is before the two conditions of a latch."""


def in_block(at: Cursor, opened: tuple[str, ...]) -> Iterator[Offer]:
    head = opened[0] if opened else ""
    if head == "state":
        if len(at.start.words) % 3 == 0:
            yield from controls(at)
        elif len(at.start.words) % 3 == 1:
            yield from positions(at, at.start.last)
        return
    kind, name = (opened[1], "") if head == "pattern" and len(opened) > 1 else (head, (*opened, "", "")[1])
    if (spec := KINDS.get(kind)) is not None:
        yield from _block_line(at, spec, at.harness.parts.get(name), opened)


def _block_line(at: Cursor, spec: Kind, part: Part | None, opened: tuple[str, ...]) -> Iterator[Offer]:
    words = at.start.words
    if not words:
        sort = next((word for word in opened if spec.sort and word in spec.words.flags), "")
        for word in spec.lines_of(sort) if sort or not spec.sort else (*spec.lines, *spec.properties):
            says = spec.lines[word].says if word in spec.lines else spec.properties[word].says
            yield Offer(word, "word", says)
        quantity = next((after for word, after in pairwise(opened) if word == "senses"), "")
        for position in SENSED.get(quantity, ()):
            yield Offer(position, "position", f"of what senses {quantity}")
        return
    line = spec.lines.get(words[0], spec.free)
    if ":" in words:
        behind = words[words.index(":") + 1 :]
        if line is not None and line.fact == "latches":
            yield from _latch(behind, part)
        else:
            if line is not None and line.rows:
                yield Offer(GAP, "word", "no way here")
            yield from _connected(at, behind, part, when=line is not None and line.when)
            if line is not None and line.rows:
                yield Offer(GAP, "word", "a gap in this row")
    elif words[0] in spec.properties:
        prop = spec.properties[words[0]]
        if not prop.dimension and len(words) == 1 and isinstance(part, Switch):
            yield from positions(at, part.name)
        elif is_number(at.start.last):
            yield from (Offer(unit, "unit") for unit in UNITS_OF[prop.dimension])
    elif line is not None:
        named = 1 if words[0] in spec.lines and line.name == "no" else 2
        if line.name == "may" or words[0] not in spec.lines:
            named = 1
        if words[-1] in line.words.named:
            yield from _cores(part, words)
        elif len(words) >= named:
            yield from traits(at, line.words, words[named:], ("from",) if line.when else (), before=words[-1])


def _cores(part: Part | None, said: tuple[str, ...]) -> Iterator[Offer]:
    """Behind `of` on the line of a winding: the others of its alternator."""
    for winding in part.windings if isinstance(part, Source) else ():
        if winding.name not in said:
            yield Offer(winding.name, "inner", "winding on one core with this one")


def _connected(at: Cursor, said: tuple[str, ...], part: Part | None, *, when: bool) -> Iterator[Offer]:
    """Behind the colon: terminals that the part has already, or inputs and latches of a unit."""
    if "when" in said:
        yield from _logic(said[-1], part)
        return
    if when and said:
        yield from words_of(("when",))
    for terminal in part.terminals if part is not None else ():
        yield Offer(terminal, "terminal", reached(at, f"{part.name}.{terminal}") if part else "")


def _latch(said: tuple[str, ...], part: Part | None) -> Iterator[Offer]:
    """Behind the colon of a latch: when it is set, and when it is cleared."""
    if not said or said[-1] == ",":
        yield from words_of(("cleared",) if said else tuple(first for first, _ in LATCH_LINES))
    elif said[-1] in LATCH_WORDS:
        yield from words_of(("when",))
    else:
        yield from _logic(said[-1], part)


def _logic(last: str, part: Part | None) -> Iterator[Offer]:
    """Inputs and latches of a unit, or what joins them."""
    if last not in ("when", "and", "or", "not", "("):
        yield from words_of(("and", "or"))
        return
    if isinstance(part, Unit):
        yield from (Offer(given.name, "inner", f"input, {given.mode}") for given in part.inputs)
        yield from (Offer(latch.name, "inner", "latch") for latch in part.latches)
    if last != "not":
        yield from words_of(("not",))
