"""What can be on the first line of each statement."""

from __future__ import annotations

from collections.abc import Iterator

from ...checks.runner.run import catalogue
from ...checks.tables.profiles import profile_names
from ...lang.files.reading import library_names
from ...lang.model.parts import Ground, Switch
from ...lang.quantities.units import UNITS_OF, is_number
from ...lang.resolve.templates import line_words
from ...lang.vocabulary.kinds import ALWAYS, KINDS, SYSTEMS
from ...lang.vocabulary.shop import FUNCTIONS, HOUSE, JUDGEMENTS
from ...lang.vocabulary.wires import (
    ENDS_WORDS,
    HOUSING_WORDS,
    ROUTE_WORDS,
    SPARE_WIRE_WORDS,
    THROUGH,
    WIRE_WORDS,
    WIRES_WORDS,
)
from ...lang.vocabulary.words import GROUNDED, IN, KEY_OUT, LANGUAGES, SENSED, WIRE_CLASSES
from .offered_names import _about, controls, ends, parts, places, positions, reached, subjects, things, ways, wires_left
from .offered_traits import colours, sizes, traits
from .offers import Cursor, Offer, words_of


def statement(at: Cursor, head: str) -> Iterator[Offer]:
    match head:
        case "wire":
            yield from _wire(at)
        case "place":
            yield from _place(at)
        case "route":
            yield from _route(at)
        case "mount":
            yield from _mount(at)
        case "capped":
            yield from ends(at) if len(at.start.words) == 1 else ()
        case "expect":
            yield from _expect(at)
        case "waive":
            yield from _waive(at)
        case "judge":
            yield from _judge(at)
        case "house":
            yield from _house(at)
        case "ends":
            yield from _offered(at)
        case "housing":
            yield from (parts(at) if len(at.start.words) == 1 else traits(at, HOUSING_WORDS, at.start.words[2:], ()))
        case "together":
            yield from _together(at)
        case "spare-wire":
            yield from _spare_wire(at)
        case "twisted" | "shielded":
            yield from _bundle(at)
        case "changes" | "loses" | "removed":
            yield from _difference(at)
        case "system":
            yield from _system(at)
        case "wires":
            yield from _wires(at)
        case "language" if len(at.start.words) == 1:
            yield from words_of(LANGUAGES)
        case "use" if len(at.start.words) == 1:
            yield from (Offer(name, "file", "comes with the tool") for name in library_names())


def part_line(at: Cursor, kind: str, names: int) -> Iterator[Offer]:
    """A part's line, or a pattern's, behind its first ``names`` words."""
    said = at.start.words[names:]
    if len(at.start.words) < names or kind not in KINDS:
        return
    last = said[-1] if said else ""
    is_part = names == 2
    if last == "at" or (last == "," and "at" in said):
        yield from places(at)
    elif last == "for":
        yield from (Offer(system, "system") for system in SYSTEMS)
    elif last == "as":
        yield from (Offer(name, "pattern", f"a {of}") for name, of in at.patterns.items() if of == kind)
    elif last == "senses":
        yield from (Offer(name, "word", ", ".join(positions)) for name, positions in SENSED.items())
    elif said[-2:] == (ALWAYS, IN):
        yield from (Offer(key.name, "part", _about(key)) for key in keys(at))
    elif said[-3:-1] == (ALWAYS, IN):
        out = [p.name for key in keys(at) if key.name == last for p in key.positions if p.name in KEY_OUT]
        yield from (Offer(position, "position", f"of {last}") for position in out)
    elif last != "was":
        marks = [*(("senses",) if kind == "switch" else ()), "for", *(("at", "as", "was") if is_part else ())]
        if last == ALWAYS:
            yield from words_of((IN,))
        yield from traits(at, line_words(kind), said, marks)


def keys(at: Cursor) -> tuple[Switch, ...]:
    return tuple(part for part in at.harness.parts.values() if isinstance(part, Switch) and part.key)


def _wire(at: Cursor) -> Iterator[Offer]:
    words = at.start.words
    match len(words):
        case 1:
            numbers = [int(name) for name in at.harness.wires if name.isdecimal()]
            yield Offer(str(max(numbers, default=0) + 1), "wire", "the next number")
        case 2 | 4:
            yield from ends(at)
        case 3:
            yield Offer("to", "word")
        case _:
            yield from _wire_traits(at, words[5:])


def _wire_traits(at: Cursor, said: tuple[str, ...]) -> Iterator[Offer]:
    last = said[-1] if said else ""
    if last == "via":
        yield from ways(at)
    elif last in WIRE_WORDS.named:
        yield from places(at)
    elif last == "for":
        yield from (Offer(system, "system") for system in SYSTEMS)
    elif "/" in at.start.partial:
        yield from colours(at)
    elif last not in ("was", "x"):
        if is_number(last) and at.start.before(1) != "x":
            yield Offer("x", "word", "strands of this many mm each")
        yield from traits(at, WIRE_WORDS, said, ("via", *WIRE_WORDS.named, "for", "was"))
        yield from sizes(WIRE_WORDS, said)


def _offered(at: Cursor) -> Iterator[Offer]:
    """What a part offers: its name, what it is, and behind the colon its terminals."""
    words = at.start.words
    part = at.harness.parts.get(words[1]) if len(words) > 1 else None
    if len(words) == 1 or at.start.last == ",":
        yield from parts(at)
    elif ":" in words:
        said = words[words.index(":") :]
        for terminal in part.terminals if part is not None else ():
            if terminal not in said:
                yield Offer(terminal, "terminal", reached(at, f"{words[1]}.{terminal}"))
    else:
        yield from traits(at, ENDS_WORDS, words[2:], ())


def _together(at: Cursor) -> Iterator[Offer]:
    """Wires, then the end that they share."""
    words = at.start.words
    if at.start.last == "at":
        yield from ends(at)
    elif "at" not in words:
        yield from wires_left(at)
        if len(words) > 1:
            yield from words_of(("at",))


def _spare_wire(at: Cursor) -> Iterator[Offer]:
    match at.start.words[1:]:
        case ():
            return
        case (_,):
            yield from words_of(("from",))
        case (_, "from") | (_, "from", _, "to"):
            yield from places(at)
        case (_, "from", _):
            yield from words_of(("to",))
        case (_, "from", _, "to", _, *said):
            yield from traits(at, SPARE_WIRE_WORDS, tuple(said), ())
            yield from sizes(SPARE_WIRE_WORDS, tuple(said))


def _route(at: Cursor) -> Iterator[Offer]:
    if len(at.start.words) < 3:
        yield from places(at)
    else:
        yield from traits(at, ROUTE_WORDS, at.start.words[3:], ())


def _place(at: Cursor) -> Iterator[Offer]:
    if len(at.start.words) == 2:
        yield from words_of(("wet",))


def _mount(at: Cursor) -> Iterator[Offer]:
    match at.start.words[1:]:
        case ():
            yield from ends(at)
        case (_,):
            yield Offer("to", "word")
        case (_, "to"):
            yield from parts(at, Ground)
        case (_, "to", _):
            yield from words_of(("through",))
        case (_, "to", _, "through"):
            yield from words_of(THROUGH)


def _bundle(at: Cursor) -> Iterator[Offer]:
    """Wires that are in no line of this sort yet."""
    if at.start.last in (at.start.words[0], ","):
        yield from wires_left(at)


def _system(at: Cursor) -> Iterator[Offer]:
    match at.start.words[1:]:
        case (number,) if is_number(number):
            yield Offer("V", "unit")
        case (_, "V"):
            yield from words_of(GROUNDED)
        case (_, "V", _):
            yield from words_of(("ground",))


def _wires(at: Cursor) -> Iterator[Offer]:
    if at.start.last == "class":
        yield from (Offer(letter, "word", f"{most:g} degC") for letter, most in WIRE_CLASSES.items())
    else:
        yield from traits(at, WIRES_WORDS, at.start.words[1:], ())


def _waive(at: Cursor) -> Iterator[Offer]:
    words = at.start.words
    if len(words) == 1:
        yield from (Offer(rule.name, "rule", rule.catches) for rule in catalogue())
    elif len(words) == 2:
        yield Offer("for", "word", "the parts and wires that it covers")
    elif at.start.last in ("for", ","):
        yield from things(at)
    elif at.start.last == IN:
        yield from (Offer(name, "state") for name in at.harness.states)
    elif "because" not in words:
        yield from words_of(("because",) if IN in words[3:] else (IN, "because"))
    elif at.start.last.endswith('"'):
        yield from words_of(("until",))


def _judge(at: Cursor) -> Iterator[Offer]:
    match len(at.start.words):
        case 1:
            yield from (Offer(rule.name, "rule", rule.catches) for rule in catalogue())
        case 2:
            yield from words_of(JUDGEMENTS)
        case 3:
            yield from words_of(("because",))


def _house(at: Cursor) -> Iterator[Offer]:
    words = at.start.words
    fact = HOUSE.get(words[1]) if len(words) > 1 else None
    if len(words) == 1:
        yield from (Offer(word, "word", each.says) for word, each in HOUSE.items())
    elif fact is not None and fact.named:
        yield from words_of(profile_names()) if len(words) == 2 else ()
    elif fact is not None and at.start.last == "for":
        yield from words_of(FUNCTIONS)
    elif fact is not None:
        yield from traits(at, fact.words, words[2:], ("for",) if fact.function else ())


def _difference(at: Cursor) -> Iterator[Offer]:
    """What one harness says of the one that it replaces."""
    if at.start.last in (at.start.words[0], ","):
        yield from things(at) if at.start.words[0] == "changes" else ()
    elif at.start.words[0] != "removed" and "because" not in at.start.words:
        yield from words_of(("because",))


def _expect(at: Cursor) -> Iterator[Offer]:
    words = at.start.words
    if ":" in words:
        yield from _claims(at, words[words.index(":") + 1 :], named=words[1] == "in")
        return
    match words[1:]:
        case ():
            yield from words_of(("in", "whenever"))
        case ("in",):
            yield from (Offer(name, "state") for name in at.harness.states)
        case (*_, "without") | (*_, ","):
            yield from things(at)
        case ("in", _):
            yield from words_of(("without",))
        case ("whenever", *_):
            yield from _condition(at)


def _condition(at: Cursor) -> Iterator[Offer]:
    last, before = at.start.last, at.start.before(1)
    if last in ("whenever", "and", "or", "not", "("):
        yield from controls(at)
        if last != "not":
            yield from words_of(("not",))
    elif before in ("whenever", "and", "or", "not", "("):
        yield from positions(at, last)
    else:
        yield from words_of(("and", "or", "without"))


def _claims(at: Cursor, said: tuple[str, ...], *, named: bool) -> Iterator[Offer]:
    place = len(said) - 1 - said[::-1].index(",") if "," in said else -1
    match said[place + 1 :]:
        case ():
            yield from subjects(at)
        case (_,):
            yield from words_of(("live", "dead"))
            if named:
                yield from words_of(("at least", "at most"))
        case (_, "at"):
            yield from words_of(("least", "most"))
        case (_, "at", _, number) if is_number(number):
            yield from (Offer(u, "unit") for of in ("voltage", "current", "power") for u in UNITS_OF[of])
