"""Parts: their line, their pattern and their block become one frozen part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final, cast

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import listed
from ..model.parts import Capacitor, Connector, Diode, Fuse, Ground, Meter, Part, Resistor, Splice, Switch
from ..syntax.tree import PartLine, Statement
from ..vocabulary.kinds import ALWAYS, KINDS
from ..vocabulary.words import KEY_OUT, Kind
from .attributes import Within
from .blocks import Block
from .conditions import check_position, control_of
from .consumers import load, sensor
from .contacts import flasher, relay, switch
from .made import Made, terminals_of
from .names import Scope, part_name
from .sources import rectifier, regulator, source
from .templates import Template, line_words, read_template
from .units import unit


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
                f"`{control}` is no key, and `{ALWAYS}` is about positions of a key with the ignition off",
                expected=listed(keys) or "a switch that says `key`",
            )
            continue
        if not check_position(control.value, position, found[1], where, scope):
            continue
        if position.value not in KEY_OUT:
            scope.mistakes.add(
                "unknown-position",
                where.span(position),
                f"`{control} {position}` is not a position with the ignition off",
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


def _plain(cls: Callable[..., Part], *facts: str) -> Callable[[Made], Part]:
    """A kind whose fixed terminals and few facts are named in the model as in the table."""

    def make(made: Made) -> Part:
        return cls(**made.common, terminals=terminals_of(made), **made.only(*facts))

    return make


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
    "source": source,
    "rectifier": rectifier,
    "regulator": regulator,
    "capacitor": _plain(Capacitor, "farads", "volts"),
    "diode": _plain(Diode, "amps"),
    "resistor": _plain(Resistor, "ohms", "watts"),
    "meter": _plain(Meter, "amps"),
    "fuse": _plain(Fuse, "amps", "form", "blows", "sealed"),
    "switch": switch,
    "relay": relay,
    "flasher": flasher,
    "load": load,
    "sensor": sensor,
    "unit": unit,
    "connector": _connector,
    "splice": _splice,
    "ground": _ground,
}
