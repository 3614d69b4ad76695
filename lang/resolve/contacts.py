"""Switches, relays and flashers, from what was read of them."""

from __future__ import annotations

from ..diagnostics.messages import listed
from ..model.parts import Coil, Flasher, Part, Position, Relay, Switch
from ..vocabulary.words import SENSED, SENSED_OPEN, STOP
from .made import Made, terminals_of


def switch(made: Made) -> Part | None:
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
        terminals=terminals_of(made),
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


def relay(made: Made) -> Part:
    coil = made.block.one("coil")
    return Relay(
        **made.common,
        terminals=terminals_of(made),
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


def flasher(made: Made) -> Part:
    least = made.facts.get("watts")
    return Flasher(
        **made.common,
        terminals=terminals_of(made),
        flash=made.pair("flash"),
        pilot=made.first("pilot"),
        supply=made.pair("supply"),
        watts=None if least is None else (least, made.facts.get("upper", least)),
        how=made.facts.get("how"),
    )
