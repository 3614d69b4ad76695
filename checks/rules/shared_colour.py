"""Two ends alike in colour where a mix-up would go unseen and change something."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations

from ...lang.circuit import Branch, Circuit, Law
from ...lang.model import Connector, Ground, Piece, Rectifier, Source, Splice
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule

_TURNED_EITHER_WAY = frozenset(
    {Law.CONTACT, Law.FUSE, Law.METER, Law.RESISTOR, Law.LAMP, Law.HORN, Law.HEATER, Law.SENSOR, Law.COIL, Law.SOLENOID}
)


def find(examination: Examination) -> Iterator[Finding]:
    circuit = examination.circuit
    joined = circuit.nets
    phases = _phases(circuit)
    for place, terminals in _groups(examination):
        alike: dict[str, list[tuple[str, Piece]]] = {}
        for node in terminals:
            for branch in circuit.at.get(node, ()):
                if branch.law is Law.WIRE and branch.piece and branch.piece.colour:
                    alike.setdefault(branch.piece.colour, []).append((node, branch.piece))
        for colour, ends in sorted(alike.items()):
            confused: dict[str, Piece] = {}
            for (a, one), (b, other) in combinations(ends, 2):
                if (
                    a == b
                    or joined.of[a] == joined.of[b]
                    or {joined.of[a], joined.of[b]} <= {joined.of[p] for p in phases}
                ):
                    continue
                if _symmetric(circuit, place, a, b):
                    continue
                confused.setdefault(a, one)
                confused.setdefault(b, other)
            if not confused:
                continue
            wires = tuple(dict.fromkeys(piece.wire for piece in confused.values()))
            yield Finding(
                rule=RULE.name,
                level=Level.WARNING,
                message=f"the wires at {_listed(confused)} are all {colour}: nothing tells them apart at {place}",
                span=list(confused.values())[-1].span,
                about=(place.partition(" ")[0], *wires),
                source=RULE.source,
                remedy=f"use another colour or stripe for wire {wires[-1]}, or mark its end at {place}",
            )


def _listed(names: Iterable[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}"


def _groups(examination: Examination) -> Iterator[tuple[str, list[str]]]:
    """Where ends are together and can be mixed up: the terminals of a part, or of one half of a connector."""
    for part in examination.harness.parts.values():
        if isinstance(part, Splice | Ground):
            continue
        if isinstance(part, Connector):
            for half, name in (("s", "socket half"), ("p", "pin half")):
                yield f"{part.name} ({name})", [f"{part.name}.{n}{half}" for n in range(1, part.ways + 1)]
        elif len(part.terminals) > 2:
            yield part.name, [f"{part.name}.{terminal}" for terminal in part.terminals]


def _phases(circuit: Circuit) -> frozenset[str]:
    """The terminals of alternator phases: these may be exchanged."""
    return frozenset(
        f"{part.name}.{phase}"
        for part in circuit.harness.parts.values()
        if isinstance(part, Source | Rectifier)
        for phase in part.phases
    )


def _symmetric(circuit: Circuit, place: str, a: str, b: str) -> bool:
    """Whether an exchange only turns round one thing that does not mind: a switch with two terminals, a lamp, a fuse.

    True where, on the wires' side or on the other side of the plug, all that hangs on the one and on the other is that
    single thing between them.
    """
    inside = {branch.key for branch in circuit.of_part.get(place.partition(" ")[0], ())}
    plugs = [(a, b), _across(circuit, a, b)] if place.endswith("half)") else [(a, b)]
    for starts in plugs:
        one, other = (_beyond(circuit, start, inside) for start in starts)
        if one is None or other is None or one[1] != other[1] or one[0] & other[0]:
            continue
        only = circuit.by_key[one[1]]
        if only.law in _TURNED_EITHER_WAY and _has_two_terminals(circuit, only):
            return True
    return False


def _across(circuit: Circuit, a: str, b: str) -> tuple[str, str]:
    """The same two ways on the other half of a connector."""
    turned = {"s": "p", "p": "s"}
    ends = [node[:-1] + turned.get(node[-1], node[-1]) for node in (a, b)]
    return (ends[0], ends[1]) if all(end in circuit.at for end in ends) else (a, b)


def _beyond(circuit: Circuit, start: str, inside: set[str]) -> tuple[set[str], str] | None:
    """The nodes joined to ``start`` by copper outside the part, and the key of the one thing else that hangs on them;
    ``None`` where that is not one.
    """
    seen, waiting, hanging = {start}, [start], ""
    while waiting:
        node = waiting.pop()
        for branch in circuit.at.get(node, ()):
            if branch.key in inside:
                continue
            if branch.law.conductor:
                other = branch.b if branch.a == node else branch.a
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)
            elif hanging not in ("", branch.key):
                return None
            else:
                hanging = branch.key
    return (seen, hanging) if hanging else None


def _has_two_terminals(circuit: Circuit, branch: Branch) -> bool:
    return len(circuit.harness.parts[branch.part].terminals) == 2


RULE = Rule(
    name="shared-colour",
    level=Level.WARNING,
    family="build",
    catches="two ends of one colour at one part or connector half, on different nets, that must not be exchanged",
    why="""When the plug is rebuilt at the roadside, colour is all there is. Two wires alike in one half get swapped,
    and then the brake lights the horn, or worse. Grounds, the phases of an alternator and the two ends of a switch
    may be exchanged, and are not said.""",
    source="common practice, no source",
    find=find,
)
