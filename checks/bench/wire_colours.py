"""What the colours of the wires mean: when those of each are live, or grounded."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import End
from ...lang.model.wires import Segment
from ...lang.records import dataclass
from ...lang.vocabulary.colours import Colour
from ..behaviour import Behaviour
from ..behaviour.trace import fed_fields
from ..behaviour.when import when
from ..logic.predicates import FirstCurrent
from ..protection.sides import Sides

Meaning = Literal["ground", "live", "grounded", "neither"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What some wires of one colour are for: ``ground`` always; else ``live`` or ``grounded`` when ``whenever`` says;
    ``neither`` by copper and contacts alone, such as a sensor's lead or a phase.
    """

    meaning: Meaning
    whenever: str
    wires: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WireColour:
    """A colour and what it is used for, the use of most wires first."""

    colour: Colour
    uses: tuple[Use, ...]


def wire_colours(circuit: Circuit) -> tuple[WireColour, ...]:
    """Every colour of the harness, by name."""
    meanings = _Meanings(circuit)
    found: dict[Colour, dict[tuple[Meaning, str], list[str]]] = {}
    for wire in circuit.harness.wires.values():
        for segment in wire.segments[:1]:
            if segment.colour is not None:
                found.setdefault(segment.colour, {}).setdefault(meanings.of(segment), []).append(wire.name)
    colours = (
        WireColour(
            colour=colour,
            uses=tuple(
                Use(meaning=meaning, whenever=whenever, wires=tuple(wires))
                for (meaning, whenever), wires in sorted(uses.items(), key=lambda each: -len(each[1]))
            ),
        )
        for colour, uses in found.items()
    )
    return tuple(sorted(colours, key=lambda each: str(each.colour)))


class _Meanings:
    """Asks each net once."""

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self._sides = Sides(circuit)
        self._behaviour = Behaviour.of(circuit)
        self._known: dict[int, tuple[Meaning, str]] = {}

    def of(self, segment: Segment) -> tuple[Meaning, str]:
        end = segment.a
        net = self._circuit.nets.of[end]
        if net not in self._known:
            self._known[net] = self._asked(end)
        return self._known[net]

    def _asked(self, end: End) -> tuple[Meaning, str]:
        if end in self._sides.returns:
            return "ground", ""
        fed = when(self._behaviour, Behaviour.fed(end))
        if not fed.never:
            return "live", "; ".join((fed.words(), *self._first_current(end)))
        grounded = when(self._behaviour, Behaviour.grounded(end))
        return ("neither", "") if grounded.never else ("grounded", grounded.words())

    def _first_current(self, end: End) -> Iterator[str]:
        """When other loads bring a field its first current by this net: some volts are right then, and none a fault."""
        for field in fed_fields(self._behaviour.logic, end):
            first = when(self._behaviour, FirstCurrent(field.key, end))
            if not first.never:
                yield f"{field.part}'s first field current, at a low voltage, {first.words()}"
