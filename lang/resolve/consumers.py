"""Loads with their elements, and sensors, from what was read of them."""

from __future__ import annotations

from typing import Final

from ..diagnostics.diagnostic import Note
from ..diagnostics.messages import listed
from ..model.parts import Element, Load, Part, Sensor
from ..vocabulary.kinds import ELEMENT, WHATS
from .attributes import Facts, say_twice
from .blocks import Read
from .made import Made, terminals_of


def load(made: Made) -> Part:
    elements = [element for line in made.block.of("elements") if (element := _element(line, made)) is not None]
    terminals = terminals_of(made)
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
        stop_half=bool((line := made.block.one("stop_lead")) and line.facts.get("half", False)),
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
    _ignition_alone(line, facts, what, made)
    dwell = facts.get("dwell")
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
        duty=facts.get("duty", 1.0) if dwell is None else dwell,
        dwell=dwell is not None,
        henries=facts.get("henries"),
        exciter=facts.get("exciter", False),
        points=facts.get("points", False),
        needs=facts.get("needs"),
        rated_volts=facts.get("rated_volts"),
    )


_ELEMENT_FACTS: Final = ("watts", "amps", "ohms", "what", "roles", "duty", "needs")

_OF_IGNITION: Final = {"dwell": "`dwell`", "henries": "mH", "exciter": "`exciter`", "points": "`points`"}
"""What only an ignition coil or box has, as it is written."""


def _ignition_alone(line: Read, facts: Facts, what: str, made: Made) -> None:
    """Reports what only ignition has on any other element, and two words for one share of time."""
    if "duty" in facts.values and "dwell" in facts.values:
        made.scope.mistakes.add(
            "repeated",
            facts.spans["dwell"],
            "the share of time in which it draws its current is stated twice",
            expected="`dwell` behind points, `duty` for all else",
            notes=(Note("first stated here", facts.spans["duty"]),),
        )
    for fact, written in _OF_IGNITION.items():
        if fact in facts.values and what != "ignition":
            made.scope.mistakes.add(
                "misplaced",
                facts.spans[fact],
                f"{written} belongs to an ignition coil or box, and `{line.name}` is {WHATS[what]}",
                expected="`ignition`, or this line without it",
            )
    if facts.get("points", False) and ("exciter" in facts.values or "dwell" in facts.values or "duty" in facts.values):
        made.scope.mistakes.add(
            "misplaced",
            facts.spans["points"],
            "a primary with its own points is itself a source: nothing else feeds it",
            expected="`points` alone; a coil that points switch from outside has `dwell`",
        )


def sensor(made: Made) -> Part:
    line = made.block.one("signal")
    return Sensor(
        **made.common,
        terminals=terminals_of(made),
        signal=made.pair("signal"),
        ohms=line.facts.get("ohms") if line else None,
    )
