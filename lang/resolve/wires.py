"""Wires and what belongs to their ends: cut at connectors, led along the routes, measured."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, cast

from ..diagnostics.diagnostic import Span
from ..diagnostics.messages import listed
from ..model.parts import Connector, Ground, Part
from ..model.wires import End, Segment, Wire
from ..named_tuples import NamedTuple
from ..syntax.tree import Inner, Marked, Statement, WireLine
from ..vocabulary.kinds import SYSTEMS
from ..vocabulary.wires import WIRE_WORDS
from ..vocabulary.words import DEFAULT_AMBIENT, DEFAULT_WIRE_CLASS
from .attributes import Facts, Reader, say_twice
from .ends import _HALF, find_part, find_terminal, spans_of
from .names import Scope, name_of
from .routes import LEG, SLACK, Way, Ways, wire_length
from .templates import find_place

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ..model.harness import Harness

_MARKS: Final = ("via", "for", "was")


# --- wires -----------------------------------------------------------------------------------------------------------
def resolve_wire(statement: Statement, wire_class: str | None, ways: Ways, scope: Scope) -> None:
    """Adds a wire to the scope; ``wire_class`` is that of every wire that does not say its own."""
    node = cast(WireLine, statement.node)
    mistakes = scope.mistakes
    name = name_of(node.name, statement, mistakes, what="wire", letter=False)
    reader = Reader(statement, mistakes, WIRE_WORDS, "a wire", _MARKS, label=True)
    facts = reader.read(node.traits)
    via = _take_marks(reader, scope)
    past = _past(facts, via, statement, scope)
    a = find_terminal(node.a, statement, scope)
    b = find_terminal(node.b, statement, scope)
    if name is None:
        scope.lost.names.add(node.name.value)
        return
    if not scope.take(name, statement.span(node.name), "wire"):
        return
    if a is not None and a == b:
        mistakes.add(
            "same-ends",
            statement.span(node.a, node.b),
            f"this wire goes from `{a.node}` to itself",
            expected="two different ends",
        )
    elif a is not None and b is not None and via is not None and past is not None:
        scope.wires[name] = _wire(name, a, b, via, past, facts, statement, wire_class, ways, scope)
        return
    scope.lost.names.add(name)


def _take_marks(reader: Reader, scope: Scope) -> tuple[End, ...] | None:
    """The ways that a wire runs through, in order; ``for`` and ``was`` become facts. ``None`` where a way was lost."""
    ways: list[End] = []
    lost = False
    for mark, span in reader.marked:
        fact = {"for": "system", "was": "was"}.get(mark.word)
        if fact is None:
            way = _way(mark, span, reader.where, scope)
            if way is None:
                lost = True
            elif way in ways:
                scope.mistakes.add(
                    "way-twice", span, f"this wire runs through `{way.node}` twice", expected="each way once"
                )
            else:
                ways.append(way)
        elif fact in reader.facts.values:
            say_twice(fact, span, reader.facts.spans[fact], scope.mistakes)
        elif fact == "system" and mark.names[0].value not in SYSTEMS:
            scope.mistakes.add(
                "unknown-word",
                span,
                f"`{mark.names[0]}` is no system of a motorcycle that the language knows",
                expected=f"`for` {listed(SYSTEMS)}",
                wrong=mark.names[0].value,
                known=SYSTEMS,
            )
        else:
            reader.facts.values[fact], reader.facts.spans[fact] = mark.names[0].value, span
    return None if lost else tuple(ways)


def _past(facts: Facts, via: tuple[End, ...] | None, where: Statement, scope: Scope) -> tuple[str, ...] | None:
    """The places that a wire is led by, in order; ``None`` where one was lost."""
    tokens = facts.get("past", ())
    if tokens and via:
        scope.mistakes.add(
            "misplaced",
            facts.spans["past"],
            "this wire is cut at a connector, and `past` is for a wire of one piece",
            expected=f"`past {tokens[0]}` without `via`",
            remedy="write a wire for each side of the connector",
        )
        return None
    found = [token.value for token in tokens if find_place(token, where, scope)]
    return tuple(found) if len(found) == len(tokens) else None


def _way(mark: Marked, span: Span, where: Statement | Inner, scope: Scope) -> End | None:
    name, _, way = mark.names[0].value.partition(".")
    part = find_part(name, spans_of(mark.names[0], where)[1], scope)
    if part is None:
        return None
    if isinstance(part, Connector) and way in part.terminals:
        return End(name, way)
    half = isinstance(part, Connector) and _HALF.fullmatch(way)
    scope.mistakes.add(
        "not-a-way",
        span,
        f"`via {mark.names[0]}`: a wire runs through a whole way"
        if half
        else f"`{mark.names[0]}` is no way of a connector",
        expected=f"`via {name}.{half[1]}`"
        if half
        else f"a way of `{name}` from 1 to {part.ways}"
        if isinstance(part, Connector)
        else "`via`, a connector, a point and the number of a way: `via C1.3`",
    )
    return None


class _Leg(NamedTuple):
    """A stretch between two ends: where they are, and the way between, if routes join them."""

    a: End
    b: End
    studs: tuple[str | None, str | None]
    way: Way | None
    tied: bool


def _wire(
    name: str,
    a: End,
    b: End,
    via: tuple[End, ...],
    past: tuple[str, ...],
    facts: Facts,
    statement: Statement,
    wire_class: str | None,
    ways: Ways,
    scope: Scope,
) -> Wire:
    ends = [a, *(End(way.part, way.terminal + half) for way in via for half in "sp"), b]
    legs = [_leg(ends[i], ends[i + 1], past, ways, scope.parts) for i in range(0, len(ends), 2)]
    written: float | None = facts.get("length")
    if written is None:
        _report_ties(legs, statement, scope)
    if past and legs[0].way is None:
        _report_unreached(legs[0], past, facts, scope)
    lengths = _lengths(legs, written, ways.slack, scope.parts)
    size, colour, solid = facts.get("size"), facts.get("colour"), facts.get("solid", False)
    span = statement.span()
    segments = tuple(
        Segment(
            wire=name,
            number=0 if len(legs) == 1 else number,
            a=leg.a,
            b=leg.b,
            span=span,
            colour=colour,
            size=size,
            length=length,
            written=written is not None,
            route=leg.way.places if leg.way else (),
            ambient=leg.way.ambient if leg.way else DEFAULT_AMBIENT,
            flexing=leg.way.flexing if leg.way else False,
            wire_class=facts.get("wire_class") or wire_class or DEFAULT_WIRE_CLASS,
            solid=solid,
            studs=leg.studs,
        )
        for number, (leg, length) in enumerate(zip(legs, lengths, strict=True), 1)
    )
    return Wire(
        name=name,
        a=a,
        b=b,
        span=span,
        segments=segments,
        via=via,
        past=past,
        colour=colour,
        size=size,
        length=written,
        wire_class=facts.get("wire_class"),
        solid=solid,
        kept=facts.get("kept", False),
        site_cut=facts.get("site_cut", False),
        was=facts.get("was"),
        system=facts.get("system"),
        label=facts.get("label"),
    )


def _leg(a: End, b: End, past: tuple[str, ...], ways: Ways, parts: Mapping[str, Part]) -> _Leg:
    """The nearest studs of the two ends, and the way between them, by the places in ``past``."""
    choices: list[tuple[float, str, str, Way]] = []
    places = parts[a.part].places, parts[b.part].places
    for here in places[0]:
        for there in places[1]:
            way = ways.past((here, *past, there)) if past else ways.between(here, there)
            if way is not None:
                choices.append((way.distance, here, there, way))
    if not choices:
        alone = [options[0] if len(options) == 1 else None for options in places]
        return _Leg(a, b, (alone[0], alone[1]), None, False)
    choices.sort(key=lambda choice: (choice[0], choice[1:3]))
    nearest_by, here, there, way = choices[0]
    tied = way.tied or (len(choices) > 1 and abs(choices[1][0] - nearest_by) <= 1e-9)
    return _Leg(a, b, (here, there), way, tied)


def _report_ties(legs: list[_Leg], statement: Statement, scope: Scope) -> None:
    for leg in legs:
        if leg.tied and leg.way is not None:
            studs = any(isinstance(scope.parts[end.part], Ground) for end in (leg.a, leg.b)) and not leg.way.tied
            scope.mistakes.add(
                "two-ways",
                statement.span(),
                f"two studs are equally near between `{leg.a.node}` and `{leg.b.node}`"
                if studs
                else f"two ways between `{leg.a.node}` and `{leg.b.node}` are equally short",
                expected="a length, such as `0.80 m`",
            )
            return


def _report_unreached(leg: _Leg, past: tuple[str, ...], facts: Facts, scope: Scope) -> None:
    """No routes lead by the places that a wire is declared to pass. A place that was lost is reported already."""
    if all(scope.parts[end.part].places for end in (leg.a, leg.b)):
        scope.mistakes.add(
            "unreached-place",
            facts.spans["past"],
            f"no routes lead from `{leg.a.node}` past {listed(past)} to `{leg.b.node}`",
            expected="a `route` line for each stretch of that way",
        )
    else:
        scope.mistakes.add(
            "unreached-place",
            facts.spans["past"],
            f"`past {past[0]}` needs both ends at a place, and the parts of this wire do not say theirs",
            expected=f"`at PLACE` on the lines of {listed(sorted({leg.a.part, leg.b.part}))}",
        )


def _tail(end: End, parts: Mapping[str, Part]) -> float:
    """m that a wire is longer for one end. A splice has no leg: there it is what a joint in the loom takes."""
    leg = parts[end.part].leg
    return LEG if leg is None else leg


def _lengths(legs: list[_Leg], written: float | None, slack: float, parts: Mapping[str, Part]) -> list[float | None]:
    """Length of each piece: computed along its way, or its share of what is written.

    A written length is shared as the computed ones are; equally where one of them is not known.
    """
    computed = [
        None
        if leg.way is None or (leg.tied and written is None)
        else wire_length(leg.way.distance, slack, leg.way.more, _tail(leg.a, parts) + _tail(leg.b, parts))
        for leg in legs
    ]
    if written is None:
        return [*computed]
    known = [length for length in computed if length is not None]
    if len(known) < len(legs):
        return [written / len(legs)] * len(legs)
    return [written * length / sum(known) for length in known]


def moved(harness: Harness, places: Mapping[str, str]) -> Harness:
    """The harness with parts at other places: each wire that ends at one of them, or runs through it, is measured again
    along the routes, whatever length is written for it.
    """
    parts = {
        name: replace(part, places=(places[name],)) if name in places else part for name, part in harness.parts.items()
    }
    ways = Ways(harness.routes, SLACK if harness.fitting.slack is None else harness.fitting.slack)
    wires = {
        name: _measured(wire, parts, ways)
        if any(end.part in places for segment in wire.segments for end in (segment.a, segment.b))
        else wire
        for name, wire in harness.wires.items()
    }
    return replace(harness, parts=parts, wires=wires)


def _measured(wire: Wire, parts: Mapping[str, Part], ways: Ways) -> Wire:
    """A wire with the lengths and ways of its pieces as the routes give them now."""
    legs = [_leg(segment.a, segment.b, wire.past, ways, parts) for segment in wire.segments]
    segments = tuple(
        replace(
            segment,
            length=length,
            written=False,
            route=leg.way.places if leg.way else (),
            ambient=leg.way.ambient if leg.way else DEFAULT_AMBIENT,
            flexing=leg.way.flexing if leg.way else False,
            studs=leg.studs,
        )
        for segment, leg, length in zip(wire.segments, legs, _lengths(legs, None, ways.slack, parts), strict=True)
    )
    return replace(wire, segments=segments, length=None)


# --- mounts and caps -------------------------------------------------------------------------------------------------
