"""Single faults of wiring planted into sound harnesses, as somebody makes them, to try the search for causes on."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path

from loomwright.checks.causes.changes import moved_ends, swapped, with_end_at, with_part, without_wire
from loomwright.checks.logic.connected import Copper
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import Connector, Diode, Ground, Source, Splice, Switch, Unit
from loomwright.lang.model.wires import End

SPECS = Path(__file__).resolve().parents[1] / "specs"


@dataclass(frozen=True)
class Planted:
    """A harness with one fault: what was done, the wire or part it was done to, and the sound harness."""

    what: str
    names: tuple[str, ...]
    sound: Harness
    faulty: Harness


def sound_harnesses() -> Iterator[Harness]:
    """The demonstrations and the small ones."""
    for path in (SPECS / "stock.loom", SPECS / "rebuild.loom", *sorted((SPECS / "small").glob("*.loom"))):
        reading = read_file(str(path))
        assert not reading.mistakes
        yield reading.harness


def joins_of(harness: Harness) -> frozenset[object]:
    """What is joined with what, and what the file says of inputs and contacts: a repaired harness is alike in this."""
    groups = Copper(build_circuit(harness)).bare.members.values()
    told: list[object] = []
    for part in harness.parts.values():
        if isinstance(part, Unit):
            told += [(part.name, given.name, given.mode) for given in part.inputs]
        elif isinstance(part, Switch):
            told += [(part.name, position.name, position.pairs) for position in part.positions]
    return frozenset((*(frozenset(nodes) for nodes in groups if len(nodes) > 1), *told))


def planted(harness: Harness, seed: int) -> Planted | None:
    """One fault, by chance; ``None`` where this kind finds no place in this harness, or changes nothing."""
    chance = random.Random(seed)
    found = chance.choice(KINDS)(harness, chance)
    if found is None or joins_of(found.faulty) == joins_of(harness):
        return None
    return found


def _turned(harness: Harness, chance: random.Random) -> Planted | None:
    pairs = [(p.name, "A", "K") for p in harness.parts.values() if isinstance(p, Diode)]
    pairs += [(p.name, "+", "-") for p in harness.parts.values() if isinstance(p, Source) and p.what == "battery"]
    if not pairs:
        return None
    part, one, other = chance.choice(pairs)
    return Planted("turned", (part,), harness, swapped(harness, part, one, other))


def _exchanged(harness: Harness, chance: random.Random) -> Planted | None:
    """Two leads of one part, or two ways of one half of a plug, exchanged."""
    pairs = []
    for part in harness.parts.values():
        if isinstance(part, Connector):
            for half in "sp":
                ways = [f"{number}{half}" for number in range(1, part.ways + 1)]
                pairs += [(part.name, one, other) for one, other in combinations(ways, 2)]
        elif not isinstance(part, Ground | Splice):
            pairs += [(part.name, one, other) for one, other in combinations(part.terminals, 2)]
    part_, one, other = chance.choice(pairs)
    return Planted("exchanged", (part_,), harness, swapped(harness, part_, one, other))


def _misplaced(harness: Harness, chance: random.Random) -> Planted | None:
    """A wire on another terminal of the part where it belongs."""
    ends = [
        (segment, side, end)
        for wire in harness.wires.values()
        for segment, side, end in (
            (wire.segments[0], 0, wire.segments[0].a),
            (wire.segments[-1], 1, wire.segments[-1].b),
        )
        if end.terminal
        and len(harness.parts[end.part].terminals) > 1
        and not isinstance(harness.parts[end.part], Connector)
    ]
    segment, side, end = chance.choice(ends)
    to = chance.choice([t for t in harness.parts[end.part].terminals if t != end.terminal])
    names = (segment.wire, end.part)
    return Planted("misplaced", names, harness, with_end_at(harness, segment.name, side, End(end.part, to)))


def _elsewhere(harness: Harness, chance: random.Random) -> Planted | None:
    """A wire at another part nearby: one that shares a place with the part where it belongs."""
    wire = chance.choice(list(harness.wires.values()))
    segment, side = (wire.segments[0], 0) if chance.random() < 0.5 else (wire.segments[-1], 1)
    end = segment.b if side else segment.a
    home = set(harness.parts[end.part].places)
    near = [
        End(part.name, terminal)
        for part in harness.parts.values()
        if part.name != end.part and home & set(part.places) and not isinstance(part, Connector | Ground | Splice)
        for terminal in part.terminals
    ]
    if not near:
        return None
    to = chance.choice(near)
    return Planted("elsewhere", (wire.name, end.part, to.part), harness, with_end_at(harness, segment.name, side, to))


def _forgotten(harness: Harness, chance: random.Random) -> Planted | None:
    """A ground lead or strap, or the mount of a terminal, that was forgotten."""
    grounds = {part.name for part in harness.parts.values() if isinstance(part, Ground)}
    wires = [w.name for w in harness.wires.values() if {w.a.part, w.b.part} & grounds]
    choices = [*wires, *range(len(harness.mounts))]
    chosen = chance.choice(choices)
    if isinstance(chosen, int):
        mount = harness.mounts[chosen]
        left = tuple(each for each in harness.mounts if each is not mount)
        return Planted("forgotten", (mount.part,), harness, replace(harness, mounts=left))
    wire = harness.wires[chosen]
    return Planted("forgotten", (wire.a.part, wire.b.part), harness, without_wire(harness, chosen))


def _wrong_kind(harness: Harness, chance: random.Random) -> Planted | None:
    units = [part for part in harness.parts.values() if isinstance(part, Unit)]
    inputs = [(unit, given) for unit in units for given in unit.inputs if given.mode != "signal"]
    if not inputs:
        return None
    unit, given = chance.choice(inputs)
    other = replace(given, mode="grounded" if given.mode == "fed" else "fed")
    wrong = replace(unit, inputs=tuple(other if each is given else each for each in unit.inputs))
    return Planted("kind of input", (unit.name,), harness, with_part(harness, wrong))


def _bridged(harness: Harness, chance: random.Random) -> Planted | None:
    """A wire too many: a copy of one that ends at another terminal of the same part."""
    wires = [w for w in harness.wires.values() if len(w.segments) == 1]
    wire = chance.choice(wires)
    part = harness.parts[wire.b.part]
    others = [t for t in part.terminals if t != wire.b.terminal]
    if not wire.b.terminal or not others or isinstance(part, Connector):
        return None
    end = End(part.name, chance.choice(others))
    segment = replace(wire.segments[0], wire="bridge", number=0, b=end)
    extra = replace(wire, name="bridge", b=end, segments=(segment,))
    return Planted("bridged", ("bridge",), harness, replace(harness, wires={**harness.wires, "bridge": extra}))


Kind = Callable[[Harness, random.Random], Planted | None]
KINDS: tuple[Kind, ...] = (_turned, _exchanged, _misplaced, _elsewhere, _forgotten, _wrong_kind, _bridged)

__all__ = ["KINDS", "Planted", "joins_of", "moved_ends", "planted", "sound_harnesses"]
