"""The boundary between what is kept and what is replaced: each lead that is cut, and what came through it."""

from __future__ import annotations

import functools
import operator
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ...lang.circuit.ids import End
from ...lang.quantities.quantity import Quantity, shown
from ...lang.quantities.ranking import largest
from ...lang.records import dataclass
from ..behaviour import Behaviour
from ..behaviour.when import when
from ..logic import TooWideError
from ..logic.terms import BATTERY, DIRECT, MACHINE
from .questions import Connected, FedThroughLoads
from .through_loads import NO_FEED, Feed, alike, feed_at

if TYPE_CHECKING:
    from ..logic import Combination
    from .side import Side
    from .sorting import Cut, Sorting

MOST_SETTINGS: Final = 64
"""Settings of the controls, the nearest to rest first, in which a feed through loads is solved (ours)."""
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
    through = tuple(_through(side, node))
    yield from through
    if not through and not found:
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


def _through(side: Side, node: End) -> Iterator[str]:
    """What comes through loads where nothing feeds the terminal, where that is most; and before it in the setting
    nearest to rest, where it comes through others.

    Whatever grounds the terminal passes all of it, so "at most" is stated only where every setting was tried.
    """
    logic = side.logic
    asked = FedThroughLoads(node, BATTERY)
    if not asked.needs(logic.network):
        return
    try:
        scope = logic.scope(asked)
    except TooWideError:
        yield "the feed through other loads is not worked out"
        return
    left = asked.table(scope) & scope.counted & scope.plausible
    hidden = (*scope.bits, *scope.free)
    found: list[tuple[Combination, Feed]] = []
    for _ in range(MOST_SETTINGS):
        setting = logic.show(scope, left)
        if setting is None:
            break
        left = scope.without(left, scope.some(1 << setting.index, hidden))
        feed = feed_at(side.operation, node, dict(setting.positions), BATTERY)
        if feed is not None and not feed.direct and feed.amps >= NO_FEED and feed.through:
            found.append((setting, feed))
    if not found:
        return
    nearest, first = found[0]
    best = largest([feed for _, feed in found], key=lambda feed: feed.amps)
    bound = "at most" if not left else "or more"
    if alike(first, best):
        yield _fed(first, nearest, bound)
        return
    if first.through != best.through:
        yield _fed(first, nearest)
    table = functools.reduce(operator.or_, (1 << setting.index for setting, feed in found if alike(feed, best)))
    most = logic.show(scope, table)
    yield _fed(best, most or nearest, bound)


def _fed(feed: Feed, setting: Combination, bound: str = "") -> str:
    """A feed through loads in words; ``bound``: whether there may be more in another setting."""
    ohms, amps = shown(Quantity(feed.source / feed.amps, "ohm")), shown(Quantity(feed.amps, "A"))
    with_ = f" with {setting.words()}" if setting.words() else ""
    much = {"at most": f"at most {amps}", "or more": f"{amps} or more", "": amps}[bound]
    return f"fed through {', '.join(feed.through)}, {ohms}, {much}{with_}"
