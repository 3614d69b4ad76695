"""Families of connectors that a shop keeps, and which connector is of one."""

from __future__ import annotations

from ...lang.model.parts import Connector
from ...lang.model.statements import HouseConnector


def is_of(part: Connector, family: HouseConnector) -> bool:
    """Whether a connector is of a family; a rating that it does not write is not held against it."""
    return (
        (family.ways is None or family.ways == part.ways)
        and (family.amps is None or part.amps is None or family.amps == part.amps)
        and family.sealed == part.sealed
    )
