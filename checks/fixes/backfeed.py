"""A diode that keeps a load from being fed backwards, in its feed wire."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.editing.proposals import AddLine, MoveEnd, Proposal
from ...lang.quantities.quantity import shown
from ..tables.spares import spare_rating
from .new_parts import at_place, lead, unused

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ..study import Study


def diode_in_feed(study: Study, load: Branch, terminal: End) -> Iterator[Proposal]:
    """A diode in the one wire that ends at the feed terminal of a load; nothing where more wires end there, or where a
    size or the rating that is sold is not known.

    Only for a system that grounds its - pole: with the other the band is on the other side.
    """
    segments = study.circuit.pieces_at(terminal)
    wire = study.harness.wires.get(segments[0].wire) if len(segments) == 1 else None
    rating = spare_rating("diode", study.operation.loading(load.key).held.amps)
    if wire is None or wire.size is None or rating is None or study.circuit.return_sign != "-":
        return
    diode = unused(study, f"D-{terminal.part}")
    rated = f"{shown(rating)} A"
    yield Proposal(
        f"fit a diode of {rated} in wire {wire.name} at {terminal}, its band (cathode) towards {terminal}",
        (
            AddLine(f"diode {diode} {rated}{at_place(study, terminal.part, can_seal=False)}"),
            MoveEnd(wire.name, terminal, f"{diode}.A"),
            lead(unused(study, f"{wire.name}-diode"), End(diode, "K"), terminal, wire.colour, wire.size),
        ),
    )
