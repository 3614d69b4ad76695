"""Nothing worse found: what comes out is checked like any harness, and where a rule would find something that it does
not find now, what that is about stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.ids import owner_of
from ...lang.model.harness import Harness
from ...lang.model.parts import Fuse
from ...lang.quantities.size import Size
from .criteria import at_least
from .demands import Demands
from .trial import Trial, resized

if TYPE_CHECKING:
    from ..findings.finding import Finding, Level


Known = dict[tuple[object, ...], "tuple[Finding, ...]"]
"""What the rules find for sizes of wires and ratings of fuses."""


class NoGraver:
    """What a check of a trial would find with other sizes. ``known`` is kept from one trial to the next."""

    def __init__(self, trial: Trial, known: Known) -> None:
        self.trial, self.known = trial, known

    def worse(self, demands: Demands, sizes: Mapping[str, Size], rated: Mapping[str, float]) -> tuple[Finding, ...]:
        """What a check would find that it does not find now, or finds worse."""
        new, turned = _changed(demands, sizes, rated)
        if not new and not turned:
            return ()
        found = self._found(resized(self.trial.harness, new, turned))
        return tuple(f for f in found if f.level > self._now.get(_place(f), -1))

    @cached_property
    def _now(self) -> dict[tuple[object, ...], Level]:
        return _gravest(self._found(self.trial.harness))

    def _found(self, harness: Harness) -> tuple[Finding, ...]:
        """What the rules find; asked once for the same sizes and ratings."""
        from ..runner.run import RuleStudy, apply_waivers

        fuses = [(name, part) for name, part in harness.parts.items() if isinstance(part, Fuse)]
        key = (tuple(wire.size for wire in harness.wires.values()), tuple(fuse.amps for _, fuse in fuses))
        if key not in self.known:
            found = RuleStudy(harness, today=self.trial.today, profile=self.trial.profile).found
            self.known[key], _ = apply_waivers(harness, found, self.trial.today)
        return self.known[key]


def _changed(
    demands: Demands, sizes: Mapping[str, Size], rated: Mapping[str, float]
) -> tuple[dict[str, Size], dict[str, float]]:
    """The sizes and ratings that are not those of now."""
    return (
        {name: size for name, size in sizes.items() if size != demands.free[name].size},
        {name: amps for name, amps in rated.items() if amps != demands.trial.fuses[name].amps},
    )


def hold(demands: Demands, worse: Iterable[Finding], sizes: Mapping[str, Size], rated: Mapping[str, float]) -> bool:
    """Leaves what new findings are about as it is; where they name nothing that changed, everything. False where
    nothing is left to hold.
    """
    wires = {n for n, s in sizes.items() if s != demands.free[n].size}
    fuses = {n for n, r in rated.items() if r != demands.trial.fuses[n].amps} - demands.pinned
    held = False
    for finding in worse:
        named = {owner_of(name) for name in (*finding.about, *finding.path)}
        touched = (named & (wires | fuses)) or (wires | fuses)
        for name in sorted(touched):
            held |= _hold_one(demands, name, finding.rule, sizes)
    return held


def _hold_one(demands: Demands, name: str, rule: str, sizes: Mapping[str, Size]) -> bool:
    """Leaves a wire or a fuse as it is, that ``rule`` would find fault with in another size."""
    says = f"{rule} finds nothing that way"
    if name in demands.trial.fuses:
        fresh = name not in demands.pinned
        demands.pinned.add(name)
        return fresh
    if name in demands.facts:
        return False  # another finding holds it already
    present = demands.free[name].size
    if present is not None and present.area > sizes[name].area:
        return demands.add(name, at_least("check", says, present.area))
    if present is None:
        thicker = demands.next_thicker(name, sizes[name].area)
        return thicker is not None and demands.add(name, at_least("check", says, thicker.area))
    demands.facts[name] = f"as it is: another size would bring a finding of {rule}"
    return True


def _place(finding: Finding) -> tuple[object, ...]:
    return (finding.rule, finding.span)


def _gravest(found: Iterable[Finding]) -> dict[tuple[object, ...], Level]:
    levels: dict[tuple[object, ...], Level] = {}
    for finding in found:
        place = _place(finding)
        levels[place] = max(finding.level, levels.get(place, finding.level))
    return levels
