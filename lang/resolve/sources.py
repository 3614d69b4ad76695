"""Sources, rectifiers and regulators, from what was read of them."""

from __future__ import annotations

import math
from typing import Final

from ..diagnostics.messages import listed
from ..model.parts import USUAL_SPEEDS, Field, Measured, Output, Part, Rectifier, Regulator, Source, Winding
from ..quantities.quantity import shown
from ..vocabulary.kinds import BATTERY_TERMINALS
from .blocks import Read
from .made import Made, terminals_of


def source(made: Made) -> Part | None:
    what = made.facts.get("what")
    if what is None:
        made.report(
            "missing-word",
            f"{made.whose} does not say what supplies the current",
            "`battery`, `alternator` or `dynamo`",
            known=made.heading,
        )
        return None
    field = made.block.one("field_winding")
    return Source(
        **made.common,
        terminals=BATTERY_TERMINALS if what == "battery" else terminals_of(made),
        what=what,
        lithium=made.facts.get("lithium", False),
        output=_output(made),
        field_winding=None
        if field is None
        else Field(plus=field.terminals[0], minus=field.terminals[1], span=field.span, ohms=field.facts.get("ohms")),
        phases=made.all("phases"),
        measured=Measured() if (line := made.block.one("phases")) is None else _measured(line, made),
        windings=tuple(
            Winding(
                name=line.name,
                terminals=line.terminals,
                span=line.span,
                watts=line.facts.get("watts"),
                floating=line.facts.get("floating", False),
                measured=_measured(line, made),
                core=_core(line, made),
            )
            for line in made.block.of("windings")
        ),
        speeds=_speeds(made),
        volts=made.stated("volts"),
        amp_hours=made.stated("amp_hours"),
        ohms=made.stated("ohms"),
        regulated=made.stated("regulated"),
    )


MOST_OHMS: Final = 1.1
"""Of its impedance, what a winding's resistance may be written as: both are measured, and neither exactly (ours)."""


def _measured(line: Read, made: Made) -> Measured:
    facts = line.facts
    found = Measured(facts.get("open_volts"), facts.get("short_amps"), facts.get("ohms"))
    if found.volts is None or found.amps is None or found.ohms is None:
        return found
    # With the three leads of a star shorted together each has the current of one phase.
    size = found.volts / found.amps * (2.0 / math.sqrt(3.0) if len(line.terminals) == 3 and not line.name else 1.0)
    if found.ohms > MOST_OHMS * size:
        made.report(
            "out-of-range",
            f"{shown(found.ohms)} ohm are too much: open-circuit voltage over short-circuit current is "
            f"{shown(size)} ohm",
            "the resistance with the engine stopped, open V and short A at one speed",
            facts.spans.get("ohms", line.span),
        )
    return found


def _core(line: Read, made: Made) -> str | None:
    """The winding that shares a winding's core."""
    named = line.facts.get("core")
    if named is None:
        return None
    (token,) = named
    others = [other.name for other in made.block.of("windings") if other.name != line.name]
    if token.value not in others:
        made.report(
            "unknown-name",
            f"{made.whose} has no other winding `{token.value}`",
            listed(others) or "another line `winding NAME`",
            line.facts.spans["core"],
            known=made.whole,
        )
        return None
    return str(token.value)


def _speeds(made: Made) -> tuple[float, float]:
    line = made.block.one("speeds")
    if line is None:
        return USUAL_SPEEDS
    idle, most = line.facts.get("speeds"), line.facts.get("most_speed")
    if not idle <= 1.0 <= most:
        made.report(
            "out-of-range",
            "these are shares of running speed: idling is no faster, and most speed no slower",
            "such as `speeds 30 % 180 %`",
            line.span,
        )
        return USUAL_SPEEDS
    return idle, most


def _output(made: Made) -> Output | None:
    line = made.block.one("output")
    if line is None:
        for fact in ("idle", "cranking"):
            if (prop := made.block.one(fact)) is not None:
                made.report(
                    "needs-output",
                    f"`{fact}` belongs where the output is, and {made.whose} has none",
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


def rectifier(made: Made) -> Part:
    return Rectifier(
        **made.common,
        terminals=terminals_of(made),
        phases=made.all("phases"),
        output=_output(made),
        trio=made.first("trio"),
        amps=made.facts.get("amps"),
        control=made.facts.get("control"),
        regulated=made.stated("regulated"),
    )


def regulator(made: Made) -> Part:
    cut_out, shunts = made.block.one("cut_out"), made.block.one("shunts")
    return Regulator(
        **made.common,
        terminals=terminals_of(made),
        amps=made.facts.get("amps"),
        passes=made.pair("passes"),
        sense=made.pair("sense"),
        cut_out=made.pair("cut_out"),
        cut_out_volts=cut_out.facts.get("cut_out_volts") if cut_out else None,
        shunts=made.pair("shunts"),
        shunt_volts=shunts.facts.get("shunt_volts") if shunts else None,
        regulated=made.stated("regulated"),
    )
