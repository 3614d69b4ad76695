"""Fixes by another size of a wire or another rating of a fuse: what the sizing proposes, for one finding at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final

from ...lang.editing.proposals import Proposal, Resize
from ...lang.model.harness import Reading
from ...lang.model.parts import Fuse
from ...lang.quantities.quantity import shown

if TYPE_CHECKING:
    from ...lang.quantities.size import Size
    from ..findings.finding import Finding
    from ..sizing.sized import Sizing
    from ..study import Study

MOST_FUSES: Final = 4
"""This many of the fuses that a finding is about are sized, since each takes a check or two (ours)."""


def smaller_fuse_or_thicker(study: Study, finding: Finding) -> Iterator[Proposal]:
    """For a wire that what protects it lets burn: a smaller fuse, or thicker wires."""
    yield from _other_fuses(study, finding.about, larger=False)
    yield from thicker(study, finding)


def thicker(study: Study, finding: Finding) -> Iterator[Proposal]:
    """Thicker wires, all that a finding is about at once: one alone would leave the rest of it."""
    names = tuple(dict.fromkeys(n for n in finding.about if n in study.harness.wires))
    if not names:
        return
    found = _sized(study, names)
    larger = {wire.name: wire for wire in found.wires if wire.changes and wire.proposed is not None}
    sizes: dict[str, Size] = {name: wire.proposed for name, wire in larger.items() if wire.proposed is not None}
    if not sizes or any(wire.short_of for wire in found.wires):
        return
    first = next(iter(larger.values()))
    says = first.decides.says if first.decides is not None else "enough for all that is asked of it"
    by_size: dict[str, list[str]] = {}
    for name, size in sizes.items():
        by_size.setdefault(size.text, []).append(name)
    use = "; ".join(f"use {text} for wire{'s' if len(of) > 1 else ''} {', '.join(of)}" for text, of in by_size.items())
    yield Proposal(f"{use}: {says}, by profile {found.profile}", (Resize(sizes=tuple(sizes.items())),))


def larger_fuse(study: Study, finding: Finding) -> Iterator[Proposal]:
    """A larger fuse, where what its wires may carry allows one."""
    yield from _other_fuses(study, finding.about, larger=True)


def _other_fuses(study: Study, about: Iterable[str], *, larger: bool) -> Iterator[Proposal]:
    fuses = [name for name in about if isinstance(study.harness.parts.get(name), Fuse)]
    for name in fuses[:MOST_FUSES]:
        found = _sized(study, (name,))
        for fuse in found.fuses:
            if fuse.proposed is None or not fuse.changes or larger is not (fuse.proposed > (fuse.present or 0.0)):
                continue
            says = fuse.says if larger else f"{fuse.says}, and no more than the wires behind it may carry"
            size = f"{shown(fuse.proposed)} A"
            first = f"find out why it carries that much; then fit {size}" if larger else f"fit a fuse of {size}"
            yield Proposal(
                f"{first} at {name}: {says}, by profile {found.profile}", (Resize(ratings=((name, fuse.proposed),)),)
            )


def _sized(study: Study, names: tuple[str, ...]) -> Sizing:
    """What some wires and fuses need, all else as it is."""
    from ..sizing.sizing import sizing

    reading = Reading(harness=study.harness, mistakes=(), texts={})
    return sizing(reading, today=study.today, profile=study.profile, names=names)
