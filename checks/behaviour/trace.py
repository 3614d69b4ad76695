"""Following the current: by which way a thing is fed, by which it returns, and with the controls where.

What a person does with a meter and a finger on the diagram, for one element, terminal, wire or part at a time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import field, replace
from typing import TYPE_CHECKING, Literal

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.records import dataclass
from ..logic import TooWideError, current_paths
from ..logic.named_states import cleared
from ..logic.predicates import AtPole, AtPoleThroughLoads, FirstCurrent, Joined, JoinedInSeries, ThroughLoads
from ..logic.terms import ANY, BATTERY, DIRECT, NO, YES, Reach
from .sneak_paths import judge, works_through_loads

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ..logic import Combination, SwitchingLogic
    from ..logic.predicates import Question
    from ..logic.state_space import StateSpace
    from ..logic.truth_tables import Table
    from .behaviour import Behaviour

Said = Literal["live", "live through loads", "dim", "fed", "returned"]

Measured = Callable[[str], tuple[str, float] | None]
"""What an element or a terminal gets in the setting that is asked about: ``dead``, ``dim`` or ``live`` (nothing where
neither can be told), and V. ``None`` where nobody knows.
"""

_SIDES: tuple[Said, Said] = ("fed", "returned")


class UnknownThingError(LookupError):
    """A name that is no part, wire, element or terminal of the harness; ``known`` are those that are one."""

    def __init__(self, name: str, known: tuple[str, ...]) -> None:
        super().__init__(f"nothing in the harness is named {name!r}")
        self.name = name
        self.known = known


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """What was asked of one ``thing`` (an element's or a terminal's name) and what came out.

    ``way`` is the shortest way of the current, terminals and branch keys in order, in ``combination``; both are
    empty where nothing brings it about. ``held``: what of all that is remembered there, a relay, a machine or what is
    of a unit, it or its way depends on, and how that is. ``asked`` is the question as the logic has it, ``None`` where
    volts decided. ``elsewhere`` holds a combination that would, where the settings asked for do not: ``held`` is of
    that one then. ``also``: what comes besides, in other settings. ``undecided`` tells why it could not be worked out.
    ``measured``: what other loads leave it, as ``Measured`` tells it.
    """

    thing: str
    said: Said
    combination: tuple[tuple[str, str], ...] = ()
    held: tuple[tuple[str, str], ...] = ()
    way: tuple[str, ...] = ()
    elsewhere: tuple[tuple[str, str], ...] | None = None
    through_others: bool = False
    also: bool = False
    undecided: str = ""
    measured: tuple[str, float] | None = None
    asked: Question | None = field(default=None, compare=False, repr=False)

    @property
    def never(self) -> bool:
        """Whether no setting of the controls brings it about."""
        return not (self.way or self.through_others or self.undecided) and self.elsewhere is None


def trace(
    behaviour: Behaviour,
    name: str,
    settings: Mapping[str, str] | None = None,
    *,
    rest: bool = False,
    measured: Measured | None = None,
) -> tuple[Trace, ...]:
    """How a part, an element (``HEAD.dip``), a terminal (``KEY.30``), a splice, a ground or a wire gets its current.

    ``settings`` are positions of controls; with ``rest`` all others are at rest and what latches is cleared, as in a
    named state, else they may be anywhere; ``measured`` is asked in that state where loads are in series.
    Raises :class:`UnknownThingError`.
    """
    logic = behaviour.logic
    consumers, nodes = things(logic.circuit, name)
    given = settings or {}
    found: list[Trace] = []
    for branch in consumers:
        told = _of_consumer(logic, branch, given, measured, rest=rest)
        found += _with_first_current(logic, told, (branch,), given, rest=rest)
    for node in nodes:
        fed, returned = (_of_node(logic, node, said, given, measured, rest=rest) for said in _SIDES)
        both = [*_with_first_current(logic, fed, fed_fields(logic, node), given, rest=rest), returned]
        found += [one for one in both if not one.never] or both
    return tuple(found)


def fed_fields(logic: SwitchingLogic, node: str) -> tuple[Branch, ...]:
    """The fields to which current gets from a terminal by copper, contacts and a regulator."""
    network = logic.network
    net = network.net(node)
    fields = [b for b in logic.circuit.branches if b.branch_type is BranchType.FIELD]
    return tuple(b for b in fields if any(net in network.can(Reach(network.net(end), False)) for end in (b.a, b.b)))


def _with_first_current(
    logic: SwitchingLogic, told: Trace, fields: tuple[Branch, ...], settings: Mapping[str, str], *, rest: bool
) -> Iterator[Trace]:
    """What is reported of a field, or of what feeds one, and the first current that other loads bring it: that alone
    makes the machine charge. It comes besides, or in place of what is not so as the controls stand.
    """
    first = None
    if not told.through_others:
        first = next(filter(None, (_first_current(logic, told, b, settings, rest=rest) for b in fields)), None)
    if first is None or told.elsewhere is None:
        yield told
    if first is not None and (told.elsewhere is not None or not settings):
        yield replace(first, also=told.elsewhere is None)


def _first_current(
    logic: SwitchingLogic, told: Trace, field: Branch, settings: Mapping[str, str], *, rest: bool
) -> Trace | None:
    if field.branch_type is not BranchType.FIELD:
        return None
    is_element = told.thing == field.key
    asked = FirstCurrent(field.key, "" if is_element else told.thing)
    shown, _, _ = _shown(logic, asked, settings, rest=rest)
    if shown is None:
        return None
    if is_element:
        way = current_paths.loop(logic, shown, field, BATTERY, "wide")
    else:
        way = current_paths.feed(logic, shown, told.thing, kinds=BATTERY, graph="wide")
    return _trace(logic, told.thing, told.said, asked, shown, None, "", way, through_others=True) if way else None


def things(circuit: Circuit, name: str) -> tuple[tuple[Branch, ...], tuple[str, ...]]:
    """What a name means: the consumers to ask about, or else the terminals."""
    if (branch := circuit.by_key.get(name)) is not None and branch.branch_type.consumes:
        return (branch,), ()
    if name in circuit.at:
        return (), (name,)
    inside = circuit.of_part.get(name, ())
    if consumers := tuple(branch for branch in inside if branch.branch_type.consumes):
        return consumers, ()
    if (wire := circuit.harness.wires.get(name)) is not None:
        return (), (wire.a.node, wire.b.node)
    if (segment := circuit.by_key.get(f"wire {name}")) is not None:
        return (), (segment.a, segment.b)
    if branch is not None:  # a way of a plug or a contact: what is on either side of it
        return (), (branch.a, branch.b)
    nodes = dict.fromkeys(node for branch in inside for node in (branch.a, branch.b)) or _outside(circuit, name)
    if nodes:
        return (), tuple(nodes)
    raise UnknownThingError(name, tuple(sorted(set(_names(circuit)))))


def _outside(circuit: Circuit, name: str) -> tuple[End, ...]:
    """The terminals of a part with no branch inside it, such as a battery, or the one of these that has the name.

    Those without a wire too, which no branch touches: they are in the file, and never fed nor grounded.
    """
    if (part := circuit.harness.parts.get(name)) is not None:
        return tuple(End(name, terminal) for terminal in part.terminals) or (End(name),)
    unwired = (End(part.name, terminal) for part in circuit.harness.parts.values() for terminal in part.terminals)
    return tuple(end for end in unwired if end == name)


def _names(circuit: Circuit) -> Iterator[str]:
    yield from circuit.harness.parts
    yield from circuit.harness.wires
    yield from circuit.at
    yield from (branch.key for branch in circuit.branches if branch.branch_type.consumes)


def _of_consumer(
    logic: SwitchingLogic, branch: Branch, settings: Mapping[str, str], measured: Measured | None, *, rest: bool
) -> Trace:
    joined: Question = Joined(branch.key)
    shown, elsewhere, undecided = _shown(logic, joined, settings, rest=rest)
    if shown is not None or undecided:
        way = current_paths.loop(logic, shown, branch) if shown is not None else ()
        return _trace(logic, branch.key, "live", joined, shown, elsewhere, undecided, way)
    in_series: Question = JoinedInSeries(branch.key)
    led, led_elsewhere, undecided = _shown(logic, in_series, settings, rest=rest)
    if led is None and elsewhere is not None:
        plain = _trace(logic, branch.key, "live", joined, None, elsewhere, "", ())
        return _measured(plain, logic, branch, settings, measured, rest=rest)
    if led is None and led_elsewhere is None and not undecided:
        return _through_loads(logic, branch, settings, rest=rest)
    way = current_paths.loop(logic, led, branch, ANY, "wide") if led is not None else ()
    found = _trace(logic, branch.key, "live", in_series, led, led_elsewhere, undecided, way, through_others=True)
    return found if led is None or measured is None else replace(found, measured=measured(branch.key))


def _measured(
    plain: Trace,
    logic: SwitchingLogic,
    branch: Branch,
    settings: Mapping[str, str],
    measured: Measured | None,
    *,
    rest: bool,
) -> Trace:
    """What is not joined here, and gets something all the same through whatever loads there are."""
    told = None if measured is None else measured(branch.key)
    if told is None or told[0] == "dead":
        return plain
    through = ThroughLoads(branch.key, DIRECT)
    led, _, _ = _shown(logic, through, settings, rest=rest)
    if led is None:
        return plain
    way = current_paths.loop(logic, led, branch, DIRECT, "wide")
    found = _trace(logic, branch.key, "live", through, led, None, "", way, through_others=True)
    return replace(found, measured=told)


def _through_loads(logic: SwitchingLogic, branch: Branch, settings: Mapping[str, str], *, rest: bool) -> Trace:
    """What only other loads bring to an element: live or dim by its volts, never more than the most that can come."""
    asked = ThroughLoads(branch.key, DIRECT)
    try:
        scope = logic.scope(asked)
    except TooWideError as wide:
        return _trace(logic, branch.key, "live", None, None, None, f"it {wide}, more than can be worked through", ())
    reached = asked.table(scope) & scope.counted
    allowed = reached & _allowed(scope, settings, rest=rest)
    undecided = ""
    for table in dict.fromkeys((allowed, reached)):
        if not table:
            continue
        if (shown := works_through_loads(logic, scope, branch, table)) is not None:
            said: Said = "live through loads"
        else:
            told = judge(logic, scope, branch, table)
            shown, said = told.alive, "dim"
            if shown is None and told.open is not None:
                undecided = undecided or told.why
        if shown is not None and table is allowed:
            way = current_paths.loop(logic, shown, branch, DIRECT, "wide")
            return _trace(logic, branch.key, said, None, shown, None, "", way)
        if shown is not None:
            return _trace(logic, branch.key, said, None, None, shown, "", ())
    return _trace(logic, branch.key, "live", None, None, None, undecided, ())


def _of_node(
    logic: SwitchingLogic,
    node: str,
    said: Said,
    settings: Mapping[str, str],
    measured: Measured | None,
    *,
    rest: bool,
) -> Trace:
    """Whether a terminal is at a pole; where none feeds it as the controls stand, whether other loads do."""
    feed = said == "fed"
    asked: Question = AtPole(node, feed)
    shown, elsewhere, undecided = _shown(logic, asked, settings, rest=rest)
    told = measured(node) if feed and shown is None and elsewhere is not None and measured is not None else None
    if told is not None and told[0] != "dead":
        through: Question = AtPoleThroughLoads(node, feed)
        led, _, _ = _shown(logic, through, settings, rest=rest)
        if led is not None:
            way = current_paths.feed(logic, led, node, graph="wide")
            found = _trace(logic, node, said, through, led, None, "", way, through_others=True)
            return replace(found, measured=told)
    way = current_paths.feed(logic, shown, node, feed) if shown is not None else ()
    return _trace(logic, node, said, asked, shown, elsewhere, undecided, way)


def _trace(
    logic: SwitchingLogic,
    thing: str,
    said: Said,
    asked: Question | None,
    shown: Combination | None,
    elsewhere: Combination | None,
    undecided: str,
    way: tuple[str, ...],
    *,
    through_others: bool = False,
) -> Trace:
    found = shown if shown is not None else elsewhere
    return Trace(
        thing=thing,
        said=said,
        combination=shown.shown if shown is not None else (),
        held=_held(logic, asked, found, way) if found is not None else (),
        way=way,
        elsewhere=elsewhere.shown if elsewhere is not None else None,
        through_others=through_others,
        undecided=undecided,
        asked=asked,
    )


def _shown(
    logic: SwitchingLogic, question: Question, settings: Mapping[str, str], *, rest: bool
) -> tuple[Combination | None, Combination | None, str]:
    """The combination nearest to rest under the settings in which it holds; else one under others; else why not."""
    try:
        scope = logic.scope(question)
    except TooWideError as wide:
        return None, None, f"it {wide}, more than can be worked through"
    holds = question.table(scope) & scope.counted
    if (shown := logic.show(scope, holds & _allowed(scope, settings, rest=rest), anywhere=holds)) is not None:
        return shown, None, ""
    return None, logic.show(scope, holds), ""


def _allowed(scope: StateSpace, settings: Mapping[str, str], *, rest: bool) -> Table:
    """The combinations in which the controls are as asked for, and with ``rest`` every latch that they do not name
    as a named state has it. What nobody sets (crank, joints) stays free.
    """
    network = scope.network
    table = cleared(scope, [latch for name in settings if (latch := network.latch_named(name))]) if rest else scope.full
    for name in scope.visible:
        if name in settings:
            table &= scope.at(name, settings[name])
        elif rest and name not in scope.free:
            table &= scope.rest((name,))
    for name, position in settings.items():
        latch = network.latch_named(name)
        if latch is not None and latch in scope.decided:
            holds = scope.condition(latch)
            table &= holds if position == "set" else scope.inverse(holds)
    return table


def _held(
    logic: SwitchingLogic, asked: Question | None, shown: Combination, way: tuple[str, ...]
) -> tuple[tuple[str, str], ...]:
    """What is remembered that the answer or the way depends on; all of it where volts decided (``asked`` is ``None``),
    since every machine that turns lifts them.
    """
    scope = shown.scope
    names = shown.held
    if asked is not None and names:
        needed = _needed(scope, asked.table(scope), shown)
        names = tuple(name for name in names if name in needed or _way_needs(logic, shown, way, name))
    conditions = [scope.network.conditions[name] for name in names]
    return tuple((condition.thing, condition.kind) for condition in conditions)


def _needed(scope: StateSpace, holds: Table, shown: Combination) -> frozenset[str]:
    """What must be remembered for the answer to hold with the controls as they are shown, whatever else is."""
    fails = scope.some(1 << shown.index, scope.bits) & scope.counted
    fails &= fails ^ holds
    kept = list(shown.held)
    for name in shown.held:
        others = [other for other in kept if other != name]
        left = fails
        for other in others:
            left &= scope.at(other, YES)
        if not left:
            kept = others
    return frozenset(kept)


def _way_needs(logic: SwitchingLogic, shown: Combination, way: tuple[str, ...], name: str) -> bool:
    """Whether something on the way is closed, or the source that it begins or ends at is one, only as long as this is
    remembered.
    """
    scope = shown.scope
    without = replace(shown, index=scope.index({**scope.positions(shown.index), name: NO}))
    for each in way:
        branch = logic.circuit.by_key.get(each)
        if branch is not None and logic.closed(shown, branch) and not logic.closed(without, branch):
            return True
    ends = {way[0], way[-1]} if way else set()
    return any(
        (scope.active(origin) >> shown.index) & 1 and not (scope.active(origin) >> without.index) & 1
        for origin in logic.network.origins_of(ANY)
        if ends & {origin.plus_node, origin.minus_node}
    )
