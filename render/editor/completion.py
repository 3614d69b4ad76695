"""What can stand at the cursor, from the language's own table of words and the names of the harness."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from ...checks.runner.run import catalogue
from ...checks.tables.conductors import metric_sizes, stocked_gauges
from ...checks.tables.profiles import profile_names
from ...lang.files.folders import ENDING
from ...lang.files.reading import library_names
from ...lang.model.conditions import ENGINE_POSITIONS
from ...lang.model.parts import Connector, Ground, Load, Source, Switch, Unit
from ...lang.quantities.units import UNITS_OF, is_number
from ...lang.records import dataclass
from ...lang.resolve.conditions import unit_controls
from ...lang.resolve.templates import line_words
from ...lang.vocabulary.colours import ALSO_COLOURS, BASE_COLOURS
from ...lang.vocabulary.kinds import ALWAYS, KINDS, ONE_NODE, SYSTEMS
from ...lang.vocabulary.meanings import MEANINGS
from ...lang.vocabulary.shop import FUNCTIONS, HOUSE, JUDGEMENTS
from ...lang.vocabulary.statements import STATEMENTS
from ...lang.vocabulary.wires import (
    ENDS_WORDS,
    HOUSING_WORDS,
    ROUTE_WORDS,
    SPARE_WIRE_WORDS,
    THROUGH,
    WIRE_WORDS,
    WIRES_WORDS,
)
from ...lang.vocabulary.words import (
    ENGINE,
    GROUNDED,
    IN,
    KEY_OUT,
    LANGUAGES,
    LATCH_LINES,
    SENSED,
    WIRE_CLASSES,
    Kind,
    Words,
)
from .line_start import LineStart, line_start

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from ...lang.syntax.tree import Syntax
    from .workspace import Understood

OfferSort = Literal[
    "statement", "word", "part", "wire", "place", "state", "pattern", "terminal", "inner", "position", "unit", "colour",
    "size", "rule", "file", "system",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Offer:
    """A word to put in place of what is being written, and what it means."""

    text: str
    sort: OfferSort
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Offers:
    """What can stand at the cursor, best first. It takes the place of what begins at ``column``."""

    offers: tuple[Offer, ...]
    column: int


def completion(known: Understood, file: str, line: int, column: int) -> Offers:
    """Offers at a place of a file that was read."""
    syntax = known.syntaxes[file]
    start = line_start(syntax, line, column)
    if start is None:
        return Offers((), column)
    if start.quoted:
        names = _files(file) if start.words in (("use",), ("converts",)) else ()
        return Offers(tuple(names), start.column + 1)
    offers = _Offering(known.harness, _patterns(known.syntaxes), start).all()
    return Offers(tuple(dict.fromkeys(offers)), start.column)


def _files(file: str) -> Iterator[Offer]:
    """Harness files beside this one and below."""
    folder = Path(file).parent
    for path in sorted(folder.glob(f"**/*{ENDING}")):
        if path != Path(file) and not any(part.startswith(".") for part in path.relative_to(folder).parts):
            yield Offer(path.relative_to(folder).as_posix(), "file")


def _patterns(syntaxes: Mapping[str, Syntax]) -> dict[str, str]:
    """Patterns and their kinds."""
    return {
        statement.tokens[2].value: statement.tokens[1].value
        for syntax in syntaxes.values()
        for statement in syntax.statements
        if statement.head == "pattern" and len(statement.tokens) > 2
    }


def _words(words: Iterable[str], sort: OfferSort = "word") -> Iterator[Offer]:
    for word in words:
        yield Offer(word, sort, MEANINGS.get(word, ""))


@dataclass(frozen=True, slots=True)
class _Offering:
    """Offers for one place of one harness."""

    harness: Harness
    patterns: Mapping[str, str]
    start: LineStart

    def all(self) -> Iterator[Offer]:
        start = self.start
        if start.block is not None:
            yield from self._in_block(start.block)
        elif not start.words:
            for head, form in STATEMENTS.items():
                yield Offer(head, "statement", form.written)
        else:
            head = start.words[0]
            if head in KINDS:
                yield from self._part(head, 2)
            elif head == "pattern":
                yield from _words(KINDS) if len(start.words) == 1 else self._part(start.words[1], 3)
            else:
                yield from self._statement(head)

    def _statement(self, head: str) -> Iterator[Offer]:
        match head:
            case "wire":
                yield from self._wire()
            case "place":
                yield from self._place()
            case "route":
                yield from self._route()
            case "mount":
                yield from self._mount()
            case "capped":
                yield from self._ends() if len(self.start.words) == 1 else ()
            case "expect":
                yield from self._expect()
            case "waive":
                yield from self._waive()
            case "judge":
                yield from self._judge()
            case "house":
                yield from self._house()
            case "ends":
                yield from self._offered()
            case "housing":
                yield from (
                    self._parts()
                    if len(self.start.words) == 1
                    else self._traits(HOUSING_WORDS, self.start.words[2:], ())
                )
            case "together":
                yield from self._together()
            case "spare-wire":
                yield from self._spare_wire()
            case "twisted" | "shielded":
                yield from self._bundle()
            case "changes" | "loses" | "removed":
                yield from self._difference()
            case "system":
                yield from self._system()
            case "wires":
                yield from self._wires()
            case "language" if len(self.start.words) == 1:
                yield from _words(LANGUAGES)
            case "use" if len(self.start.words) == 1:
                yield from (Offer(name, "file", "comes with the tool") for name in library_names())

    # --- names
    def _parts(self, *kinds: type[Part], point: bool = False) -> Iterator[Offer]:
        """Names of parts; ``point``: with the point behind which a terminal is written."""
        for part in self.harness.parts.values():
            if not kinds or isinstance(part, kinds):
                alone = part.kind in ONE_NODE or not point
                yield Offer(part.name if alone else f"{part.name}.", "part", _about(part))

    def _things(self) -> Iterator[Offer]:
        yield from self._parts()
        for wire in self.harness.wires.values():
            yield Offer(wire.name, "wire", f"{wire.a.node} to {wire.b.node}")

    def _ends(self) -> Iterator[Offer]:
        """Where a wire can end."""
        name, point, _ = self.start.partial.partition(".")
        part = self.harness.parts.get(name) if point else None
        if part is None:
            yield from self._parts(point=True)
            return
        halves = ("s", "p") if isinstance(part, Connector) else ("",)
        for terminal in part.terminals:
            for half in halves:
                full = f"{name}.{terminal}{half}"
                detail = {"s": "in its socket", "p": "on its pin"}.get(half, self._reached(full))
                yield Offer(full, "terminal", detail)

    def _reached(self, node: str) -> str:
        """The wires that reach a terminal already."""
        names = [w.name for w in self.harness.wires.values() if node in (w.a.node, w.b.node)]
        return f"wire {', '.join(names)}" if names else "no wire yet"

    def _ways(self) -> Iterator[Offer]:
        name, point, _ = self.start.partial.partition(".")
        part = self.harness.parts.get(name) if point else None
        if isinstance(part, Connector):
            taken = {(way.part, way.terminal): w.name for w in self.harness.wires.values() for way in w.via}
            for way in part.terminals:
                wire = taken.get((name, way))
                yield Offer(f"{name}.{way}", "terminal", f"wire {wire}" if wire else "free")
        else:
            yield from self._parts(Connector, point=True)

    def _places(self) -> Iterator[Offer]:
        for place in self.harness.places.values():
            yield Offer(place.name, "place", "wet" if place.wet else "")

    def _subjects(self) -> Iterator[Offer]:
        """What can be claimed about."""
        for part in self.harness.parts.values():
            if isinstance(part, Load) and len(part.elements) > 1:
                for element in part.elements:
                    yield Offer(f"{part.name}.{element.name}", "inner", element.what)
            single = isinstance(part, Load) and len(part.elements) == 1
            if single or isinstance(part, Source) or (isinstance(part, Load | Unit) and part.is_ignition):
                yield Offer(part.name, "part", _about(part))

    def _controls(self) -> Iterator[Offer]:
        for part in self.harness.parts.values():
            if isinstance(part, Switch):
                yield Offer(part.name, "part", ", ".join(position.name for position in part.positions))
            elif isinstance(part, Unit):
                for name, positions in unit_controls(part).items():
                    yield Offer(f"{part.name}.{name}", "inner", ", ".join(positions))
        yield Offer(ENGINE, "word", ", ".join(ENGINE_POSITIONS))

    def _positions(self, control: str) -> Iterator[Offer]:
        """The positions of a control; none where it is not one."""
        part = self.harness.parts.get(control.partition(".")[0])
        names: Iterable[str] = ()
        if control == ENGINE:
            names = ENGINE_POSITIONS
        elif isinstance(part, Switch):
            names = (position.name for position in part.positions)
        elif isinstance(part, Unit):
            names = unit_controls(part).get(control.partition(".")[2], ())
        for name in names:
            yield Offer(name, "position", f"of {control}")

    # --- traits
    def _traits(self, words: Words, said: tuple[str, ...], more: Iterable[str], *, before: str = "") -> Iterator[Offer]:
        """What can stand on a line with these words after those that were ``said``."""
        last = said[-1] if said else before
        if is_number(last):
            yield from _units(words, said[-2] if len(said) > 1 else "")
            return
        if last in words.keyed or last in words.named:
            return  # a number comes, or a name
        if last in words.choices:
            yield from _words(words.choices[last][1])
            return
        stated = {words.flags[word][0] for word in said if word in words.flags}
        for word, (fact, _) in words.flags.items():
            if word not in said and (fact not in stated or fact in words.many):
                yield Offer(word, "word", MEANINGS.get(word, ""))
        yield from (each for each in _words((*words.keyed, *words.choices, *more)) if each.text not in said)
        if words.colour and not any(_COLOUR.fullmatch(word) for word in said):
            yield from self._colours()

    def _colours(self) -> Iterator[Offer]:
        """Colours: the base one, or behind a slash the stripe."""
        base, slash, _ = self.start.partial.partition("/")
        if slash:
            yield from (Offer(f"{base}/{stripe}", "colour") for stripe in BASE_COLOURS if stripe != base)
        else:
            yield from (Offer(colour, "colour") for colour in BASE_COLOURS)
            if self.start.partial[:1] in ("l", "d"):
                yield from (Offer(f"{shade}-{c}", "colour") for shade in ("light", "dark") for c in BASE_COLOURS)

    def _part(self, kind: str, names: int) -> Iterator[Offer]:
        """A part's line, or a pattern's, behind its first ``names`` words."""
        said = self.start.words[names:]
        if len(self.start.words) < names or kind not in KINDS:
            return
        last = said[-1] if said else ""
        is_part = names == 2
        if last == "at" or (last == "," and "at" in said):
            yield from self._places()
        elif last == "for":
            yield from (Offer(system, "system") for system in SYSTEMS)
        elif last == "as":
            yield from (Offer(name, "pattern", f"a {of}") for name, of in self.patterns.items() if of == kind)
        elif last == "senses":
            yield from (Offer(name, "word", ", ".join(positions)) for name, positions in SENSED.items())
        elif said[-2:] == (ALWAYS, IN):
            yield from (Offer(key.name, "part", _about(key)) for key in self._keys())
        elif said[-3:-1] == (ALWAYS, IN):
            out = [p.name for key in self._keys() if key.name == last for p in key.positions if p.name in KEY_OUT]
            yield from (Offer(position, "position", f"of {last}") for position in out)
        elif last != "was":
            marks = [*(("senses",) if kind == "switch" else ()), "for", *(("at", "as", "was") if is_part else ())]
            if last == ALWAYS:
                yield from _words((IN,))
            yield from self._traits(line_words(kind), said, marks)

    def _keys(self) -> tuple[Switch, ...]:
        return tuple(part for part in self.harness.parts.values() if isinstance(part, Switch) and part.key)

    # --- statements
    def _wire(self) -> Iterator[Offer]:
        words = self.start.words
        match len(words):
            case 1:
                numbers = [int(name) for name in self.harness.wires if name.isdecimal()]
                yield Offer(str(max(numbers, default=0) + 1), "wire", "the next number")
            case 2 | 4:
                yield from self._ends()
            case 3:
                yield Offer("to", "word")
            case _:
                yield from self._wire_traits(words[5:])

    def _wire_traits(self, said: tuple[str, ...]) -> Iterator[Offer]:
        last = said[-1] if said else ""
        if last == "via":
            yield from self._ways()
        elif last in WIRE_WORDS.named:
            yield from self._places()
        elif last == "for":
            yield from (Offer(system, "system") for system in SYSTEMS)
        elif "/" in self.start.partial:
            yield from self._colours()
        elif last not in ("was", "x"):
            if is_number(last) and self.start.before(1) != "x":
                yield Offer("x", "word", "strands of so many mm each")
            yield from self._traits(WIRE_WORDS, said, ("via", *WIRE_WORDS.named, "for", "was"))
            yield from self._sizes(WIRE_WORDS, said)

    def _sizes(self, words: Words, said: tuple[str, ...]) -> Iterator[Offer]:
        """Sizes of conductors, where a line has none yet."""
        last = said[-1] if said else ""
        if not is_number(last) and last not in words.choices and not {"mm2", "AWG", "x"} & {*said}:
            yield from (Offer(f"{size.area:g} mm2", "size") for size in metric_sizes())
            yield from (Offer(f"{gauge} AWG", "size") for gauge in stocked_gauges() if gauge >= 0)

    def _offered(self) -> Iterator[Offer]:
        """What a part offers: its name, what it is, and behind the colon its terminals."""
        words = self.start.words
        part = self.harness.parts.get(words[1]) if len(words) > 1 else None
        if len(words) == 1 or self.start.last == ",":
            yield from self._parts()
        elif ":" in words:
            said = words[words.index(":") :]
            for terminal in part.terminals if part is not None else ():
                if terminal not in said:
                    yield Offer(terminal, "terminal", self._reached(f"{words[1]}.{terminal}"))
        else:
            yield from self._traits(ENDS_WORDS, words[2:], ())

    def _together(self) -> Iterator[Offer]:
        """Wires, then the end that they share."""
        words = self.start.words
        if self.start.last == "at":
            yield from self._ends()
        elif "at" not in words:
            yield from self._bundled()
            if len(words) > 1:
                yield from _words(("at",))

    def _spare_wire(self) -> Iterator[Offer]:
        match self.start.words[1:]:
            case ():
                return
            case (_,):
                yield from _words(("from",))
            case (_, "from") | (_, "from", _, "to"):
                yield from self._places()
            case (_, "from", _):
                yield from _words(("to",))
            case (_, "from", _, "to", _, *said):
                yield from self._traits(SPARE_WIRE_WORDS, tuple(said), ())
                yield from self._sizes(SPARE_WIRE_WORDS, tuple(said))

    def _route(self) -> Iterator[Offer]:
        if len(self.start.words) < 3:
            yield from self._places()
        else:
            yield from self._traits(ROUTE_WORDS, self.start.words[3:], ())

    def _place(self) -> Iterator[Offer]:
        if len(self.start.words) == 2:
            yield from _words(("wet",))

    def _mount(self) -> Iterator[Offer]:
        match self.start.words[1:]:
            case ():
                yield from self._ends()
            case (_,):
                yield Offer("to", "word")
            case (_, "to"):
                yield from self._parts(Ground)
            case (_, "to", _):
                yield from _words(("through",))
            case (_, "to", _, "through"):
                yield from _words(THROUGH)

    def _bundle(self) -> Iterator[Offer]:
        """Wires that are in no line of this sort yet."""
        if self.start.last in (self.start.words[0], ","):
            yield from self._bundled()

    def _bundled(self) -> Iterator[Offer]:
        """Wires that the line does not name yet."""
        for wire in self.harness.wires.values():
            if wire.name not in self.start.words:
                yield Offer(wire.name, "wire", f"{wire.a.node} to {wire.b.node}")

    def _system(self) -> Iterator[Offer]:
        match self.start.words[1:]:
            case (number,) if is_number(number):
                yield Offer("V", "unit")
            case (_, "V"):
                yield from _words(GROUNDED)
            case (_, "V", _):
                yield from _words(("ground",))

    def _wires(self) -> Iterator[Offer]:
        if self.start.last == "class":
            yield from (Offer(letter, "word", f"{most:g} degC") for letter, most in WIRE_CLASSES.items())
        else:
            yield from self._traits(WIRES_WORDS, self.start.words[1:], ())

    def _waive(self) -> Iterator[Offer]:
        words = self.start.words
        if len(words) == 1:
            yield from (Offer(rule.name, "rule", rule.catches) for rule in catalogue())
        elif len(words) == 2:
            yield Offer("for", "word", "the parts and wires that it covers")
        elif self.start.last in ("for", ","):
            yield from self._things()
        elif self.start.last == IN:
            yield from (Offer(name, "state") for name in self.harness.states)
        elif "because" not in words:
            yield from _words(("because",) if IN in words[3:] else (IN, "because"))
        elif self.start.last.endswith('"'):
            yield from _words(("until",))

    def _judge(self) -> Iterator[Offer]:
        match len(self.start.words):
            case 1:
                yield from (Offer(rule.name, "rule", rule.catches) for rule in catalogue())
            case 2:
                yield from _words(JUDGEMENTS)
            case 3:
                yield from _words(("because",))

    def _house(self) -> Iterator[Offer]:
        words = self.start.words
        fact = HOUSE.get(words[1]) if len(words) > 1 else None
        if len(words) == 1:
            yield from (Offer(word, "word", each.says) for word, each in HOUSE.items())
        elif fact is not None and fact.named:
            yield from _words(profile_names()) if len(words) == 2 else ()
        elif fact is not None and self.start.last == "for":
            yield from _words(FUNCTIONS)
        elif fact is not None:
            yield from self._traits(fact.words, words[2:], ("for",) if fact.function else ())

    def _difference(self) -> Iterator[Offer]:
        """What one harness says of the one that it replaces."""
        if self.start.last in (self.start.words[0], ","):
            yield from self._things() if self.start.words[0] == "changes" else ()
        elif self.start.words[0] != "removed" and "because" not in self.start.words:
            yield from _words(("because",))

    def _expect(self) -> Iterator[Offer]:
        words = self.start.words
        if ":" in words:
            yield from self._claims(words[words.index(":") + 1 :], named=words[1] == "in")
            return
        match words[1:]:
            case ():
                yield from _words(("in", "whenever"))
            case ("in",):
                yield from (Offer(name, "state") for name in self.harness.states)
            case (*_, "without") | (*_, ","):
                yield from self._things()
            case ("in", _):
                yield from _words(("without",))
            case ("whenever", *_):
                yield from self._condition()

    def _condition(self) -> Iterator[Offer]:
        last, before = self.start.last, self.start.before(1)
        if last in ("whenever", "and", "or", "not", "("):
            yield from self._controls()
            if last != "not":
                yield from _words(("not",))
        elif before in ("whenever", "and", "or", "not", "("):
            yield from self._positions(last)
        else:
            yield from _words(("and", "or", "without"))

    def _claims(self, said: tuple[str, ...], *, named: bool) -> Iterator[Offer]:
        place = len(said) - 1 - said[::-1].index(",") if "," in said else -1
        match said[place + 1 :]:
            case ():
                yield from self._subjects()
            case (_,):
                yield from _words(("live", "dead"))
                if named:
                    yield from _words(("at least", "at most"))
            case (_, "at"):
                yield from _words(("least", "most"))
            case (_, "at", _, number) if is_number(number):
                yield from (Offer(u, "unit") for of in ("voltage", "current", "power") for u in UNITS_OF[of])

    # --- blocks
    def _in_block(self, opened: tuple[str, ...]) -> Iterator[Offer]:
        head = opened[0] if opened else ""
        if head == "state":
            if len(self.start.words) % 3 == 0:
                yield from self._controls()
            elif len(self.start.words) % 3 == 1:
                yield from self._positions(self.start.last)
            return
        kind, name = (opened[1], "") if head == "pattern" and len(opened) > 1 else (head, (*opened, "", "")[1])
        if (spec := KINDS.get(kind)) is not None:
            yield from self._block_line(spec, self.harness.parts.get(name), opened)

    def _block_line(self, spec: Kind, part: Part | None, opened: tuple[str, ...]) -> Iterator[Offer]:
        words = self.start.words
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
                yield from self._latch(behind, part)
            else:
                yield from self._connected(behind, part, when=line is not None and line.when)
        elif words[0] in spec.properties:
            prop = spec.properties[words[0]]
            if not prop.dimension and len(words) == 1 and isinstance(part, Switch):
                yield from self._positions(part.name)
            elif is_number(self.start.last):
                yield from (Offer(unit, "unit") for unit in UNITS_OF[prop.dimension])
        elif line is not None:
            named = 1 if words[0] in spec.lines and line.name == "no" else 2
            if line.name == "may" or words[0] not in spec.lines:
                named = 1
            if len(words) >= named:
                yield from self._traits(line.words, words[named:], ("from",) if line.when else (), before=words[-1])

    def _connected(self, said: tuple[str, ...], part: Part | None, *, when: bool) -> Iterator[Offer]:
        """Behind the colon: terminals that the part has already, or inputs and latches of a unit."""
        if "when" in said:
            yield from self._logic(said[-1], part)
            return
        if when and said:
            yield from _words(("when",))
        for terminal in part.terminals if part is not None else ():
            yield Offer(terminal, "terminal", self._reached(f"{part.name}.{terminal}") if part else "")

    def _latch(self, said: tuple[str, ...], part: Part | None) -> Iterator[Offer]:
        """Behind the colon of a latch: when it is set, and when it is cleared."""
        if not said or said[-1] == ",":
            yield from _words(("cleared",) if said else tuple(first for first, _ in LATCH_LINES))
        elif said[-1] in LATCH_WORDS:
            yield from _words(("when",))
        else:
            yield from self._logic(said[-1], part)

    def _logic(self, last: str, part: Part | None) -> Iterator[Offer]:
        """Inputs and latches of a unit, or what joins them."""
        if last not in ("when", "and", "or", "not", "("):
            yield from _words(("and", "or"))
            return
        if isinstance(part, Unit):
            yield from (Offer(given.name, "inner", f"input, {given.mode}") for given in part.inputs)
            yield from (Offer(latch.name, "inner", "latch") for latch in part.latches)
        if last != "not":
            yield from _words(("not",))


LATCH_WORDS: Final = frozenset(word for words in LATCH_LINES for word in words)
"""What stands before the two conditions of a latch."""

_COLOUR: Final = re.compile(rf"(?:(?:(?:light|dark)-)?(?:{'|'.join(BASE_COLOURS)})|{'|'.join(ALSO_COLOURS)})(?:/.*)?")


def _units(words: Words, before: str) -> Iterator[Offer]:
    """The units that can follow a number behind a word."""
    if before == "x":
        yield Offer("mm", "unit", "the thickness of a strand")
        return
    if before in words.keyed:
        dimensions: Iterable[str] = (words.keyed[before][1],)
    else:
        dimensions = words.ratings
    for dimension in dimensions:
        yield from (Offer(unit, "unit", dimension) for unit in UNITS_OF[dimension])


def _about(part: Part) -> str:
    """What a part is, in a few words."""
    where = f" at {', '.join(part.places)}" if part.places else ""
    return f"{part.label or part.kind}{where}"
