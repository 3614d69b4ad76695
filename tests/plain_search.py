"""Plain graph search on one combination after another: the judge of the truth tables, sharing nothing with them.

Slow and simple on purpose. A combination gives every control, joint and remembering condition its position; what is
joined is found by walking the branches one by one, what comes about from rest by walking the states one by one.
Dependence is decided by two vertex-disjoint paths (a maximum flow of networkx), where the logic uses blocks.
"""

from __future__ import annotations

import copy
import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import networkx as nx

from loomwright.checks.logic import SwitchingLogic
from loomwright.checks.logic.predicates import AtPole, Joined
from loomwright.lang.circuit.branch import Branch, InPosition, On, Pulled, Supply
from loomwright.lang.circuit.branch_types import Direction
from loomwright.lang.circuit.circuit import Circuit
from loomwright.lang.model.conditions import All, AnyOf, Not, Test
from loomwright.lang.model.parts import Relay, Source, Switch, Unit

Positions = dict[str, str]
Memory = frozenset[str]


@dataclass(frozen=True)
class Pole:
    supply: Supply
    plus: str
    minus: str


class PlainSearch:
    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.joints = [b.key for b in circuit.branches if not b.reliable]
        self.variables: dict[str, tuple[str, ...]] = {
            c.name: (c.rest, *(p for p in c.positions if p != c.rest)) for c in circuit.controls.values()
        }
        self.variables |= dict.fromkeys(self.joints, ("joined", "open"))
        self.conditions = self._conditions()
        self.free = [c.name for c in circuit.controls.values() if c.free] + self.joints

    def pinned(self, positions: Positions) -> PlainSearch:
        """The same with some controls that never leave one position; what depends on what is not asked again."""
        _ = self.beyond
        other = copy.copy(self)
        other.variables = self.variables | {name: (position,) for name, position in positions.items()}
        return other

    # --- what there is
    def _conditions(self) -> list[tuple[str, str, str]]:
        found = []
        for part in self.circuit.harness.parts.values():
            if isinstance(part, Relay):
                found.append(("pulled", part.name, ""))
            elif isinstance(part, Unit):
                found += [("on", part.name, o.name) for o in part.outputs]
                found += [("set", part.name, x.name) for x in part.latches]
        found += [("excited", s.name, "") for s in self.circuit.supplies if s.field_keys]
        return found

    @cached_property
    def poles(self) -> list[Pole]:
        found = []
        for supply in self.circuit.supplies:
            if supply.kind == "winding":
                ends = (*supply.plus, supply.minus)
                found += [Pole(supply, a, b) for a, b in itertools.permutations(ends, 2)]
            else:
                found += [Pole(supply, plus, supply.minus) for plus in supply.plus]
        batteries = [p for p in found if p.supply.kind == "battery"]
        strings = [[p] for p in batteries]
        while strings:
            strings = [
                [*s, b] for s in strings for b in batteries if b not in s and self._same_net(s[-1].minus, b.plus)
            ]
            found += [
                Pole(s[0].supply, s[0].plus, s[-1].minus) for s in strings if not self._same_net(s[0].plus, s[-1].minus)
            ]
        return found

    @property
    def always_shorted(self) -> bool:
        """Whether a source is shorted by mere wires: every combination is then left out of everything."""
        return any(self._same_net(pole.plus, pole.minus) for pole in self.poles)

    def _same_net(self, a: str, b: str) -> bool:
        return self.net(a) == self.net(b)

    # --- nets, and walking over what lies between them
    @cached_property
    def _nets(self) -> dict[str, str]:
        """Each node's net, named by its least node: what is joined by branches that never open."""
        graph = nx.Graph()
        for branch in self.circuit.branches:
            graph.add_nodes_from((branch.a, branch.b))
            if branch.branch_type.joined is Direction.BOTH and branch.guard is None and branch.reliable:
                graph.add_edge(branch.a, branch.b)
        return {node: min(nodes) for nodes in nx.connected_components(graph) for node in nodes}

    def net(self, node: str) -> str:
        return self._nets.get(node, node)

    @cached_property
    def _beside(self) -> dict[str, list[tuple[str, Branch, bool]]]:
        """For each net: where a branch leads, the branch, and whether that is its forward direction."""
        beside: dict[str, list[tuple[str, Branch, bool]]] = {}
        for branch in self.circuit.branches:
            a, b = self.net(branch.a), self.net(branch.b)
            if a != b and branch.branch_type.as_load is not Direction.NEVER:
                beside.setdefault(a, []).append((b, branch, True))
                beside.setdefault(b, []).append((a, branch, False))
        return beside

    def _walk(self, start: str, closed, *, forward=True, wall="", wide=False, stop=None) -> set[str]:
        """Every net that current reaches from a node (or comes to it from); ``wall`` and ``stop`` end paths."""
        first, end = self.net(start), self.net(wall) if wall else None
        met = {first}
        stack = [first]
        while stack:
            net = stack.pop()
            if net == end or (stop is not None and net != first and stop(net)):
                continue
            for other, branch, with_it in self._beside.get(net, ()):
                way = branch.branch_type.as_load if wide else branch.branch_type.joined
                if other in met or way is Direction.NEVER or (way is Direction.FORWARD and with_it is not forward):
                    continue
                if closed(branch):
                    met.add(other)
                    stack.append(other)
        return met

    # --- one combination, once its conditions are known
    def closed(self, branch: Branch, positions: Positions, holds: dict[str, bool]) -> bool:
        if not branch.reliable and positions.get(branch.key) == "open":
            return False
        match branch.guard:
            case InPosition(control, allowed):
                return positions[control] in allowed
            case Pulled(relay, state):
                name = f"{relay} pulled"
                return name in holds and holds[name] is state
            case On(unit, output):
                return holds.get(f"{unit}.{output} on", False)
            case _:
                return True

    def reached(
        self, start, positions, holds, *, forward=True, wall="", wide=False, other_rail=None, without=None
    ) -> set[str]:
        def shut(branch: Branch) -> bool:
            return branch is not without and self.closed(branch, positions, holds)

        return self._walk(start, shut, forward=forward, wall=wall, wide=wide, stop=other_rail)

    def active(self, pole: Pole, positions: Positions, holds: dict[str, bool]) -> bool:
        supply = pole.supply
        if supply.kind == "battery":
            return True
        turning = {"idling", "running"}
        if supply.kind == "winding" or (supply.output and supply.output.cranking):
            turning.add("cranking")
        if positions["engine"] not in turning:
            return False
        if supply.kind == "winding":
            return self.net(pole.minus) not in self.reached(pole.plus, positions, holds)
        if self._fields(supply) and not holds.get(f"{supply.name} excited", False):
            return False
        if supply.phases:
            return any(
                sum(bool(self.reached(phase, positions, holds) & self._stator(machine)) for phase in supply.phases) >= 2
                for machine in self._alternators(supply)
            )
        return True

    def _stator(self, part: Source) -> set[str]:
        nodes = [*part.phases, *(t for w in part.windings for t in w.terminals)]
        return {self.net(f"{part.name}.{node}") for node in nodes}

    def _alternators(self, supply: Supply) -> list[Source]:
        return [
            part
            for part in self.circuit.harness.parts.values()
            if isinstance(part, Source)
            and part.name not in self.circuit.removed
            and any(self._walk(phase, lambda _: True) & self._stator(part) for phase in supply.phases)
        ]

    def _fields(self, supply: Supply) -> list[str]:
        if not supply.phases:
            return list(supply.field_keys)
        machines = self._alternators(supply)
        if any(machine.field_winding is None for machine in machines):
            return []
        return [f"{machine.name} field" for machine in machines]

    def joined(self, branch: Branch, positions, holds, kinds=("battery", "machine", "winding")) -> bool:
        for pole in self.poles:
            if pole.supply.kind not in kinds or not self.active(pole, positions, holds):
                continue
            to = self.reached(pole.plus, positions, holds, wall=pole.minus)
            back = self.reached(pole.minus, positions, holds, forward=False, wall=pole.plus)
            for enter, leave in ((branch.a, branch.b), (branch.b, branch.a)):
                if enter == branch.b and branch.branch_type.as_load is Direction.FORWARD:
                    continue
                enter, leave = self.net(enter), self.net(leave)
                if enter in to and leave in back and leave != enter:
                    return True
        return False

    def fed(self, node: str, positions, holds) -> bool:
        """Connected to a feed pole of a battery or a machine."""
        plus_feeds = self.circuit.return_sign == "-"
        return any(
            self.net(node)
            in self.reached(
                pole.plus if plus_feeds else pole.minus,
                positions,
                holds,
                forward=plus_feeds,
                wall=pole.minus if plus_feeds else pole.plus,
            )
            for pole in self.poles
            if pole.supply.kind != "winding" and self.active(pole, positions, holds)
        )

    def shorted(self, positions, holds) -> bool:
        return any(
            self.net(pole.minus) in self.reached(pole.plus, positions, holds)
            for pole in self.poles
            if pole.supply.kind != "winding" and self.active(pole, positions, holds)
        )

    # --- conditions
    def name(self, condition: tuple[str, str, str]) -> str:
        kind, part, item = condition
        return f"{part}.{item} {kind}" if item else f"{part} {kind}"

    def wanted(self, condition, positions, holds) -> bool:
        """What a condition must be, the others being as ``holds`` says."""
        kind, name, item = condition
        if kind == "pulled":
            coil = self.circuit.by_key.get(f"{name} coil")
            return coil is not None and self.joined(coil, positions, holds, ("battery", "machine"))
        if kind == "excited":
            return self._excited(name, positions, holds)
        unit = self.circuit.harness.parts[name]
        supply = unit.supplies[0] if unit.supplies else None
        key = f"{name} supply" + (f" {supply.name}" if supply and supply.name else "")
        if supply is None or key not in self.circuit.by_key:
            return False
        if not self.joined(self.circuit.by_key[key], positions, holds, ("battery", "machine")):
            return False
        if kind == "on":
            output = next(o for o in unit.outputs if o.name == item)
            if unit.stop_lead and self.stopped(name, unit.stop_lead, positions, holds):
                return False
            return output.when is None or self._true(unit, output.when, positions, holds)
        latch = next(x for x in unit.latches if x.name == item)
        if self._true(unit, latch.cleared_when, positions, holds):
            return False
        return holds.get(self.name(condition), False) or self._true(unit, latch.set_when, positions, holds)

    def _excited(self, name, positions, holds) -> bool:
        supply = next(s for s in self.circuit.supplies if s.name == name)
        turning = {"idling", "running"} | ({"cranking"} if supply.output and supply.output.cranking else set())
        if positions["engine"] not in turning:
            return False
        keys = self._fields(supply)
        if not keys or holds.get(f"{name} excited", False):
            return True
        for key in keys:
            field = self.circuit.by_key.get(key)
            for pole in self.poles:
                if field is None or pole.supply.kind != "battery":
                    continue
                plus_rail = self.reached(pole.plus, positions, holds, wall=pole.minus)
                minus_rail = self.reached(pole.minus, positions, holds, forward=False, wall=pole.plus)
                to = self.reached(
                    pole.plus,
                    positions,
                    holds,
                    wall=pole.minus,
                    wide=True,
                    other_rail=minus_rail.__contains__,
                    without=field,  # what comes through the field does not come to it
                )
                back = self.reached(
                    pole.minus,
                    positions,
                    holds,
                    forward=False,
                    wall=pole.plus,
                    wide=True,
                    other_rail=plus_rail.__contains__,
                    without=field,
                )
                for enter, leave in itertools.permutations((self.net(field.a), self.net(field.b))):
                    if enter in to and leave in back and enter not in minus_rail and leave not in plus_rail:
                        return True
        return False

    def stopped(self, part, lead, positions, holds) -> bool:
        return self.net(f"{part}.{lead[0]}") in self.reached(f"{part}.{lead[1]}", positions, holds, forward=False)

    def runs(self, part, positions, holds, kinds=("battery", "machine", "winding")) -> bool:
        """Whether an ignition part makes sparks, as far as joined paths tell."""
        lead = part.stop_lead
        if lead and self.stopped(part.name, lead, positions, holds):
            return False
        if isinstance(part, Unit):
            keys = [f"{part.name} supply"]
        else:
            elements = [e for e in part.elements if e.what == "ignition"] or list(part.elements)
            keys = [f"{part.name}.{element.name}" for element in elements]
        branches = [self.circuit.by_key[key] for key in keys if key in self.circuit.by_key]
        if not branches:
            return bool(lead) and positions["engine"] != "off"
        return any(self.joined(branch, positions, holds, kinds) for branch in branches)

    def _true(self, unit: Unit | None, expression, positions, holds) -> bool:
        match expression:
            case Not(term):
                return not self._true(unit, term, positions, holds)
            case All(terms):
                return all(self._true(unit, term, positions, holds) for term in terms)
            case AnyOf(terms):
                return any(self._true(unit, term, positions, holds) for term in terms)
            case Test(name, position) if unit is None:
                part = self.circuit.harness.parts.get(name)
                control = part.control if isinstance(part, Switch) else name
                return positions[control] == position
            case Test(name, _):
                given = next((i for i in unit.inputs if i.name == name), None)
                if given is None:
                    return holds.get(f"{unit.name}.{name} set", False)
                node = f"{unit.name}.{given.terminal}"
                if given.mode == "signal":
                    return positions[f"{unit.name}.{name}"] == "active"
                if given.mode == "fed":
                    return self.fed(node, positions, holds)
                ground = f"{unit.name}.{unit.supplies[0].minus}"
                return self.net(node) in self.reached(ground, positions, holds, forward=False)
        raise AssertionError(expression)

    # --- dependence, by two vertex-disjoint paths
    def _multigraph(self, wide: bool) -> list[tuple[str, str, Branch]]:
        edges = []
        for branch in self.circuit.branches:
            way = branch.branch_type.as_load if wide else branch.branch_type.joined
            a, b = self.net(branch.a), self.net(branch.b)
            if way is not Direction.NEVER and a != b:
                edges.append((a, b, branch))
        return edges

    def _label(self, branch: Branch) -> str:
        if not branch.reliable:
            return branch.key
        match branch.guard:
            case InPosition(control):
                return control
            case Pulled(relay):
                return f"{relay} pulled"
            case On(unit, output):
                return f"{unit}.{output} on"
        return ""

    def on_paths(
        self, start: str, end: str, wall: str, *, forward: bool, wide: bool = False, without: Branch | None = None
    ) -> tuple[set[str], set] | None:
        """What moves the edges on simple paths between two nodes, and the nets passed; ``None``: never joined."""
        s, t, w = self.net(start), self.net(end), self.net(wall) if wall else None
        if not wide:
            all_shut = self._walk(start, lambda _: True, forward=forward, wall=wall)
            if t not in all_shut:
                return None
        if wide and t == w:
            return None
        if s == t:
            return set(), {s}
        edges = [
            (a, b, branch)
            for a, b, branch in self._multigraph(wide)
            if branch is not without and (w is None or t == w or w not in (a, b))
        ]
        graph = nx.DiGraph()
        for a, b, _ in edges:
            for u, v in ((a, b), (b, a)):
                graph.add_edge((u, "out"), (v, "in"), capacity=1)
        for node in {n for a, b, _ in edges for n in (a, b)} | {s, t}:
            graph.add_edge((node, "in"), (node, "out"), capacity=1)
        labels, passed = set(), {s, t}
        joined = False
        for a, b, branch in edges:
            trial = graph.copy()
            trial.add_edge("start", (a, "in"), capacity=1)
            trial.add_edge("start", (b, "in"), capacity=1)
            trial.add_edge((s, "out"), "end", capacity=1)
            trial.add_edge((t, "out"), "end", capacity=1)
            if nx.maximum_flow_value(trial, "start", "end") == 2:
                joined = True
                passed |= {a, b}
                if label := self._label(branch):
                    labels.add(label)
        return (labels, passed) if joined else None

    def _needs_joined(self, branch: Branch, kinds) -> set[str]:
        needs = set()
        always = {(self.net(p.plus), self.net(p.minus)) for p in self.poles if p.supply.kind == "battery"}
        for pole in self.poles:
            if pole.supply.kind not in kinds:
                continue
            if pole.supply.kind != "battery" and (self.net(pole.plus), self.net(pole.minus)) in always:
                continue
            for enter, leave in ((branch.a, branch.b), (branch.b, branch.a)):
                if enter == branch.b and branch.branch_type.as_load is Direction.FORWARD:
                    continue
                to = self.on_paths(pole.plus, enter, pole.minus, forward=True)
                back = self.on_paths(pole.minus, leave, pole.plus, forward=False)
                if to and back and self.net(leave) != self.net(enter):
                    needs |= to[0] | back[0] | self._needs_active(pole)
        return needs

    def _needs_active(self, pole: Pole) -> set[str]:
        supply = pole.supply
        if supply.kind == "battery":
            return set()
        needs = {"engine"}
        if supply.kind == "winding":
            found = self.on_paths(pole.plus, pole.minus, "", forward=True)
            needs |= found[0] if found else set()
        if self._fields(supply):
            needs.add(f"{supply.name} excited")
        for machine in self._alternators(supply) if supply.phases else ():
            for phase in supply.phases:
                for end in self._stator(machine):
                    found = self.on_paths(phase, end, "", forward=True)
                    needs |= found[0] if found else set()
        return needs

    def direct_needs(self, condition) -> set[str]:
        kind, name, item = condition
        if kind == "pulled":
            coil = self.circuit.by_key.get(f"{name} coil")
            return self._needs_joined(coil, ("battery", "machine")) if coil else set()
        if kind == "excited":
            supply = next(s for s in self.circuit.supplies if s.name == name)
            keys = self._fields(supply)
            needs = {"engine"} | ({self.name(condition)} if keys else set())
            for key in keys:
                field = self.circuit.by_key.get(key)
                if field is not None:
                    needs |= self._needs_field(field)
            return needs
        unit = self.circuit.harness.parts[name]
        if not unit.supplies:
            return set()
        supply = unit.supplies[0]
        key = f"{name} supply" + (f" {supply.name}" if supply.name else "")
        needs = self._needs_joined(self.circuit.by_key[key], ("battery", "machine"))
        if kind == "on":
            output = next(o for o in unit.outputs if o.name == item)
            if output.when is not None:
                needs |= self._needs_expression(unit, output.when)
            if unit.stop_lead:
                found = self.on_paths(f"{name}.{unit.stop_lead[1]}", f"{name}.{unit.stop_lead[0]}", "", forward=False)
                needs |= found[0] if found else set()
            return needs
        latch = next(x for x in unit.latches if x.name == item)
        needs |= self._needs_expression(unit, latch.set_when) | self._needs_expression(unit, latch.cleared_when)
        return needs | {self.name(condition)}

    def _needs_field(self, field: Branch) -> set[str]:
        needs = set()
        for pole in self.poles:
            if pole.supply.kind != "battery":
                continue
            for enter, leave in ((field.a, field.b), (field.b, field.a)):
                to = self.on_paths(pole.plus, enter, pole.minus, forward=True, wide=True, without=field)
                back = self.on_paths(pole.minus, leave, pole.plus, forward=False, wide=True, without=field)
                if to is None or back is None:
                    continue
                needs |= to[0] | back[0]
                for passed, start, wall, forward in (
                    (to[1], pole.minus, pole.plus, False),
                    (back[1], pole.plus, pole.minus, True),
                ):
                    for net in passed:
                        found = self.on_paths(start, net, wall, forward=forward)
                        needs |= found[0] if found else set()
        return needs

    def _needs_expression(self, unit: Unit, expression) -> set[str]:
        match expression:
            case Not(term):
                return self._needs_expression(unit, term)
            case All(terms) | AnyOf(terms):
                return set().union(*(self._needs_expression(unit, term) for term in terms))
            case Test(name, _):
                given = next((i for i in unit.inputs if i.name == name), None)
                if given is None:
                    return {f"{unit.name}.{name} set"}
                node = f"{unit.name}.{given.terminal}"
                if given.mode == "signal":
                    return {f"{unit.name}.{name}", "engine"}
                if given.mode == "grounded":
                    found = self.on_paths(f"{unit.name}.{unit.supplies[0].minus}", node, "", forward=False)
                    return found[0] if found else set()
                return self._needs_fed(node)
        raise AssertionError(expression)

    def _needs_fed(self, node: str) -> set[str]:
        needs = set()
        plus_feeds = self.circuit.return_sign == "-"
        always = {(self.net(p.plus), self.net(p.minus)) for p in self.poles if p.supply.kind == "battery"}
        for pole in self.poles:
            if pole.supply.kind == "winding":
                continue
            if pole.supply.kind != "battery" and (self.net(pole.plus), self.net(pole.minus)) in always:
                continue
            start, wall = (pole.plus, pole.minus) if plus_feeds else (pole.minus, pole.plus)
            found = self.on_paths(start, node, wall, forward=plus_feeds)
            if found:
                needs |= found[0] | self._needs_active(pole)
        return needs

    @cached_property
    def beyond(self) -> dict[str, set[str]]:
        direct = {self.name(c): self.direct_needs(c) for c in self.conditions}
        found = {}
        for name, needs in direct.items():
            met: set[str] = set()
            stack = list(needs)
            while stack:
                need = stack.pop()
                if need not in met:
                    met.add(need)
                    stack.extend(direct.get(need, ()))
            found[name] = met
        return found

    @cached_property
    def remembers(self) -> list[str]:
        return [self.name(c) for c in self.conditions if self.name(c) in self.beyond[self.name(c)]]

    # --- every combination
    def all_holds(self, positions: Positions, memory: Memory) -> dict[str, bool]:
        """Every condition: those that remember as ``memory`` says, the others in order of dependence."""
        holds = {name: name in memory for name in self.remembers}
        rest = [c for c in self.conditions if self.name(c) not in holds]
        order = sorted(rest, key=lambda c: sum(1 for n in self.beyond[self.name(c)] if n.endswith(_KINDS)))
        for condition in order:
            holds[self.name(condition)] = self.wanted(condition, positions, holds)
        return holds

    def combinations(self) -> list[Positions]:
        names = list(self.variables)
        found = []
        for chosen in itertools.product(*(self.variables[n] for n in names)):
            positions = dict(zip(names, chosen, strict=True))
            pulses = any(
                c.free and not c.switches and positions[c.name] == "active" for c in self.circuit.controls.values()
            )
            if not (pulses and positions["engine"] == "off"):
                found.append(positions)
        return found

    def moving(self, positions: Positions, memory: Memory) -> set[str]:
        """The remembering conditions that differ from what they must be."""
        holds = self.all_holds(positions, memory)
        return {
            self.name(c)
            for c in self.conditions
            if self.name(c) in self.remembers and self.wanted(c, positions, holds) != (self.name(c) in memory)
        }

    def occurring(self) -> dict[int, list[Memory]]:
        """For each combination of positions, by its place in ``combinations``, the memories that occur."""
        all_positions = self.combinations()
        moving: dict[tuple[int, Memory], set[str]] = {}

        def differing(i: int, memory: Memory) -> set[str]:
            if (i, memory) not in moving:
                moving[i, memory] = self.moving(all_positions[i], memory)
            return moving[i, memory]

        met = {(i, Memory()) for i in range(len(all_positions))}
        everywhere = {Memory()}
        stack = list(met)
        while stack:
            i, memory = stack.pop()
            differ = differing(i, memory)
            fast = {n for n in differ if n.endswith(_FAST)}
            if not fast and memory not in everywhere:
                everywhere.add(memory)
                for j in range(len(all_positions)):
                    if (j, memory) not in met:
                        met.add((j, memory))
                        stack.append((j, memory))
            for name in fast or differ:
                other = (i, memory ^ {name})
                if other not in met:
                    met.add(other)
                    stack.append(other)
        found: dict[int, list[Memory]] = {}
        for i in range(len(all_positions)):
            here = [memory for j, memory in met if j == i]
            settled = [memory for memory in here if not differing(i, memory)]
            found[i] = settled or self._recurring(i, here, differing)
        return found

    def logic_chatters(self) -> bool:
        """Whether a unit's logic by itself ever runs in a circle: what else happens then is anybody's guess."""
        states = [
            frozenset(m) for n in range(len(self.remembers) + 1) for m in itertools.combinations(self.remembers, n)
        ]
        for positions in self.combinations():
            for memory in states:
                met, stack = {memory}, [memory]
                calm = False
                while stack and not calm:
                    here = stack.pop()
                    fast = {n for n in self.moving(positions, here) if n.endswith(_FAST)}
                    calm = not fast
                    for name in fast:
                        if here ^ {name} not in met:
                            met.add(here ^ {name})
                            stack.append(here ^ {name})
                if not calm:
                    return True
        return False

    def _recurring(self, i, here, differing) -> list[Memory]:
        """Those from whose cycle each is reached, one condition at a time."""
        running = set(here)
        while True:
            come = {m ^ {n} for m in running for n in differing(i, m)} & running
            if come == running:
                return sorted(running, key=sorted)
            running = come


def moments(judge: PlainSearch) -> dict[int, list[dict[str, bool]]]:
    """For each combination of positions, all conditions in each memory that occurs without a short."""
    combinations = judge.combinations()
    found = {}
    for i, memories in judge.occurring().items():
        all_holds = [judge.all_holds(combinations[i], memory) for memory in memories]
        found[i] = [holds for holds in all_holds if not judge.shorted(combinations[i], holds)]
    return found


def disagreements(judge: PlainSearch, logic: SwitchingLogic, branches: Iterable[Branch]) -> list[str]:
    """Where the tables of some elements, and of a terminal of each, say otherwise than plain search."""
    combinations = judge.combinations()
    when = moments(judge)
    hidden = set(judge.free)
    seen = [tuple((n, p) for n, p in c.items() if n not in hidden) for c in combinations]
    wrong = []
    for branch in branches:
        for question, asked in (
            (Joined(branch.key), lambda p, h, b=branch: judge.joined(b, p, h)),
            (AtPole(branch.a, feed=True), lambda p, h, b=branch: judge.fed(b.a, p, h)),
        ):
            scope = logic.scope(question)
            table = question.table(scope)
            may, must = scope.may(table), scope.must(table)
            answers = {i: [asked(combinations[i], holds) for holds in when[i]] for i in when}
            can = {seen[i] for i, found in answers.items() if any(found)}
            always = _always(judge, combinations, seen, answers)
            for i, positions in enumerate(combinations):
                index = scope.index({n: p for n, p in positions.items() if n in scope})
                if bool((may >> index) & 1) != (seen[i] in can):
                    wrong.append(f"may {question} {positions}")
                if bool((must >> index) & 1) != (seen[i] in always):
                    wrong.append(f"must {question} {positions}")
    return wrong


def _always(judge, combinations, seen, answers) -> set:
    """Where something holds in every condition that occurs, for some position of a crank switch but each of a joint."""
    joints = sorted(judge.joints)
    groups: dict = {}
    for i, found in answers.items():
        if found:
            joint = tuple(combinations[i][j] for j in joints)
            groups.setdefault(seen[i], {}).setdefault(joint, []).append(all(found))
    return {key for key, by_joint in groups.items() if all(any(held) for held in by_joint.values())}


_FAST = (" on", " set")
_KINDS = (" pulled", " on", " set", " excited")
