"""Thicker wires for what is fed with too little: by how much, so that no more than some voltage drops."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from ...lang.editing.proposals import thicker
from ..conductors.standard_sizes import fits_contacts, ladder, standard_of

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.editing.proposals import Proposal
    from ...lang.quantities.size import Size
    from ..study import Study

Losses = Sequence[tuple["Branch", float]]

WORTH_CHANGING: Final = 0.1
"""Of the whole drop, the share from which a wire is replaced (ours)."""
RESERVE: Final = 1.2
"""How much more is reckoned to flow once the loads get their voltage (ours)."""


def thicker_for_drop(study: Study, losses: Losses, most: float) -> tuple[Proposal, ...]:
    """The wires on a way in which most is lost, all made thicker by one factor, so that on the whole way no more than
    ``most`` V are lost; none where what is no wire loses that much already, or no size is enough.
    """
    lost: dict[str, float] = {}
    for branch, volts in losses:
        if branch.segment is not None and branch.segment.size is not None:
            lost[branch.owner] = lost.get(branch.owner, 0.0) + max(volts, 0.0)
    whole = sum(max(volts, 0.0) for _, volts in losses)
    worth = {wire: volts for wire, volts in lost.items() if volts >= WORTH_CHANGING * whole}
    left = most - (whole - sum(worth.values()))
    if not worth or left <= 0.0:
        return ()
    factor = RESERVE * sum(worth.values()) / left
    sizes: dict[str, Size] = {}
    for name in worth:
        wire = study.harness.wires.get(name)
        if wire is None or wire.size is None:
            return ()
        least = wire.size.area * factor
        found = (
            s for s in ladder(standard_of(wire.size)) if s.area >= least and fits_contacts(study.harness, wire, s.area)
        )
        size = next(found, None)
        if size is None:
            return ()
        sizes[name] = size
    return (thicker(sizes),)
