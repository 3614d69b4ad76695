"""Which combination asks most of a device: the one in which the rated currents that hang on it add up to most.

Named states miss the worst one, and twenty controls have millions of combinations. So every consumer gets an expression
of what must close to join it; with controls chosen one after the other each is true, false or open, and a branch of the
search is left as soon as all that is still open could not beat what was found.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit import InPosition, Law, On, Pulled, Way
from ...lang.graphs import nets
from ...lang.model import All, AnyOf, Not, Test, Unit

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from ...lang.circuit import Branch, Circuit
    from ...lang.graphs import Edge, Net
    from ...lang.model import Condition

MOST_PATHS = 64
"""Ways from a pole to one terminal that are followed (ours); a harness has one to four."""

MOST_TRIALS = 20_000
"""Partial combinations tried for one device (ours); then the best so far stands."""

RUNNING_SHARE = 1.1
"""With the machine running volts are higher than the battery's, and so are most currents (ours)."""

Assignment = dict[str, str]
Truth = bool | None
"""``None``: it depends on what is not chosen yet, or on its own past."""


@dataclass(frozen=True, slots=True)
class Path:
    """A way through nets: the guarded or one-way edges on it, by key, and whether it starts at a machine."""

    keys: tuple[str, ...]
    machine: bool


class Demand:
    """The worst combinations of one circuit. ``amps`` is the rated current of each consumer, by key."""

    def __init__(self, circuit: Circuit, amps: Mapping[str, float]) -> None:
        self.circuit = circuit
        self.amps = {key: size for key, size in amps.items() if size > 0.0}
        self.nets = nets(circuit)
        self._near: dict[bool, dict[Net, list[tuple[Net, str]]]] = {True: {}, False: {}}
        for edge in self.nets.switched:
            self._add(edge)
        for edge in self.nets.consumers:
            if edge.branch.law in (Law.RESISTOR, Law.FIELD, Law.SENSOR):  # made to stand in series with others
                self._add(edge)
        self._paths: dict[tuple[Net, bool], tuple[Path, ...]] = {}
        self._stack: set[str] = set()

    def _add(self, edge: Edge) -> None:
        key = edge.branch.key
        for backwards in (False, True):
            near = self._near[backwards]
            tail, head = (edge.b, edge.a) if backwards else (edge.a, edge.b)
            near.setdefault(tail, []).append((head, key))
            if edge.both:
                near.setdefault(head, []).append((tail, key))

    # --- what is searched --------------------------------------------------------------------------------------------
    def worst(self, named: Iterable[tuple[Assignment, bool]]) -> list[tuple[Assignment, bool]]:
        """Combinations to solve besides the ``named`` ones, each with whether a momentary control is held in it.

        ``named`` gives every control, and whether it is momentary. One combination serves many devices; those whose
        greatest sum a named state already has need none.
        """
        known = list(named)
        found: list[tuple[Assignment, bool]] = []
        for group in self._groups():
            for held in (False, True):
                best, sum_ = self._best(group, held=held)
                reached = max(
                    (self._sum(group, whole) for whole, momentary in (*known, *found) if held or not momentary),
                    default=0.0,
                )
                if sum_ > reached * (1.0 + 1e-9) + 1e-9:
                    found.append((best, held))
        return found

    def _groups(self) -> list[_Group]:
        """What hangs on each contact, output and conductor; alike ones once."""
        groups: dict[_Group, None] = {}
        for edge in self.nets.switched:
            key = edge.branch.key
            through = frozenset(c for c in self.amps if any(key in p.keys for p in self._all_paths(c)))
            if through:
                groups.setdefault(_Group(through, via=key))
        for far, machine in self._beyond_bridges():
            if far:
                groups.setdefault(_Group(far, off=machine))
            near = frozenset(self.amps) - far
            if machine and near:
                groups.setdefault(_Group(near, running=True))
        return list(groups)

    def _beyond_bridges(self) -> Iterator[tuple[frozenset[str], bool]]:
        """For each conductor that alone joins two halves: the consumers beyond it, and whether a machine is there."""
        circuit = self.circuit
        hanging: dict[str, set[str]] = {}
        for key in self.amps:
            branch = circuit.by_key[key]
            hanging.setdefault(branch.a, set()).add(key)
            hanging.setdefault(branch.b, set()).add(key)
        machines = {pole for s in circuit.supplies if s.kind == "machine" for pole in (*s.plus, s.minus)}
        roots = [p for s in circuit.supplies if s.kind == "battery" for p in (s.plus[0], s.minus)] or sorted(machines)
        number: dict[str, int] = {}
        lowest: dict[str, int] = {}
        beyond: dict[str, tuple[set[str], bool]] = {}
        joined = {node: [b for b in touching if b.law.joined is not Way.NEVER] for node, touching in circuit.at.items()}
        seen: set[tuple[frozenset[str], bool]] = set()
        for root in roots:
            if root in number:
                continue
            number[root] = lowest[root] = len(number)
            beyond[root] = (set(hanging.get(root, ())), root in machines)
            stack: list[tuple[str, str, Iterator[Branch]]] = [(root, "", iter(joined.get(root, ())))]
            while stack:
                node, by, rest = stack[-1]
                for branch in rest:
                    if branch.key == by:
                        continue
                    other = branch.b if branch.a == node else branch.a
                    if other in number:
                        lowest[node] = min(lowest[node], number[other])
                        continue
                    number[other] = lowest[other] = len(number)
                    beyond[other] = (set(hanging.get(other, ())), other in machines)
                    stack.append((other, branch.key, iter(joined.get(other, ()))))
                    break
                else:
                    stack.pop()
                    if not stack:
                        continue
                    above = stack[-1][0]
                    lowest[above] = min(lowest[above], lowest[node])
                    mine, machine = beyond[node]
                    consumers, has_machine = beyond[above]
                    beyond[above] = (consumers | mine, has_machine or machine)
                    if lowest[node] > number[above]:
                        entry = (frozenset(mine), machine)
                        if entry not in seen:
                            seen.add(entry)
                            yield entry

    def _best(self, group: _Group, *, held: bool) -> tuple[Assignment, float]:
        """The combination with the greatest sum: rest first, so that of two alike the one nearer to rest is found."""
        names = [n for n in self._controls if n in self._support(group)]
        choices: list[tuple[str, tuple[str, ...]]] = []
        fixed: Assignment = {}
        for name in names:
            if name == "engine":
                speeds = ("off",) if group.off else ("running",) if group.running else ("running", "off")
                choices.append((name, speeds))
                continue
            rest, positions, momentary = self._controls[name]
            if momentary and not held:
                fixed[name] = rest
            else:
                choices.append((name, (rest, *(p for p in positions if p != rest))))
        if "engine" not in names:
            fixed["engine"] = "off" if group.off else "running"
        choices.sort(key=lambda choice: len(choice[1]))
        best: Assignment = dict(fixed)
        most = -1.0
        tried = 0

        def search(depth: int, chosen: Assignment) -> None:
            nonlocal best, most, tried
            tried += 1
            bound = self._sum(group, chosen, hopeful=True)
            if bound <= most + 1e-9 or tried > MOST_TRIALS:
                return
            if depth == len(choices):
                best, most = dict(chosen), bound
                return
            name, positions = choices[depth]
            ranked = sorted(positions, key=lambda p: -self._sum(group, {**chosen, name: p}, hopeful=True))
            for position in ranked:
                search(depth + 1, {**chosen, name: position})

        search(0, fixed)
        return best, max(most, 0.0)

    def _sum(self, group: _Group, chosen: Assignment, *, hopeful: bool = False) -> float:
        """Rated amps that hang on the group in a (partial) combination; ``hopeful`` counts what may still join."""
        engine = chosen.get("engine", "off")
        if (group.off and engine != "off") or (group.running and engine not in ("running", "idling")):
            return 0.0
        total = 0.0
        values: dict[str, Truth] = {}
        for key in group.consumers:
            truth = self._joined(key, chosen, values, group.via)
            if truth or (truth is None and hopeful):
                total += self.amps[key]
        return total * (RUNNING_SHARE if engine == "running" else 1.0)

    # --- what joins a consumer ----------------------------------------------------------------------------------------
    @cached_property
    def _controls(self) -> dict[str, tuple[str, tuple[str, ...], bool]]:
        """Every control: its rest, its positions, whether momentary; latches count as controls."""
        found = {c.name: (c.rest, c.positions, c.momentary) for c in self.circuit.controls.values()}
        for part in self.circuit.harness.parts.values():
            if isinstance(part, Unit):
                for latch in part.latches:
                    found[f"{part.name}.{latch.name}"] = ("cleared", ("cleared", "set"), False)
        return found

    def _joined(self, key: str, chosen: Assignment, values: dict[str, Truth], via: str = "") -> Truth:
        """Whether a consumer is joined, through the edge ``via`` where one is named."""
        name = f"{key} through {via}"
        if name in values:
            return values[name]
        if name in self._stack:
            return None
        self._stack.add(name)
        branch = self.circuit.by_key[key]
        a, b = self.nets.of[branch.a], self.nets.of[branch.b]
        ways = [(a, b)] if branch.law.wide is Way.FORWARD else [(a, b), (b, a)]
        result: Truth = False
        for enter, leave in ways:
            truth = _both(
                self._any(self._ways(enter, feed=True), chosen, values),
                self._any(self._ways(leave, feed=False), chosen, values),
            )
            if truth is not False and via:
                through = [p for p in (*self._ways(enter, feed=True), *self._ways(leave, feed=False)) if via in p.keys]
                truth = _both(truth, self._any(through, chosen, values))
            result = _either(result, truth)
            if result:
                break
        self._stack.discard(name)
        values[name] = result
        return result

    def _any(self, paths: Iterable[Path], chosen: Assignment, values: dict[str, Truth]) -> Truth:
        result: Truth = False
        for path in paths:
            truth: Truth = True
            if path.machine:
                engine = chosen.get("engine")
                truth = None if engine is None else engine in ("idling", "running")
            for key in path.keys:
                if truth is False:
                    break
                truth = _both(truth, self._conducts(key, chosen, values))
            result = _either(result, truth)
            if result:
                return True
        return result

    def _conducts(self, key: str, chosen: Assignment, values: dict[str, Truth]) -> Truth:
        if key in values:
            return values[key]
        guard = self.circuit.by_key[key].guard
        truth: Truth
        match guard:
            case InPosition(control, where):
                at = chosen.get(control)
                turning = chosen.get("engine", "off") != "off"
                free = self.circuit.controls[control].free and turning
                truth = True if free else None if at is None else at in where
            case Pulled(relay, pulled):
                coil = (
                    self._joined(f"{relay} coil", chosen, values) if f"{relay} coil" in self.circuit.by_key else False
                )
                truth = coil if pulled or coil is None else not coil
            case On(unit, output):
                truth = self._on(unit, output, chosen, values)
            case _:
                truth = True
        values[key] = truth
        return truth

    def _on(self, unit: str, output: str, chosen: Assignment, values: dict[str, Truth]) -> Truth:
        part = self.circuit.harness.parts[unit]
        if not isinstance(part, Unit):
            return False
        given = next(o for o in part.outputs if o.name == output)
        supply = f"{unit} supply" + (f" {given.supply}" if given.supply else "")
        powered = self._joined(supply, chosen, values) if supply in self.circuit.by_key else False
        if powered is False or given.when is None:
            return powered
        return _both(powered, self._value(part, given.when, chosen, values))

    def _value(self, unit: Unit, term: Condition, chosen: Assignment, values: dict[str, Truth]) -> Truth:
        match term:
            case Test(control):
                for latch in unit.latches:
                    if latch.name == control:
                        at = chosen.get(f"{unit.name}.{latch.name}")
                        cleared = self._value(unit, latch.cleared_when, chosen, values)
                        return _both(None if at is None else at == "set", None if cleared is None else not cleared)
                return self._input(unit, control, chosen, values)
            case Not(inner):
                truth = self._value(unit, inner, chosen, values)
                return None if truth is None else not truth
            case All(terms):
                result: Truth = True
                for each in terms:
                    result = _both(result, self._value(unit, each, chosen, values))
                return result
            case AnyOf(terms):
                result = False
                for each in terms:
                    result = _either(result, self._value(unit, each, chosen, values))
                return result

    def _input(self, unit: Unit, name: str, chosen: Assignment, values: dict[str, Truth]) -> Truth:
        given = next((i for i in unit.inputs if i.name == name), None)
        if given is None:
            return False
        if given.mode == "signal":
            engine = chosen.get("engine")
            return None if engine is None else engine != "off"
        node = f"{unit.name}.{given.terminal}"
        net = self.nets.of.get(node)
        if net is None:
            return False
        if given.mode == "fed":
            return self._any(self._ways(net, feed=self.circuit.return_sign == "-"), chosen, values)
        own = self.nets.of[f"{unit.name}.{given.back or (unit.supplies[0].minus if unit.supplies else '')}"]
        return self._any(self._search(net, {own: False}, backwards=False), chosen, values)

    # --- paths -------------------------------------------------------------------------------------------------------
    @cached_property
    def _poles(self) -> dict[bool, dict[Net, bool]]:
        """The nets of all + poles (under ``True``) and - poles, each with whether only a machine has it."""
        found: dict[bool, dict[Net, bool]] = {True: {}, False: {}}
        for supply in sorted(self.circuit.supplies, key=lambda s: s.kind != "battery"):
            if supply.kind == "winding":
                continue
            machine = supply.kind == "machine"
            for plus in supply.plus:
                found[True].setdefault(self.nets.of[plus], machine)
            found[False].setdefault(self.nets.of[supply.minus], machine)
        return found

    def _ways(self, net: Net, *, feed: bool) -> tuple[Path, ...]:
        """The ways from a + pole to a net (``feed``), or from it to a - pole."""
        key = (net, feed)
        if key not in self._paths:
            self._paths[key] = self._search(net, self._poles[feed], backwards=feed)
        return self._paths[key]

    def _search(self, start: Net, poles: Mapping[Net, bool], *, backwards: bool) -> tuple[Path, ...]:
        near = self._near[backwards]
        others = self._poles[not backwards]
        found: list[Path] = []

        def follow(net: Net, keys: tuple[str, ...], met: frozenset[Net]) -> None:
            if net in poles:
                found.append(Path(keys, poles[net]))
                return
            if net in others and keys:
                return
            for other, key in near.get(net, ()):
                if other not in met and len(found) < MOST_PATHS:
                    follow(other, (*keys, key), met | {other})

        follow(start, (), frozenset({start}))
        return tuple(sorted(found, key=lambda p: len(p.keys)))

    def _all_paths(self, key: str) -> Iterator[Path]:
        branch = self.circuit.by_key[key]
        a, b = self.nets.of[branch.a], self.nets.of[branch.b]
        yield from self._ways(a, feed=True)
        yield from self._ways(b, feed=False)
        if branch.law.wide is Way.BOTH:
            yield from self._ways(b, feed=True)
            yield from self._ways(a, feed=False)

    def _support(self, group: _Group) -> set[str]:
        """The controls that decide about a group."""
        met: set[str] = set()
        names: set[str] = set()

        def edge(key: str) -> None:
            if key in met:
                return
            met.add(key)
            match self.circuit.by_key[key].guard:
                case InPosition(control):
                    names.add(control)
                case Pulled(relay):
                    consumer(f"{relay} coil")
                case On(unit, output):
                    part = self.circuit.harness.parts[unit]
                    if isinstance(part, Unit):
                        given = next(o for o in part.outputs if o.name == output)
                        consumer(f"{unit} supply" + (f" {given.supply}" if given.supply else ""))
                        if given.when is not None:
                            condition(part, given.when)
                case _:
                    pass

        def paths(found: Iterable[Path]) -> None:
            for path in found:
                if path.machine:
                    names.add("engine")
                for key in path.keys:
                    edge(key)

        def consumer(key: str) -> None:
            if key not in met and key in self.circuit.by_key:
                met.add(key)
                paths(self._all_paths(key))

        def condition(unit: Unit, term: Condition) -> None:
            match term:
                case Test(control):
                    for latch in unit.latches:
                        if latch.name == control and f"{unit.name}.{control}" not in names:
                            names.add(f"{unit.name}.{control}")
                            condition(unit, latch.cleared_when)
                    for given in unit.inputs:
                        if given.name == control:
                            net = self.nets.of.get(f"{unit.name}.{given.terminal}")
                            if given.mode == "signal":
                                names.add("engine")
                            elif net is not None and given.mode == "fed":
                                paths(self._ways(net, feed=self.circuit.return_sign == "-"))
                            elif net is not None and unit.supplies:
                                own = self.nets.of[f"{unit.name}.{given.back or unit.supplies[0].minus}"]
                                paths(self._search(net, {own: False}, backwards=False))
                case Not(inner):
                    condition(unit, inner)
                case All(terms) | AnyOf(terms):
                    for each in terms:
                        condition(unit, each)

        for key in group.consumers:
            consumer(key)
        return names


@dataclass(frozen=True, slots=True)
class _Group:
    """Consumers that hang on one device: all of them, those fed through the edge ``via``, only with the engine ``off``
    or ``running``."""

    consumers: frozenset[str]
    via: str = ""
    off: bool = False
    running: bool = False


def _both(x: Truth, y: Truth) -> Truth:
    if x is False or y is False:
        return False
    return True if x and y else None


def _either(x: Truth, y: Truth) -> Truth:
    if x or y:
        return True
    return None if x is None or y is None else False
