"""Two ends of one colour where swapping them goes unseen and changes a function."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.circuit import Circuit
from ....lang.circuit.ids import BranchId, End
from ....lang.circuit.paths import steps_over
from ....lang.diagnostics.messages import plainly_listed
from ....lang.editing.proposals import Proposal, SetWord
from ....lang.model.parts import Connector, Part, Rectifier, Relay, Source, Splice
from ....lang.model.wires import Segment
from ....lang.search.walks import reachable
from ....lang.vocabulary.colours import BASE_COLOURS, Colour
from ...findings.finding import Finding, Level
from ...fixes.new_parts import clashes
from ...rule import Rule
from ...study import Study

_TURNED_EITHER_WAY = frozenset(
    {
        BranchType.CONTACT,
        BranchType.FUSE,
        BranchType.METER,
        BranchType.RESISTOR,
        BranchType.LAMP,
        BranchType.HORN,
        BranchType.HEATER,
        BranchType.SENSOR,
        BranchType.COIL,
        BranchType.SOLENOID,
    }
)


def find(study: Study) -> Iterator[Finding]:
    circuit, net = study.circuit, study.circuit.nets.of
    phases = {net[node] for node in _phases(circuit)}
    for part, place, terminals in _groups(study):
        alike: dict[Colour, list[tuple[End, Segment]]] = {}
        for node in terminals:
            for segment in circuit.pieces_at(node):
                if segment.colour:
                    alike.setdefault(segment.colour, []).append((node, segment))
        for colour, ends in sorted(alike.items()):
            confused: dict[str, Segment] = {}
            for (a, one), (b, other) in combinations(ends, 2):
                if net[a] == net[b] or {net[a], net[b]} <= phases or _symmetric(circuit, part, a, b):
                    continue
                confused.setdefault(a, one)
                confused.setdefault(b, other)
            if not confused:
                continue
            wires = tuple(dict.fromkeys(segment.wire for segment in confused.values()))
            proposals = tuple(_distinguished(study, colour, [end for end in ends if end[0] in confused]))
            yield RULE.found(
                "alike",
                list(confused.values())[-1].span,
                facts={"terminals": tuple(confused), "colour": str(colour), "place": place, "wires": wires},
                fix=None if not proposals else "end" if len(proposals[0].changes) == 1 else "ends",
                about=(part.name, *wires),
                proposals=proposals,
            )


def _distinguished(study: Study, colour: Colour, ends: list[tuple[str, Segment]]) -> Iterator[Proposal]:
    """A stripe for the wires of all terminals but one, which keeps the colour: that with most of them, or splices."""
    harness = study.harness
    at: dict[str, list[str]] = {}
    for node, segment in ends:
        at.setdefault(node, []).append(segment.wire)

    def tied(node: str) -> tuple[int, int]:
        both = [end.part for name in at[node] for end in (harness.wires[name].a, harness.wires[name].b)]
        return sum(isinstance(harness.parts.get(name), Splice) for name in both), len(at[node])

    keeps = max(at, key=tied)
    changed: dict[str, Colour] = {}
    taken: dict[Colour, None] = {}
    for node, wires in at.items():
        names = [name for name in dict.fromkeys(wires) if node != keeps and name not in changed]
        new = next((c for c in _striped(colour) if c not in taken and _fits(study, names, c)), None)
        if names and (new is None or any(harness.wires[name].kept for name in names)):
            return
        if names and new is not None:
            taken[new] = None
            changed |= dict.fromkeys(names, new)
    if changed:
        says = " and ".join(f"{new} for {_wires([n for n in changed if changed[n] == new])}" for new in taken)
        yield Proposal(f"use {says}", tuple(SetWord(name, str(colour), str(new)) for name, new in changed.items()))


def _wires(names: list[str]) -> str:
    return f"{'wire' if len(names) == 1 else 'wires'} {plainly_listed(names)}"


def _fits(study: Study, names: list[str], colour: Colour) -> bool:
    return not any(clashes(study, name, colour) for name in names)


def _striped(colour: Colour) -> Iterator[Colour]:
    """The colour with each stripe that is seen on it, then every other colour."""
    yield from (Colour(colour.base, other) for other in BASE_COLOURS if other not in (colour.base, colour.stripe))
    yield from (Colour(other) for other in BASE_COLOURS if other != colour.base)


def _groups(study: Study) -> Iterator[tuple[Part, str, list[End]]]:
    """Where ends are together and can be mixed up, and how that is called: the terminals of a part, or of one half of a
    connector.
    """
    for part in study.harness.parts.values():
        if isinstance(part, Connector):
            for half, name in (("s", "socket half"), ("p", "pin half")):
                yield part, f"{part.name} ({name})", [End(part.name, f"{n}{half}") for n in part.numbers]
        elif len(part.terminals) > 2:
            yield part, part.name, [End(part.name, terminal) for terminal in part.terminals]


def _phases(circuit: Circuit) -> frozenset[str]:
    """The terminals of alternator phases: these may be exchanged."""
    return frozenset(
        End(part.name, phase)
        for part in circuit.harness.parts.values()
        if isinstance(part, Source | Rectifier)
        for phase in part.phases
    )


def _symmetric(circuit: Circuit, part: Part, a: End, b: End) -> bool:
    """Whether an exchange only reverses one thing that works either way round: a contact, a lamp, a fuse.

    True where, on the wires' side or on the other side of the plug or inside the part, that single thing between the
    two is all that is connected to either.
    """
    inside = {branch.key for branch in circuit.of_part.get(part.name, ())}
    sides = [(_only(circuit, a, inside), _only(circuit, b, inside))]
    if isinstance(part, Connector):
        sides.append((_only(circuit, a.mate, inside), _only(circuit, b.mate, inside)))
    else:
        sides.append((_alone(circuit, a, inside), _alone(circuit, b, inside)))
    return any(one is not None and one is other and _turns_round(circuit, one) for one, other in sides)


def _turns_round(circuit: Circuit, branch: Branch) -> bool:
    """Whether a thing works as well the other way round; a diode across a relay's coil would short its feed."""
    part = circuit.harness.parts[branch.part]
    may_have_diode = isinstance(part, Relay) and part.clamped and part.clamp != "resistor"
    return branch.branch_type in _TURNED_EITHER_WAY and not may_have_diode


def _alone(circuit: Circuit, terminal: str, inside: set[BranchId]) -> Branch | None:
    """The one thing inside its part that is at a terminal; ``None`` where that is not one."""
    found = [branch for branch in circuit.at[terminal] if branch.key in inside]
    return found[0] if len(found) == 1 else None


def _only(circuit: Circuit, start: str, inside: set[BranchId]) -> Branch | None:
    """The one thing connected to what copper joins to ``start`` outside the part; ``None`` where that is not one."""
    outside = steps_over(circuit, lambda branch: branch.branch_type.conductor and branch.key not in inside)
    hanging = [
        branch
        for node in reachable([start], outside)
        for branch in circuit.at[node]
        if branch.key not in inside and not branch.branch_type.conductor
    ]
    return hanging[0] if len(hanging) == 1 else None


RULE = Rule(
    name="shared-colour",
    level=Level.WARNING,
    family="workmanship",
    catches="two ends of one colour at one part or connector half, on different nets, that must not be exchanged",
    why="""When a plug is rebuilt at the roadside, the colours are the only guide. Two wires of one colour in one half
    get swapped, and then the brake switch sounds the horn, or worse. Grounds, the phases of an alternator and the two
    ends of a switch, a lamp or a coil may be swapped without harm and are not reported.""",
    source="common practice, no source",
    says={"alike": "the wires at {terminals} are {colour}, and can be swapped unnoticed at {place}"},
    fixes={
        "alike": "mark the ends of {wires:wire} at {place}",
        "end": "or mark its end at {place}",
        "ends": "or mark their ends at {place}",
    },
    find=find,
)
