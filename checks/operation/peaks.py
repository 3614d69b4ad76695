"""The most that something carries, and where that is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.records import dataclass

if TYPE_CHECKING:
    from .operating_point import OperatingPoint, Positions


@dataclass(frozen=True, slots=True)
class Peak:
    """The most amps through something and where that is: a named ``state``, or else a ``combination`` of controls.

    Of what a duty interrupts the amps that warm it alike (root of the mean square).
    """

    amps: float
    state: str = ""
    combination: Positions = ()


@dataclass(frozen=True, slots=True)
class Loading:
    """``continuous``: with momentary controls at rest and no cranking; ``held``: with anything pressed as well."""

    continuous: Peak
    held: Peak


NOTHING = Loading(Peak(0.0), Peak(0.0))


def peak_at(amps: float, point: OperatingPoint) -> Peak:
    """A current in A at an operating point."""
    return Peak(amps, point.state, () if point.state else point.differing)
