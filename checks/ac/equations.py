"""A circuit with windings as numbers: the same questions, answered by what repeats with every turn.

Direct current is solved as ever. Where a winding gives something then, volts and amps of one period are found, by
phasors where nothing bends and by time steps otherwise, and are in the answer: what responds to a mean has its mean,
what is warmed its root of the mean square. A stator behind a rectifier is a source of direct current by its table.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.parts import Regulator, Source
from ..dc import devices as elements
from ..dc.device_models import LEAK, Breakpoint, Curve
from ..dc.no_windings import LeftOut, Measured
from ..dc.nodal_equations import NodalEquations
from ..tables import device_constants as figures
from .bridges import groups, on_stators
from .coils import Coil, coils
from .phasors import phasors
from .stators import measured_stators, most_amps, points_of
from .time_steps import time_steps
from .windings import (
    BOTH,
    OPEN,
    SHORT,
    StatorOf,
    coils_of,
    couplings,
    key_of,
    sources,
    speed_of,
)
from .wound import Limiter, NotPeriodicError, Wound
from .wound_flow import WoundFlow

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.circuit.ids import BranchId
    from ..dc.flow import Flow
    from ..dc.situation import Running, Situation
    from .windings import CoilOf, Wanted
    from .wound import Periodic


class WoundEquations(NodalEquations):
    """The numbers of a circuit with windings; see ``checks.dc.nodal_equations``."""

    periodic = True

    def __init__(
        self, circuit: Circuit, like: NodalEquations | None = None, resisting: Iterable[tuple[str, float]] = ()
    ) -> None:
        super().__init__(circuit, like, resisting)
        self.batteries = [(supply, self._gassing(supply, curve)) for supply, curve in self.batteries]
        self._solved: dict[object, WoundFlow | NotPeriodicError | None] = {}
        self._stators: dict[tuple[str, frozenset[str]], StatorOf | None] = {}

    def _gassing(self, supply: Supply, curve: Curve) -> Curve:
        """A battery of lead that begins to gas: from there on more current hardly lifts its volts.

        Behind a regulator it never comes there; on a bare half wave a straight law would lift one of 6 V to 10 V.
        """
        part = self.circuit.harness.parts[supply.name]
        if not isinstance(part, Source) or part.lithium:
            return curve
        known, cells = figures.laws(), self.circuit.harness.volts / 2.0
        share = (part.amp_hours or elements.USUAL_AMP_HOURS) * known.gassing_slope / cells
        return replace(curve, breakpoints=(*curve.breakpoints, Breakpoint(known.gassing_cell * cells, share)))

    # --- windings ----------------------------------------------------------------------------------------------------
    @cached_property
    def _all(self) -> tuple[tuple[CoilOf, ...], tuple[Wanted, ...]]:
        found: list[CoilOf] = []
        wanted: list[Wanted] = []
        for source in sources(self.circuit):
            made, lack = coils_of(self.circuit, source)
            bare = {key for key in (each.winding for each in made) if self._is_bare(key)}
            found += (each for each in made if each.winding in bare)
            wanted += (each for each in lack if self._is_bare(each.winding))
        return tuple(found), tuple(wanted)

    def _is_bare(self, key: BranchId) -> bool:
        """Whether a winding is not behind a rectifier: the two are no pair of terminals that anything joins."""
        branch = self.circuit.by_key[key]
        of = self.topology.nets.of
        phases = {of[phase] for supply in self.circuit.supplies for phase in supply.phases}
        return not (phases and self._near(branch.a) & phases and self._near(branch.b) & phases)

    def _near(self, end: End) -> frozenset[int]:
        """The nets that contacts join to a terminal in some position, diodes not among them."""
        from ...lang.search.walks import closure

        near: dict[int, list[int]] = {}
        for edge in self.topology.nets.switched:
            if edge.both:
                near.setdefault(edge.a, []).append(edge.b)
                near.setdefault(edge.b, []).append(edge.a)
        ground = self.topology.nets.of.get(self.circuit.ground)
        return frozenset(closure([self.topology.nets.of[end]], lambda net: near.get(net, ()) if net != ground else ()))

    @property
    def coils(self) -> tuple[CoilOf, ...]:
        """The coils of all windings that are not behind a rectifier."""
        return self._all[0]

    @property
    def wanted(self) -> tuple[Wanted, ...]:
        """What the text would have to say of these."""
        return self._all[1]

    def left_out(self, situation: Situation, solved: frozenset[str]) -> tuple[LeftOut, ...]:
        if situation.engine == "off":
            return ()
        found = []
        for supply in (s for s in self.circuit.supplies if s.kind == "winding"):
            key = self._key(supply)
            if key in self.circuit.by_key and key not in solved and self._is_bare(key):
                found.append(self._left_out(key, situation))
        for supply in self.circuit.supplies:
            stator = self.stator(supply, situation.conducting)
            if stator is not None and stator.kind == "unsolved":
                why = "two faults of a rectifier at once are not solved"
                found.append(LeftOut(str(supply.key), why, measurable=False))
        return tuple(found)

    def _left_out(self, key: BranchId, situation: Situation) -> LeftOut:
        engine = situation.engine
        if any(each.winding == key for each in self._usable(engine)):
            if isinstance(self._solved.get(_asked(situation)), NotPeriodicError):
                return LeftOut(str(key), "no steady period was found", measurable=False)
            if engine == "cranking":
                return LeftOut(str(key), "the speed at which the engine is kicked over is not known", measurable=False)
        lack = " and ".join(each.what for each in self.wanted if each.winding == key)
        others = [f"{each.what} of {each.winding}" for each in self.wanted if each.what in (OPEN, SHORT, BOTH)]
        unknown = f"{lack} of {key}" if lack else " and ".join(others)
        return LeftOut(str(key), f"the file does not state {unknown}", measurable=True)

    def _key(self, supply: Supply) -> BranchId:
        source = self.circuit.harness.parts[supply.part]
        assert isinstance(source, Source)  # noqa: S101
        return next(key_of(source.name, each) for each in source.windings if each.name == supply.winding)

    @cached_property
    def limiters(self) -> tuple[tuple[str, End, End, float], ...]:
        """The limiters of windings: part, its two terminals, the V that it holds; those of lamps where unsaid."""
        usual = elements.tested_volts(self.circuit.harness.volts)
        return tuple(
            (part.name, End(part.name, part.shunts[0]), End(part.name, part.shunts[1]), part.shunt_volts or usual)
            for part in self.circuit.harness.parts.values()
            if isinstance(part, Regulator) and part.shunts and part.name not in self.circuit.removed
        )

    @property
    def watched(self) -> tuple[End, ...]:
        ends = [End(part.name, end) for part in sources(self.circuit) for w in part.windings for end in w.terminals]
        return (*ends, *(end for _, a, b, _ in self.limiters for end in (a, b)))

    # --- solving -----------------------------------------------------------------------------------------------------
    def turned(self, direct: Flow) -> Flow:
        """A solved situation with what windings give put in."""
        if not self.coils:
            return direct
        key = _asked(direct.situation)
        if key not in self._solved:
            try:
                self._solved[key] = self._periodic(direct.situation, direct)
            except NotPeriodicError as error:
                self._solved[key] = error  # `left_out` says so
        found = self._solved[key]
        return found if isinstance(found, WoundFlow) else direct

    def _periodic(self, situation: Situation, direct: Flow) -> WoundFlow | None:
        """One period; ``None`` where too little is known of the windings for this situation.

        Raises ``NotPeriodicError``.
        """
        import numpy as np

        turning = self._turning(situation.engine)
        if turning is None:
            return None
        place, index = self.reduction.place, self.index

        def at(end: End) -> int:
            return place[index[end]]

        present = [each for each in turning[0] if each.top in index and each.bottom in index]
        joins = [(at(each.top), at(each.bottom)) for each in present]
        matrix, chosen = self.reduced(situation, joins)
        chosen = chosen.running(situation.machines, self.regulated)
        made = coils(
            [Coil(at(each.top), at(each.bottom), each.is_) for each in present],
            tuple(couplings(tuple(present))),
            turning[1],
        )
        fitted = [each for each in self.limiters if each[1] in index and each[2] in index]
        limits = tuple(Limiter(at(a), at(b), volts) for _, a, b, volts in fitted)
        wound = Wound(matrix, chosen.tops, chosen.bottoms, chosen.curves, made, limits)
        found = self._one_period(wound, direct, estimated=any(each.estimated for each in present))
        if found is None:
            return None
        kept = np.asarray(found.volts.mean(axis=0), dtype=float)
        return WoundFlow(
            self, situation, kept, chosen, found, direct, tuple(present), tuple(name for name, *_ in fitted)
        )

    def _turning(self, engine: str) -> tuple[tuple[CoilOf, ...], float] | None:
        """The coils and their speed, as a share of running; ``None`` where the figures do not tell what is asked.

        Machines of several speeds: that of the first.
        """
        owners = {each.winding.owner for each in self.coils}
        speeds = [speed_of(source, engine) for source in sources(self.circuit) if source.name in owners]
        speed = speeds[0] if speeds else None
        if speed is None:
            return None
        usable = self._usable(engine)
        return (usable, speed) if usable else None

    def turns(self, engine: str) -> bool:
        return self._turning(engine) is not None

    def _usable(self, engine: str) -> tuple[CoilOf, ...]:
        """The coils whose figures tell something with the engine so; watts alone say nothing of idling speed."""
        return self.coils if engine != "idling" else tuple(coil for coil in self.coils if not coil.estimated)

    def _one_period(self, wound: Wound, direct: Flow, *, estimated: bool) -> Periodic | None:
        """By phasors where no law bends, else by time steps; of coils by watts alone nothing is stepped."""
        found = phasors(wound, direct.kept)
        if found is None and not estimated:
            found = time_steps(wound)
        return found

    def winding_at(self, branch: Branch, situation: Situation) -> tuple[float, float] | None:
        turning = self._turning(situation.engine)
        group = groups(self.circuit, situation.conducting)
        ends = {group(branch.a), group(branch.b)}
        for coil in turning[0] if turning is not None else ():
            if turning is not None and {group(coil.top), group(coil.bottom)} == ends:
                return coil.is_.ohms, turning[1] * coil.is_.reactance
        return None

    # --- stators behind rectifiers -----------------------------------------------------------------------------------
    def stator(self, supply: Supply, conducting: frozenset[str]) -> StatorOf | None:
        """What a rectifier has of a measured stator while these contacts conduct; ``None``: none was measured."""
        if not supply.phases:
            return None
        asked = (supply.name, conducting)
        if asked not in self._stators:
            on = on_stators(self.circuit, supply, sources(self.circuit), groups(self.circuit, conducting))
            self._stators[asked] = on
        return self._stators[asked]

    def is_measured(self, supply: Supply, situation: Situation) -> bool:
        return self.stator(supply, situation.conducting) is not None

    def measured_amps(self, supply: Supply, engine: str, conducting: frozenset[str]) -> float | None:
        stator = self.stator(supply, conducting)
        speed = speed_of(stator.source, engine) if stator is not None else None
        if stator is None or speed is None:
            return None
        held = self.regulated[supply.name]
        return most_amps(stator, speed, held, self.machines.field_siemens[supply.name] * held)

    def machine_curve(self, supply: Supply, machine: Running, situation: Situation) -> Curve:
        stator = self.stator(supply, situation.conducting)
        speed = speed_of(stator.source, situation.engine) if stator is not None else None
        if stator is None or speed is None:
            return super().machine_curve(supply, machine, situation)
        held = self.regulated[supply.name]
        points = [(volts, amps + machine.ripple) for volts, amps in points_of(stator, speed, held)]
        return held_at(points, held, elements.MACHINE_OHMS)

    def measured(self, supply: Supply) -> tuple[Measured, ...]:
        own = self.machines.field_siemens[supply.name] * self.regulated[supply.name]
        return tuple(measured_stators(self.circuit, self.regulated[supply.name], own)) if supply.phases else ()

    def can_give(self, machine: Running, situation: Situation, volts: float) -> float:
        supply = next(s for s in self.circuit.supplies if s.name == machine.supply)
        stator = self.stator(supply, situation.conducting)
        speed = speed_of(stator.source, situation.engine) if stator is not None else None
        if stator is None or speed is None:
            return machine.lasting
        return most_amps(stator, speed, volts)


def _asked(situation: Situation) -> object:
    """What decides a period: situations alike in this have the same."""
    now = situation
    return now.conducting, now.asleep, now.resting, now.machines, now.engine


def held_at(points: list[tuple[float, float]], held: float, ohms: float) -> Curve:
    """A source of falling amps (V, A in the order of volts, the last at ``held`` V) whose regulator lets no more volts
    than that come, behind ``ohms`` in ohm.
    """
    most = points[-1][1]
    begins = held - most * ohms
    kept = [(v, a) for v, a in points if v < begins - 1e-3]
    kept.append((begins, most))
    rises = [max((a - b) / (w - v), LEAK) for (v, a), (w, b) in pairwise(kept)] or [LEAK]
    knees = [Breakpoint(v, after - before) for (v, _), before, after in zip(kept[1:], rises, rises[1:], strict=False)]
    knees += [Breakpoint(begins, 1.0 / ohms - rises[-1]), Breakpoint(held, LEAK - 1.0 / ohms)]
    first_volts, first_amps = kept[0]
    return Curve(slope=rises[0], offset=-first_amps - rises[0] * first_volts, breakpoints=tuple(knees))
