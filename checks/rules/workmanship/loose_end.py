"""Open ends: half-wired ways and splices, and terminals that are needed and not connected."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.editing.proposals import AddLine, Proposal
from ....lang.model.conditions import asked_by
from ....lang.model.parts import (
    Capacitor,
    Coil,
    Connector,
    Field,
    Load,
    Part,
    Rectifier,
    Regulator,
    Relay,
    Sensor,
    Source,
    Splice,
    Switch,
    Unit,
)
from ...behaviour.dependents import counted, dead_without
from ...behaviour.field_regulators import bypassed
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    yield from _splices(study)
    yield from _ways(study)
    yield from _dead_terminals(study)
    yield from _unreached(study)


def _outside(study: Study, node: End) -> tuple[Branch, ...]:
    """What comes to a terminal from outside its part: wires and mounts."""
    return tuple(b for b in study.circuit.at.get(node, ()) if b.branch_type in (BranchType.WIRE, BranchType.MOUNT))


def _capped(study: Study) -> frozenset[str]:
    return frozenset(capped.end.node for capped in study.harness.capped)


def _loose(study: Study, case: str, node: End, wire: Branch, first: str, **facts: str) -> Finding:
    """A wire that ends at ``node``. It is capped only once it is known to go nowhere: a cap hides what is missing."""
    fed = node in study.protection.feeds
    return RULE.found(
        f"{case}-live" if fed else case,
        wire.span,
        facts={"wire": wire.owner, "end": str(node), "part": node.part, **facts},
        level=Level.ERROR if fed else Level.WARNING,
        about=(wire.owner, node.part),
        proposals=(
            Proposal(
                f"{first}; where it is meant to end here, insulate it and write `capped {node}`",
                (AddLine(f"capped {node}"),),
            ),
        ),
    )


def _splices(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        if isinstance(part, Splice) and part.name not in _capped(study):
            wires = _outside(study, End(part.name))
            if len(wires) == 1:
                first = f"find out where wire {wires[0].owner} goes on from {part.name}"
                yield _loose(study, "splice", End(part.name), wires[0], first)


def _ways(study: Study) -> Iterator[Finding]:
    capped = _capped(study)
    for part in study.harness.parts.values():
        if not isinstance(part, Connector):
            continue
        for number in part.numbers:
            halves = [End(part.name, f"{number}{half}") for half in "sp"]
            wired = [_outside(study, half) for half in halves]
            if capped & set(halves) or bool(wired[0]) == bool(wired[1]):
                continue
            (wire, *_), empty = (wired[0], halves[1]) if wired[0] else (wired[1], halves[0])
            first = f"find out where wire {wire.owner} goes on from {empty}"
            yield _loose(study, "way", empty, wire, first, way=str(number))


def _dead_terminals(study: Study) -> Iterator[Finding]:
    """Wires at a terminal without a function in its part, with no other wire there."""
    capped = _capped(study)
    for part in study.harness.parts.values():
        used = set(_used(part, study))
        for terminal in part.terminals:
            node = End(part.name, terminal)
            wires = _outside(study, node)
            if (
                terminal not in used
                and len(wires) == 1
                and wires[0].branch_type is BranchType.WIRE
                and node not in capped
            ):
                first = f"find out to which terminal of {part.name} wire {wires[0].owner} belongs"
                yield _loose(study, "terminal", node, wires[0], first)


def _used(part: Part, study: Study) -> Iterator[str]:
    """The terminals that have a function in a part."""
    for branch in study.circuit.of_part.get(part.name, ()):
        if branch.branch_type is not BranchType.MOUNT:
            for node in (branch.a, branch.b):
                yield node.terminal
    for supply in study.circuit.supplies:
        if supply.part == part.name:
            for node in (*supply.plus, supply.minus, *supply.phases):
                yield node.terminal
    if isinstance(part, Source | Rectifier):
        yield from part.phases
    if isinstance(part, Regulator):
        yield from (*(part.sense or ()), *(part.shunts or ()))
    if isinstance(part, Load | Unit):
        yield from part.stop_lead or ()
    if isinstance(part, Unit):
        for given in part.inputs:
            yield given.terminal
            if given.back:
                yield given.back


def _unreached(study: Study) -> Iterator[Finding]:
    passed_by = {regulator.name for regulator, _ in bypassed(study.circuit, study.copper)}  # limiter-off says so
    for part in study.harness.parts.values():
        reached = {t for t in part.terminals if _outside(study, End(part.name, t))}
        if not reached:
            continue
        for terminal, use in _needed(part, reached):
            if isinstance(part, Regulator) and part.name in passed_by and terminal in (part.passes or ()):
                continue
            if terminal not in reached and End(part.name, terminal) not in _capped(study):
                dead, consumers = _dead_by(study, part, terminal)
                yield RULE.found(
                    "unconnected",
                    part.span,
                    facts={
                        "terminal": f"{part.name}.{terminal}",
                        "use": use,
                        "dead": counted(dead) if dead else "",
                    },
                    level=Level.ERROR if dead or use.startswith(PHASE) else Level.WARNING,
                    fix="ground" if terminal in _grounded_ends(study, part) else "wire",
                    about=(part.name,),
                    explains=(*dead, *consumers),
                    subject=f"terminal {part.name}.{terminal}",
                )


def _grounded_ends(study: Study, part: Part) -> frozenset[str]:
    """The terminals of a part on the side that the system grounds. No other is mounted on a ground: what feeds it, or
    what it is connected to inside, would be shorted.
    """
    pairs: list[tuple[str, str]] = []
    match part:
        case Load():
            pairs += [(element.plus, element.minus) for element in part.elements]
        case Relay(coil=Coil() as coil):
            pairs.append((coil.plus, coil.minus))
        case Source(field_winding=Field() as field):
            pairs.append((field.plus, field.minus))
        case Regulator(sense=(plus, minus)):
            pairs.append((plus, minus))
        case Unit():
            pairs += [(supply.plus, supply.minus) for supply in part.supplies]
        case Capacitor():
            pairs.append(("+", "-"))
    return frozenset(pair[1] if study.circuit.return_sign == "-" else pair[0] for pair in pairs)


def _dead_by(study: Study, part: Part, terminal: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The parts, and the consumers by key, that cannot work while a unit has one pole of its supply open."""
    if (
        not isinstance(part, Unit)
        or not part.supplies
        or terminal not in (part.supplies[0].plus, part.supplies[0].minus)
    ):
        return (), ()
    parts, keys = dead_without(study.circuit, part)
    return (part.name, *parts), keys


PHASE: Final = "phase of the stator"


def _needed(part: Part, reached: set[str]) -> Iterator[tuple[str, str]]:
    """The terminals that a wired part cannot work without, each with its function in a word or two."""
    found: dict[str, str] = {}
    if isinstance(part, Source | Rectifier) and reached & set(part.phases):
        left = len(reached & set(part.phases))
        less = f", {left} of {len(part.phases)} left: about half the output" if left > 1 else ""
        found |= dict.fromkeys(part.phases, f"{PHASE}{less}")
    if isinstance(part, Switch):
        pairs = [pair for position in part.positions for pair in position.pairs]
        found |= _partners(pairs, reached)
    elif isinstance(part, Relay):
        found |= _partners([*part.released, *part.pulled], reached)
        if part.coil:
            found |= dict.fromkeys((part.coil.plus, part.coil.minus), "coil")
    elif isinstance(part, Load):
        for element in part.elements:
            for terminal in (element.plus, element.minus):
                found.setdefault(terminal, element.name)
    elif isinstance(part, Source) and part.field_winding:
        found |= dict.fromkeys((part.field_winding.plus, part.field_winding.minus), "field")
    elif isinstance(part, Regulator):
        found |= dict.fromkeys(part.passes or (), "feed of the field")
        found |= dict.fromkeys(part.sense or (), "sense")
        found |= dict.fromkeys(part.cut_out or (), "cut-out")
    elif isinstance(part, Sensor) and part.signal:
        found |= dict.fromkeys(part.signal, "signal")
    elif isinstance(part, Unit):
        for supply in part.supplies:
            found |= dict.fromkeys((supply.plus, supply.minus), f"supply {supply.name}".strip())
        logic = {name for output in part.outputs for name in asked_by(output.when)}
        logic |= {n for latch in part.latches for when in (latch.set_when, latch.cleared_when) for n in asked_by(when)}
        for given in part.inputs:
            if given.name in logic:
                found[given.terminal] = f"input {given.name}, which an output or a latch depends on"
                if given.back:
                    found[given.back] = f"return of input {given.name}"
    elif part.kind in ("fuse", "diode", "resistor", "meter", "capacitor"):
        ends = {"diode": ("A", "K"), "capacitor": ("+", "-")}.get(part.kind, ("1", "2"))
        found |= dict.fromkeys(ends, "other end")
    yield from found.items()


def _partners(pairs: list[tuple[str, str]], reached: set[str]) -> dict[str, str]:
    """The partners of a wired terminal of which none is wired: it is then without use. Spare throws are not meant."""
    found: dict[str, str] = {}
    for terminal in sorted(reached):
        partners = {b if a == terminal else a for a, b in pairs if terminal in (a, b)}
        if partners and not partners & reached:
            found |= dict.fromkeys(sorted(partners), f"contact of {terminal}")
    return found


ENDS: Final = {
    "splice": "wire {wire} ends at splice {part}, where no other wire joins it",
    "way": "wire {wire} ends at way {way} of {part}, and no wire goes on from {end}",
    "terminal": "wire {wire} ends at {end}, a terminal without a function in {part}",
}
CAP: Final = "where it is meant to stay unconnected, insulate it and write `capped {terminal}`"


RULE = Rule(
    name="loose-end",
    level=Level.ERROR,
    family="workmanship",
    stage=Stage.TOPOLOGY,
    catches="a wire, splice or way with one side only, or a terminal that is needed and not connected",
    why="""A wire with an open end is unfinished work, or bare copper that touches metal at some bump: where it can be
    live, a short circuit. A lamp, coil or switch of which one side only is wired looks finished and does not work. An
    end that is meant to stay unconnected is insulated and written down with `capped`.""",
    source="common practice, no source",
    says={
        **ENDS,
        **{f"{case}-live": f"{template}, and that end can be live" for case, template in ENDS.items()},
        "unconnected": "{terminal} ({use}) is not connected[: {dead} cannot work]",
    },
    fixes={
        "wire": f"find out where {{terminal}} belongs, and wire it; {CAP}",
        "ground": f"find out where {{terminal}} belongs, and wire it or mount it on a ground; {CAP}",
    },
    cautions="Insulate a live end before any other work; never test with an end that is only taped.",
    find=find,
)
