"""A solved situation as whoever judges it needs it, of a sound harness or of a damaged one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from ...lang.model.parts import stop_directions
from .situation import Situation

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ...lang.model.parts import Part


class Solved(Protocol):
    """A solved situation as what follows from it needs it: volts at nodes, and what is connected to what."""

    @property
    def situation(self) -> Situation:
        """What conducts."""

    @property
    def law_amps(self) -> Mapping[str, float]:
        """A through each law, by branch key or source name."""

    def at(self, node: str) -> float:
        """V of a terminal against the system\'s ground."""

    @property
    def parted(self) -> Solved:
        """The same with the contacts open that the engine opens and closes."""

    def reaches(self, start: str, ends: tuple[str, ...]) -> bool:
        """Whether a terminal is connected to one of some others."""

    def fed(self, node: str) -> bool:
        """Whether a terminal is connected to a feed pole."""


def is_stopped(solved: Solved, part: Part, lead: str, back: str) -> bool:
    """Whether an ignition part's stop lead is connected to its own return in the directions that it takes."""
    return all(
        solved.reaches(back, (lead,)) if backwards else solved.reaches(lead, (back,))
        for backwards in stop_directions(part)
    )
