"""Exact logic over every combination of a circuit: what rules, expectations and numbers ask."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import owner_of
from ...lang.records import dataclass
from ..tables.device_constants import laws
from .predicates import Shorted
from .state_space import StateSpace
from .switching_network import SwitchingNetwork
from .terms import ANY, DIRECT, NOTHING, OPEN
from .weak import doubts as weak
from .weak import narrowed

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Iterator, Mapping

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ..tally import Tally
    from .predicates import Question
    from .terms import Doubt, Origin
    from .truth_tables import Table

WHOLE_BITS = 16
CLUSTER_BITS = 13
"""Up to 2^16 bits one table for all questions is quicker than one for each, and up to 2^13 one for some (ours)."""


class TooWideError(Exception):
    """A question depends on more combinations than a truth table holds; ``names`` are what it depends on."""

    def __init__(self, names: frozenset[str], size: int) -> None:
        super().__init__(f"depends on {len(names)} things with {size} combinations")
        self.names = names
        self.size = size


@dataclass(frozen=True, slots=True, kw_only=True)
class Combination:
    """One setting of the controls that shows something.

    ``shown`` are the controls that the answer depends on, with their positions; ``positions`` all that the scope knows;
    ``held`` the conditions with a memory that hold; ``open_joints`` the unreliable joints that are open in it;
    ``implausible`` where only combinations that a rider hardly meets show it. ``index`` is its bit in ``scope``.
    """

    shown: tuple[tuple[str, str], ...]
    positions: Mapping[str, str]
    held: tuple[str, ...]
    open_joints: tuple[str, ...]
    implausible: bool
    index: int
    scope: StateSpace = field(repr=False, compare=False)

    def words(self) -> str:
        """``KEY on, KILL stop``; empty where nothing matters."""
        return ", ".join(f"{control} {position}" for control, position in self.shown)


@dataclass(frozen=True, slots=True)
class Settled:
    """What settles when the controls stand somewhere.

    ``conditions`` tells of every condition of the harness whether it holds; ``chattering`` names those that never come
    to rest (``conditions`` then shows one moment).
    """

    positions: Mapping[str, str]
    conditions: Mapping[str, bool]
    chattering: tuple[str, ...] = ()


class SwitchingLogic:
    """Exact logic over every combination of one circuit; everything is worked out when first asked.

    Ask a question (``questions``) of a ``scope`` that it fits in::

        scope = conduction.scope(Joined("HEAD.dip"), In("KEY", ("off",)))
        danger = scope.may(Joined("HEAD.dip").table(scope)) & In("KEY", ("off",)).table(scope)
        if danger:
            shown = conduction.show(scope, Joined("HEAD.dip").table(scope) & ...)

    Tables are integers, a bit a combination (``tables.Space``). Raises ``TooWideError`` where a question does not fit.
    """

    def __init__(
        self,
        circuit: Circuit,
        *,
        network: SwitchingNetwork | None = None,
        before: SwitchingLogic | None = None,
        doubts: Mapping[str, Doubt] | None = None,
        tally: Tally | None = None,
    ) -> None:
        """``network``: the circuit's, where it is there. ``before``: the harness that this circuit comes from by taking
        something out while it worked. ``doubts``: what may work on what comes through other loads; found out where
        left out, and with none the logic is that of joined paths alone. ``tally`` counts what is worked out.
        """
        self.circuit = circuit
        self._given = doubts
        if network is None:
            network = SwitchingNetwork(circuit)
            network.tally = tally or network.tally
            [network] = narrowed(network.doubting(weak(network) if doubts is None else doubts))
        self.network = network
        self.whole_bits = WHOLE_BITS
        self.cluster_bits = CLUSTER_BITS
        self._before = before
        self._scopes: dict[frozenset[str], StateSpace] = {}
        self._without: dict[tuple[str, ...], SwitchingLogic] = {}
        self.told: dict[Hashable, Any] = {}
        """What others worked out of this logic alone, by their name for it and all that it was asked with."""

    @cached_property
    def plain(self) -> SwitchingLogic | None:
        """The same by joined paths alone; ``None`` where something was taken out while it worked."""
        if self._before is not None:
            return None
        if not self.network.doubts:
            return self
        return SwitchingLogic(self.circuit, network=self.network.doubting({}), doubts={})

    # --- scopes
    def size(self, names: Iterable[str]) -> int:
        """How many combinations some variables have."""
        return math.prod(self.network.positions.get(name, 2) for name in names)

    def support(self, *questions: Question) -> frozenset[str]:
        """Everything that the answers can depend on: controls, joints, and conditions that remember."""
        needs = NOTHING.union(*(question.needs(self.network) for question in questions))
        names = self.network.support(needs)
        if self._before is not None:
            while True:
                wider = names | self._before.network.support(names) | self.network.support(names)
                if wider == names:
                    break
                names = wider
        return names

    def before(self, *questions: Question) -> tuple[str, ...]:
        """Every control, joint and condition that the answers depend on in the end, in a fixed order."""
        needs = NOTHING.union(*(question.needs(self.network) for question in questions))
        return self.network.all_needs(needs)

    def scope(self, *questions: Question) -> StateSpace:
        """A scope in which all these questions can be answered, the same whatever was asked before. Raises
        ``TooWideError``.
        """
        needed = self.support(*questions) | self._short_support
        return self._scope(needed)

    def _scope(self, needed: frozenset[str]) -> StateSpace:
        for planned in self._plans_with[next(iter(needed))] if needed else self._plan:
            if needed <= planned:
                needed = planned
                break
        else:
            size = self.size(needed)
            if size > 1 << laws().table_bits:
                raise TooWideError(needed, size)
        found = self._scopes.get(needed)
        if found is None:
            before = self._before._same_scope(needed) if self._before is not None else None  # noqa: SLF001
            found = self._scopes[needed] = StateSpace(self.network, needed, before=before)
        return found

    def _same_scope(self, names: frozenset[str]) -> StateSpace:
        if names not in self._scopes:
            self._scopes[names] = StateSpace(self.network, names)
        return self._scopes[names]

    @cached_property
    def _plan(self) -> tuple[frozenset[str], ...]:
        """Few scopes that together hold what each consumer depends on: one for all where that is small enough."""
        if self._before is not None:
            return ()
        supports = {
            self.network.support(self.network.joined_needs(b, ANY)) | self._short_support for b in self.consumers
        }
        whole = frozenset().union(*supports) | self._short_support
        if self.size(whole) <= 1 << self.whole_bits:
            return (whole,)
        planned: list[frozenset[str]] = []
        sizes: list[int] = []
        for names in sorted(supports, key=lambda s: (-self.size(s), sorted(s))):
            for i, other in enumerate(planned):
                grown = sizes[i] * self.size(names - other)
                if grown <= max(1 << self.cluster_bits, sizes[i]):
                    planned[i], sizes[i] = names | other, grown
                    break
            else:
                if self.size(names) <= 1 << laws().table_bits:
                    planned.append(names)
                    sizes.append(self.size(names))
        return tuple(planned)

    @cached_property
    def _plans_with(self) -> defaultdict[str, list[frozenset[str]]]:
        """The planned scopes that hold each variable, in order."""
        found: defaultdict[str, list[frozenset[str]]] = defaultdict(list)
        for planned in self._plan:
            for name in planned:
                found[name].append(planned)
        return found

    @cached_property
    def consumers(self) -> tuple[Branch, ...]:
        return tuple(branch for branch in self.circuit.branches if branch.branch_type.consumes)

    def wired(self, branch: Branch) -> bool:
        """Whether something outside the part reaches both terminals of an element."""
        return all(
            any(other.part != branch.part or not branch.part for other in self.circuit.at.get(node, ()))
            or any(
                other.part == branch.part and other.branch_type is BranchType.MOUNT
                for other in self.circuit.at.get(node, ())
            )
            for node in (branch.a, branch.b)
        )

    @staticmethod
    def plainly(shown: Combination) -> Combination:
        """The same without what is remembered, where the controls alone make the answer."""
        return replace(shown, held=())

    def without(self, names: Iterable[str]) -> SwitchingLogic:
        """The same harness with parts or wires taken out while it works: its relays and machines start as they were."""
        key = tuple(sorted(set(names)))
        found = self._without.get(key)
        if found is None:
            left = SwitchingNetwork(self.circuit.without(key))
            left.tally = self.network.tally
            # The same things may be weak before and after, so that both have one memory.
            may = {**self.network.doubts, **(weak(left) if self._given is None else {})}
            whole, left = narrowed(self.network.doubting(may), left.doubting(may))
            remembers = whole.remembers | left.remembers
            before = self
            if remembers != self.network.remembers or whole is not self.network:
                before = SwitchingLogic(self.circuit, network=whole.forcing(remembers))
            found = self._without[key] = SwitchingLogic(left.circuit, network=left.forcing(remembers), before=before)
        return found

    # --- shorts
    @property
    def _short_support(self) -> frozenset[str]:
        """What the dead shorts depend on, where there are any: combinations with one are left out everywhere."""
        return self._short_things[0]

    @property
    def unjudged_shorts(self) -> tuple[tuple[str, str], ...]:
        """The sources whose dead shorts are not left out of other questions, each with why."""
        return self._short_things[1]

    @cached_property
    def _short_things(self) -> tuple[frozenset[str], tuple[tuple[str, str], ...]]:
        names: frozenset[str] = frozenset()
        unjudged: dict[str, str] = {}
        shorted: dict[str, None] = {}
        for origin in self.network.origins_of(DIRECT):
            asked = self.support(Shorted(origin))
            if self.network.reach_needs(self.network.feeds(origin), origin.minus) is None:
                continue
            if self.size(asked) > 1 << laws().table_bits:
                unjudged[origin.supply.name] = f"it {TooWideError(asked, self.size(asked))}"
                continue
            scope = (
                self._same_scope(asked)
                if self._before is None
                else StateSpace(
                    self.network,
                    asked,
                    before=self._before._same_scope(asked),  # noqa: SLF001
                )
            )
            if Shorted(origin).table(scope) & scope.occurring:
                names |= asked
                shorted[origin.supply.name] = None
        if self.size(names) > 1 << laws().table_bits:
            unjudged |= dict.fromkeys(shorted, f"it {TooWideError(names, self.size(names))}")
            names = frozenset()
        return names, tuple(unjudged.items())

    @property
    def can_short(self) -> bool:
        """Whether some dead short comes about, as far as it could be gone through."""
        return bool(self._short_support)

    def shorted(self, shown: Combination) -> tuple[Origin, ...]:
        """The sources that are shorted in a combination."""
        scope = shown.scope
        return tuple(o for o in self.network.origins_of(DIRECT) if (Shorted(o).table(scope) >> shown.index) & 1)

    # --- showing
    def show(self, scope: StateSpace, table: Table, *, anywhere: Table | None = None) -> Combination | None:
        """The combination of a table nearest to rest, plausible ones first; ``None`` where the table is empty.

        ``table`` must hold combinations that occur. ``anywhere`` is the set of positions in which the answer is the
        same: what the shown controls are taken from (the positions of ``table`` where left out).
        """
        if not table:
            return None
        likely = table & scope.plausible
        index = scope.nearest(likely or table, scope.visible)
        hidden = (*scope.bits, *scope.free)
        same = scope.some(table if anywhere is None else anywhere, hidden)
        # Where nothing counts it does not matter; what is asked of shorts themselves is asked of all that occurs.
        domain = scope.counted if scope.counted >> index & 1 else scope.occurring
        same |= scope.full ^ scope.some(domain, hidden)
        visible = tuple(name for name in scope.visible if name not in scope.free)
        positions = scope.positions(index)
        shown = tuple((name, positions[name]) for name in scope.needed(same, index, visible))
        return Combination(
            shown=shown,
            positions=positions,
            held=tuple(name for name in scope.bits if positions[name] == "yes"),
            open_joints=tuple(n for n in scope.free if positions[n] == OPEN and n in self.network.joints),
            implausible=not likely,
            index=index,
            scope=scope,
        )

    # --- one combination
    def closed(self, shown: Combination, branch: Branch) -> bool:
        """Whether a branch joins its two ends in a combination, as far as its scope decides it."""
        return branch.branch_type.joined is not Direction.NEVER and shown.scope.closed(branch, shown.index)

    def settle(self, positions: Mapping[str, str], before: Mapping[str, bool] | None = None) -> Settled:
        """What every condition comes to when the controls go to ``positions`` (the others to rest), one condition
        changing at a time, from ``before`` (from everything released where left out).

        ``positions`` names controls (``Circuit.controls``), unreliable joints, and latches as ``UNIT.latch``, which are
        then held there. Raises ``TooWideError`` where the memory of the harness is too large.
        """
        network = self.network
        fixed = {name: positions.get(name, variable.positions[0]) for name, variable in network.variables.items()}
        pinned = {
            latch: positions[name] == "set" for name in positions if (latch := network.latch_named(name)) is not None
        }
        bits = network.remembers
        if len(bits) > laws().table_bits:
            raise TooWideError(bits, 1 << len(bits))
        scope = StateSpace(network, {*network.variables, *bits}, fixed=fixed)
        was = before or {}
        state = {name: pinned.get(name, was.get(name, False)) for name in scope.bits}
        seen: list[dict[str, bool]] = []
        changing: tuple[str, ...] = ()
        while True:
            index = scope.index({name: "yes" if value else "no" for name, value in state.items()})
            moving = [
                name
                for name, table in scope.expressions.items()
                if name not in pinned
                and (bool((table >> index) & 1) != state[name] or (scope.passing.get(name, 0) >> index) & 1)
            ]
            if not moving:
                break
            if state in seen:
                round_ = seen[seen.index(state) :]
                changing = tuple(name for name in scope.bits if len({moment[name] for moment in round_}) > 1)
                break
            seen.append(dict(state))
            state[moving[0]] = not state[moving[0]]
        values = {name: bool((scope.condition(name) >> index) & 1) for name in network.conditions}
        return Settled(dict(fixed), values, changing)

    def conditions_at(self, shown: Combination) -> dict[str, bool]:
        """Of every condition that a combination's scope decides, whether it holds there."""
        return {name: bool((table >> shown.index) & 1) for name, table in shown.scope.decided.items()}


def names_of(items: Iterable[str | Branch]) -> tuple[str, ...]:
    """Terminals and branches of a way by the names that a user knows, the same one not twice in a row."""
    found: list[str] = []
    for item in items:
        name = item if isinstance(item, str) else item.key
        if not found or found[-1] != name:
            found.append(name)
    return tuple(found)


def owners_of(circuit: Circuit, path: Iterable[str]) -> Iterator[str]:
    """The wires and parts of a way, each once, in order."""
    seen = set()
    for name in path:
        branch = circuit.by_key.get(name)
        owner = branch.owner if branch is not None else owner_of(name)
        if owner not in seen:
            seen.add(owner)
            yield owner
