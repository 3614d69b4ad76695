"""The circuit of a harness: every two-terminal thing as a branch between nodes, and what moves the branches.

A node is an ``End``: a terminal (``KEY.30``), half a way (``C1.3s``), a splice or a body of ground (``SP1``,
``FRAME``). The three graphs of the analysis (conductors, nets, wide) are views of the same branches;
``lang.circuit.graphs`` makes them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from ..model.conditions import TOLD_APART
from ..model.harness import Harness
from ..model.parts import (
    Capacitor,
    Connector,
    Diode,
    Flasher,
    Fuse,
    Load,
    Meter,
    Output,
    Part,
    Rectifier,
    Regulator,
    Relay,
    Resistor,
    Sensor,
    Source,
    Switch,
    Unit,
)
from ..search.walks import closure
from ..vocabulary.words import SIGNAL_POSITIONS
from .branch import Branch, Control, Guard, InPosition, Item, On, Pulled, Supply
from .branch_types import OF_ELEMENT, BranchType
from .circuit import Circuit
from .ids import BranchId, End, Role, field_of, inside, mounting, piece_of, unit_supply


# --- making it -------------------------------------------------------------------------------------------------------
def build_circuit(harness: Harness) -> Circuit:
    """The circuit of a harness.

    Branch keys as they are shown: ``wire NAME`` (a piece's name), ``C1.3`` (a way), ``MAIN`` (fuse, diode, resistor,
    meter, capacitor), ``KEY 30-15`` (a contact), ``K coil``, ``HEAD.dip`` (an element), ``ALT field``, ``CTRL supply``,
    ``CTRL.horn`` (an output), ``mount REAR.31``, ``mount ENGINE to FRAME`` (a ground on another).
    """
    controls = _controls(harness)
    branches = [*_wires(harness), *_mounts(harness)]
    for part in harness.parts.values():
        branches.extend(_inside(part, controls))
    return Circuit(harness, _numbered(branches), tuple(_supplies(harness, branches)), controls)


def _numbered(branches: list[Branch]) -> tuple[Branch, ...]:
    """Two contacts may bear one key (a pair in two rows of a relay): the later ones get a number."""
    seen: dict[BranchId, int] = {}
    result = []
    for branch in branches:
        count = seen[branch.key] = seen.get(branch.key, 0) + 1
        result.append(branch if count == 1 else replace(branch, key=branch.key.numbered(count)))
    return tuple(result)


def _controls(harness: Harness) -> dict[str, Control]:
    """Every variable of a combination, switches by their control, then the engine; a shared one joins its positions."""
    found: dict[str, Control] = {}
    for part in harness.parts.values():
        if isinstance(part, Switch) and part.positions:
            name = part.control
            names = tuple(p.name for p in part.positions)
            old = found.get(name)
            if old is None:
                found[name] = Control(
                    name=name,
                    positions=names,
                    rest=part.rests,
                    span=part.span,
                    switches=(part.name,),
                    momentary=part.momentary,
                    sensed=part.senses,
                    key=part.key,
                    free=part.senses == "crank",
                )
            else:
                found[name] = replace(
                    old,
                    positions=tuple(dict.fromkeys((*old.positions, *names))),
                    switches=(*old.switches, part.name),
                )
        elif isinstance(part, Unit):
            for given in part.inputs:
                if given.mode == "signal":
                    name = inside(part.name, given.name, Role.SIGNAL)
                    found[name] = Control(
                        name=name,
                        positions=SIGNAL_POSITIONS,
                        rest=SIGNAL_POSITIONS[0],
                        span=part.shown_at(given.span),
                        sensed="crank",
                        free=True,
                    )
    found["engine"] = Control(name="engine", positions=TOLD_APART, rest="off", span=None)
    return found


def _wires(harness: Harness) -> Iterator[Branch]:
    for segment in harness.segments:
        yield Branch(
            key=piece_of(segment),
            branch_type=BranchType.WIRE,
            a=segment.a,
            b=segment.b,
            span=segment.span,
            segment=segment,
        )


def _mounts(harness: Harness) -> Iterator[Branch]:
    for mount in harness.mounts:
        yield Branch(
            key=mounting(mount),
            branch_type=BranchType.MOUNT,
            a=End(mount.part, mount.terminal),
            b=End(mount.ground),
            span=mount.span,
            part=mount.part,
            reliable=mount.through is None,
        )


def _inside(part: Part, controls: dict[str, Control]) -> Iterator[Branch]:
    """The branches inside one part."""

    def branch(
        role: Role,
        branch_type: BranchType,
        a: str,
        b: str,
        *,
        detail: str = "",
        item: Item = None,
        guard: Guard | None = None,
    ) -> Branch:
        span = part.shown_at(item.span) if item is not None else part.span
        named = f"{a}-{b}" if role in (Role.CONTACT, Role.LEG) else detail
        return Branch(
            key=BranchId(part.name, role, named),
            branch_type=branch_type,
            a=End(part.name, a),
            b=End(part.name, b),
            span=span,
            part=part.name,
            item=item,
            guard=guard,
        )

    match part:
        case Source():
            if part.field_winding:
                yield branch(
                    Role.FIELD,
                    BranchType.FIELD,
                    part.field_winding.plus,
                    part.field_winding.minus,
                    item=part.field_winding,
                )
            for winding in part.windings:
                yield branch(
                    Role.WINDING,
                    BranchType.WINDING,
                    winding.terminals[0],
                    winding.terminals[-1],
                    detail=winding.name,
                    item=winding,
                )
        case Rectifier():
            if part.output:
                for phase in part.phases:
                    yield branch(Role.LEG, BranchType.LEG, phase, part.output.plus)
                    yield branch(Role.LEG, BranchType.LEG, part.output.minus, phase)
            if part.trio:
                for phase in part.phases:
                    yield branch(Role.LEG, BranchType.LEG, phase, part.trio)
        case Regulator():
            if part.passes:
                yield branch(Role.PASS, BranchType.PASS, *part.passes)
            if part.cut_out:
                yield branch(Role.CUT_OUT, BranchType.CUT_OUT, *part.cut_out)
        case Capacitor():
            yield branch(Role.PART, BranchType.CAPACITOR, "+", "-")
        case Diode():
            yield branch(Role.PART, BranchType.DIODE, "A", "K")
        case Resistor():
            yield branch(Role.PART, BranchType.RESISTOR, "1", "2")
        case Meter():
            yield branch(Role.PART, BranchType.METER, "1", "2")
        case Fuse():
            yield branch(Role.PART, BranchType.FUSE, "1", "2")
        case Switch():
            yield from _contacts(part, controls[part.control] if part.positions else None)
        case Relay():
            if part.coil:
                yield branch(Role.COIL, BranchType.COIL, part.coil.plus, part.coil.minus, item=part.coil)
            for a, b in part.released:
                if (a, b) not in part.pulled:
                    yield branch(Role.CONTACT, BranchType.CONTACT, a, b, guard=Pulled(part.name, False))
            for a, b in part.pulled:
                guard = None if (a, b) in part.released else Pulled(part.name, True)
                yield branch(Role.CONTACT, BranchType.CONTACT, a, b, guard=guard)
        case Flasher():
            if part.flash:
                yield branch(Role.PART, BranchType.FLASHER, *part.flash)
            if part.flash and part.pilot:
                yield branch(Role.PILOT, BranchType.FLASHER, part.flash[0], part.pilot)
            if part.supply:
                yield branch(Role.SUPPLY, BranchType.ELECTRONICS, *part.supply)
        case Load():
            for element in part.elements:
                yield branch(
                    Role.ELEMENT,
                    BranchType.PRIMARY if element.points else OF_ELEMENT[element.what],
                    element.plus,
                    element.minus,
                    detail=element.name,
                    item=element,
                )
        case Sensor():
            if part.signal:
                yield branch(Role.PART, BranchType.SENSOR, *part.signal)
        case Unit():
            yield from _inside_unit(part)
        case Connector():
            for number in part.numbers:
                yield Branch(
                    key=BranchId(part.name, Role.CAVITY, str(number)),
                    branch_type=BranchType.WAY,
                    a=End(part.name, f"{number}s"),
                    b=End(part.name, f"{number}p"),
                    span=part.span,
                    part=part.name,
                )


def _contacts(switch: Switch, control: Control | None) -> Iterator[Branch]:
    """One branch for each pair of a contact table, closed in every position of the control that closes it."""
    if control is None:
        return
    rows = {position.name: position.pairs for position in switch.positions}
    closed: dict[tuple[str, str], set[str]] = {}
    for position in control.positions:
        for pair in rows.get(_own_position(switch, position), ()):
            closed.setdefault(pair, set()).add(position)
    for (a, b), positions in closed.items():
        yield Branch(
            key=BranchId(switch.name, Role.CONTACT, f"{a}-{b}"),
            branch_type=BranchType.CONTACT,
            a=End(switch.name, a),
            b=End(switch.name, b),
            span=switch.span,
            part=switch.name,
            guard=InPosition(control.name, frozenset(positions)),
        )


def _own_position(switch: Switch, position: str) -> str:
    """The position of a switch while the shared quantity is in ``position``.

    A gearbox switch that knows only neutral and in-gear is in its other position while a second one, that tells the
    gears apart, says "third".
    """
    names = [p.name for p in switch.positions]
    if position in names:
        return position
    others = [name for name in names if name != "neutral"]
    return others[0] if others else ""


def _inside_unit(unit: Unit) -> Iterator[Branch]:
    def node(terminal: str) -> End:
        return End(unit.name, terminal)

    supplies = {supply.name: supply for supply in unit.supplies}
    for supply in unit.supplies:
        yield Branch(
            key=unit_supply(unit, supply),
            branch_type=BranchType.SUPPLY,
            a=node(supply.plus),
            b=node(supply.minus),
            span=unit.shown_at(supply.span),
            part=unit.name,
            item=supply,
        )
    first = unit.supplies[0] if unit.supplies else None
    if first:
        for common in unit.commons:
            yield Branch(
                key=BranchId(unit.name, Role.COMMON, common),
                branch_type=BranchType.LINK,
                a=node(common),
                b=node(first.minus),
                span=unit.span,
                part=unit.name,
            )
    for output in unit.outputs:
        supply_of = supplies.get(output.supply, first)
        if supply_of is None:
            continue
        a, b = (output.terminal, supply_of.minus) if output.grounded else (supply_of.plus, output.terminal)
        yield Branch(
            key=inside(unit.name, output.name, Role.OUTPUT),
            branch_type=BranchType.OUTPUT,
            a=node(a),
            b=node(b),
            span=unit.shown_at(output.span),
            part=unit.name,
            item=output,
            guard=On(unit.name, output.name),
        )


def _regulated_terminals(harness: Harness, branches: Iterable[Branch]) -> frozenset[End]:
    """The terminals that copper joins to the output of a field regulator: it feeds them, and nothing in the machine."""
    near: dict[End, list[End]] = {}
    for branch in branches:
        if branch.branch_type.conductor:
            near.setdefault(branch.a, []).append(branch.b)
            near.setdefault(branch.b, []).append(branch.a)
    met = {End(p.name, p.passes[1]) for p in harness.parts.values() if isinstance(p, Regulator) and p.passes}
    return frozenset(closure(met, lambda node: near.get(node, ())))


def _supplies(harness: Harness, branches: Iterable[Branch]) -> Iterator[Supply]:
    fields = tuple(
        field_of(part.name) for part in harness.parts.values() if isinstance(part, Source) and part.field_winding
    )
    for part in harness.parts.values():

        def node(terminal: str, name: str = part.name) -> End:
            return End(name, terminal)

        match part:
            case Source(what="battery"):
                yield Supply(part=part.name, kind="battery", plus=(node("+"),), minus=node("-"), span=part.span)
            case Source():
                if part.output:
                    own_field = part.field_winding
                    taps = (
                        (node(own_field.plus),)
                        if own_field
                        and own_field.plus != part.output.plus
                        and node(own_field.plus) not in _regulated_terminals(harness, branches)
                        else ()
                    )
                    yield Supply(
                        part=part.name,
                        kind="machine",
                        plus=(node(part.output.plus), *taps),
                        minus=node(part.output.minus),
                        span=part.shown_at(part.output.span),
                        output=part.output,
                        field_keys=(field_of(part.name),) if own_field and part.what == "alternator" else (),
                    )
                for winding in part.windings:
                    yield Supply(
                        part=part.name,
                        winding=winding.name,
                        kind="winding",
                        plus=tuple(node(t) for t in winding.terminals[:-1]),
                        minus=node(winding.terminals[-1]),
                        span=part.shown_at(winding.span),
                    )
            case Rectifier(output=Output() as output):
                yield Supply(
                    part=part.name,
                    kind="machine",
                    plus=(node(output.plus), *((node(part.trio),) if part.trio else ())),
                    minus=node(output.minus),
                    span=part.shown_at(output.span),
                    output=output,
                    phases=tuple(node(phase) for phase in part.phases),
                    field_keys=fields,
                )
            case _:
                pass
