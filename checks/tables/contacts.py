"""Crimped contacts: what blades, bullets and pins carry and which wires they take.

Figures are read from ``contacts.toml``. Widths in mm, areas in mm2, currents in A, resistances in ohm.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from .sourced import Cited, figure, rows
from .workmanship import workmanship


class Contact(NamedTuple):
    """A kind of contact (``pin``, ``blade`` or ``bullet``) of a width or diameter in mm.

    It takes wires from ``least_area`` to ``most_area`` and carries ``least_amps`` with the thinnest of them to
    ``most_amps`` with the thickest.
    """

    kind: str
    size: float
    least_area: float
    most_area: float
    least_amps: float
    most_amps: float
    cited: Cited

    def takes(self, area: float) -> bool:
        """Whether wires of ``area`` mm2 in all fit in its crimp; gauges differ a little from nominal sizes."""
        slack = figure("contacts", "nominal_slack").value
        return self.least_area * (1.0 - slack) <= area <= self.most_area * (1.0 + slack)


class AreaRange(NamedTuple):
    """The wires in mm2 that contacts of a rating take, and which contacts those are."""

    least: float
    most: float
    contacts: tuple[Contact, ...]


@cache
def contacts() -> tuple[Contact, ...]:
    """Every kind of contact, by kind and size as in the data."""
    return tuple(Contact(**row.cells, cited=row.cited) for row in rows("contacts", "contacts"))


@cache
def areas_for(amps: float) -> AreaRange | None:
    """The sizes of wire that a contact rated ``amps`` A takes; ``None`` above every tabulated contact.

    A connector says its rating and not its make, so this is the widest range of all contacts sold for that rating;
    where none is, of those next below and next above it. A wire outside it fits no usual contact of that rating.
    """
    above = [each for each in contacts() if each.most_amps >= amps]
    if not above:
        return None
    fitting = [each for each in above if each.least_amps <= amps]
    if not fitting:
        lower = max((each.most_amps for each in contacts() if each.most_amps < amps), default=None)
        upper = min(each.least_amps for each in above)
        fitting = [each for each in contacts() if each.most_amps == lower or each.least_amps == upper]
    return AreaRange(min(each.least_area for each in fitting), max(each.most_area for each in fitting), tuple(fitting))


def contacts_for(amps: float) -> tuple[Contact, ...]:
    """The contacts sold that a way written with this rating may have: they carry it, and are not made for far more."""
    slack = workmanship("rating_slack").value
    return tuple(contact for contact in contacts() if contact.most_amps >= amps and contact.least_amps < slack * amps)


def mated_ohms(width: float) -> float:
    """The greatest resistance in ohm of a mated pair of at least this ``width`` in mm, after test (SAE/USCAR-2).

    That of the widest tabulated contact not above ``width``; of the narrowest below it.
    """
    table = [(float(row["width"]), float(row["milliohms"]) / 1e3) for row in rows("contacts", "mated")]
    return next((ohms for size, ohms in reversed(table) if size <= width), table[0][1])


def test_amps(gauge: int) -> float | None:
    """The current in A at which UL 310 tests a quick-connect on this gauge; ``None`` for one not tabulated."""
    return next((float(row["amps"]) for row in rows("contacts", "test_current") if row["gauge"] == gauge), None)


def conductors_a_crimp() -> int:
    """How many conductors one crimp may hold (common practice)."""
    return int(figure("contacts", "conductors_a_crimp").value)
