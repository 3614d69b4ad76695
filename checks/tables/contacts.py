"""Crimped contacts: what blades, bullets and pins carry and which wires they take.

Figures are read from ``contacts.toml``. Widths in mm, areas in mm2, currents in A, resistances in ohm.
"""

from __future__ import annotations

from functools import cache, lru_cache

from ...lang.named_tuples import NamedTuple
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


@cache
def contacts() -> tuple[Contact, ...]:
    """Every kind of contact, by kind and size as in the data."""
    return tuple(Contact(**row.cells, cited=row.cited) for row in rows("contacts", "contacts"))


@lru_cache(maxsize=1000)  # ratings are few, and an editor asks as long as it runs
def contacts_for(amps: float) -> tuple[Contact, ...]:
    """The contacts sold that a way written with this rating may have: they carry it, and are not made for far more."""
    slack = workmanship("rating_slack").value
    return tuple(contact for contact in contacts() if contact.most_amps >= amps and contact.least_amps < slack * amps)


def conductors_a_crimp() -> int:
    """How many conductors one crimp may hold (common practice)."""
    return int(figure("contacts", "conductors_a_crimp").value)
