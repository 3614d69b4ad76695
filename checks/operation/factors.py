"""What consumers and outputs depend on, as numbers for every combination of a few variables."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import cached_property
from itertools import combinations
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition
from ...lang.circuit.ids import Role, inside
from ...lang.model.parts import Unit, UnitOutput
from ...lang.records import dataclass
from ..behaviour.latches import never_set
from ..logic import TooWideError
from ..logic.predicates import AskedFor, In, Joined, JoinedInSeries, Shorted, Shows
from ..logic.terms import latched
from .elimination import Factor
from .operating_point import holds_briefly

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from ..logic import SwitchingLogic
    from ..logic.predicates import Question
    from ..logic.state_space import StateSpace
    from ..logic.terms import Origin
    from ..logic.truth_tables import Table


WIDEST = 1 << 16
"""This many combinations what a consumer gets through others in series may depend on (ours): beyond, it counts where it
is joined, and what such a series leads, which is little, is left out.
"""


def only(factor: Factor) -> Factor:
    """Minus infinity where a factor of 1 and 0 is 0."""
    import numpy as np

    return Factor(factor.names, np.where(factor.values > 0.0, 0.0, -np.inf))


@dataclass(frozen=True, slots=True)
class Short:
    """Where a source is ``shorted``, 1 or 0, over the variables that this depends on; and where it is ``sound``: what
    can come about without that.
    """

    shorted: Factor
    sound: Factor


class Factors:
    """The factors of one circuit, each worked out once."""

    def __init__(self, logic: SwitchingLogic) -> None:
        self.logic = logic
        self.circuit = logic.circuit
        self._factors: dict[str, Factor | None] = {}
        self._asked: dict[str, Factor | None] = {}
        self._excluding: dict[tuple[str, str], bool] = {}

    def of(self, key: str) -> Factor | None:
        """Where a consumer is joined, 1 or 0, over the variables that it depends on; ``None``: never, or too wide."""
        if key not in self._factors:
            self._factors[key] = self._make_factor(key)
        return self._factors[key]

    def _make_factor(self, key: str) -> Factor | None:
        factor = self._factor_of(JoinedInSeries(key), WIDEST) or self._factor_of(Joined(key))
        return factor if factor is not None and factor.values.any() else None

    def _factor_of(self, asked: Question, widest: float = math.inf) -> Factor | None:
        """Where a question is so, 1 or 0, over the variables that it depends on; ``None``: more than ``widest``
        combinations, or too wide.
        """
        if self.logic.size(self.logic.support(asked)) > widest:
            return None
        try:
            scope = self.logic.scope(asked)
        except TooWideError:
            return None
        return _projected(scope, asked.table(scope), self.logic.support(asked))

    def short(self, origin: Origin) -> Short | None:
        """Where a source is shorted; ``None``: nowhere, or too wide."""
        network, controls = self.logic.network, self.circuit.controls
        if network.reach_needs(network.feeds(origin), origin.minus) is None:
            return None
        short = Shorted(origin)
        crank = [name for name in sorted(self.logic.support(short)) if name in controls and controls[name].free]
        asked = (short, In("engine", ())) if crank else (short,)
        try:
            scope = self.logic.scope(*asked)
        except TooWideError:
            return None
        table = short.table(scope)
        if crank:  # in numbers what the engine moves is closed as soon as the engine turns
            table |= scope.without(scope.some(table, crank), scope.at("engine", "off"))
        if not table & scope.occurring:
            return None
        needed = self.logic.support(*asked)
        others = [v.name for v in scope.variables if v.name not in needed]
        shorted, sound = table & scope.occurring, scope.without(scope.occurring, table)
        return Short(*(_projected(scope, scope.some(each, others), needed) for each in (shorted, sound)))

    def joined_at(self, key: str, positions: Mapping[str, str]) -> bool:
        factor = self.of(key)
        if factor is None:
            return False
        return self.so(factor, positions)

    def so(self, factor: Factor, positions: Mapping[str, str]) -> bool:
        return bool(factor.values[tuple(self.at(name, positions.get(name)) for name in factor.names)] > 0.0)

    def at(self, name: str, position: str | None) -> int:
        known = self.logic.network.variable(name).positions
        return known.index(position) if position is not None else 0

    def but(self, name: str, places: frozenset[int]) -> Factor:
        """Minus infinity in some positions of one variable."""
        import numpy as np

        values = np.zeros(len(self.logic.network.variable(name).positions))
        values[sorted(places)] = -np.inf
        return Factor((name,), values)

    def fixed(self, names: Sequence[str], engine: str, *, held: bool, counted: bool) -> dict[str, int]:
        """What has no choice: joints are joined, momentary controls at rest unless held, the engine as told; a sensor
        gives no signal while it stands; and a latch that can never be set is not. Whatever may work on what comes
        through other loads does (``counted``) or does not: numbers tell which of the two is true.
        """
        fixed = {}
        for name in names:
            control = self.circuit.controls.get(name)
            if name in self._barred:
                fixed[name] = self.at(name, "no")
            elif name == "engine":
                fixed[name] = self.at(name, engine)
            elif control is None:
                if name in self.logic.network.doubts:
                    fixed[name] = int(counted)
                elif name in self.logic.network.joints:
                    fixed[name] = 0
            elif (control.momentary and not held) or (engine == "off" and self.logic.network.is_signal(name)):
                fixed[name] = 0
        return fixed

    @cached_property
    def _barred(self) -> frozenset[str]:
        """The conditions of latches that can never be set."""
        return frozenset(
            latched(unit.name, latch)
            for unit in self.circuit.harness.parts.values()
            if isinstance(unit, Unit) and unit.latches
            for latch in never_set(unit)
        )

    def late(self, names: Iterable[str], *, held: bool) -> list[Factor]:
        """Minus infinity where an output, among ``names``, is on though nothing asks for it and it does not hold. What
        holds for a few seconds only counts where something is ``held``: it lasts no longer than that.
        """
        import numpy as np

        barred = []
        for name in sorted(names):
            condition = self.logic.network.conditions.get(name)
            asked = self.asked_for(name)
            if condition is None or asked is None:
                continue
            thing = condition.thing
            if self._timed[thing].holds is not None and (held or not holds_briefly(self.circuit, thing)):
                continue
            off = np.array([0.0 if at == "yes" else 1.0 for at in self.logic.network.variable(name).positions])
            barred.append(Factor((*asked.names, name), np.where(asked.values[..., None] + off > 0.0, 0.0, -np.inf)))
        return barred

    def exclusive(self, names: Iterable[str]) -> Iterator[Factor]:
        """Minus infinity where two latches of one unit, among ``names``, are set that are never set together."""
        import numpy as np

        conditions = self.logic.network.conditions
        latches = sorted(name for name in names if name in conditions and conditions[name].kind == "set")
        for pair in combinations(latches, 2):
            if conditions[pair[0]].part == conditions[pair[1]].part and self._exclude(pair):
                set_both = [
                    [float(a == b == "yes") for b in self._positions(pair[1])] for a in self._positions(pair[0])
                ]
                yield Factor(pair, np.where(np.array(set_both) > 0.0, -np.inf, 0.0))

    def _positions(self, name: str) -> tuple[str, ...]:
        return self.logic.network.variable(name).positions

    def _exclude(self, pair: tuple[str, str]) -> bool:
        """Whether two conditions never hold together in what can come about; not where that is too wide to tell."""
        if pair not in self._excluding:
            try:
                scope = self.logic.scope(*(Shows(name) for name in pair))
            except TooWideError:
                self._excluding[pair] = False
            else:
                both = scope.condition(pair[0]) & scope.condition(pair[1])
                self._excluding[pair] = not both & scope.occurring
        return self._excluding[pair]

    @cached_property
    def _timed(self) -> dict[str, UnitOutput]:
        """The outputs that follow late, by name (``CTRL.pump``)."""
        return {
            inside(unit.name, output.name, Role.OUTPUT): output
            for unit in self.circuit.harness.parts.values()
            if isinstance(unit, Unit)
            for output in unit.outputs
            if output.is_timed
        }

    def asked_for(self, name: str) -> Factor | None:
        """Where what a late output follows is so, 1 or 0, by the output's condition; ``None``: no such one, or too
        wide.
        """
        if name not in self._asked:
            condition = self.logic.network.conditions.get(name)
            output = self._timed.get(condition.thing) if condition is not None and condition.kind == "on" else None
            unit = self.circuit.harness.parts[condition.part] if condition is not None else None
            if output is None or not isinstance(unit, Unit):
                self._asked[name] = None
            else:
                self._asked[name] = self._factor_of(AskedFor(unit, output))
        return self._asked[name]

    def closed(self, key: str) -> Factor | None:
        """Minus infinity where a switch's contact is open; what relays and outputs do follows from their consumers."""
        import numpy as np

        guard = self.circuit.by_key[key].guard
        if not isinstance(guard, InPosition):
            return None
        positions = self.logic.network.variable(guard.control).positions
        values = [0.0 if position in guard.positions else -np.inf for position in positions]
        return Factor((guard.control,), np.array(values))


def _projected(scope: StateSpace, table: Table, needed: frozenset[str]) -> Factor:
    """A table that depends on no more than some variables of its space, 1 or 0."""
    import numpy as np

    bits = np.unpackbits(
        np.frombuffer(table.to_bytes((scope.size + 7) // 8, "little"), dtype=np.uint8),
        count=scope.size,
        bitorder="little",
    )
    slowest_first = scope.variables[::-1]
    cube = bits.reshape([len(v.positions) for v in slowest_first])
    kept = [v for v in slowest_first if v.name in needed]
    part = cube[tuple(slice(None) if v.name in needed else 0 for v in slowest_first)]
    return Factor(tuple(v.name for v in kept), part.astype(float))
