"""The test lamp in the place of a fuse. It is no part of the harness, so no fault of it: but it may be open itself."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ...dc.devices import UnsolvableError
from ...tables.meter import tolerance

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from .moments import Moment

LAMP: Final = "test lamp"
LOOKS: Final = {"live": "bright", "dim": "dim", "dead": "dark"}
"""How a lamp looks, by how it stands."""
_PASSES: Final = 1e-8
"""A through a sound lamp below which nothing that is connected behind it conducts (ours): less is a solver's own."""


def lamp_of(moment: Moment) -> Branch | None:
    """The test lamp that a row has across the clips of a fuse."""
    return next((b for b in moment.watched.point.circuit.branches if b.key.detail == LAMP), None)


def reads_when_open(moment: Moment, lamp: Branch, volts: float) -> bool:
    """Whether a voltmeter may show ``volts`` across a lamp that is open or makes no contact, all else sound.

    It shows what is before the fuse against what is connected behind it, since its own current is next to none; where
    nothing behind it conducts, it shows nothing.
    """
    watched = moment.watched
    if abs(watched.point.amps(lamp.key)) < _PASSES:
        return False
    try:
        point = watched.operation.damaged(frozenset((lamp.key,))).at(watched.point.positions, watched.point.memory)
    except UnsolvableError:
        return False
    shown = abs(point.volts(lamp.a) - point.volts(lamp.b))
    return abs(shown - abs(volts)) <= tolerance(shown, point.circuit.harness.volts)
