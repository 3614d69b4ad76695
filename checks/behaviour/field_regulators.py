"""Which field regulator is in which machine's field circuit, and which one is passed by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.model.parts import Regulator, Source

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit.circuit import Circuit
    from ..logic.connected import Copper

Ends = tuple[End, End]


def field_machines(circuit: Circuit) -> tuple[Source, ...]:
    """The machines with a wound field, in the order of the text."""
    return tuple(p for p in circuit.harness.parts.values() if isinstance(p, Source) and p.field_winding)


def field_regulators(circuit: Circuit) -> tuple[Regulator, ...]:
    """The regulators that pass a field's current, in the order of the text."""
    return tuple(p for p in circuit.harness.parts.values() if isinstance(p, Regulator) and p.passes)


def passes(regulator: Regulator) -> Ends:
    """Where current enters a field regulator, and where it leaves."""
    assert regulator.passes  # noqa: S101
    first, last = regulator.passes
    return End(regulator.name, first), End(regulator.name, last)


def field_ends(machine: Source) -> Ends:
    """The + and the - of a machine's field."""
    assert machine.field_winding  # noqa: S101
    return End(machine.name, machine.field_winding.plus), End(machine.name, machine.field_winding.minus)


def is_right(circuit: Circuit, copper: Copper, regulator: Regulator, machine: Source) -> bool:
    """Whether a field is behind its regulator by its +, or before it by its -, and not only at ground as both may be.

    Current goes from the + of the field to its -, and through the regulator from where it enters to where it leaves.
    With a positive ground the same words hold, since both pairs are written from + to -.
    """
    joined, ground = copper.fused, circuit.ground
    (enters, leaves), (plus, minus) = passes(regulator), field_ends(machine)
    pairs = (leaves, plus), (enters, minus)
    return any(joined.same(own, end) and not joined.same(end, ground) for own, end in pairs)


def bypassed(circuit: Circuit, copper: Copper) -> Iterator[tuple[Regulator, Source]]:
    """Each field regulator past which copper and contacts lead the full volts to the field of a machine, and that
    machine.

    Either copper connects the two ends of the regulator, or no regulator is in the leads of the field, its - is
    connected to the - of a source, and its + to a + or to where current enters the regulator, which goes on to nothing.
    A regulator of which no end is wired is not meant yet.
    """
    joined, switched = copper.fused, copper.switched
    machines, regulators = field_machines(circuit), field_regulators(circuit)
    right = {(r.name, m.name) for r in regulators for m in machines if is_right(circuit, copper, r, m)}
    with_own = {name for pair in right for name in pair}
    supplies = [supply for supply in circuit.supplies if supply.kind != "winding"]
    for regulator in regulators:
        enters, leaves = passes(regulator)
        if not any(copper.wires_at(end) for end in (enters, leaves)):
            continue
        for machine in machines:
            if (regulator.name, machine.name) in right:
                if joined.same(enters, leaves):
                    yield regulator, machine
            elif regulator.name not in with_own and machine.name not in with_own:
                plus, minus = field_ends(machine)
                feeds = {pole for supply in supplies for pole in supply.plus} - {plus}  # a machine may feed its own +
                full = joined.same(plus, enters) or any(switched.same(plus, pole) for pole in feeds)
                full = full and any(switched.same(minus, supply.minus) for supply in supplies)
                if full and not copper.is_wired((enters, leaves)):  # wired, it is exchanged
                    yield regulator, machine
