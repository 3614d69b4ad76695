"""What somebody saw or measured, from the words in which it is reported.

::

    HORN dead                       a part or an element that is dead, dim or live
    HEAD.dip 9.1 V at 56b           volts between a terminal of it and the battery's ground pole
    9.1 V at HEAD.56b               the same
    9.1 V across HEAD.dip           between the two terminals of an element, a fuse, a wire, a contact
    0.4 V from HEAD.31 to FRAME     between any two terminals: red lead first, then black
    6.7 V AC at MAG.59              as a meter shows it on AC volts; DC likewise

Several of them are in one text with commas between. Units are those of the language, a space before each.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from typing import TYPE_CHECKING, Literal

from ...lang.circuit.ids import End, Role
from ...lang.quantities.quantity import shown
from ...lang.quantities.units import UNITS, UNITS_OF, is_number, unglue, unit_name
from ...lang.records import dataclass

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit

STANDINGS = ("dead", "dim", "live")
DOTTED = frozenset({Role.COIL, Role.FIELD, Role.SUPPLY})
"""What is shown behind its part as ``ALT field``, and may be written as ``ALT.field``, as elements are."""

FORMS = "'HORN dead', 'HEAD.dip 9.1 V at 56b', '9.1 V at HEAD.56b', '9.1 V across HEAD.dip' or '0.4 V from A to B'"
"""What an observation may look like, for messages."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Something that is dead, dim or live: a part or an element."""

    thing: str
    word: str

    def __str__(self) -> str:
        return f"{self.thing} {self.word}"


@dataclass(frozen=True, slots=True)
class Read:
    """V that a meter shows with its ``red`` and ``black`` lead on two terminals; ``where`` says it in words, and
    how the meter was set.

    ``either_way``: the leads may have been the other way round, only the size counts. ``setting``: on which volts,
    empty where nobody said. ``close``: it holds as near as a regulator does, which is nearer than a meter's whole span.
    """

    red: End
    black: End
    volts: float
    where: str
    either_way: bool = False
    setting: Setting = ""
    close: bool = False

    def __str__(self) -> str:
        return f"{shown(self.volts)} V {self.where}"


Observation = Seen | Read

Setting = Literal["", "DC", "AC"]


class ObservationError(ValueError):
    """An observation that says nothing: its message tells what was found and what was expected."""


class UnknownThingError(LookupError):
    """A name that is none of a ``what``; ``known`` are those that are one."""

    def __init__(
        self, name: str, known: tuple[str, ...], what: str = "part or element that can be dead or live"
    ) -> None:
        super().__init__(f"no {what} is named {name!r}")
        self.name = name
        self.known = known
        self.what = what


@dataclass(frozen=True)
class Places:
    """What can be seen and where can be measured in one circuit.

    ``things`` can be dead or live; ``terminals`` can be touched; ``across`` has the two terminals of what has two.
    ``ground`` is the pole of the battery that the system grounds: the other lead of a reading ``at`` a terminal, the
    black one unless the ground is positive.
    """

    things: tuple[str, ...]
    terminals: frozenset[End]
    across: Mapping[str, tuple[End, End]] = field(repr=False)
    ground: End
    positive: bool = False

    def at(self, terminal: End) -> tuple[End, End]:
        """Red and black lead of a reading at a terminal: the meter shows what is above zero."""
        return (self.ground, terminal) if self.positive else (terminal, self.ground)


def places(circuit: Circuit, things: Iterable[str]) -> Places:
    """The places of a circuit of which ``things`` can be dead or live. Raises ``ObservationError`` without a source."""
    if not circuit.ground:
        raise ObservationError("the harness has no source, so no part of it is live")
    poles = [node for s in circuit.supplies for node in (*s.plus, s.minus)]
    across: dict[str, tuple[End, End]] = {branch.key: (branch.a, branch.b) for branch in circuit.branches}
    for branch in circuit.branches:  # a wire in one piece, or a part with one thing in it, by its own name
        inside = circuit.of_part.get(branch.part, ()) if branch.part else ()
        if len(inside) == 1 or (branch.segment is not None and branch.segment.name == branch.owner):
            across.setdefault(branch.owner, (branch.a, branch.b))
        if branch.key.role in DOTTED and not branch.key.detail:
            across.setdefault(f"{branch.owner}.{branch.key.role.value}", (branch.a, branch.b))
    return Places(tuple(things), frozenset((*circuit.ends, *poles)), across, circuit.ground, circuit.return_sign == "+")


def observations(text: str, known: Places) -> tuple[Observation, ...]:
    """Every observation of a text. Raises ``ObservationError`` and ``UnknownThingError``."""
    return tuple(_observation(segment.strip(), known) for segment in text.split(","))


def _observation(text: str, known: Places) -> Observation:
    words = text.split()
    if not words:
        raise ObservationError(f"an observation is empty; one looks like {FORMS}")
    number = next((i for i, word in enumerate(words) if _starts_a_number(word, i)), None)
    if number is None:
        if words[:2] == ["X", "V"]:
            raise ObservationError(f"{text!r} still has an X: put what the meter shows in its place, such as 9.1 V")
        if len(words) < 2 or words[-1] not in STANDINGS:
            raise ObservationError(f"{text!r} is no observation; one looks like {FORMS}")
        return Seen(_thing(" ".join(words[:-1]), known), words[-1])
    of, rest = " ".join(words[:number]), words[number:]
    volts = _volts(text, rest)
    read = _setting(rest[2:3])
    if read == "AC" and volts < 0.0:
        raise ObservationError(f"{text!r} is below zero, and AC volts never are: write DC, or leave the sign out")
    match rest[3 if read else 2 :]:
        case ["at", *name] if name:
            return _at(volts, of, " ".join(name), known, read)
        case ["across", *name] if name and not of:
            thing = " ".join(name)
            ends = known.across.get(thing)
            if ends is None:
                raise UnknownThingError(thing, tuple(known.across), "element, fuse, wire or contact with two ends")
            return Read(*ends, abs(volts), f"{_set(read)}across {thing}", either_way=True, setting=read)
        case ["from", red, "to", black] if not of:
            both = _terminal(_end(red), known), _terminal(_end(black), known)
            if red == black:
                raise ObservationError(f"{text!r} has both leads on one terminal; it takes two")
            return Read(*both, volts, f"{_set(read)}from {red} to {black}", setting=read)
    raise ObservationError(
        f"{text!r} does not say where the voltage was read: 'at' a terminal, 'across' an element, 'from' one terminal "
        "'to' another"
    )


def _starts_a_number(word: str, place: int) -> bool:
    """Whether a word is where a reading begins; at the head of a text something near a number is a slip in one."""
    return is_number(word) or unglue(word) is not None or (place == 0 and word[0] in "+.0123456789")


def _volts(text: str, words: list[str]) -> float:
    glued = unglue(words[0])
    if glued is not None:
        raise ObservationError(f"{text!r}: write a space between number and unit, {glued[0]} {glued[1]}")
    if not is_number(words[0]):
        raise ObservationError(f"{text!r}: {words[0]!r} is no number; one looks like 9.1")
    if len(words) < 2:
        raise ObservationError(f"{text!r} has no unit; a reading is in V or mV, with a point for decimals: 9.1 V")
    unit = unit_name(words[1])
    if unit is None or unit not in UNITS_OF["voltage"]:
        found = f"is in {words[1]}" if unit is not None else f"has {words[1]!r} where its unit belongs"
        raise ObservationError(f"{text!r} {found}; a reading is in {' or '.join(UNITS_OF['voltage'])}")
    return float(words[0]) * UNITS[unit].factor


def _setting(words: list[str]) -> Setting:
    match words:
        case ["AC"]:
            return "AC"
        case ["DC"]:
            return "DC"
    return ""


def _set(setting: Setting) -> str:
    """How a meter is set, before where it reads."""
    return f"{setting} " if setting else ""


def _at(volts: float, of: str, name: str, known: Places, setting: Setting) -> Read:
    """A reading at a terminal of a thing, or at one that is named in full."""
    named = _end(name)
    terminal = _terminal(named if not of or named.terminal else End(_end(of).part, name), known)
    return Read(*known.at(terminal), volts, f"{_set(setting)}at {terminal}", setting=setting)


def _thing(name: str, known: Places) -> str:
    thing = next((each for each in known.things if each == name), None)
    if thing is None:
        raise UnknownThingError(name, known.things)
    return thing


def _end(word: str) -> End:
    """What somebody wrote for an end: ``PART.TERMINAL``, or a part alone."""
    part, _, terminal = word.partition(".")
    return End(part, terminal)


def _terminal(end: End, known: Places) -> End:
    """A terminal that something is wired to. A way has two, one on each side of the connector."""
    if end in known.terminals:
        return end
    socket, pin = End(end.part, f"{end.terminal}s"), End(end.part, f"{end.terminal}p")
    if socket in known.terminals and pin in known.terminals:
        raise ObservationError(f"{end} has two sides: {socket} in the socket and {pin} on the pin")
    inside = tuple(sorted(each for each in known.terminals if each.terminal and each.part == end.part))
    raise UnknownThingError(end, inside or tuple(sorted(known.terminals)), "terminal with something wired to it")
