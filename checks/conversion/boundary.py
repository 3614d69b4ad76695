"""The boundary between what is kept and what is replaced: each lead that is cut, and what came through it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ...lang.circuit.ids import End
from ...lang.quantities.quantity import Quantity, shown
from ...lang.records import dataclass
from ..behaviour import Behaviour
from ..behaviour.when import when
from ..logic import TooWideError
from ..logic.terms import BATTERY, DIRECT, MACHINE
from .questions import Connected, FedThroughLoads
from .through_loads import NO_FEED, feed_at

if TYPE_CHECKING:
    from .side import Side
    from .sorting import Cut, Sorting

CHARGED: Final = "connected to the charging output"


@dataclass(frozen=True, slots=True)
class Lead:
    """A cut lead and, in words, what the kept part got through it."""

    cut: Cut
    got: tuple[str, ...]


def boundary(sorting: Sorting, side: Side) -> tuple[Lead, ...]:
    """Every lead of a kept part that is cut, in the order of the text."""
    return tuple(Lead(cut, came_through(side, cut.node)) for cut in sorting.cut())


def came_through(side: Side, node: End) -> tuple[str, ...]:
    """What a terminal gets from the harness around it, in words and numbers. Raises ``TooWideError``."""
    return tuple(_got(side, node))


def _got(side: Side, node: End) -> Iterator[str]:
    own = _own_output(side, node)
    if own:
        yield own
        if own == SUPPLIES:
            return
    volts = shown(Quantity(side.harness.volts, "V"))
    asked = (
        (f"fed {volts}", Connected(node, True, BATTERY)),
        (CHARGED, Connected(node, True, MACHINE)),
        ("grounded", Connected(node, False, DIRECT)),
    )
    behaviour = Behaviour(side.logic)
    found = bool(own)
    for said, question in asked:
        if said == CHARGED and found:
            continue
        if own and said.startswith("fed"):
            said = "connected to the battery"
        told = when(behaviour, question)
        if not told.never:
            found = True
            yield f"{said} {told.words()}"
    through = _through(side, node)
    if through:
        yield through
    elif not found:
        yield "neither fed nor grounded"


SUPPLIES: Final = "supplies the harness, always live: take the battery's grounded lead off first"
CHARGES: Final = "its own output: charges the battery"
EXCITES: Final = "its own output (D+)"


def _own_output(side: Side, node: End) -> str:
    """What a terminal gives, where it is the feed pole or an output of a source itself; empty for any other."""
    for supply in side.logic.circuit.supplies:
        feeds = supply.plus if side.logic.circuit.return_sign == "-" else (supply.minus,)
        if node in feeds and supply.kind in ("battery", "machine"):
            return SUPPLIES if supply.kind == "battery" else CHARGES if node == feeds[0] else EXCITES
    return ""


def _through(side: Side, node: End) -> str:
    """What comes through loads where nothing feeds the terminal, in the setting nearest to rest."""
    logic = side.logic
    asked = FedThroughLoads(node, BATTERY)
    if not asked.needs(logic.network):
        return ""
    try:
        scope = logic.scope(asked)
    except TooWideError:
        return "the feed through other loads is not worked out"
    combination = logic.show(scope, asked.table(scope) & scope.counted & scope.plausible)
    if combination is None:
        return ""
    feed = feed_at(side, node, dict(combination.positions), BATTERY)
    if feed is None or feed.direct or feed.amps < NO_FEED or not feed.through:
        return ""
    ohms = shown(Quantity(feed.source / feed.amps, "ohm"))
    with_ = f" with {combination.words()}" if combination.words() else ""
    return f"fed through {', '.join(feed.through)}, {ohms}, at most {shown(Quantity(feed.amps, 'A'))}{with_}"
