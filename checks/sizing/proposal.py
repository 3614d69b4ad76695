"""What sizing proposes, from the demands that were met and those that could not be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from ...lang.circuit.branch_types import BranchType
from ...lang.model.parts import Source
from ...lang.model.wires import Wire
from ...lang.quantities.quantity import shown
from ...lang.quantities.size import Size
from ..conductors.standard_sizes import Standard, standard_of
from ..fixes.fuse_place import places_of_all
from ..operation.load_status import must_get_volts
from ..protection.fuse_places import FusePlace
from ..protection.prospective_fault import ProspectiveFaults
from ..tables.fuses import continuous_amps
from .criteria import Need
from .demands import Demands
from .fuses import least_rating, sold_for
from .sized import SizedFuse, SizedWire, Sizing
from .trial import DEFAULT_FORM, Trial


def nothing(demands: Demands, why: str) -> Sizing:
    demands.remarks = {why: None}
    wires = [
        _fact(demands.trial, name, wire, demands.facts.get(name, why))
        for name, wire in demands.trial.harness.wires.items()
    ]
    fuses = [_fuse(demands, name, {}, demands.facts.get(name, why)) for name in demands.trial.fuses]
    return Sizing(
        wires=tuple(wires), fuses=tuple(fuses), remarks=tuple(demands.remarks), profile=demands.trial.profile.title
    )


def proposed(demands: Demands, sizes: Mapping[str, Size], rated: Mapping[str, float]) -> Sizing:
    trial, wires = demands.trial, []
    fused: dict[str, FusePlace] | None = None
    for name, wire in trial.harness.wires.items():
        if name in demands.facts:
            wires.append(_fact(trial, name, wire, demands.facts[name]))
            continue
        choice = demands.choice(name)
        short_of = ""
        if choice.own is None:
            lacking = [each.says for each in choice.needs if each.size(standard_of(wire.size)) is None]
            if fused is None:
                fused = places_of_all(trial.operation, trial.protection, trial.conductors)
            place = fused.get(name) if _carries_its_loads(wire, choice.needs) else None
            short_of = f"no size does: {'; '.join(lacking)}{_or_a_fuse(place)}"
        wires.append(
            SizedWire(
                name=name,
                present=wire.size,
                proposed=sizes.get(name),
                metric=choice.metric,
                awg=choice.awg,
                decides=_decides(choice.needs, standard_of(wire.size)),
                needs=choice.needs,
                short_of=short_of,
                **_amps(demands.trial, wire),
            )
        )
    fuses = [_fuse(demands, name, rated, demands.facts.get(name, "")) for name in demands.trial.fuses]
    _say_what_is_not_judged(demands)
    return Sizing(
        wires=tuple(wires), fuses=tuple(fuses), remarks=tuple(demands.remarks), profile=demands.trial.profile.title
    )


def _carries_its_loads(wire: Wire, needs: Iterable[Need]) -> bool:
    """Whether a wire as it is carries what flows: then what protects it is all that asks for a thicker one."""
    asked = (need for need in needs if need.reason in ("current", "held"))
    return wire.size is not None and all(need.fits(wire.size.area) for need in asked)


def _or_a_fuse(place: FusePlace | None) -> str:
    """The fuse that would do in the place of a thicker wire."""
    return f"; a fuse of {shown(place.rating)} A in wire {place.wire} at {place.at} does" if place is not None else ""


def _fuse(demands: Demands, name: str, rated: Mapping[str, float], left: str) -> SizedFuse:
    fuse = demands.trial.fuses[name]
    present = continuous_amps(fuse.amps, fuse.blows)
    says, amps, held, least = "", 0.0, 0.0, None
    if not demands.trial.protection.shorted:
        loading = demands.trial.operation.loading(name)
        amps, held = loading.continuous.amps, loading.held.amps
        needs = least_rating(demands.trial, name)
        share = shown(demands.trial.profile.continuous_share * 100.0)
        words = (
            f"{shown(amps)} A continuous, {share} % of its rating at most",
            f"{shown(held)} A short-time",
            f"{shown(needs[2])} A into a flat battery",
        )
        if max(needs) > 0.0:
            says = words[needs.index(max(needs))]
            least = next(iter(sold_for(demands.trial, name)), None)
    if not left and name in demands.pinned:
        left = "another rating would bring a new finding"
    elif not left and name not in rated:
        left = "its current is not known" if not says else "no such rating is sold"
    if left:
        least = None
    return SizedFuse(
        name=name,
        form=fuse.form or DEFAULT_FORM,
        present=present,
        proposed=rated.get(name, present),
        says=says,
        amps=amps,
        held=held,
        least=least,
        left=left,
    )


def _say_what_is_not_judged(demands: Demands) -> None:
    live = {
        branch.key
        for point in demands.trial.operation.points.values()
        for branch in demands.trial.circuit.branches
        if must_get_volts(branch) and point.connectivity.joined(branch.key)
    }
    on_windings = set(demands.trial.operation.alternating)
    dark = [
        b.key
        for b in demands.trial.circuit.branches
        if must_get_volts(b) and b.key not in live and b.branch_type is not BranchType.PRIMARY  # which feeds itself
    ]
    if wound := [key for key in dark if key in on_windings]:
        why = "the voltage of a winding gives way to its load"
        demands.remarks[f"not checked for voltage drop, since {why}: {', '.join(wound)}"] = None
    if dark := [key for key in dark if key not in on_windings]:
        demands.remarks[f"not checked for voltage drop, since no named state switches them on: {', '.join(dark)}"] = (
            None
        )
    if ProspectiveFaults(demands.trial.circuit, demands.trial.protection).battery is None:
        parts = demands.trial.circuit.harness.parts.values()
        fitted = any(isinstance(part, Source) and part.what == "battery" for part in parts)
        lack = "the battery's voltage and resistance are not written" if fitted else "there is no battery"
        demands.remarks[f"not checked for dead shorts: {lack}"] = None
    typical = [f"{each.owner} {each.what} ({each.taken})" for each in demands.trial.operation.missing if each.instead]
    if typical:
        demands.remarks[f"not written, and taken as usual: {', '.join(typical)}"] = None


def _fact(trial: Trial, name: str, wire: Wire, why: str) -> SizedWire:
    return SizedWire(
        name=name,
        present=wire.size,
        proposed=wire.size,
        metric=None,
        awg=None,
        decides=None,
        needs=(),
        left=why,
        **_amps(trial, wire),
    )


def _amps(trial: Trial, wire: Wire) -> dict[str, Any]:
    if trial.protection.shorted:
        return {"amps": 0.0, "held": 0.0, "metres": None}
    loading = trial.conductors.of_wire(wire.name)
    return {"amps": loading.continuous.amps, "held": loading.short_time.amps, "metres": loading.metres}


def _decides(needs: Iterable[Need], standard: Standard) -> Need:
    """The need that asks for the thickest size; of several the first."""
    return max(needs, key=lambda each: math.inf if (size := each.size(standard)) is None else size.area)
