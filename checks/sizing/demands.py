"""What is asked of the wires of a trial while it is sized, and the sizes that meet all of it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from ...lang.model.wires import Wire
from ...lang.quantities.size import Size
from ...lang.records import dataclass
from ..conductors.standard_sizes import Standard, fits_contacts, is_same, ladder, standard_of
from ..tables.workmanship import workmanship
from .criteria import Need, Reason, at_least, for_contacts
from .trial import Trial

MOST_ROUNDS: Final = 12
"""So often volts and shorts are asked again, and so often the whole; a harness takes two or three (ours)."""


@dataclass(frozen=True, slots=True)
class Choice:
    own: Size | None
    metric: Size | None
    awg: Size | None
    needs: tuple[Need, ...]


class Demands:
    """``own`` are the needs of each free wire by itself; further ones, for volts, for shorts, for the check, come in
    round by round. ``facts``: what stays as it is, and why; ``pinned`` the fuses that do; ``remarks`` are lines about
    what could not be judged or met.
    """

    def __init__(self, trial: Trial) -> None:
        self.trial = trial
        self.facts = dict(trial.facts)
        self.pinned: set[str] = set()
        self.remarks: dict[str, None] = {}
        self.own: dict[str, tuple[Need, ...]] = {}
        self._further: dict[str, dict[Reason, Need]] = {}

    @property
    def free(self) -> dict[str, Wire]:
        """The wires whose size can be chosen."""
        return {name: wire for name, wire in self.trial.harness.wires.items() if name not in self.facts}

    def add(self, name: str, new: Need) -> bool:
        """Takes a need in where it asks for more than one of the same reason; tells whether it did."""
        needs = self._further.setdefault(name, {})
        old = needs.get(new.reason)
        if old is not None and new.metric == old.metric and new.awg == old.awg:
            return False
        needs[new.reason] = new
        return True

    def keep(self, name: str, says: str) -> None:
        """A wire is never made thinner than it is."""
        if (present := self.free[name].size) is not None:
            self.add(name, at_least("check", says, present.area))

    def choice(self, name: str) -> Choice:
        """The smallest of each ladder that meets every need, and of both the one for this wire."""
        wire = self.free[name]
        needs = (*self.own[name], *self._further.get(name, {}).values())
        least: dict[Standard, Size | None] = {standard: _greatest(needs, standard) for standard in ("metric", "AWG")}
        taken = for_contacts(self.trial.harness, wire, least)
        if taken is not None:
            needs = (*needs, taken)
            least = {"metric": taken.metric, "AWG": taken.awg}
        own = least[standard_of(wire.size)]
        present = wire.size
        enough = present is not None and all(each.fits(present.area) for each in needs)
        if present is not None and enough:
            stays = not self.trial.thinner or own is None or present.area <= own.area or is_same(present, own)
            own = present if stays else own
        return Choice(own, least["metric"], least["AWG"], needs)

    def sizes(self) -> dict[str, Size]:
        """The size of every free wire; where no size will do, the one that it has."""
        sizes = {}
        for name, wire in self.free.items():
            size = self.choice(name).own or wire.size
            if size is not None:
                sizes[name] = size
        return sizes

    def next_thicker(self, name: str, area: float) -> Size | None:
        """The next thicker size of a wire's ladder that its contacts take and the steering bends."""
        wire = self.free[name]
        limit = workmanship("largest_steered_area").value if any(p.flexing for p in wire.segments) else math.inf
        for size in ladder(standard_of(wire.size)):
            if size.area > area and size.area <= limit and fits_contacts(self.trial.harness, wire, size.area):
                return size
        return None


def _greatest(needs: Iterable[Need], standard: Standard) -> Size | None:
    """The thickest size that a need asks for; ``None`` where one of them is met by none."""
    sizes = [each.size(standard) for each in needs]
    known = [size for size in sizes if size is not None]
    return max(known, key=lambda size: size.area) if len(known) == len(sizes) else None
