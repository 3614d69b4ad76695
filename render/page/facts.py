"""What the page says of each wire and part whatever the controls do: names, places, plugs, what protects it."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

from ...checks.protection.sustained_fault import is_device
from ...lang.model.parts import Fuse, Ground, Switch
from ...lang.quantities.quantity import Quantity, shown
from ...lang.vocabulary.kinds import KINDS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...checks.conductors.loading import WireLoading
    from ...checks.study import Study
    from ...lang.circuit.ids import End
    from ...lang.model.parts import Part
    from ...lang.model.wires import Wire

Json = dict[str, Any]


def wires(study: Study) -> list[Json]:
    """The wires in the order of the text; ``pieces`` are their branches."""
    return [_wire(wire, study) for wire in study.harness.wires.values()]


def _wire(wire: Wire, study: Study) -> Json:
    pieces = study.circuit.wire(wire.name)
    known = [segment.length for segment in wire.segments if segment.length is not None]
    whole = len(known) == len(wire.segments)
    return {
        "name": wire.name,
        "colour": str(wire.colour or ""),
        "size": wire.size.text.replace("mm2", "mm²") if wire.size else "",
        "length": shown(Quantity(sum(known), "m")) if whole and known else "",
        "from": str(wire.a.node),
        "to": str(wire.b.node),
        "from_place": _place(wire.a.node, study),
        "to_place": _place(wire.b.node, study),
        "plugs": list(dict.fromkeys(end.part for piece in pieces[1:] for end in (piece.a,))),
        "protected": _protected(study.conductors.of_wire(wire.name)),
        "pieces": [str(piece.key) for piece in pieces],
    }


def _place(end: End, study: Study) -> str:
    part = study.harness.parts.get(end.part)
    return part.place or "" if part is not None else ""


def _protected(loading: WireLoading) -> str:
    """What limits the current of a fault in a wire."""
    worst = loading.protected_by
    if worst is None:
        return "fed through loads at most: no fuse has to protect it"
    if not worst.protected:
        return "no fuse protects it"
    devices = [f"{each.name} ({shown(Quantity(each.amps, 'A'))})" if each.amps else each.name for each in worst.limits]
    return f"protected by {' and '.join(devices)}"


def parts(study: Study) -> list[Json]:
    """The parts in the order of the text."""
    return [_part(part, study) for part in study.harness.parts.values()]


def _part(part: Part, study: Study) -> Json:
    ends = [str(end) for end in study.circuit.terminals if end.part == part.name]
    return {
        "name": part.name,
        "label": part.label or "",
        "what": KINDS[part.kind].says,
        "kind": part.kind,
        "places": list(part.places),
        "system": part.system or "",
        "ends": ends,
        "positions": dict(_positions(part)),
    }


def _positions(part: Part) -> Iterator[tuple[str, str]]:
    """What a switch joins in each of its positions."""
    if isinstance(part, Switch):
        for position in part.positions:
            yield position.name, ", ".join("-".join(pair) for pair in position.pairs) or "nothing"


def devices(study: Study) -> list[Json]:
    """What opens when too much flows, the smallest first: a fuse blows, a breaker or an output of a unit trips."""
    found = []
    for branch in study.circuit.branches:
        if is_device(branch):
            part = study.harness.parts.get(branch.part)
            melts = isinstance(part, Fuse) and part.form != "breaker"
            amps = study.protection.limit(branch.key).amps
            found.append({"key": str(branch.key), "amps": amps, "opened": "blown" if melts else "tripped"})
    return sorted(found, key=lambda each: inf if each["amps"] is None else each["amps"])


def grounds(study: Study) -> list[Json]:
    """What can be lost of the ground: every wire and mounting at each body of metal, and each mounting by itself."""
    branches = study.circuit.branches
    found = []
    for part in study.harness.parts.values():
        if isinstance(part, Ground):
            touching = [str(branch.key) for branch in branches if part.name in (branch.a, branch.b)]
            if touching:
                found.append({"name": f"all that is on {part.name}", "open": touching})
    mounted = [str(b.key) for b in branches if b.branch_type.title == "mount"]
    return [*found, *({"name": key, "open": [key]} for key in mounted)]
