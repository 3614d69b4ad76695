"""What the next owner of a motorcycle needs of its harness: fuses, grounds, lamps, colours, units, and how to find a
fault. As words, which paper and a page set each in their own way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from ...checks.behaviour import Behaviour, TooWideError, UndecidedError
from ...checks.bench.fed_by import FedBy, FuseOut, all_fed, fed_by, without_fuse
from ...checks.bench.wire_colours import Use, WireColour, wire_colours
from ...lang.circuit.build import build_circuit
from ...lang.diagnostics.messages import plainly_listed
from ...lang.model.parts import (
    Diode,
    Flasher,
    Fuse,
    Ground,
    Load,
    Part,
    Rectifier,
    Regulator,
    Relay,
    Source,
    Unit,
)
from ...lang.quantities.quantity import Quantity, shown
from ...lang.records import dataclass
from .findings import counted
from .unit_logic import logic

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.harness import Harness
    from ...lang.vocabulary.colours import Colour

NOWHERE: Final = "place not stated"
MANY: Final = 8
"""Wires of one colour and use up to which their numbers are listed (ours)."""

_P = TypeVar("_P", bound=Part)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing: its ``term``, and what there is to know of it; ``colour`` where it is that of a wire."""

    term: str
    words: str
    colour: Colour | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Things of one place or part; ``title`` is empty where the section has no such order."""

    title: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """``later``: it is looked up at home, not at the roadside."""

    title: str
    groups: tuple[Group, ...]
    later: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ForNextOwner:
    """All of it; ``system`` says the motorcycle's voltage and which pole is grounded."""

    title: str
    system: str
    caution: str
    sections: tuple[Section, ...]


CAUTION: Final = (
    "Made from the harness file, not from the motorcycle: measure before you trust a wire. Take the "
    "battery's grounded lead off before work."
)


def for_next_owner(harness: Harness) -> ForNextOwner:
    """What is in a harness without mistakes, a section each; what it does not have has no section."""
    circuit = build_circuit(harness)
    fuses = _Fuses(harness, circuit)
    sections = (
        Section(title="Battery and charging", groups=_plain(_supply(harness))),
        Section(
            title="Fuses, and what each feeds",
            groups=(
                *_by_place(harness, Fuse, fuses.entry),
                *_plain(_unfused(without_fuse(circuit))),
            ),
        ),
        Section(title="Grounds", groups=tuple(_grounds(harness))),
        Section(title="How to find a fault", groups=_plain(_finding(harness))),
        Section(title="Lamps", groups=_by_place(harness, Load, _lamps)),
        Section(title="Relays, units and diodes", groups=_by_place(harness, Part, _boxes)),
        Section(title="What the units do", groups=tuple(_units(harness)), later=True),
        Section(title="Colours of the wires", groups=_plain(_colours(harness, wire_colours(circuit))), later=True),
    )
    return ForNextOwner(
        title=harness.title or "",
        system=f"{shown(Quantity(harness.volts, 'V'))}, {harness.grounded} ground",
        caution=CAUTION,
        sections=tuple(section for section in sections if section.groups),
    )


def _plain(entries: Iterable[Entry]) -> tuple[Group, ...]:
    found = tuple(entries)
    return (Group(title="", entries=found),) if found else ()


def _by_place(harness: Harness, kind: type[_P], entry: Callable[[_P], Entry | None]) -> tuple[Group, ...]:
    """The parts of a kind, by their places in the order of the text; those without one last."""
    found: dict[str, list[Entry]] = {place: [] for place in (*harness.places, NOWHERE)}
    for part in harness.parts.values():
        made = entry(part) if isinstance(part, kind) else None
        if made is not None:
            found[part.place or NOWHERE].append(made)
    return tuple(Group(title=place, entries=tuple(entries)) for place, entries in found.items() if entries)


# --- supply
def _supply(harness: Harness) -> Iterator[Entry]:
    for part in harness.parts.values():
        match part:
            case Source(what="battery"):
                known = [
                    shown(Quantity(value, unit))
                    for value, unit in ((part.volts, "V"), (part.amp_hours, "Ah"))
                    if value is not None
                ]
                words = ("lithium battery" if part.lithium else "battery", *known)
            case Source():
                words = (part.label or part.what,)
            case Rectifier() | Regulator():
                words = (part.label or part.kind,)
            case _:
                continue
        regulated = f"regulated to {shown(Quantity(part.regulated, 'V'))}" if part.regulated is not None else ""
        yield Entry(term=part.name, words=_listed((*words, regulated, f"at {part.place}" if part.place else "")))


def _listed(words: Iterable[str | None]) -> str:
    return ", ".join(word for word in words if word)


# --- fuses
class _Fuses:
    """The fuses of one harness."""

    def __init__(self, harness: Harness, circuit: Circuit) -> None:
        self._harness = harness
        self._fed = {each.fuse: each for each in fed_by(circuit)}
        self._out = FuseOut(Behaviour.of(circuit))

    def entry(self, fuse: Fuse) -> Entry:
        rated = shown(Quantity(fuse.amps, "A")) if fuse.amps is not None else "rating not stated"
        head = " ".join(word for word in (rated, fuse.form, f"({fuse.label})" if fuse.label else "") if word)
        return Entry(term=fuse.name, words=f"{head}: {self._words(self._fed[fuse.name])}")

    def _words(self, found: FedBy) -> str:
        match found.side:
            case "return":
                return "in a ground lead; it feeds nothing"
            case "elsewhere":
                return "no battery or alternator feeds it directly"
        fed = _listed((*found.fuses, *_elements(self._harness, found.elements))) or "nothing"
        try:
            others = self._out.off(found.fuse, all_fed(self._fed, found.fuse))
        except TooWideError:
            return f"{fed}; what else is off without it is not worked out: too many combinations"
        except UndecidedError as undecided:
            return f"{fed}; what else is off without it is not worked out: {undecided}"
        also = _listed(_elements(self._harness, others))
        return f"{fed}; without it off as well: {also}" if also else fed


def _unfused(wires: Sequence[str]) -> Iterator[Entry]:
    if wires:
        yield Entry(term="no fuse", words=f"between the battery and {_wires(wires)}")


def _elements(harness: Harness, branches: Iterable[Branch]) -> Iterator[str]:
    """Consumers by part: the part alone where all of it is meant, else its elements."""
    parts: dict[str, list[str]] = {}
    for branch in branches:
        parts.setdefault(branch.part, []).append(branch.key.detail)
    for name, details in parts.items():
        part = harness.parts.get(name)
        if isinstance(part, Load) and len(details) < len(part.elements):
            yield f"{name} ({', '.join(details)})"
        else:
            yield name


# --- grounds
def _grounds(harness: Harness) -> Iterator[Group]:
    """Each stud with its wires, by place; what is grounded by its mounting stands with the ground itself."""
    studs: dict[str, dict[str, list[str]]] = {place: {} for place in (*harness.places, NOWHERE)}
    for segment in harness.segments:
        for end, place in zip((segment.a, segment.b), segment.studs, strict=True):
            if isinstance(harness.parts.get(end.part), Ground):
                studs[place or NOWHERE].setdefault(end.part, []).append(segment.wire)
    mounted: dict[str, list[str]] = {}
    for mount in harness.mounts:
        mounted.setdefault(mount.ground, []).append(mount.part)
    for place, grounds in studs.items():
        entries = [Entry(term=name, words=_wires(wires)) for name, wires in grounds.items()]
        if entries:
            yield Group(title=place, entries=tuple(entries))
    if mounted:
        entries = [Entry(term=name, words=", ".join(dict.fromkeys(parts))) for name, parts in mounted.items()]
        yield Group(title="by their mounting, without a wire", entries=tuple(entries))


def _wires(names: Sequence[str]) -> str:
    return f"{'wire' if len(names) == 1 else 'wires'} {', '.join(names)}"


# --- how to find a fault
def _finding(harness: Harness) -> Iterator[Entry]:
    pole = "-" if harness.grounded == "negative" else "+"
    batteries = [part for part in harness.parts.values() if isinstance(part, Source) and part.what == "battery"]
    battery = batteries[0].name if batteries else ""
    volts = batteries[0].volts if batteries else None
    if battery:
        reading = f", near {shown(Quantity(volts, 'V'))}" if volts is not None else ""
        yield _step(
            1, f"Measure {battery} first, everything off: its voltage at rest{reading}. Charge it if it is low."
        )
    lead = "red on what is measured" if pole == "-" else "the readings are negative"
    name = Path(harness.file).name
    units = [
        part.name
        for part in harness.parts.values()
        if isinstance(part, Unit) and any(each.mode != "signal" for each in part.inputs)
    ]
    relays = any(isinstance(part, Relay) for part in harness.parts.values())
    blameless = [
        *([_UNIT.format(units=plainly_listed(units, "or"))] if units else []),
        *([_RELAY] if relays else []),
    ]
    for number, words in enumerate((*_STEPS, *blameless, *_LAST), 2 if battery else 1):
        yield _step(number, words.format(pole=pole, lead=lead, name=name))


def _step(number: int, words: str) -> Entry:
    return Entry(term=str(number), words=words)


_STEPS: Final = (
    "One thing fails, or several? What several share is where to look: their fuse, their ground, their plug.",
    (
        "A blown fuse has a cause. Find it before the next fuse goes in, of the same rating, never a larger one. "
        "Ignition off, fuse out, the parts behind it unplugged: a wire that is shorted reads near 0 ohm to ground."
    ),
    (
        "Part plugged in and switched on, black lead on the battery's {pole} pole ({lead}): at its feed nearly the "
        "battery's voltage, at its ground nearly 0 V. Voltage at its ground is a bad ground."
    ),
    (
        "Feed and ground good, and it does not work: the part itself. No feed: go back plug by plug towards its fuse. "
        "The fault is between the last point that has voltage and the first that has none."
    ),
)

_UNIT: Final = (
    'Is that place {units}: do not blame it yet, it may be waiting. "What the units do" says what each output waits '
    "for: see to those inputs first, with the control held so. One that is fed has the battery's voltage then; one to "
    "ground beeps to ground, battery off. An output that has tripped: unplug what it feeds and look for a short in its "
    "wire."
)
_RELAY: Final = (
    "Is that place a relay's contact: measure across its coil first, while it should be pulled. Without the battery's "
    "voltage there, follow the coil's two wires, not the contact's."
)
"""What is in the way of the step before: a thing without voltage behind it that is sound and only waits."""

_LAST: Final = (
    "A fault that comes and goes: move the loom while the meter is on, and look where the reading changes.",
    (
        'With the file: the command "loomwright trace {name} PART" lists what the current passes, "loomwright '
        'suspect" ranks the likely faults by what is seen and measured.'
    ),
)


# --- lamps
def _lamps(part: Load) -> Entry | None:
    lamps = [element for element in part.elements if element.what in ("lamp", "led")]
    if not lamps:
        return None
    filaments = [element for element in lamps if element.what == "lamp"]
    ends = {end for element in filaments for end in (element.plus, element.minus)}
    if len(filaments) == len(lamps) == 2 and len(ends) == 3:
        watts = "/".join(shown(each.watts) if each.watts is not None else "?" for each in filaments)
        words = f"one bulb {watts} W ({'/'.join(each.name for each in filaments)})"
    else:
        words = ", ".join(
            " ".join(
                word
                for word in (
                    each.name if len(lamps) > 1 or each.name != part.what else "",
                    shown(Quantity(each.watts, "W")) if each.watts is not None else "",
                    "LED" if each.what == "led" else "bulb",
                )
                if word
            )
            for each in lamps
        )
    return Entry(term=part.name, words=_listed((part.label, words)))


# --- boxes
def _boxes(part: Part) -> Entry | None:
    match part:
        case Relay():
            words = f"relay {shown(Quantity(part.amps, 'A'))}" if part.amps is not None else "relay"
        case Flasher():
            words = "flasher"
        case Diode():
            words = f"diode {shown(Quantity(part.amps, 'A'))}" if part.amps is not None else "diode"
        case Unit():
            words = "" if part.label else "ignition unit" if part.is_ignition else "unit"
        case _:
            return None
    return Entry(term=part.name, words=": ".join(filter(None, (words, part.label))))


# --- units
def _units(harness: Harness) -> Iterator[Group]:
    for part in harness.parts.values():
        if isinstance(part, Unit) and (part.outputs or part.inputs):
            yield Group(title=_listed((part.name, part.label)), entries=tuple(_unit(part)))


def _unit(unit: Unit) -> Iterator[Entry]:
    """Its outputs with their terminals and limits, what sets its latches, what its inputs are."""
    rows = dict(logic(unit, [output.terminal for output in unit.outputs]))
    for output in unit.outputs:
        limits = _listed(
            (
                shown(Quantity(output.amps, "A")) if output.amps is not None else "",
                f"trips at {shown(Quantity(output.trips, 'A'))}" if output.trips is not None else "",
                "flashing" if output.flashing else "",
            )
        )
        on = rows.pop(output.name, "whenever it is powered")
        yield Entry(term=f"{output.terminal} {output.name}", words=f"{on}; {limits}" if limits else on)
    for name, words in rows.items():
        yield Entry(term=f"latch {name}", words=words)
    inputs = {"grounded": "to ground", "fed": "fed", "signal": "a signal"}
    for mode, said in inputs.items():
        named = [f"{each.name} {each.terminal}" for each in unit.inputs if each.mode == mode]
        if named:
            yield Entry(term=f"inputs, {said}", words=", ".join(named))


# --- colours
def _colours(harness: Harness, found: Iterable[WireColour]) -> Iterator[Entry]:
    uses = {each.colour: [_use(harness, use) for use in each.uses] for each in found}
    for spare in harness.fitting.spare_wires:
        if spare.colour is not None:
            said = f"spare, connected to nothing, {spare.a} to {spare.b} ({_wires([spare.name])})"
            uses.setdefault(spare.colour, []).append(said)
    for colour in sorted(uses, key=str):
        yield Entry(term=str(colour), words="; ".join(uses[colour]), colour=colour)


def _use(harness: Harness, use: Use) -> str:
    count = len(use.wires)
    which = _wires(use.wires) if count <= MANY else counted(count, "wire")
    match use.meaning:
        case "neither":
            said = f"between {' and '.join(_parts(harness, use.wires))}"
        case "ground":
            said = "ground"
        case meaning:
            said = f"{meaning} {use.whenever}"
    return f"{said} ({which})"


def _parts(harness: Harness, wires: Iterable[str]) -> Iterator[str]:
    """The parts that these wires join, each once."""
    ends = (end.part for name in wires for end in (harness.wires[name].a, harness.wires[name].b))
    return iter(dict.fromkeys(ends))
