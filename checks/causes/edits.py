"""Small changes to a harness, each what somebody may have done wrongly, on the frozen model and never on the text.

Fuses, sizes and values are never changed, and nothing is added but a strap between grounds or a ground for a bare
terminal. ``odds`` are ours: how often each is the mistake, from 9 down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType
from ...lang.model.harness import Harness
from ...lang.model.parts import Capacitor, Connector, Diode, Ground, Load, Mount, Part, Source, Splice, Switch, Unit
from ...lang.model.wires import End, Segment
from ...lang.records import dataclass
from ...lang.search.walks import hops
from ..behaviour.counterexample import owners_of
from ..fixes.new_leads import home
from ..fixes.straps import starters_on, strap
from .changes import swapped, with_end_at, with_part, with_strap, without_wire

if TYPE_CHECKING:
    from ..study import Study


MOST_TERMINALS = 12
"""Pairs of terminals are exchanged at parts of at most this many wired ones (ours)."""


_ALIKE = ("fuse", "resistor", "meter", "sensor")
"""Kinds whose two terminals may be exchanged without any effect."""


@dataclass(frozen=True, slots=True)
class Edit:
    """A change: what is wrong now, and what is done about it, in words; the names it touches; the harness after it."""

    odds: int
    wrong: str
    done: str
    touches: tuple[str, ...]
    apply: Callable[[], Harness]

    @property
    def key(self) -> str:
        return f"{self.wrong}; {self.done}"


def edits(study: Study) -> Iterator[Edit]:
    """Every edit of a harness, in no order that matters."""
    harness = study.harness
    bare = tuple(_bare(study))
    yield from _straps(study)
    yield from _grounded(study, bare)
    yield from _floating(study)
    yield from _turned(study)
    yield from _kinds(harness)
    yield from _moved(study, bare)
    yield from _exchanged(study)
    yield from _exchanged_ways(study)
    yield from _other_side(study)
    yield from _taken_off(study)
    yield from _other_table(harness)


# --- what may have been done wrongly ---------------------------------------------------------------------------------
def outer_ends(harness: Harness) -> Iterator[tuple[Segment, int, End]]:
    """The outer ends of all wires, each with its stretch and side."""
    for wire in harness.wires.values():
        yield wire.segments[0], 0, wire.segments[0].a
        yield wire.segments[-1], 1, wire.segments[-1].b


def _bare(study: Study) -> Iterator[End]:
    """Terminals that something inside a wired part needs and that are not connected; half-wired ways."""
    capped = {capped.end.node for capped in study.harness.capped}
    copper = study.copper
    for part in study.harness.parts.values():
        if isinstance(part, Ground | Splice):
            continue
        if isinstance(part, Connector):
            for number in part.numbers:
                halves = [End(part.name, f"{number}{half}") for half in "sp"]
                wired = [bool(copper.wires_at(half.node)) for half in halves]
                if wired[0] != wired[1]:
                    yield halves[wired[0]]
            continue
        for terminal in part.terminals:
            node = End(part.name, terminal)
            if not copper.wires_at(node) and node not in capped:
                yield End(part.name, terminal)


def _ground_lead(study: Study) -> Segment | None:
    """The thickest wire that ends on a ground: a strap is taken to be as thick."""
    bodies = set(study.copper.bodies)
    leads = [p for p in study.harness.segments if p.size and {p.a.part, p.b.part} & bodies]
    return max(leads, key=lambda segment: (segment.size.area if segment.size else 0.0, segment.name), default=None)


def _thick_enough(study: Study, lead: Segment, one: End, other: End) -> Segment:
    """A lead of the size that a strap between two ends is to have, where that is known: too thin a one would only bring
    other findings.
    """
    bodies = set(study.copper.bodies)
    sizes = [strap(study, (a.node,), b.node, b.node).size for a, b in ((one, other), (other, one)) if a.node in bodies]
    known = [size for size in (lead.size, *sizes) if size is not None]
    return replace(lead, size=max(known, key=lambda size: size.area))


def _straps(study: Study) -> Iterator[Edit]:
    harness, joined = study.harness, study.copper.fused
    lead = _ground_lead(study)
    if lead is None:
        return
    poles = [
        supply.minus if study.circuit.return_sign == "-" else supply.plus[0]
        for supply in study.circuit.supplies
        if supply.kind == "battery"
    ]
    ends = [End(body) for body in study.copper.bodies]
    ends += poles
    starting = {body for body in study.copper.bodies if starters_on(study, (body,))}
    for one, other in combinations(ends, 2):
        # A starter's current goes straight to the battery: by another body it would take the lead of that one.
        if starting & {one.node, other.node} and not {one.node, other.node} & set(poles):
            continue
        if not joined.same(one.node, other.node) and one.part != other.part:
            yield Edit(
                9,
                f"{one.node} and {other.node} are not connected",
                "with a strap",
                (one.part, other.part),
                lambda one=one, other=other: with_strap(  # type: ignore[misc]
                    harness, one, other, _thick_enough(study, lead, one, other)
                ),
            )


def _grounded(study: Study, bare: Iterable[End]) -> Iterator[Edit]:
    harness = study.harness
    for end in bare:
        part, body = harness.parts[end.part], _home(study, end)
        if isinstance(part, Connector) or not body:
            continue
        mount = Mount(part=end.part, terminal=end.terminal, ground=body, span=part.span)
        yield Edit(
            9,
            f"{end.node} is not connected and belongs on ground",
            f"connected to {body}",
            (end.part,),
            lambda mount=mount: replace(harness, mounts=(*harness.mounts, mount)),  # type: ignore[misc]
        )


def _floating(study: Study) -> Iterator[Edit]:
    """Returns that copper gathers, at a splice or from part to part, and that nothing leads on to a pole."""
    harness, copper, circuit = study.harness, study.copper, study.circuit
    poles = {copper.switched.of(node) for s in circuit.supplies for node in (*s.plus, s.minus)}
    ends = {node for branch in circuit.branches if branch.branch_type.consumes for node in (branch.a, branch.b)}
    for nodes in copper.bare.members.values():
        if set(copper.bodies) & set(nodes):
            continue  # what is on a body of ground gets a strap
        if len(nodes) < 2 or copper.switched.of(nodes[0]) in poles or not ends & set(nodes):
            continue
        at = next((node for node in nodes if isinstance(harness.parts.get(node), Splice)), nodes[0])
        part, body = at.part, _home(study, at)
        if not body:
            continue
        mount = Mount(part=part, terminal=at.terminal, ground=body, span=harness.parts[part].span)
        yield Edit(
            9,
            f"{at} and {body} are not connected",
            "with a ground lead",
            (part, *_wires_at(study, nodes)),
            lambda mount=mount: replace(harness, mounts=(*harness.mounts, mount)),  # type: ignore[misc]
        )


def _home(study: Study, near: End) -> str:
    """The body of ground that a lead from a terminal goes to; empty where none is on the grounded pole."""
    bodies, pole = study.copper.bodies, study.circuit.ground
    body = home(study, near)
    if body in bodies:
        return body
    return next((each for each in bodies if pole and study.copper.switched.same(each, pole)), "")


def _turned(study: Study) -> Iterator[Edit]:
    harness = study.harness
    for part in harness.parts.values():
        for odds, one, other in sides(part):
            if not (study.copper.is_wired((End(part.name, one), End(part.name, other)))):
                continue
            yield Edit(
                odds,
                f"{part.name} is the wrong way round",
                "turned",
                (part.name,),
                lambda part=part, one=one, other=other: swapped(harness, part.name, one, other),  # type: ignore[misc]
            )


def sides(part: Part) -> Iterator[tuple[int, str, str]]:
    """The pairs of terminals of which one is the + side, with the odds that they were exchanged."""
    if isinstance(part, Source) and part.what == "battery":
        yield 8, "+", "-"
    elif isinstance(part, Diode):
        yield 8, "A", "K"
    elif isinstance(part, Capacitor):
        yield 8, "+", "-"
    elif isinstance(part, Unit) and part.supplies:
        yield 7, part.supplies[0].plus, part.supplies[0].minus
    elif isinstance(part, Load):
        polar = [e for e in part.elements if e.what in ("led", "electronics", "motor", "ignition", "pump")]
        if len(part.elements) == 1 and polar:
            yield 7, polar[0].plus, polar[0].minus


def _kinds(harness: Harness) -> Iterator[Edit]:
    for part in harness.parts.values():
        if not isinstance(part, Unit):
            continue
        for given in part.inputs:
            if given.mode == "signal":
                continue
            other = replace(given, mode="grounded" if given.mode == "fed" else "fed")
            turned = replace(part, inputs=tuple(other if each is given else each for each in part.inputs))
            yield Edit(
                8,
                f"input {given.name} of {part.name} is `{given.mode}` in the file",
                f"as `{other.mode}`",
                (part.name,),
                lambda turned=turned: with_part(harness, turned),  # type: ignore[misc]
            )


def _moved(study: Study, bare: Iterable[End]) -> Iterator[Edit]:
    harness = study.harness
    ends = tuple(outer_ends(harness))
    for to in bare:
        for segment, side, end in ends:
            if segment.a == to or segment.b == to:
                continue
            same = end.part == to.part
            yield Edit(
                9 if same else 7,
                f"wire {segment.wire} is on {end.node} and belongs on {to.node}, where no other wire is",
                "moved",
                tuple(dict.fromkeys((segment.wire, end.part, to.part))),
                lambda segment=segment, side=side, to=to: with_end_at(harness, segment.name, side, to),  # type: ignore[misc]
            )


def _exchanged(study: Study) -> Iterator[Edit]:
    harness, copper = study.harness, study.copper
    for part in harness.parts.values():
        if isinstance(part, Ground | Splice | Connector) or part.kind in _ALIKE or _is_plain(part):
            continue
        wired = [t for t in part.terminals if copper.wires_at(End(part.name, t))]
        turned = {frozenset((one, other)) for _, one, other in sides(part)}
        if len(wired) > MOST_TERMINALS:
            continue
        for one, other in combinations(wired, 2):
            nodes = End(part.name, one), End(part.name, other)
            if frozenset((one, other)) in turned or copper.bare.same(*nodes):
                continue
            yield Edit(
                6,
                f"the wires at {nodes[0]} and {nodes[1]} are exchanged",
                "swapped",
                (part.name, *_wires_at(study, nodes)),
                lambda part=part, one=one, other=other: swapped(harness, part.name, one, other),  # type: ignore[misc]
            )


def _exchanged_ways(study: Study) -> Iterator[Edit]:
    """Two ways of one plug exchanged in one of its halves: in which, the wires cannot tell."""
    harness, copper = study.harness, study.copper
    for part in harness.parts.values():
        if not isinstance(part, Connector):
            continue
        through = [n for n in part.numbers if all(copper.wires_at(End(part.name, f"{n}{h}")) for h in "sp")]
        if len(through) > MOST_TERMINALS:
            continue
        for one, other in combinations(through, 2):
            nodes = End(part.name, f"{one}s"), End(part.name, f"{other}s")
            if copper.bare.same(*nodes):
                continue
            yield Edit(
                6,
                f"ways {one} and {other} of {part.name} are exchanged in one half",
                "swapped",
                (part.name, *_wires_at(study, (*nodes, *(End(part.name, f"{n}p") for n in (one, other))))),
                lambda part=part, one=one, other=other: swapped(harness, part.name, f"{one}s", f"{other}s"),  # type: ignore[misc]
            )


def _is_plain(part: Part) -> bool:
    """Whether a part has two terminals that may be exchanged: a switch, or a filament, horn or heater."""
    if len(part.terminals) != 2:
        return False
    if isinstance(part, Load):
        return all(element.what in ("lamp", "horn", "heater", "solenoid") for element in part.elements)
    return isinstance(part, Switch)


def _wires_at(study: Study, nodes: Iterable[End]) -> tuple[str, ...]:
    found: list[Branch] = [wire for node in nodes for wire in study.copper.wires_at(node)]
    return tuple(dict.fromkeys(branch.owner for branch in found if branch.branch_type is BranchType.WIRE))


def _other_side(study: Study) -> Iterator[Edit]:
    """A feed taken from the wrong side of a fuse or of a contact."""
    harness = study.harness
    for segment, side, end in outer_ends(harness):
        part = harness.parts.get(end.part)
        for terminal in _partners(part, end.terminal) if part is not None else ():
            to = End(end.part, terminal)
            if not study.copper.wires_at(to.node) or len(study.copper.wires_at(end.node)) < 2:
                continue
            yield Edit(
                6,
                f"wire {segment.wire} is on {end.node} and belongs on {to.node}",
                "moved",
                (segment.wire, end.part),
                lambda segment=segment, side=side, to=to: with_end_at(harness, segment.name, side, to),  # type: ignore[misc]
            )


def _partners(part: Part | None, terminal: str) -> tuple[str, ...]:
    if part is None:
        return ()
    if part.kind == "fuse":
        return tuple(t for t in ("1", "2") if t != terminal)
    if isinstance(part, Switch):
        pairs = [pair for position in part.positions for pair in position.pairs if terminal in pair]
        return tuple(dict.fromkeys(b if a == terminal else a for a, b in pairs))
    return ()


def _taken_off(study: Study) -> Iterator[Edit]:
    """A wire that bridges: both its ends have another one, so that nothing is left bare without it."""
    harness, copper = study.harness, study.copper
    for wire in harness.wires.values():
        if len(wire.segments) == 1 and all(len(copper.wires_at(end.node)) > 1 for end in (wire.a, wire.b)):
            yield Edit(
                5,
                f"wire {wire.name} bridges {wire.a.node} and {wire.b.node}",
                "taken off",
                (wire.name, wire.a.part, wire.b.part),
                lambda wire=wire: without_wire(harness, wire.name),  # type: ignore[misc]
            )


def _other_table(harness: Harness) -> Iterator[Edit]:
    for part in harness.parts.values():
        if isinstance(part, Switch) and len(part.positions) == 2 and not part.key:
            first, second = part.positions
            if not (first.pairs or second.pairs):
                continue
            rows = (replace(first, pairs=second.pairs), replace(second, pairs=first.pairs))
            turned = replace(part, positions=rows)
            yield Edit(
                4,
                f"{part.name} closes in `{_closed(part)}` in the file",
                f"closing in `{_closed(turned)}`",
                (part.name,),
                lambda turned=turned: with_part(harness, turned),  # type: ignore[misc]
            )


def _closed(switch: Switch) -> str:
    return next((position.name for position in switch.positions if position.pairs), "no position")


# --- how far from a finding ------------------------------------------------------------------------------------------
def distances(study: Study, names: Iterable[str]) -> Mapping[str, int]:
    """How many wires lie between each part or wire and the nearest of some names; far ones are left out."""
    near: dict[str, set[str]] = {}
    for wire in study.harness.wires.values():
        parts = {end.part for segment in wire.segments for end in (segment.a, segment.b)}
        for part in parts:
            near.setdefault(part, set()).add(wire.name)
            near.setdefault(wire.name, set()).add(part)
    known = [*study.harness.parts, *study.harness.wires]
    starts = [name for name in owners_of(study.circuit, tuple(names)) if name in set(known)]
    found = hops(starts, lambda name: sorted(near.get(name, ())))
    return {name: (steps + 1) // 2 for name, steps in found.items()}
