"""Parts: their line, their pattern and their block become one frozen part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Final, cast

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import listed
from ..model.conditions import Pair
from ..model.parts import (
    Capacitor,
    Coil,
    Connector,
    Diode,
    Element,
    Field,
    Flasher,
    Fuse,
    Ground,
    Latch,
    Load,
    Meter,
    Output,
    Part,
    Position,
    Rectifier,
    Regulator,
    Relay,
    Resistor,
    Sensor,
    Source,
    Splice,
    Switch,
    Unit,
    UnitInput,
    UnitOutput,
    UnitSupply,
    Winding,
)
from ..quantities.units import is_number
from ..syntax.tree import Marked, PartLine, PatternLine, Statement
from ..vocabulary.kinds import ALWAYS, BATTERY_TERMINALS, ELEMENT, KINDS, PART_FLAGS, PART_KEYED, SYSTEMS, WHATS
from ..vocabulary.words import KEY_OUT, SENSED, SENSED_OPEN, STOP, Kind, Words
from .attributes import Facts, Reader, Within, say_twice
from .blocks import Block, Read, read_block
from .conditions import check_names, check_position, control_of
from .names import Scope, claim, name_of, part_name

_MARKS: Final = ("at", "for", "as", "was")


RATED_AT: Final = {
    "load": "the line of an element: `tail 21 W at 6 V lamp: 58 31`",
    "relay": "the line of its coil: `coil 40 ohm at 6 V: 86 85`",
}
"""Where a rated voltage is written, for those who write it on the line of the part."""


@cache
def line_words(kind: str) -> Words:
    """The words of a part's own line: those of its kind, and those that every part may have."""
    words = KINDS[kind].words
    return words._replace(flags={**words.flags, **PART_FLAGS}, keyed={**words.keyed, **PART_KEYED}, within=(ALWAYS,))


@dataclass(slots=True, eq=False, repr=False)
class Template:
    """What a part's line and block, or a pattern's, say."""

    kind: str
    spec: Kind
    span: Span
    facts: Facts
    block: Block
    heading: bool

    @property
    def whole(self) -> bool:
        """Whether nothing of it was lost; ``heading`` says so of its line alone."""
        return self.heading and self.block.whole


@dataclass(slots=True, eq=False, repr=False)
class Made:
    """A part in the making: all that was read of it, for the function that makes its kind.

    ``heading`` and ``whole`` tell whether its line, and all of it, was read without a mistake: where they are false,
    what is missing may stand on what was lost, and nobody is blamed for it.
    """

    scope: Scope
    statement: Statement
    name: str
    whose: str
    facts: Facts
    block: Block
    common: dict[str, Any]
    heading: bool
    whole: bool

    def pair(self, fact: str) -> Pair | None:
        line = self.block.one(fact)
        return (line.terminals[0], line.terminals[1]) if line else None

    def first(self, fact: str) -> str | None:
        line = self.block.one(fact)
        return line.terminals[0] if line else None

    def all(self, fact: str) -> tuple[str, ...]:
        line = self.block.one(fact)
        return line.terminals if line else ()

    def pairs(self, fact: str) -> tuple[Pair, ...]:
        line = self.block.one(fact)
        return line.pairs if line else ()

    def stated(self, fact: str) -> Any:
        """A property of the block."""
        line = self.block.one(fact)
        return line.facts.get(fact) if line else None

    def only(self, *facts: str) -> dict[str, Any]:
        """Those of these facts that its own line states, as they are named in the model."""
        return {fact: self.facts.get(fact) for fact in facts if self.facts.get(fact) is not None}

    def report(self, kind: str, message: str, expected: str, span: Span | None = None, *, known: bool = True) -> None:
        """Reports a mistake of the part, if enough is ``known`` of it to tell; the part then counts as incomplete."""
        if known:
            self.scope.mistakes.add(kind, span or self.statement.span(), message, expected=expected)
        self.whole = False


# --- lines and patterns ----------------------------------------------------------------------------------------------
def read_template(kind: str, statement: Statement, scope: Scope) -> Template:
    """The facts of a part's or a pattern's line and the lines of its block."""
    node = cast("PartLine | PatternLine", statement.node)
    spec = KINDS[kind]
    marks = (*spec.marks, *(_MARKS if isinstance(node, PartLine) else ("for",)))
    reader = Reader(statement, scope.mistakes, line_words(kind), f"a {kind}", marks, label=True)
    before = len(scope.mistakes)
    unhurt = not scope.mistakes.on_line(statement.file, statement.line)
    facts = reader.read(node.traits)
    _take_marks(kind, reader, scope)
    heading = unhurt and before == len(scope.mistakes)
    return Template(kind, spec, statement.span(), facts, read_block(kind, spec, statement, scope.mistakes), heading)


def _take_marks(kind: str, reader: Reader, scope: Scope) -> None:
    """``at``, ``for``, ``as``, ``was``, ``senses`` and ``to`` become facts."""
    facts, where = reader.facts, reader.where
    for mark, span in reader.marked:
        fact = {"at": "places", "for": "system", "as": "pattern", "was": "was", "senses": "senses"}[mark.word]
        if fact in facts.values:
            say_twice(fact, span, facts.spans[fact], scope.mistakes)
            continue
        value: Any = mark.names[0].value
        if mark.word == "at":
            value = _places(kind, reader, mark, scope)
        elif mark.word == "for" and value not in SYSTEMS:
            scope.mistakes.add(
                "unknown-word",
                span,
                f"`{value}` is no system of a motorcycle that the language knows",
                expected=f"`for` {listed(SYSTEMS)}",
                wrong=value,
                known=SYSTEMS,
            )
            continue
        elif mark.word == "senses" and value not in SENSED:
            scope.mistakes.add(
                "unknown-word",
                span,
                f"`{value}` is no quantity that a switch senses",
                expected=f"`senses` {listed(SENSED)}",
                wrong=value,
                known=SENSED,
            )
            continue
        if value:
            facts.values[fact], facts.spans[fact] = value, where.span(mark.names[0], mark.names[-1])


def _places(kind: str, reader: Reader, mark: Marked, scope: Scope) -> tuple[str, ...]:
    first = mark.names[0]
    if is_number(first.value) and first.value not in scope.places and kind in RATED_AT:
        scope.mistakes.add(
            "misplaced",
            reader.where.span(first),
            f"on the line of a {kind}, `at` names its place, and no place is named `{first}`",
            expected=f"the rated voltage on {RATED_AT[kind]}",
        )
        return ()
    if len(mark.names) > 1 and kind != "ground":
        scope.mistakes.add(
            "misplaced",
            reader.where.span(mark.names[1], mark.names[-1]),
            f"a {kind} is at one place; only a ground has studs at several",
            expected=f"`at {mark.names[0]}`",
        )
    found: list[str] = []
    for token in mark.names if kind == "ground" else mark.names[:1]:
        if token.value in found:
            say_twice(f"`{token.value}`", reader.where.span(token), reader.where.span(mark.names[0]), scope.mistakes)
        elif find_place(token, reader.where, scope):
            found.append(token.value)
    return tuple(found)


def find_place(token: Any, where: Any, scope: Scope) -> bool:
    """Whether a place of this name is defined; reports it if not."""
    name = token.value
    if name in scope.places:
        return True
    scope.unknown(
        "unknown-place",
        "place",
        name,
        where.span(token),
        f"no place is named `{name}`",
        scope.places,
        expected=listed(scope.places) or "a place that a `place` line names",
    )
    return False


def read_patterns(statements: list[Statement], scope: Scope) -> tuple[dict[str, Template], dict[str, Span]]:
    """The patterns by name, and where each is written."""
    patterns: dict[str, Template] = {}
    taken: dict[str, Span] = {}
    for statement in statements:
        node = cast(PatternLine, statement.node)
        name = name_of(node.name, statement, scope.mistakes, what="pattern")
        if node.kind.value not in KINDS:
            scope.mistakes.add(
                "unknown-word",
                statement.span(node.kind),
                f"`{node.kind}` is no kind of part",
                expected=listed(KINDS),
                wrong=node.kind.value,
                known=KINDS,
            )
            scope.lost.names.add(node.name.value)
            continue
        template = read_template(node.kind.value, statement, scope)
        if name is None:
            scope.lost.sorts.add("pattern")
        elif claim(taken, name, statement.span(node.name), "pattern", scope.mistakes):
            patterns[name] = template
    return patterns, taken


# --- making parts ----------------------------------------------------------------------------------------------------
def resolve_part(statement: Statement, patterns: dict[str, Template], taken: dict[str, Span], scope: Scope) -> None:
    """Adds the part of a statement to the scope; what is wrong with it is reported."""
    node = cast(PartLine, statement.node)
    kind = statement.head
    if scope.too_large:  # said already; what names it is left out in silence
        scope.lost.names.add(node.name.value)
        return
    own = read_template(kind, statement, scope)
    name = part_name(node.name, statement, scope.mistakes)
    if name is None:
        scope.lost.names.add(node.name.value)
        return
    if not scope.take(name, statement.span(node.name), "part"):
        scope.incomplete.add(name)
        return
    facts, heading, whole = own.facts, own.heading, own.whole
    below = Block()
    if called := facts.get("pattern"):
        template = _pattern(called, own, patterns, taken, scope)
        if template is None:
            heading = whole = False
        else:
            facts = own.facts.over(template.facts, line_words(kind), scope.mistakes)
            below = template.block
            heading, whole = heading and template.heading, whole and template.whole
    block = own.block.joined(below, scope.mistakes)
    common = {
        "kind": kind,
        "name": name,
        "span": statement.span(),
        "places": facts.get("places", ()),
        "leg": facts.get("leg"),
        "system": facts.get("system"),
        "kept": facts.get("kept", False),
        "was": facts.get("was"),
        "always": facts.get(ALWAYS) is True,
        "label": facts.get("label"),
        "pattern": facts.get("pattern"),
    }
    made = Made(scope, statement, name, f"`{name}`", facts, block, common, heading, whole)
    _check_sort(KINDS[kind], made)
    part = _MAKERS[kind](made)
    if not made.whole:
        scope.incomplete.add(name)
    scope.size += _size(part, block) if part is not None else 0
    if scope.size > MOST_SIZE:
        _too_large(statement, scope)
        part = None
    if part is None:
        scope.lost.names.add(name)
    else:
        scope.parts[name] = part
        if isinstance(within := facts.get(ALWAYS), Within):
            scope.always_in[name] = within


MOST_SIZE: Final = 20_000
"""Terminals and lines of blocks, patterns put in, of one harness (ours): twenty times the largest motorcycle's. A
pattern multiplies what is written, and a short text would ask for all the memory that there is.
"""


def _too_large(statement: Statement, scope: Scope) -> None:
    """Reports the first part that is beyond what a harness can have; those after it are left out with it."""
    if not scope.too_large:
        scope.too_large = True
        scope.mistakes.add(
            "too-large",
            statement.span(),
            f"with this part the harness has {scope.size:,} terminals and lines of blocks, patterns put in, and it may "
            f"have {MOST_SIZE:,}: from here on no part was read",
            expected="one motorcycle's harness",
            remedy="look at the patterns that the parts before this one use",
        )


def _size(part: Part, block: Block) -> int:
    """How much a part adds to a harness: its terminals, the lines of its block and their pairs."""
    return len(part.terminals) + len(block.lines) + sum(len(line.pairs) for line in block.lines)


def settle_always(scope: Scope) -> None:
    """Gives parts that are ``always in KEY park`` that position, now that every switch is known."""
    for name, (control, position, where) in scope.always_in.items():
        found = control_of(control, where, scope)
        if found is None:
            continue
        part = scope.parts.get(control.value)
        if not (isinstance(part, Switch) and part.key):
            keys = [each.name for each in scope.parts.values() if isinstance(each, Switch) and each.key]
            scope.mistakes.add(
                "unknown-control",
                where.span(control),
                f"`{control}` is no key, and `{ALWAYS}` is about the key being out",
                expected=listed(keys) or "a switch that says `key`",
            )
            continue
        if not check_position(control.value, position, found[1], where, scope):
            continue
        if position.value not in KEY_OUT:
            scope.mistakes.add(
                "unknown-position",
                where.span(position),
                f"`{control} {position}` is no position with the key out",
                expected=listed(each for each in found[1] if each in KEY_OUT) or listed(KEY_OUT),
            )
            continue
        scope.parts[name] = replace(scope.parts[name], always_in=(found[0], str(position.value)))


def _pattern(
    called: str, own: Template, patterns: dict[str, Template], taken: dict[str, Span], scope: Scope
) -> Template | None:
    span = own.facts.spans["pattern"]
    template = patterns.get(called)
    if template is None:
        scope.unknown(
            "unknown-pattern",
            "pattern",
            called,
            span,
            f"no pattern is named `{called}`",
            patterns,
            expected=listed(patterns)
            if 0 < len(patterns) <= 12
            else "a pattern of this file or of a file that it uses",
        )
        return None
    if template.kind != own.kind:
        scope.mistakes.add(
            "wrong-pattern",
            span,
            f"`{called}` is the pattern of a {template.kind}, and this is a {own.kind}",
            expected=f"a pattern of a {own.kind}",
            notes=(Note("the pattern", taken[called]),),
        )
        return None
    return template


def _check_sort(spec: Kind, made: Made) -> None:
    """Takes out the lines that this sort of the part does not have (a battery's ``phases``), and reports them."""
    if not spec.sort or made.facts.get(spec.sort) is None:
        return
    sort = made.facts.get(spec.sort)
    for line in list(made.block.lines):
        if line.spec.only and sort not in line.spec.only:
            made.scope.mistakes.add(
                "misplaced",
                line.span,
                f"a {sort} has no `{line.word}`",
                expected=listed(spec.lines_of(sort)),
            )
            made.block.lines.remove(line)


def _terminals(made: Made) -> tuple[str, ...]:
    """Every terminal that the lines of the block name, in the order in which they first do."""
    fixed = KINDS[made.statement.head].terminals
    named = (
        name for line in made.block.lines for name in (*line.terminals, *(end for pair in line.pairs for end in pair))
    )
    return tuple(dict.fromkeys((*fixed, *named)))


def _source(made: Made) -> Part | None:
    what = made.facts.get("what")
    if what is None:
        made.report(
            "missing-word",
            f"{made.whose} does not say what gives the current",
            "`battery`, `alternator` or `dynamo`",
            known=made.heading,
        )
        return None
    field = made.block.one("field_winding")
    return Source(
        **made.common,
        terminals=BATTERY_TERMINALS if what == "battery" else _terminals(made),
        what=what,
        lithium=made.facts.get("lithium", False),
        output=_output(made),
        field_winding=None
        if field is None
        else Field(plus=field.terminals[0], minus=field.terminals[1], span=field.span, ohms=field.facts.get("ohms")),
        phases=made.all("phases"),
        windings=tuple(
            Winding(
                name=line.name,
                terminals=line.terminals,
                span=line.span,
                watts=line.facts.get("watts"),
                floating=line.facts.get("floating", False),
            )
            for line in made.block.of("windings")
        ),
        volts=made.stated("volts"),
        amp_hours=made.stated("amp_hours"),
        ohms=made.stated("ohms"),
        regulated=made.stated("regulated"),
    )


def _output(made: Made) -> Output | None:
    line = made.block.one("output")
    if line is None:
        for fact in ("idle", "cranking"):
            if (prop := made.block.one(fact)) is not None:
                made.report(
                    "needs-output",
                    f"`{fact}` stands where the output is, and {made.whose} has none",
                    "`output …: + -`, or this line in the part that has the output",
                    prop.span,
                    known=made.whole,
                )
        return None
    return Output(
        plus=line.terminals[0],
        minus=line.terminals[1],
        span=line.span,
        watts=line.facts.get("watts"),
        idle=made.stated("idle"),
        cranking=made.stated("cranking"),
    )


def _rectifier(made: Made) -> Part:
    return Rectifier(
        **made.common,
        terminals=_terminals(made),
        phases=made.all("phases"),
        output=_output(made),
        trio=made.first("trio"),
        amps=made.facts.get("amps"),
        shunt=made.facts.get("shunt", False),
        regulated=made.stated("regulated"),
    )


def _regulator(made: Made) -> Part:
    cut_out, shunts = made.block.one("cut_out"), made.block.one("shunts")
    return Regulator(
        **made.common,
        terminals=_terminals(made),
        amps=made.facts.get("amps"),
        passes=made.pair("passes"),
        sense=made.pair("sense"),
        cut_out=made.pair("cut_out"),
        cut_out_volts=cut_out.facts.get("cut_out_volts") if cut_out else None,
        shunts=made.pair("shunts"),
        shunt_volts=shunts.facts.get("shunt_volts") if shunts else None,
        regulated=made.stated("regulated"),
    )


def _plain(cls: Callable[..., Part], *facts: str) -> Callable[[Made], Part]:
    """A kind whose fixed terminals and few facts are named in the model as in the table."""

    def make(made: Made) -> Part:
        return cls(**made.common, terminals=_terminals(made), **made.only(*facts))

    return make


def _switch(made: Made) -> Part | None:
    rows = made.block.of("positions")
    names = tuple(line.name for line in rows)
    if not rows:
        made.report(
            "no-positions",
            f"{made.whose} has no positions",
            "a line for each position, such as `on: 30 15`",
            known=made.whole,
        )
        return None
    positions = tuple(
        Position(
            name=line.name, pairs=line.pairs, span=line.span, stops=line.name == STOP or line.facts.get("stops", False)
        )
        for line in rows
    )
    rests = made.block.one("rests")
    rest = rests.facts.get("rests") if rests else names[0]
    if rests and rest not in names:
        if made.whole:
            made.scope.mistakes.add(
                "unknown-position",
                rests.facts.spans["rests"],
                f"{made.whose} has no position `{rest}`",
                expected=listed(names),
                wrong=rest,
                known=names,
            )
        rest = names[0]
    senses = made.facts.get("senses")
    if senses:
        _check_sensed(senses, names, made)
    elif (
        made.facts.get("system") == "ignition"
        and not made.facts.get("key", False)
        and not any(position.stops for position in positions)
    ):
        made.report(
            "no-stop-position",
            f"{made.whose} is for ignition, and none of its positions is named `{STOP}`",
            f"`{STOP}` for the position that stops the engine, or after the name of one that does; `key` or `senses …` "
            "for another sort of switch",
            known=made.whole,
        )
    return Switch(
        **made.common,
        terminals=_terminals(made),
        positions=positions,
        rests=rest,
        amps=made.facts.get("amps"),
        key=made.facts.get("key", False),
        momentary=made.facts.get("momentary", False),
        senses=senses,
    )


def _check_sensed(senses: str, names: tuple[str, ...], made: Made) -> None:
    known = SENSED[senses]
    if senses in SENSED_OPEN:
        wrong = len(names) < 2 or any(name not in names for name in known)
        wanted = f"{listed(known)} and others" if known else "two positions or more, of any name"
    else:
        wrong = set(names) != set(known)
        wanted = listed(known, "and")
    if wrong:
        made.report(
            "sensed-positions", f"{made.whose} senses {senses}, which has other positions", wanted, known=made.whole
        )


def _relay(made: Made) -> Part:
    coil = made.block.one("coil")
    return Relay(
        **made.common,
        terminals=_terminals(made),
        coil=None
        if coil is None
        else Coil(
            plus=coil.terminals[0],
            minus=coil.terminals[1],
            span=coil.span,
            **{fact: coil.facts.get(fact) for fact in ("ohms", "watts", "amps", "rated_volts")},
        ),
        released=made.pairs("released"),
        pulled=made.pairs("pulled"),
        amps=made.facts.get("amps"),
        clamped=made.facts.get("clamped", False) or made.facts.get("clamp") is not None,
        clamp=made.facts.get("clamp"),
        sealed=made.facts.get("sealed", False),
        pulls=made.stated("pulls"),
        holds=made.stated("holds"),
    )


def _flasher(made: Made) -> Part:
    least = made.facts.get("watts")
    return Flasher(
        **made.common,
        terminals=_terminals(made),
        flash=made.pair("flash"),
        pilot=made.first("pilot"),
        supply=made.pair("supply"),
        watts=None if least is None else (least, made.facts.get("upper", least)),
        how=made.facts.get("how"),
    )


def _load(made: Made) -> Part:
    elements = [element for line in made.block.of("elements") if (element := _element(line, made)) is not None]
    terminals = _terminals(made)
    for element in elements:
        if element.name in terminals:
            made.report(
                "duplicate-name",
                f"`{element.name}` is both an element and a terminal of {made.whose}",
                "two different names",
                element.span,
            )
    return Load(
        **made.common,
        terminals=terminals,
        elements=tuple(elements),
        what=made.facts.get("what"),
        stop_lead=made.pair("stop_lead"),
    )


def _element(line: Read, made: Made) -> Element | None:
    above = Facts(
        {fact: value for fact, value in made.facts.values.items() if fact in _ELEMENT_FACTS}, made.facts.spans
    )
    facts = line.facts.over(above, ELEMENT, made.scope.mistakes)
    what = facts.get("what")
    if what is None:
        made.report(
            "missing-word",
            f"nothing says what `{line.name}` is",
            listed(WHATS),
            line.span,
            known=made.heading and line.sound,
        )
        return None
    rated = [fact for fact in ELEMENT.one_of if fact in facts.values]
    if len(rated) > 1:
        say_twice("the rating", facts.spans[rated[1]], facts.spans[rated[0]], made.scope.mistakes)
    return Element(
        name=line.name,
        plus=line.terminals[0],
        minus=line.terminals[1],
        span=line.span,
        what=what,
        watts=facts.get("watts"),
        amps=facts.get("amps"),
        ohms=facts.get("ohms"),
        roles=facts.get("roles", ()),
        duty=facts.get("duty", 1.0),
        needs=facts.get("needs"),
        rated_volts=facts.get("rated_volts"),
    )


_ELEMENT_FACTS: Final = ("watts", "amps", "ohms", "what", "roles", "duty", "needs")


def _sensor(made: Made) -> Part:
    line = made.block.one("signal")
    return Sensor(
        **made.common,
        terminals=_terminals(made),
        signal=made.pair("signal"),
        ohms=line.facts.get("ohms") if line else None,
    )


def _unit(made: Made) -> Part:
    inputs = tuple(each for line in made.block.of("inputs") if (each := _input(line, made)) is not None)
    names = tuple(line.name for line in (*made.block.of("inputs"), *made.block.of("latches")))
    supplies = tuple(
        UnitSupply(
            name=line.name,
            plus=line.terminals[0],
            minus=line.terminals[1],
            span=line.span,
            amps=line.facts.get("amps"),
            asleep=line.facts.get("asleep"),
        )
        for line in made.block.of("supplies")
    )
    latched = {line.name for line in made.block.of("latches")}
    for name in dict.fromkeys(line.name for line in made.block.of("inputs") if line.name in latched):
        made.report("duplicate-name", f"`{name}` is both an input and a latch", "two different names")
    latches = []
    for line in made.block.of("latches"):
        set_when, cleared_when = (when for when, _ in line.conditions)
        good = check_names(set_when, names, made.scope.mistakes, whole=made.whole)
        if check_names(cleared_when, names, made.scope.mistakes, whole=made.whole) and good:
            latches.append(
                Latch(
                    name=line.name,
                    set_when=set_when,
                    cleared_when=cleared_when,
                    span=line.span,
                    toggles=line.toggles,
                )
            )
    return Unit(
        **made.common,
        terminals=_terminals(made),
        supplies=supplies,
        inputs=inputs,
        outputs=tuple(
            output for line in made.block.of("outputs") if (output := _unit_output(line, names, made)) is not None
        ),
        latches=tuple(latches),
        commons=tuple(line.terminals[0] for line in made.block.of("commons")),
        stop_lead=made.pair("stop_lead"),
    )


def _input(line: Read, made: Made) -> UnitInput | None:
    mode = line.facts.get("mode")
    if mode is None:
        made.report(
            "missing-word",
            f"nothing says how `{line.name}` is active",
            "`grounded`, `fed` or `signal`",
            line.span,
            known=line.sound,
        )
        return None
    if len(line.terminals) == 2 and mode != "signal":
        made.report("terminal-count", f"`{line.name}` has one terminal", "a second one only for a `signal`", line.span)
        return None
    back = line.terminals[1] if len(line.terminals) == 2 else None
    return UnitInput(name=line.name, terminal=line.terminals[0], mode=mode, span=line.span, back=back)


def _unit_output(line: Read, names: tuple[str, ...], made: Made) -> UnitOutput | None:
    when = line.conditions[0][0] if line.conditions else None
    if when is not None and not check_names(when, names, made.scope.mistakes, whole=made.whole):
        return None
    supply, span = line.drawn or ("", line.span)
    supplies = tuple(each.name for each in made.block.of("supplies"))
    if supply not in supplies:
        if made.whole:
            known = tuple(name for name in supplies if name)
            made.scope.mistakes.add(
                "unknown-supply",
                span,
                f"{made.whose} has no supply `{supply}`"
                if supply
                else f"nothing says which supply feeds `{line.name}`",
                expected=" or ".join(f"`from {name}`" for name in known) or "a line `supply …: + -`",
                wrong=supply or None,
                known=known,
            )
        return None
    return UnitOutput(
        name=line.name,
        terminal=line.terminals[0],
        span=line.span,
        when=when,
        amps=line.facts.get("amps"),
        trips=line.facts.get("trips"),
        supply=supply,
        flashing=line.facts.get("flashing", False),
        grounded=line.facts.get("grounded", False),
        clamped=line.facts.get("clamped", False),
        **{fact: line.facts.get(fact) for fact in ("holds", "after", "pulsing", "volts")},
    )


def _connector(made: Made) -> Part | None:
    ways = made.facts.get("ways")
    if ways is None:
        made.report(
            "missing-word",
            f"{made.whose} does not say how many ways it has",
            "such as `6 ways`",
            known=made.heading,
        )
        return None
    names = tuple(str(number) for number in range(1, ways + 1))
    line = made.block.one("spare")
    for way in line.terminals if line else ():
        if way not in names and line is not None:
            made.report("unknown-terminal", f"{made.whose} has no way `{way}`", f"1 to {ways}", line.span)
    spare = tuple(way for way in (line.terminals if line else ()) if way in names)
    return Connector(
        **made.common,
        terminals=names,
        ways=ways,
        amps=made.facts.get("amps"),
        sealed=made.facts.get("sealed", False),
        spare=spare,
        face=_face(made, names),
    )


def _face(made: Made, names: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """The rows of a connector's face; none after reporting one that does not show each way once."""
    line = made.block.one("face")
    if line is None:
        return ()
    odd = [way for way in line.terminals if way not in names]
    lacking = [way for way in names if way not in line.terminals]
    if odd:
        made.report("unknown-terminal", f"{made.whose} has no way `{odd[0]}`", f"1 to {names[-1]}", line.span)
    elif lacking:
        made.report(
            "terminal-count",
            f"the face of {made.whose} does not show way {listed(lacking)}",
            f"each way from 1 to {names[-1]} once",
            line.span,
        )
    return () if odd or lacking else line.rows


def _splice(made: Made) -> Part:
    if made.common["leg"] is not None:
        made.report(
            "misplaced",
            f"{made.whose} is a splice and lies in the loom: it has no leg",
            "the line without `leg`",
            made.facts.spans["leg"],
        )
    return Splice(**{**made.common, "leg": None}, **made.only("sealed"))


def _ground(made: Made) -> Part:
    return Ground(**made.common)


_MAKERS: Final[dict[str, Callable[[Made], Part | None]]] = {
    "source": _source,
    "rectifier": _rectifier,
    "regulator": _regulator,
    "capacitor": _plain(Capacitor, "farads", "volts"),
    "diode": _plain(Diode, "amps"),
    "resistor": _plain(Resistor, "ohms", "watts"),
    "meter": _plain(Meter, "amps"),
    "fuse": _plain(Fuse, "amps", "form", "blows", "sealed"),
    "switch": _switch,
    "relay": _relay,
    "flasher": _flasher,
    "load": _load,
    "sensor": _sensor,
    "unit": _unit,
    "connector": _connector,
    "splice": _splice,
    "ground": _ground,
}
