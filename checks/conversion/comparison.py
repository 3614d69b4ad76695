"""What each kept part is fed, grounded and does in the old harness and in the new one, and where that differs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from ...lang.circuit.ids import End
from ...lang.model.parts import Connector, Load, Source, Splice, Unit
from ...lang.records import dataclass
from ..logic.part_predicates import Live, is_ignition
from ..logic.predicates import Active, JoinedInSeries
from ..logic.terms import BATTERY, DIRECT, MACHINE
from .answers import SIDES, Difference, answer, differences, left_open
from .matching import Match, common_controls
from .questions import Connected
from .side import Side
from .through_loads import compared, connected_at

if TYPE_CHECKING:
    from ...lang.model.parts import Part
    from ..behaviour import Question
    from ..logic.state_space import StateSpace
    from ..logic.terms import Kind
    from .answers import Answer, Domain
    from .answers import Side as Which
    from .matching import Common
    from .through_loads import Feed, Found

Sort = Literal["fed", "charged", "returned", "live", "charges"]
"""What differs: a terminal's feed from a battery, or from a machine; its way to ground; an element; a machine."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that a kept part gets or does otherwise than before.

    ``what``: the terminal, element or part, by the name that the new harness has for it. ``when``: the controls that
    must be so. ``own``: what only the new harness (of an ``independent`` change the old one) makes it depend on;
    ``weak``: parts that it depends on and that may work on what comes through other loads.
    """

    part: str
    sort: Sort
    what: str
    difference: Difference
    when: tuple[tuple[str, str], ...]
    own: tuple[str, ...]
    weak: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedChange:
    """A terminal that neither harness connects to a feed there, and that gets another current through other loads."""

    part: str
    what: End
    when: tuple[tuple[str, str], ...]
    old: Feed
    new: Feed


@dataclass(frozen=True, slots=True)
class Asked:
    """One question to both harnesses."""

    sort: Sort
    what: str
    old: Question
    new: Question


class Comparison:
    """An old harness and a new one; ``by_ends``: parts of other names are matched by what they join, too."""

    def __init__(self, old: Side, new: Side, *, by_ends: bool = False) -> None:
        self.old, self.new = old, new
        self.match = Match(old.harness, new.harness, by_ends=by_ends)
        self._feeds: dict[tuple[int, int], tuple[Found, ...]] = {}

    @cached_property
    def common(self) -> tuple[Common, ...]:
        return common_controls(self.match, self.old.circuit, self.new.circuit)

    def changes(self, old: Part, new: Part) -> Iterator[Change]:
        """Everything that a kept part gets or does otherwise. Raises ``TooWideError``."""
        seen: set[tuple[str, ...]] = set()
        for asked in self._asked(old, new):
            if asked.sort in ("charged", "live") and any(key[0] == "feed" for key in seen):
                continue  # it follows from what is reported on the part's feeds already
            was, now = self._answer("old", asked.old), self._answer("new", asked.new)
            found = differences(was, now, self.common) or tuple(self._weakly(asked, was, now))
            for difference in found:
                if asked.sort in ("fed", "returned"):
                    seen.add(("feed", asked.what))
                yield Change(
                    part=new.name,
                    sort=asked.sort,
                    what=asked.what,
                    difference=difference,
                    when=self.when(difference),
                    own=was.private if difference.row == "independent" else now.private,
                    weak=tuple(dict.fromkeys((*was.weak, *now.weak))),
                )

    def _weakly(self, asked: Asked, was: Answer, now: Answer) -> Iterator[Difference]:
        """Where logic leaves both harnesses open, and numbers tell them apart: a relay that pulls in through a lamp."""
        if not (isinstance(asked.old, Connected) and isinstance(asked.new, Connected)):
            return
        kinds, feed = asked.old.kinds, asked.old.feed
        for at in left_open(was, now, self.common):
            shown = [(self.common[i], self.common[i].labels[place]) for i, place in at]
            old = {control.old: next(iter(label.old)) for control, label in shown}
            new = {control.new: next(iter(label.new)) for control, label in shown}
            before = connected_at(self.old, asked.old.node, old, kinds, feed=feed)
            here = connected_at(self.new, asked.new.node, new, kinds, feed=feed)
            if before is not None and here is not None and before is not here:
                yield Difference("weakly-gained" if here else "weakly-lost", at, at, implausible=False)
                return

    def _answer(self, which: Which, question: Question) -> Answer:
        """The answer of one harness; the same for all terminals of one net."""
        logic = (self.old if which == "old" else self.new).logic
        of = logic.circuit.nets.of
        key = (of[question.node], question.feed, question.kinds) if isinstance(question, Connected) else question
        known, domains = self._told[which]
        if key not in known:
            known[key] = answer(logic, question, self.common, which, domains)
        return known[key]

    @cached_property
    def _told(self) -> dict[Which, tuple[dict[object, Answer], dict[StateSpace, Domain]]]:
        """Of each side what is known of its logic over the common controls."""
        asked = {which: ("answers", which, self.common) for which in SIDES}
        return {
            which: side.logic.told.setdefault(asked[which], ({}, {}))
            for which, side in zip(SIDES, (self.old, self.new), strict=True)
        }

    def _is_at_pole(self, is_old: bool, node: End, kinds: frozenset[Kind], positions: Mapping[str, str]) -> bool:
        """Whether a terminal is connected to a pole of a source of these kinds whenever the controls are so."""
        which: Which = "old" if is_old else "new"
        for feed in (True, False):
            found = self._answer(which, Connected(node, feed, kinds))
            if found.must.any() and found.must[self._place(found, positions, is_old=is_old)]:
                return True
        return False

    def _place(self, found: Answer, positions: Mapping[str, str], *, is_old: bool) -> tuple[int, ...]:
        """Where in the tables of an answer the controls of one harness stand; at rest where they are not named."""
        controls = (self.old if is_old else self.new).circuit.controls
        place = []
        for axis in found.axes:
            name = self.common[axis].old if is_old else self.common[axis].new
            at = frozenset({positions.get(name, controls[name].rest)})
            place.append([label.old if is_old else label.new for label in self.common[axis].labels].index(at))
        return tuple(place)

    def when(self, difference: Difference) -> tuple[tuple[str, str], ...]:
        """The controls and positions that show a difference, as the new harness names them."""
        return tuple((self.common[i].new, self.common[i].labels[at].name) for i, at in difference.shown)

    def _asked(self, old: Part, new: Part) -> Iterator[Asked]:
        if not self._is_asked(new):
            return
        nodes = [(End(old.name, t), End(new.name, t)) for t in new.terminals if t in old.terminals]
        nodes = [(a, b) for a, b in nodes if a in self.old.circuit.nets.of and b in self.new.circuit.nets.of]
        nodes = [(a, b) for a, b in nodes if not self._is_output(a, b)]
        for a, b in nodes:
            yield Asked("fed", b, Connected(a, True, BATTERY), Connected(b, True, BATTERY))
            yield Asked("returned", b, Connected(a, False, DIRECT), Connected(b, False, DIRECT))
        for a, b in nodes:
            yield Asked("charged", b, Connected(a, True, MACHINE), Connected(b, True, MACHINE))
        if self.match.old.grounded != self.match.new.grounded:
            pass  # whether elements mind the other pole is a separate question
        elif isinstance(new, Load | Unit) and is_ignition(new) and is_ignition(old):
            yield Asked("live", new.name, Live(old.name), Live(new.name))
        else:
            for key in self._elements(old.name, new.name):
                if self.new.circuit.by_key[new.name + key].branch_type.in_series:
                    continue  # its ends tell what it gets, and its volts are asked of what is in series with it
                yield Asked("live", f"{new.name}{key}", JoinedInSeries(old.name + key), JoinedInSeries(new.name + key))
        mine = {origin.supply.name: origin for origin in self.new.logic.network.origins_of(MACHINE)}
        theirs = {origin.supply.name: origin for origin in self.old.logic.network.origins_of(MACHINE)}
        if new.name in mine and old.name in theirs:
            yield Asked("charges", new.name, Active(theirs[old.name]), Active(mine[new.name]))

    @staticmethod
    def _is_asked(part: Part) -> bool:
        """Whether what comes to a part's terminals is its own matter: not of a plug or a splice, nor of a battery."""
        return not (isinstance(part, Connector | Splice) or (isinstance(part, Source) and part.what == "battery"))

    def _all_kept(self, old: Feed, new: Feed) -> bool:
        """Whether what comes to a terminal comes through loads of kept parts only, on both sides."""
        kept_old, kept_new = ({part.name for part in parts} for parts in zip(*self.match.kept, strict=True))
        owners_old = {self.old.circuit.by_key[key].part for key in old.through}
        owners_new = {self.new.circuit.by_key[key].part for key in new.through}
        return owners_old <= kept_old and owners_new <= kept_new

    def _is_output(self, old: str, new: str) -> bool:
        """Whether one and the same output of a kept unit moves a terminal: it follows from what the unit gets."""
        return bool(
            self._outputs[1].get(self.new.circuit.nets.of[new], frozenset())
            & self._outputs[0].get(self.old.circuit.nets.of[old], frozenset())
        )

    @cached_property
    def _outputs(self) -> tuple[dict[int, frozenset[str]], dict[int, frozenset[str]]]:
        """The nets of the outputs of kept units, in the old and in the new harness, by the new names of the outputs."""
        found: tuple[dict[int, frozenset[str]], dict[int, frozenset[str]]] = ({}, {})
        for old, new in self.match.kept:
            if isinstance(new, Unit):
                for output in new.outputs:
                    for i, (side, name) in enumerate(((self.old, old.name), (self.new, new.name))):
                        net = side.circuit.nets.of.get(End(name, output.terminal))
                        if net is not None:
                            found[i][net] = found[i].get(net, frozenset()) | {End(new.name, output.terminal)}
        return found

    def _elements(self, old: str, new: str) -> tuple[str, ...]:
        """What follows the part's name in the keys of the consumers that both have."""
        before = {b.key[len(old) :] for b in self.old.circuit.of_part.get(old, ()) if b.branch_type.consumes}
        return tuple(
            b.key[len(new) :]
            for b in self.new.circuit.of_part.get(new, ())
            if b.branch_type.consumes and b.key[len(new) :] in before
        )

    def feed_changes(self, old: Part, new: Part) -> Iterator[FeedChange]:
        """The terminals of a kept part that get another current through other loads. Raises ``TooWideError``."""
        if not self._is_asked(new):
            return
        for terminal in new.terminals:
            if terminal not in old.terminals:
                continue
            a, b = End(old.name, terminal), End(new.name, terminal)
            if a in self.old.circuit.nets.of and b in self.new.circuit.nets.of and not self._is_output(a, b):
                nets = self.old.circuit.nets.of[a], self.new.circuit.nets.of[b]
                if nets not in self._feeds:
                    self._feeds[nets] = tuple(compared(self.old, self.new, self.common, a, b, self._is_at_pole))
                for when, was, now in self._feeds[nets]:
                    if self._all_kept(was, now):
                        continue  # what these loads get is compared at their own terminals
                    yield FeedChange(part=new.name, what=b, when=when, old=was, new=now)
