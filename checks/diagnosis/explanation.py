"""Why a fault shows as it does: the way that it cuts, the relay that drops out, or else the plain numbers."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.branch import On, Pulled
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import End, coil_of
from ...lang.circuit.paths import steps_over
from ...lang.diagnostics.messages import plainly_listed
from ...lang.model.conditions import asked_by
from ...lang.model.parts import Connector, Ground, Splice, Unit, UnitOutput
from ...lang.quantities.ranking import largest
from ...lang.search.walks import hops, shortest
from .diagnosis import Reason
from .hypotheses import Hypothesis
from .likelihood import predicted_volts
from .observations import Observation, Read, Seen
from .predictions import Predictions, name_of
from .shown import felt

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..operation.operation import OperatingPoint

    Floats = NDArray[np.float64]


class Reasons:
    """What lies between faults and what they change, at one operating point of the sound harness."""

    def __init__(self, point: OperatingPoint) -> None:
        self._point = point
        self._circuit = point.circuit
        connectivity = point.connectivity
        self._conducting = {b.key for b in self._circuit.branches if connectivity.conducts(b)}
        negative = self._circuit.return_sign == "-"
        sources = connectivity.sources
        plus, minus = tuple(p for s in sources for p in s.plus), tuple(s.minus for s in sources)
        self._plus, self._minus = plus, minus
        self._battery = {p for s in sources if s.kind == "battery" for p in (*s.plus, s.minus)}
        self._ground = minus if negative else plus
        self._feed = plus if negative else minus
        self._known: dict[tuple[tuple[str, ...], str, bool, str], list[Branch] | None] = {}

    def cut(self, node: End, keys: Sequence[str]) -> str:
        """In words which way to a terminal a fault of ``keys`` cuts, one after the other in series; empty: none."""
        for poles, forward in ((self._plus, True), (self._minus, False)):
            way = self._way(tuple(p for p in poles if p in self._battery), node, forward) or self._way(
                poles, node, forward
            )
            if not way or self._way(poles, node, forward, keys[0]) is not None:
                continue
            names: list[str] = [branch.key for branch in way]
            first = min((names.index(key) for key in keys if key in names), default=0)
            mark = self._landmark(poles, way[:first])
            if poles == self._ground:
                return f"open circuit between {node} and {mark}"
            return f"open circuit between {mark} and {node}"
        return ""

    def element(self, branch: Branch, keys: Sequence[str], words: Mapping[str, str], asked: frozenset[str]) -> str:
        """Why an element differs with a fault of ``keys``, where that can be read off the circuit.

        ``words``: how every element stands with it; ``asked``: the elements that have been asked on the way here.
        """
        if branch.key in keys:
            return f"it is {branch.key} itself"
        ways = []
        for node, poles, forward in self._sides(branch):
            said = self.cut(node, keys)
            if said:
                return said
            ways += self._way(poles, node, forward) or []
        for step in ways:
            said = self._let_go(step, keys, words, asked | {branch.key})
            if said:
                return said
        return ""

    def from_feed(self, branch: Branch) -> int:
        """How many branches lie on the shortest way between a branch and the feed poles; far more without one,
        the fewer then the farther it is from the ground.
        """
        none = len(self._circuit.branches)
        feed, ground = (
            min(steps.get(branch.a, none), steps.get(branch.b, none)) for steps in (self._from_feed, self._from_ground)
        )
        return feed if feed < none else 2 * none - ground

    @cached_property
    def _from_feed(self) -> dict[str, int]:
        return self._steps(self._feed)

    @cached_property
    def _from_ground(self) -> dict[str, int]:
        return self._steps(self._ground)

    def _steps(self, poles: tuple[str, ...]) -> dict[str, int]:
        """How many branches lie between poles and each terminal that is connected to one of them."""
        joins = steps_over(
            self._circuit,
            lambda branch: branch.branch_type.joined is not Direction.NEVER and branch.key in self._conducting,
        )
        return hops(poles, lambda node: (other for other, _ in joins(node)))

    def _sides(self, branch: Branch) -> tuple[tuple[End, tuple[str, ...], bool], ...]:
        """The two ends of an element, each with the poles that it is connected to and the direction of current."""
        a, b = branch.a, branch.b
        turned = self._way(self._plus, a, forward=True) is None or self._way(self._minus, b, forward=False) is None
        if turned and branch.branch_type.as_load is Direction.BOTH:
            a, b = b, a
        return ((a, self._plus, True), (b, self._minus, False))

    def _let_go(self, step: Branch, keys: Sequence[str], words: Mapping[str, str], asked: frozenset[str]) -> str:
        """A contact or an output on the way that does not conduct any more, and why."""
        guard = step.guard
        if isinstance(guard, Pulled) and guard.pulled:
            who, said = str(coil_of(guard.relay)), f"{guard.relay} drops out"
        elif isinstance(guard, On):
            unit = guard.unit
            who = next((b.key for b in self._circuit.of_part[unit] if b.branch_type is BranchType.SUPPLY), "")
            said = f"{unit} turns {step.key} off"
            if words.get(who) not in (None, "live"):
                said = f"{unit} is off"
            else:
                lost = next((cut for b in self._inputs(step) if (cut := self.cut(b, keys))), "")
                return f"{said}: {lost}" if lost else ""
        else:
            return ""
        branch = self._circuit.by_key.get(who)
        if branch is None or who in asked or words.get(who) == "live":
            return ""
        own = "coil" if branch.branch_type is BranchType.COIL else "supply"
        further = f"its {own} is open" if branch.key in keys else self.element(branch, keys, words, asked)
        return f"{said}: {further}" if further else said

    def _inputs(self, output: Branch) -> tuple[End, ...]:
        """The inputs of the unit of an output, those first that its own condition asks for."""
        part = self._circuit.harness.parts[output.part]
        asked = set(asked_by(output.item.when)) if isinstance(output.item, UnitOutput) else set()
        inputs = sorted(part.inputs if isinstance(part, Unit) else (), key=lambda each: each.name not in asked)
        return tuple(End(part.name, terminal) for each in inputs for terminal in (each.terminal, each.back) if terminal)

    def _landmark(self, poles: tuple[str, ...], way: Sequence[Branch]) -> str:
        """What a person knows on the way from a pole, the last thing first: a fuse, a body of ground, the pole."""
        for branch in reversed(way):
            if branch.branch_type is BranchType.FUSE:
                return branch.part
            for node in (branch.b, branch.a):
                if isinstance(self._circuit.harness.parts.get(node), Ground):
                    return node
        if not way:
            return poles[0]
        return next((node for node in (way[0].a, way[0].b) if node in poles), poles[0])

    def _way(self, poles: tuple[str, ...], goal: End, forward: bool, without: str = "") -> list[Branch] | None:
        """The shortest way of current from poles to a terminal (not ``forward``: the other way), from the pole on.

        Empty where the terminal is a pole; ``None`` where there is no way.
        """
        key = (poles, goal, forward, without)
        if key not in self._known:
            self._known[key] = self._search(*key)
        return self._known[key]

    def _search(self, poles: tuple[str, ...], goal: End, forward: bool, without: str) -> list[Branch] | None:
        def step(node: str) -> Iterator[tuple[End, Branch]]:
            for branch in self._circuit.at.get(node, ()):
                joined = branch.branch_type.joined
                if joined is Direction.NEVER or branch.key == without or branch.key not in self._conducting:
                    continue
                if joined is Direction.BOTH or (branch.a == node) is forward:
                    yield branch.other_end(node), branch

        found = shortest(poles, goal.__eq__, step)
        return None if found is None else list(found)


class Explanation:
    """What hypotheses in one way that the state may stand say of what was seen."""

    def __init__(self, home: Predictions) -> None:
        self.home = home

    @cached_property
    def reasons(self) -> Reasons:
        return Reasons(self.home.point)

    def reason(
        self,
        each: Observation,
        explains: bool,
        hypothesis: Hypothesis,
        keys: Sequence[str],
        wires: Sequence[Branch],
        explained: Sequence[Observation],
    ) -> Reason:
        """What is open where ``keys`` are, or where one of ``wires`` is shorted to ground, against one observation;
        ``explained``: those that fit.
        """
        bad = hypothesis.mode == "high resistance"
        if isinstance(each, Seen):
            return Reason(each, explains, self._standing(each, explains, hypothesis, () if bad else keys, wires))
        if not bad:
            cases = [float(predicted_volts(self.home, each, stack)) for stack in hypothesis.cases]
            ends = dict.fromkeys((_volts(min(cases)), _volts(max(cases))))
            nodes = (each.red, each.black)
            cut = "; ".join(said for node in nodes if keys and (said := self.reasons.cut(node, keys)))
            said = f"predicts {' to '.join(ends)} {each.where}"
            if not explains and min(cases) <= each.volts <= max(cases):
                said += f", but not {_volts(each.volts)}{_together(explained)}"
            elif not explains:
                said += f", {_volts(each.volts)} was read"
            return Reason(each, explains, f"{said}: {cut}" if cut else said)
        opened_stack = self.home.outcomes[name_of(hypothesis.fault)].stack
        shown = (self.home.sound_stack, opened_stack, *hypothesis.steady)
        predicted = [float(predicted_volts(self.home, each, v)) for v in shown if v is not None]
        limits = " and ".join(dict.fromkeys((_volts(min(predicted)), _volts(max(predicted)))))
        between = f"something between {limits}" if "and" in limits else limits
        if not explains and len(hypothesis.steady) and min(predicted) <= each.volts <= max(predicted):
            return Reason(each, explains, self._not_together(each, between, hypothesis, explained))
        restless = not len(hypothesis.steady)
        if restless:
            said = f"predicts no steady voltage {each.where}: {_chattering(hypothesis)}"
        elif hypothesis.chatters:
            said = f"predicts {between} {each.where}, or no steady voltage where {_chattering(hypothesis)}"
        else:
            said = f"predicts {between} {each.where}"
        return Reason(each, explains, said + ("" if explains else f", {_volts(each.volts)} was read"), restless)

    def _not_together(self, each: Read, between: str, hypothesis: Hypothesis, explained: Sequence[Observation]) -> str:
        """Why a reading that some ohms do give does not fit a bad joint: these do not give the rest of what was seen,
        or something switches over before they are reached.
        """
        others = _together(explained)
        said = f"predicts {between} {each.where}, but{others}"
        cases = [float(predicted_volts(self.home, each, stack)) for stack in hypothesis.steady]
        least, most = min(cases), max(cases)
        if explained and not least <= each.volts <= most:
            return f"{said} {_span(least, most)}, {_volts(each.volts)} was read"
        return f"predicts {between} {each.where}, but not {_volts(each.volts)}{others}"

    def _standing(
        self, each: Seen, explains: bool, hypothesis: Hypothesis, keys: Sequence[str], wires: Sequence[Branch]
    ) -> str:
        """Why a thing stands as it does: what is cut on its way, or what reaches it in volts."""
        words, sound = hypothesis.words, self.home.statuses.sound
        now, look = words[each.thing], hypothesis.looks[each.thing]
        if not explains and now == sound[each.thing] == each.word and look != now:
            return f"{self._less(each.thing, hypothesis)}: it would look {look} too"
        if now == sound[each.thing] and (not explains or (now == each.word and now != "dim")):
            return f"{each.thing} is {now} with the fault and without"
        if now == sound[each.thing]:  # it works, and looks otherwise to whoever knows it sound
            return self._less(each.thing, hypothesis)
        inside = [
            b
            for b in self.home.statuses.elements.branches
            if each.thing in (b.key, b.part) and words[b.key] != sound[b.key]
        ]
        own = next((b.key for b in self.home.point.circuit.of_part.get(each.thing, ()) if b.key in keys), "")
        if not inside and own:
            return f"it is {own} itself" if explains else f"makes {each.thing} {now}: it is {own} itself"
        if not inside:  # its kill wire alone makes the difference
            lead, back = self.home.statuses.leads[each.thing]
            said = f"{lead} is connected to {back}" if now == "dead" else f"{lead} is no longer connected to {back}"
            return said if explains else f"makes {each.thing} {now}: {said}"
        branch = next((b for b in inside if words[b.key] == now), inside[0])
        said = self.reasons.element(branch, keys, words, frozenset()) if keys else ""
        if not said or (now == "live" and sound[each.thing] == "dead"):
            said = self._across(branch, hypothesis)
            if wires:
                end = f"a wire behind {keys[0]}" if keys else self._end(wires, branch)
                said = f"with {end} shorted to ground, {said}"
        return said if explains else f"makes {each.thing} {now}: {said}"

    def _less(self, thing: str, hypothesis: Hypothesis) -> str:
        """How much less an element of a thing gets, or more, where that is most."""
        inside = [b for b in self.home.statuses.elements.branches if thing in (b.key, b.part)]
        low, sound = hypothesis.low, self.home.sound_stack
        return self._across(largest(inside, key=lambda b: abs(self._volts(b, low) - self._volts(b, sound))), hypothesis)

    def _across(self, branch: Branch, hypothesis: Hypothesis) -> str:
        """What an element gets, from the least to the most, of what settles alone."""
        was = f"instead of {_volts(self._volts(branch, self.home.sound_stack))}"
        ends = [self._volts(branch, stack) for stack in hypothesis.steady]
        if not ends:
            return f"no steady voltage across {branch.key} {was}: {_chattering(hypothesis)}"
        said = f"{_span(min(ends), max(ends))} across {branch.key} {was}"
        return f"{said}, or no steady voltage where {_chattering(hypothesis)}" if hypothesis.chatters else said

    def _volts(self, branch: Branch, stack: Floats) -> float:
        """V across an element, as it feels them."""
        index = self.home.point.flow.network.index
        return float(felt(stack, index[branch.a], index[branch.b], branch))

    def _end(self, wires: Sequence[Branch], element: Branch) -> str:
        """Which end of some joined wires a person thinks of: at the element, or else at any part."""
        ends = list(dict.fromkeys(node for wire in wires for node in (wire.a, wire.b)))
        own = [node for node in ends if node in (element.a, element.b)]
        parts = self.home.point.circuit.harness.parts
        other = [n for n in ends if not isinstance(parts.get(n.part), Connector | Splice)]
        return next(iter([*own, *other, *ends]))


def _chattering(hypothesis: Hypothesis) -> str:
    """What keeps switching with a bad joint, as a clause."""
    names = hypothesis.chatters
    return f"{' and '.join(names)} {'chatter' if len(names) > 1 else 'chatters'}"


def _volts(volts: float) -> str:
    return f"{volts:.1f} V".replace("-0.0 V", "0.0 V")


def _span(least: float, most: float) -> str:
    low, high = _volts(least), _volts(most)
    return low if low == high else f"{low[:-2]} to {high}"


def _together(explained: Sequence[Observation]) -> str:
    """With what else, that fits, something does not go together; empty without any."""
    return f" together with {plainly_listed(str(other) for other in explained)}" if explained else ""
