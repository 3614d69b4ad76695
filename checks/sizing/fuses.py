"""Ratings of fuses: one that carries what flows stays, unless a smaller one that carries it too spares the wires
behind it; else it is the least sold that carries what flows.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import cached_property

from ...lang.circuit.build import build_circuit
from ...lang.quantities.ranking import exceeds
from ..protection.protection import Protection
from ..tables.fuses import continuous_amps, ratings
from .trial import DEFAULT_FORM, Trial, resized


def least_rating(trial: Trial, name: str) -> tuple[float, float, float]:
    """The A that a fuse needs for what flows continuously, while a control is held, and for what a machine gives."""
    loading = trial.operation.loading(name)
    held = max(loading.held.amps, 0.0) / trial.profile.held_share
    return loading.continuous.amps / trial.profile.continuous_share, held, trial.charging.get(name, 0.0)


def sold_for(trial: Trial, name: str) -> tuple[float, ...]:
    """The ratings sold of a fuse's form that carry what flows through it, the least first."""
    least = max(least_rating(trial, name))
    return tuple(amps for amps in ratings(trial.fuses[name].form or DEFAULT_FORM) if amps >= least)


class FuseRatings:
    """The ratings of the fuses of a trial."""

    def __init__(self, trial: Trial) -> None:
        self.trial = trial

    def chosen(self, pinned: Collection[str]) -> dict[str, float]:
        """The rating of every fuse that can be chosen: its own where that carries what flows and its wires carry that;
        else a smaller one that spares the wires, or the least sold that carries what flows.
        """
        chosen: dict[str, float] = {}
        for name, sold in self._sold.items():
            if name in pinned or not sold:
                continue
            present = continuous_amps(self.trial.fuses[name].amps, self.trial.fuses[name].blows)
            if self.trial.thinner or present is None:
                chosen[name] = sold[0]
            elif exceeds(sold[0], present):
                chosen[name] = present if self.trial.is_waived(name, "overloaded-fuse") else sold[0]
            else:
                chosen[name] = self._sparing.get(name, present)
        return chosen

    @cached_property
    def _sold(self) -> dict[str, tuple[float, ...]]:
        """For every fuse that can be chosen the ratings sold that carry what flows, the least first."""
        free = (name for name in self.trial.fuses if name not in self.trial.facts)
        return {name: sold_for(self.trial, name) for name in free if max(least_rating(self.trial, name)) > 0.0}

    @cached_property
    def _sparing(self) -> dict[str, float]:
        """The fuses of which a smaller one leaves fewer wires too thin than the one that is there, with the largest
        such rating: it costs less than thicker wires, and no wire gets hotter for it.
        """
        found: dict[str, float] = {}
        for name, sold in self._sold.items():
            present = continuous_amps(self.trial.fuses[name].amps, self.trial.fuses[name].blows)
            if present is None or self.trial.is_waived(name, "oversized-fuse"):
                continue
            fewest = len(_too_thin(self.trial, {}, name))
            for amps in sorted((each for each in sold if exceeds(present, each)), reverse=True):
                if not fewest:
                    break
                thin = len(_too_thin(self.trial, {name: amps}, name))
                if thin < fewest:
                    fewest, found[name] = thin, amps
        return found


def _too_thin(trial: Trial, rated: Mapping[str, float], name: str) -> tuple[str, ...]:
    """The wires that a fuse protects, alone or with others, and that carry less than it lets flow."""
    protection = trial.protection if not rated else _protection_with(trial, rated)
    thin = {
        sustained_fault.conductor.owner
        for sustained_fault in protection.sustained_faults.values()
        if (segment := sustained_fault.conductor.segment) is not None
        and name in sustained_fault.devices
        and sustained_fault.known
        and sustained_fault.conductor.key not in protection.cranking_path.feed
        and not trial.is_waived(segment.wire, "oversized-fuse")
        and (carries := protection.ampacities.of(segment)) is not None
        and carries.amps is not None
        and carries.amps < sustained_fault.amps / protection.profile.fuse_warning_share
    }
    return tuple(sorted(thin))


def _protection_with(trial: Trial, rated: Mapping[str, float]) -> Protection:
    return Protection(build_circuit(resized(trial.harness, {}, rated)), trial.profile)
