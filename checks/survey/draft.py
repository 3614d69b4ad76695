"""A harness from a survey alone, where there is no diagram: what is joined, by which evidence, and what is still owed.

Copper that was measured joins leads into nets. Two leads of one colour that no other lead has, and that no reading
parts, are joined by colour only, and marked so. Behind a half whose far side was left on stands whatever its readings
allow: a resistance, a diode, a switch. Nothing else is guessed.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ...lang.records import dataclass
from ...lang.search.disjoint_set import DisjointSet
from ...lang.survey.record import Shows

if TYPE_CHECKING:
    from ...lang.survey.record import Half, Knob, Lead, LeadName, MeterReading, Survey

FIRST: Final = 12
"""Readings on the first list of those that are owed (ours): what can be done before one sits down again."""


@dataclass(frozen=True, slots=True)
class Node:
    """A lead, or a body such as ``FRAME``."""

    lead: Lead | None
    body: str = ""

    def __str__(self) -> str:
        return str(self.lead) if self.lead else self.body


@dataclass(frozen=True, slots=True)
class DraftNet:
    """Leads and bodies joined with each other; ``measured``: by readings, on these ``lines``, not by colour only."""

    nodes: tuple[Node, ...]
    measured: bool
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class DraftPart:
    """What is behind a half. ``kind``: resistor, diode or switch; ``leads`` in the order of its terminals.

    ``positions`` of a switch: its name, and the pairs of ``leads`` that beep in it, by their places.
    """

    kind: str
    name: str
    half: Half
    leads: tuple[Lead, ...]
    lines: tuple[int, ...]
    ohms: float | None = None
    positions: tuple[tuple[str, tuple[tuple[int, int], ...]], ...] = ()


@dataclass(frozen=True, slots=True)
class Plug:
    """A half, or two that mate, as one connector of the name of the first. ``way`` of each lead of ``second``, by its
    number; of the ways in ``guessed`` the order of leads alone says which meets which.
    """

    first: Half
    second: Half | None = None
    way: tuple[int, ...] = ()
    guessed: tuple[int, ...] = ()

    @property
    def ways(self) -> int:
        return max(len(self.first.leads), *self.way, 1)


@dataclass(frozen=True, slots=True)
class Clash:
    """Two leads that one line joins and another one parts."""

    a: str
    b: str
    joined_by: tuple[int, ...]
    parted_by: int


@dataclass(frozen=True, slots=True)
class Draft:
    """``pairs``: single readings that are owed, the first ones; ``sweeps``: a lead and the halves to touch with it."""

    survey: Survey
    plugs: tuple[Plug, ...]
    nets: tuple[DraftNet, ...]
    parts: tuple[DraftPart, ...]
    clashes: tuple[Clash, ...]
    pairs: tuple[tuple[str, str], ...]
    sweeps: tuple[tuple[str, tuple[str, ...]], ...]


def drafted(survey: Survey) -> Draft:
    """The draft of a survey; ends of a diagram, if its readings name some, are left out."""
    behind = _parts(survey)
    copper = [each for each in survey.readings if _is_copper(survey, each)]
    merged: DisjointSet[str] = DisjointSet()
    lines: dict[str, set[int]] = {}
    parted: dict[frozenset[str], int] = {}
    for reading in copper:
        a, b = reading.a.text, reading.b.text
        if reading.shows is Shows.BEEP:
            merged.merge(a, b)
            for text in (a, b):
                lines.setdefault(text, set()).add(reading.span.line)
        else:
            parted[frozenset((a, b))] = reading.span.line
    nets = _measured(survey, merged, lines)
    clashes = tuple(
        Clash(a, b, tuple(sorted(lines.get(a, set()) | lines.get(b, set()))), line)
        for pair, line in sorted(parted.items(), key=lambda item: (item[1], sorted(item[0])))
        for a, b in [sorted(pair)]
        if merged.leader(a) == merged.leader(b)
    )
    joined = {str(node) for net in nets for node in net.nodes}
    taken = joined | {str(lead) for part in behind for lead in part.leads}
    by_colour = _by_colour(survey, taken, parted)
    joined |= {str(node) for net in by_colour for node in net.nodes}
    pairs, sweeps = _owed(survey, by_colour, joined, parted)
    return Draft(survey, plugs(survey), (*nets, *by_colour), behind, clashes, pairs, sweeps)


def plugs(survey: Survey) -> tuple[Plug, ...]:
    """Every connector, in the order of the text: halves that are stated to mate are one."""
    came_off = {half.mates: half for half in survey.halves.values() if half.mates in survey.halves}
    found: list[Plug] = []
    seconds: set[str] = set()
    for half in survey.halves.values():
        second = came_off.get(half.name)
        if half.name in seconds or (half.mates in survey.halves and half.mates not in seconds and second is None):
            continue
        if second is not None and second.name not in {plug.first.name for plug in found}:
            seconds.add(second.name)
            found.append(_plug(half, second))
        else:
            found.append(Plug(half))
    return tuple(found)


def _plug(first: Half, second: Half) -> Plug:
    """Two halves that mate: leads of a look that no other lead of their half has meet, the rest by their order."""
    looks = [
        {
            look: lead.number
            for lead in half.wired
            if (look := _looks(lead)) and list(map(_looks, half.wired)).count(look) == 1
        }
        for half in (first, second)
    ]
    way = {number: looks[0][look] for look, number in looks[1].items() if look in looks[0]}
    rest = [lead.number for lead in second.leads if lead.number not in way]
    for number in rest:
        taken = set(way.values())
        way[number] = (
            number
            if number not in taken
            else next(n for n in range(1, len(second.leads) + len(first.leads) + 1) if n not in taken)
        )
    guessed = {way[lead.number] for lead in second.wired if lead.number in rest}
    return Plug(first, second, tuple(way[lead.number] for lead in second.leads), tuple(sorted(guessed)))


def _is_copper(survey: Survey, reading: MeterReading) -> bool:
    """Whether a beep or a silence speaks of copper: the parts were out, or both points belong to different halves."""
    if reading.setting or reading.shows not in (Shows.BEEP, Shows.SILENCE):
        return False
    points = (reading.a, reading.b)
    if any(point.lead is None and point.node not in _BODIES for point in points):
        return False
    return not survey.arrangement.parts_in


_BODIES: Final = ("FRAME", "ENGINE")


def _measured(survey: Survey, merged: DisjointSet[str], lines: dict[str, set[int]]) -> tuple[DraftNet, ...]:
    groups: dict[str, list[Node]] = {}
    for node in _nodes(survey):
        if str(node) in lines:
            groups.setdefault(merged.leader(str(node)), []).append(node)
    return tuple(
        DraftNet(tuple(nodes), True, tuple(sorted({line for node in nodes for line in lines[str(node)]})))
        for nodes in groups.values()
        if len(nodes) > 1
    )


def _nodes(survey: Survey) -> Iterator[Node]:
    """Bodies first, then leads in the order of the text."""
    for body in _BODIES:
        yield Node(None, body)
    for half in survey.halves.values():
        for lead in half.wired:
            yield Node(lead)


def _looks(lead: Lead) -> str:
    """What a lead looks like, empty where that is not sure."""
    if len(lead.colours) != 1 or not lead.colours[0].sure:
        return ""
    seen = lead.colours[0]
    return "" if seen.base is None or seen.stripe is None else f"{seen.base}/{seen.stripe}"


def _by_colour(survey: Survey, taken: set[str], parted: dict[frozenset[str], int]) -> tuple[DraftNet, ...]:
    """Two leads of one colour, of different halves that do not mate, where no third lead has it."""
    alike: dict[str, list[Lead]] = {}
    for half in survey.halves.values():
        for lead in half.wired:
            if _looks(lead):
                alike.setdefault(_looks(lead), []).append(lead)
    found = []
    for leads in alike.values():
        if len(leads) != 2 or leads[0].half == leads[1].half or any(str(lead) in taken for lead in leads):
            continue
        one, two = (survey.halves[lead.half] for lead in leads)
        if two.name == one.mates or one.name == two.mates or frozenset(map(str, leads)) in parted:
            continue
        found.append(DraftNet(tuple(map(Node, leads)), False, ()))
    return tuple(found)


def _parts(survey: Survey) -> tuple[DraftPart, ...]:
    """What is behind halves whose far side was left on."""
    found: list[DraftPart] = []
    for reading in survey.readings:
        a, b = reading.a.lead, reading.b.lead
        if a is None or b is None or a[0] != b[0] or reading.setting:
            continue
        half = survey.halves[a[0]]
        leads = (survey.lead(a), survey.lead(b))
        number = len(found) + 1
        if reading.shows is Shows.OHMS and reading.ohms:
            found.append(DraftPart("resistor", f"X{number}", half, leads, (reading.span.line,), reading.ohms))
        elif reading.shows is Shows.ONE_WAY:
            found.append(DraftPart("diode", f"X{number}", half, leads, (reading.span.line,)))
    return (*found, *(part for knob in survey.knobs.values() if (part := _switch(survey, knob)) is not None))


def _switch(survey: Survey, knob: Knob) -> DraftPart | None:
    """A knob with the leads that its readings name, closed as they say; what was not read is left open."""
    closed: dict[str, list[tuple[LeadName, LeadName]]] = {position: [] for position in knob.positions}
    lines: set[int] = set()
    names: dict[LeadName, None] = {}
    for reading in survey.readings:
        position = dict(reading.setting).get(knob.name)
        a, b = reading.a.lead, reading.b.lead
        if position is None or a is None or b is None or {a[0], b[0]} != {knob.half}:
            continue
        lines.add(reading.span.line)
        names.update({a: None, b: None})
        if reading.shows is Shows.BEEP:
            closed[position].append((a, b))
    if not names:
        return None
    order = sorted(names)
    positions = tuple(
        (position, tuple((order.index(a), order.index(b)) for a, b in pairs)) for position, pairs in closed.items()
    )
    leads = tuple(survey.lead(name) for name in order)
    return DraftPart("switch", knob.name, survey.halves[knob.half], leads, tuple(sorted(lines)), None, positions)


def _owed(
    survey: Survey, by_colour: tuple[DraftNet, ...], joined: set[str], parted: dict[frozenset[str], int]
) -> tuple[tuple[tuple[str, str], ...], tuple[tuple[str, tuple[str, ...]], ...]]:
    """The first readings that are owed, then sweeps: each lead that is not connected yet, over the halves not yet
    touched.
    """
    pairs = [(str(net.nodes[0]), str(net.nodes[1])) for net in by_colour]
    loose = [lead for half in survey.halves.values() for lead in half.wired if str(lead) not in joined]
    for lead in loose:
        for other in loose:
            alike = _looks(lead) and _looks(lead) == _looks(other) and lead.half < other.half
            mates = survey.halves[lead.half].mates == other.half or survey.halves[other.half].mates == lead.half
            if alike and not mates and frozenset((str(lead), str(other))) not in parted:
                pairs.append((str(lead), str(other)))
    sweeps = []
    for lead in loose:
        over = tuple(
            half.name
            for half in survey.halves.values()
            if half.name != lead.half
            and half.wired
            and any(frozenset((str(lead), str(other))) not in parted for other in half.wired)
        )
        if over:
            sweeps.append((str(lead), over))
    return tuple(pairs[:FIRST]), tuple(sweeps)
