"""The pull that a crimp must withstand. Figures are read from ``crimps.toml``, in newtons by American wire gauge."""

from __future__ import annotations

from typing import Literal

from ...lang.named_tuples import NamedTuple
from .conductors import awg_area
from .sourced import Cited, rows


class Pull(NamedTuple):
    """``newtons`` that a crimp on a conductor of ``gauge`` must stand for a minute."""

    newtons: float
    gauge: int
    cited: Cited


def pull(area: float, practice: Literal["commercial", "military"] = "commercial") -> Pull | None:
    """The pull for a conductor of ``area`` mm2: that of the largest tabulated gauge not above it.

    ``None`` for a conductor thinner than the table. UL 486A (commercial) or MIL-T-7928 (military), which asks for up to
    twice as much.
    """
    within = [row for row in rows("crimps", practice) if awg_area(row["gauge"]) <= area * 1.005]
    if not within:
        return None
    row = max(within, key=lambda each: awg_area(each["gauge"]))
    return Pull(float(row["newtons"]), row["gauge"], row.cited)
