"""What each fault would show, in one way that a named state may be: volts, and the look of everything."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType, Direction
from ..ac.harmonics import stack_of
from ..dc.memory import AT_REST
from ..fmea.bad_joints import Joints
from ..fmea.earlier import Earlier
from ..fmea.effects import NOT_CHARGED, WEAK
from ..fmea.failure_modes import SHORT, STATOR, Damage, Fault, series_groups
from ..fmea.faulted_state import joining
from ..fmea.lost_fields import lost_fields
from ..fmea.shorts import Short, Shorts
from ..fmea.stator_faults import outcomes as stator_outcomes
from ..tables.proving import proving
from .held_back import HeldBack, held_back
from .statuses import Statuses

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..dc.memory import Memory
    from ..fmea.after import After
    from ..fmea.fault_simulation import Sweep
    from ..fmea.faulted_state import FaultedState
    from ..fmea.outcome import Outcome
    from ..operation.operation import OperatingPoint

    Floats = NDArray[np.float64]


class Predictions:
    """Single faults, solved: every conductor and device that may be open, every load, every wire shorted to ground."""

    def __init__(
        self,
        sweep: Sweep,
        here: FaultedState,
        *,
        from_rest: bool = True,
        before: Memory = AT_REST,
        unloaded: bool = False,
    ) -> None:
        """``from_rest``: it is reached from rest, with latches as ``before``; else relays were left otherwise.
        ``unloaded``: with what carries nothing here too, as is asked where a meter was at a terminal.
        """
        self._unloaded = unloaded
        self._sweep = sweep
        self._before = Earlier(here.propagation, from_rest=from_rest, before=before)
        self.here = here
        self.point: OperatingPoint = here.point
        self.statuses = Statuses(here)
        self.nominal = self.point.circuit.harness.volts

    @cached_property
    def sound_stack(self) -> Floats:
        """V of all nodes without any fault, and what swings about them, see ``ac.harmonics``."""
        flow = self.point.flow
        return stack_of(flow)

    @cached_property
    def held_back(self) -> tuple[HeldBack, ...]:
        """The terminals at which a regulator that lowers a field's current leaves the voltage open."""
        return tuple(held_back(self.point))

    @cached_property
    def most_charged(self) -> float:
        """V over which nothing reads while a machine charges a battery as its text says, as a proof has it; infinite
        where none charges, or where the text itself has a battery overcharged.
        """
        flow = self.point.flow
        most = flow.network.regulated[""] + proving("charge_volts") * self.nominal / 12.0
        batteries = [self.point.mean_across(supply.key) for supply, _ in flow.network.batteries]
        return most if flow.situation.machines and batteries and max(batteries) <= most else math.inf

    @property
    def least_charged(self) -> float:
        """V under which no reading across a battery is that of one charged as the text has it; 0 where nothing charges
        so.
        """
        if math.isinf(self.most_charged):
            return 0.0
        return self.most_charged - 2.0 * proving("charge_volts") * self.nominal / 12.0

    @cached_property
    def outcomes(self) -> Mapping[str, Outcome]:
        """Every conductor and device that may be open, everything inside a part that may be, as a filament, a coil or a
        winding, every wire that may be shorted to ground and burn nothing; by branch key, shorts by their own name.
        """
        found = dict(self.here.exact)
        found.update(self.here.solved({branch.key: Damage((branch,)) for branch in self._inside}))
        if self._unloaded:
            idle = [b for b in joining(self.point) if self.here.propagation.idle(b)]
            found.update(self.here.solved({branch.key: Damage((branch,)) for branch in idle}))
        found.update((name_of(outcome.fault), outcome) for _, outcome in self._shorts.values())
        found.update((name_of(fault), outcome) for fault, outcome in stator_outcomes(self.here).items())
        return found

    @property
    def _inside(self) -> Iterator[Branch]:
        """What may be open inside a part and then does something here: it takes or gives current, tells a unit
        something, or makes the spark of a magneto.
        """
        for branch in self.point.circuit.branches:
            if branch.branch_type is BranchType.PRIMARY:
                if self.point.engine != "off" and branch.part in self.statuses.leads:
                    yield branch
            elif branch.branch_type.joined is Direction.NEVER and self._busy(branch):
                yield branch

    def _busy(self, branch: Branch) -> bool:
        """Whether a branch does something in this state, or did before machines were excited and relays in."""
        return not self.here.propagation.idle(branch) or self._before.carries(branch)

    @cached_property
    def earlier(self) -> Mapping[str, Outcome]:
        """What each fault shows that was there before machines were excited and relays in for this state, where that is
        otherwise than if it comes now; without those with which the engine does not run.
        """
        every = {n: d for n, o in self.outcomes.items() if o.volts is not None and (d := self._starting(o)) is not None}
        leaders: dict[object, str] = {}
        like = {name: self._like(self.outcomes[name].fault) for name in every}
        for name, alike in like.items():
            leaders.setdefault(alike, name)
        first = {name: every[name] for name in leaders.values()}
        later = {name: volts for name in first if (volts := self.outcomes[name].volts) is not None}
        otherwise = self._before.otherwise(first, later)
        asked = {name: damage for name, damage in every.items() if leaders[like[name]] in otherwise}
        solved = self.here.solved(asked, start=self._before.start)
        return {
            name: replace(outcome, fault=self.outcomes[name].fault)
            for name, outcome in solved.items()
            if outcome.shares is not None and not self.halts(outcome)
        }

    def _starting(self, outcome: Outcome) -> Damage | None:
        """What a fault leaves behind that may keep something from starting."""
        fault = outcome.fault
        if fault.mode == "open" and not self._busy(self.point.circuit.by_key[fault.key]):
            return None
        return None if self.burns(fault) or self.halts(outcome) else self._damage(fault)

    def _like(self, fault: Fault) -> object:
        """What is the same for faults that leave the same current."""
        if fault.mode == SHORT:
            return self.short_like(fault)
        return self._series.get(fault.key, fault.key)

    @cached_property
    def _series(self) -> Mapping[str, str]:
        return series_groups(self.point.circuit)

    @cached_property
    def _shorts(self) -> Mapping[str, tuple[Short, Outcome]]:
        """Each wire that does something on ground, by its own end: what lies before every device too, which burns."""
        shorts = [s for s in Shorts(self.point, self._sweep.protection).all() if s.damage is not None]
        solved = self.here.solved({s.key: s.damage for s in shorts if s.damage is not None})
        return {s.key: (s, replace(solved[s.key], fault=Fault(s.key, SHORT))) for s in shorts}

    @cached_property
    def words_of(self) -> Mapping[str, Mapping[str, str]]:
        """How everything stands with each fault, by its name."""
        alike: dict[int, Mapping[str, str]] = {}  # wires in one place have the very same shares
        found = {}
        for name, outcome in self.outcomes.items():
            if outcome.shares is not None:
                if id(outcome.shares) not in alike:
                    alike[id(outcome.shares)] = self.statuses.words(outcome.shares, outcome.stopped)
                found[name] = alike[id(outcome.shares)]
        return found

    def opened(self, fault: Fault) -> tuple[str, ...]:
        """The keys of the devices that a fault opens: itself, or those that feed a wire shorted to ground."""
        if fault.mode != SHORT:
            return (fault.key,) if fault.mode == "open" else ()
        damage = self._shorts[fault.key][0].damage
        return tuple(branch.key for branch in damage.opened) if damage is not None else ()

    @cached_property
    def alike(self) -> Counter[tuple[str, ...]]:
        """How many wires shorted to ground open the same devices."""
        return Counter(self.opened(o.fault) for o in self.outcomes.values() if o.fault.mode == SHORT)

    def burns(self, fault: Fault) -> bool:
        """Whether a fault is a wire shorted to ground that a battery feeds past no device."""
        return fault.mode == SHORT and self._shorts[fault.key][0].burns

    def short_like(self, fault: Fault) -> object:
        """What is the same for wires shorted to ground that show the same though they open no device."""
        return self._shorts[fault.key][0].like

    def halts(self, outcome: Outcome) -> bool:
        """Whether the engine, which ran by itself, stops with a fault."""
        return outcome.volts is not None and self.here.halting.stops(outcome)

    @cached_property
    def still(self) -> Mapping[str, Outcome]:
        """What each fault shows that stops the engine, once it has stopped."""
        if self.here.halting.at_rest is None:
            return {}
        found: dict[str, Damage] = {}
        for name, outcome in self.outcomes.items():
            damage = self._damage(outcome.fault) if self.halts(outcome) else None
            if damage is not None:  # nothing of a stator stops the engine
                found[name] = damage
        solved = self.here.halting.after(found, {name: self.outcomes[name] for name in found})
        return {name: outcome for name, outcome in solved.items() if outcome.volts is not None}

    def lost_fields(self, outcome: Outcome, *, earlier: bool = False) -> tuple[After, ...]:
        """What a fault may show besides, that takes the field of a machine and lets the engine run on. ``earlier``: it
        was there before that was excited.
        """
        effects = {effect.now for effect in outcome.effects}
        if effects.isdisjoint({WEAK, NOT_CHARGED}) or name_of(outcome.fault) in self.still:
            return ()
        damage = self._damage(outcome.fault)
        if damage is None:
            return ()
        return lost_fields(self.here.propagation, damage, self._before.start if earlier else None)

    def _damage(self, fault: Fault) -> Damage | None:
        """What an opening or a short to ground leaves behind; nothing of stators."""
        if fault.mode == SHORT:
            return self._shorts[fault.key][0].damage
        return Damage((self.point.circuit.by_key[fault.key],)) if fault.mode not in STATOR else None

    @cached_property
    def joints(self) -> Joints:
        """What bad joints show in this state."""
        return Joints(self.here, self.outcomes, self.still)


def name_of(fault: Fault) -> str:
    """What outcomes are kept by: the key of what is open, a short by its own words."""
    return fault.key if fault.mode == "open" else str(fault)
