"""A diode of the old harness that kept from a terminal what comes to it through other loads in the new one.

Taken as if it were bridged, the old harness gives the terminal such a current as well: that is tried, and nothing is
concluded from its name or place.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.circuit.paths import walked
from ...lang.model.parts import Diode
from ..dc.devices import UnsolvableError
from ..dc.memory import Memory
from ..logic.terms import BATTERY, MACHINE
from .through_loads import NEAR, NO_FEED, feed_at

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.model.parts import Part
    from ..operation.operation import Operation
    from .comparison import Comparison, FeedChange
    from .through_loads import Feed


MOST = 0.5
"""Of the current by which a terminal gets more than before, what a missing diode accounts for at least (ours)."""


def blocking_diode_before(comparison: Comparison, old: Part, change: FeedChange) -> str:
    """The diode of the old harness, by name, that bridged would let current come to a terminal that had none, or most
    of what comes now beyond what came; empty where none would.
    """
    least = change.old.amps + MOST * (change.new.amps - change.old.amps)
    node = End(old.name, change.what.terminal)
    before, _ = _positions(comparison, change)
    for part in comparison.old.harness.parts.values():
        if isinstance(part, Diode):
            bridged = comparison.old.operation.damaged(
                frozenset(), joined=((End(part.name, "A"), End(part.name, "K")),)
            )
            feeds = [f.amps for f in _feeds(bridged, node, before)]
            if any(amps >= NO_FEED if change.old.amps < NO_FEED else amps >= least for amps in feeds):
                return part.name
    return ""


def gets_more(comparison: Comparison, change: FeedChange, operation: Operation) -> bool:
    """Whether a terminal of the new harness still gets more current through loads with other numbers than it got in the
    old harness.
    """
    _, now = _positions(comparison, change)
    most = max(NO_FEED, (1.0 + NEAR) * change.old.amps)
    return any(feed.amps >= most for feed in _feeds(operation, change.what, now))


def back_path(comparison: Comparison, change: FeedChange, through: str) -> list[tuple[Branch, End]]:
    """The way of the current in the new harness from a load to the terminal: the branches, each with the end by which
    it is left; empty where none is found.
    """
    operation = comparison.new.operation
    _, now = _positions(comparison, change)
    charging = frozenset(s.name for s in operation.circuit.supplies if s.kind in MACHINE and s.field_keys)
    for excited in (charging, frozenset[str]()):
        try:
            point = operation.at(now, Memory(excited=excited))
        except UnsolvableError:
            continue
        load = operation.circuit.by_key[through]
        start = load.b if point.amps(through) > 0.0 else load.a
        if keys := point.connectivity.between((start,), (change.what,)):
            return list(walked(operation.circuit, keys[::-1], start))
    return []


def _feeds(operation: Operation, node: End, positions: dict[str, str]) -> Iterator[Feed]:
    """What comes to a terminal through loads from the battery, and from machines that charge already."""
    for kinds in (BATTERY, MACHINE):
        feed = feed_at(operation, node, positions, kinds)
        if feed is not None and not feed.direct:
            yield feed


def _positions(comparison: Comparison, change: FeedChange) -> tuple[dict[str, str], dict[str, str]]:
    """The controls that a change is shown with, as the old harness has them and as the new one."""
    before: dict[str, str] = {}
    now: dict[str, str] = {}
    when = dict(change.when)
    for control in comparison.common:
        for label in control.labels:
            if when.get(control.new) == label.name:
                before[control.old], now[control.new] = min(label.old), min(label.new)
    return before, now
