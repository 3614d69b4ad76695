"""A draft as a harness file: what it writes is read without a mistake, and laid out already."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.messages import plainly_listed
from .survey import ohms_text

if TYPE_CHECKING:
    from ...checks.survey.draft import Draft, DraftNet, DraftPart, Node, Plug
    from ...lang.survey.record import Lead, SeenColour

MEASURED: Final = "# measured"
BY_COLOUR: Final = "# by colour only, measure"
MOST_SWEEPS: Final = 60
"""Sweeps that are listed (ours); how many more there are is stated."""


def draft_text(draft: Draft) -> str:
    """The harness file. Raises nothing: what a survey can say has a form in the language."""
    return "".join(f"{line}\n" for line in _lines(draft))


def _lines(draft: Draft) -> Iterator[str]:
    survey = draft.survey
    yield f"# Drafted from {_plain(survey.file)}: readings and colours only. Nothing here was judged safe."
    yield "# Not known: the system's volts and ground, sizes of wires, fuses, and every part without a reading."
    yield "# A beep passes through a fuse, and the fuses were in: what joins two wires here may be two circuits, joined"
    yield "# behind their fuses. Take all fuses out and take the readings of such wires again before you build."
    if survey.arrangement.parts_in:
        yield "# The parts were in, and a beep may be a filament: beeps join nothing here. Take them with parts out."
    yield ""
    yield f'loom "{survey.title or "Drafted"}"'
    places = dict.fromkeys(half.place for half in survey.halves.values() if half.place)
    yield ""
    if places:
        yield f"place {', '.join(places)}"
    bodies = dict.fromkeys(node.body for net in draft.nets for node in net.nodes if node.body)
    for body in bodies:
        everywhere = f" at {', '.join(places)}" if places else ""
        yield f"ground {body}{everywhere if body == 'FRAME' else _first(places)}"
    yield ""
    for plug in draft.plugs:
        where = f" at {plug.first.place}" if plug.first.place else ""
        yield f"connector {plug.first.name} {plug.ways} ways{where}{_spare(plug)}{_mates(plug)}"
    splices = {net: f"SP{number}" for number, net in enumerate((n for n in draft.nets if _needs_splice(n)), 1)}
    for net, name in splices.items():
        yield f"splice {name}{_first(dict.fromkeys(_places(draft, net)))} {_evidence(net)}"
    for part in draft.parts:
        yield _part(part)
    yield ""
    number = 0
    for net in draft.nets:
        for a, b, lead in _joints(net, splices.get(net), draft):
            number += 1
            yield f"wire {number} {a} to {b}{_colour(lead)} {_evidence(net)}"
    for part in draft.parts:
        for place, lead in enumerate(part.leads):
            number += 1
            end = f"{part.name}.{_terminals(part)[place]}"
            yield f"wire {number} {_end(draft, lead)} to {end}{_colour(lead)} {_measured(part.lines)}"
    yield from _remarks(draft)


def _remarks(draft: Draft) -> Iterator[str]:
    """What contradicts itself, and which readings are owed."""
    if draft.clashes:
        yield ""
        yield "# These lines of the survey contradict each other: take the readings again"
    for clash in draft.clashes:
        by = plainly_listed(map(str, clash.joined_by))
        yield f"#   {clash.a} and {clash.b}: joined by {by}, separated by {clash.parted_by}"
    if draft.pairs:
        yield ""
        yield "# Readings still missing first; put what the meter does into the survey"
    for a, b in draft.pairs:
        yield f"#   beeps {a} {b}, or silent {a} {b}"
    if draft.sweeps:
        yield ""
        yield "# Then one probe on each of these, the other over every lead of the halves named"
    for lead, halves in draft.sweeps[:MOST_SWEEPS]:
        yield f"#   touched {lead} over {' '.join(halves)}:"
    if len(draft.sweeps) > MOST_SWEEPS:
        yield f"#   and {len(draft.sweeps) - MOST_SWEEPS} more leads in the same way"


def _plain(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _first(places: dict[str, None]) -> str:
    return f" at {next(iter(places))}" if places else ""


def _places(draft: Draft, net: DraftNet) -> Iterator[str]:
    for node in net.nodes:
        if node.lead is not None and (place := draft.survey.halves[node.lead.half].place):
            yield place


def _spare(plug: Plug) -> str:
    wired = {lead.number for lead in plug.first.wired}
    if plug.second is not None:
        wired |= {plug.way[lead.number - 1] for lead in plug.second.wired}
    empty = [str(way) for way in range(1, plug.ways + 1) if way not in wired]
    return f" {{ spare: {' '.join(empty)} }}" if empty else ""


def _mates(plug: Plug) -> str:
    """Where two halves are one connector: the leads of the second that are not in the way of their number, and the ways
    of which order alone says what meets.
    """
    if plug.second is None:
        return ""
    moved = [f"{plug.second.name}.{number} in way {way}" for number, way in enumerate(plug.way, 1) if number != way]
    notes = [f"with {plug.second.name}, ways by colour only", *moved]
    if plug.guessed:
        ways = plainly_listed(map(str, plug.guessed))
        notes.append(f"way{'s' if len(plug.guessed) > 1 else ''} {ways} by the order of leads: look")
    return f" # {'; '.join(notes)}"


def _needs_splice(net: DraftNet) -> bool:
    """Three leads and more meet in a splice, unless they meet on a body."""
    return len(net.nodes) > 2 and not any(node.body for node in net.nodes)


def _joints(net: DraftNet, splice: str | None, draft: Draft) -> Iterator[tuple[str, str, Lead | None]]:
    """The wires of a net: their two ends, and the lead that has their colour."""
    bodies = [node for node in net.nodes if node.body]
    leads = [node for node in net.nodes if node.lead is not None]
    if splice is None and not bodies:
        yield _node(draft, leads[0]), _node(draft, leads[1]), leads[0].lead
        return
    hub = splice or bodies[0].body
    for node in leads:
        yield _node(draft, node), hub, node.lead
    for body in bodies[1:]:
        yield body.body, hub, None


def _node(draft: Draft, node: Node) -> str:
    return node.body if node.lead is None else _end(draft, node.lead)


def _end(draft: Draft, lead: Lead) -> str:
    """The end of a connector that a lead is on. Of two that mate one is the socket half, the other the pin half."""
    for plug in draft.plugs:
        pin_first = plug.first.side == "pin" or (plug.second is not None and plug.second.side == "socket")
        if plug.first.name == lead.half:
            return f"{plug.first.name}.{lead.number}{'p' if pin_first else 's'}"
        if plug.second is not None and plug.second.name == lead.half:
            return f"{plug.first.name}.{plug.way[lead.number - 1]}{'s' if pin_first else 'p'}"
    raise KeyError(lead.half)


def _colour(lead: Lead | None) -> str:
    """The colour of a wire where it is known for certain; a plain way of one wire only."""
    if lead is None or len(lead.colours) != 1:
        return ""
    seen: SeenColour = lead.colours[0]
    if seen.base is None or not seen.sure:
        return ""
    return f" {seen.base}/{seen.stripe}" if seen.stripe else f" {seen.base}"


def _evidence(net: DraftNet) -> str:
    return _measured(net.lines) if net.measured else BY_COLOUR


def _measured(lines: tuple[int, ...]) -> str:
    return f"{MEASURED}, line{'s' if len(lines) > 1 else ''} {plainly_listed(map(str, lines))}"


def _terminals(part: DraftPart) -> tuple[str, ...]:
    return ("A", "K") if part.kind == "diode" else tuple(str(number + 1) for number in range(len(part.leads)))


def _part(part: DraftPart) -> str:
    where = f" at {part.half.place}" if part.half.place else ""
    match part.kind:
        case "resistor":
            what = f"resistor {part.name} {ohms_text(part.ohms or 0.0)}{where}"
            return f"{what} {_measured(part.lines)}; a coil, a winding, a sensor or a filament"
        case "diode":
            return f"diode {part.name}{where} {_measured(part.lines)}"
        case _:
            rows = "; ".join(
                f"{position}:{','.join(f' {a + 1} {b + 1}' for a, b in pairs) or ' '}"
                for position, pairs in part.positions
            )
            return f"switch {part.name}{where} {{ {rows.rstrip()} }} {_measured(part.lines)}"
