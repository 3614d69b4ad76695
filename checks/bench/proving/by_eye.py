"""Stage 0: what only eyes tell. Colours and sizes, shared crimps, rings on diodes, fuse markings, ends of one net."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ....lang.diagnostics.messages import plainly_listed
from ....lang.model.parts import Connector, Diode, Fuse
from ....lang.quantities.quantity import Quantity, shown
from .points import ringed
from .rows import Expected, Row

if TYPE_CHECKING:
    from ....lang.model.harness import Harness
    from ..pieces import Piece
    from .points import Point
    from .table import Net, TableLoom


def by_eye(harness: Harness, looms: Sequence[TableLoom]) -> tuple[Row, ...]:
    """The looks, numbered: loom by loom, then diodes and fuses."""
    looks: list[tuple[str, str, tuple[str, ...]]] = []
    for loom in looms:
        sheet = f"loom {loom.loom.name}"
        looks += [(sheet, *look) for look in _seats(loom)]
        looks += [(sheet, *look) for look in _shared(loom)]
        looks += [(sheet, *_alike(net)) for net in loom.alike]
        looks += [
            (sheet, f"{wrong.words}: a meter cannot show it, since another path is in parallel", (wrong.pieces[0][0],))
            for wrong in loom.unseen
            if wrong.sort == "open"
        ]
    looks += [("diodes", *look) for look in _diodes(harness)]
    looks += [("fuses", *_fuse(part)) for part in harness.parts.values() if isinstance(part, Fuse)]
    return tuple(
        Row(number=f"0.{number}", sheet=sheet, expected=Expected(way="look", words=words), about=about)
        for number, (sheet, words, about) in enumerate(looks, 1)
    )


def _looks(piece: Piece) -> str:
    """``red/white 4 mm2``; what the text does not say is left out."""
    return " ".join(word for word in (str(piece.colour or ""), piece.size.text if piece.size else "") if word)


def _wire(piece: Piece) -> str:
    looks = _looks(piece)
    return f"wire {piece.name} ({looks})" if looks else f"wire {piece.name}"


def _seats(loom: TableLoom) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What sits in each half of a plug and on each part, in the order of the terminals in the text."""
    seats: dict[str, list[Point]] = {}
    for point in loom.points:
        seats.setdefault(point.seat, []).append(point)
    for seat, points in seats.items():
        said = []
        for point in sorted(points, key=lambda point: _order(loom, point)):
            wires = list(dict.fromkeys(name for name, _ in point.ends))
            at = _terminal(loom, point)
            listed = " and ".join(_wire(loom.pieces[name]) for name in wires)
            said.append(f"{at}: {listed}" if at else listed)
        yield f"{seat}: {'; '.join(said)}", tuple(name for point in points for name, _ in point.ends)


def _terminal(loom: TableLoom, point: Point) -> str:
    """The terminal or way that a point is; empty for a ground, a splice and a bare end."""
    name, side = point.ends[0]
    end = loom.pieces[name].ends[side].end
    if end is None:
        return ""
    return end.way.terminal if isinstance(loom.harness.parts[end.part], Connector) else end.terminal


def _order(loom: TableLoom, point: Point) -> tuple[int, str]:
    """Ways by their numbers, other terminals as the part has them."""
    terminal = _terminal(loom, point)
    part = loom.harness.parts.get(point.seat)
    known = part.terminals if part is not None else ()
    number = known.index(terminal) if terminal in known else int(terminal) if terminal.isdecimal() else 0
    return number, terminal


def _shared(loom: TableLoom) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Posts and studs that several ring terminals are on, and crimps that hold several wires."""
    rings: dict[str, list[tuple[str, ...]]] = {}
    for point in loom.points:
        wires = tuple(dict.fromkeys(name for name, _ in point.ends))
        end = loom.pieces[point.ends[0][0]].ends[point.ends[0][1]]
        if end.end is not None and ringed(loom.harness, end):
            rings.setdefault(end.end, []).append(wires)
        if len(wires) > 1:
            yield f"{point.name}: wires {' and '.join(wires)} in one crimp, all strands in it", wires
    for stud, crimps in rings.items():
        if len(crimps) > 1:
            listed = plainly_listed([f"wire{'s' * (len(wires) > 1)} {' and '.join(wires)}" for wires in crimps], "and")
            each = tuple(name for wires in crimps for name in wires)
            yield f"{stud}: {listed}, each in its own ring terminal, all strands in it", each


def _alike(net: Net) -> tuple[str, tuple[str, ...]]:
    """Ends of one net: whichever changes places with which, every reading stays the same."""
    name = net.splices[0] if net.splices else net.reference.name
    ends = ", ".join(
        f"{point.name} wire {' and '.join(dict.fromkeys(n for n, _ in point.ends))}" for point in net.points
    )
    return f"net of {name}: a meter cannot tell these ends apart, so follow each wire by its label: {ends}", net.pieces


def _diodes(harness: Harness) -> Iterator[tuple[str, tuple[str, ...]]]:
    for part in harness.parts.values():
        if isinstance(part, Diode):
            wires = [w.name for w in harness.wires.values() for end in (w.a, w.b) if end == f"{part.name}.K"]
            side = f" (wire {', '.join(wires)})" if wires else ""
            yield f"{part.name}: its ring (the cathode) is towards K{side}", (part.name,)


def _fuse(fuse: Fuse) -> tuple[str, tuple[str, ...]]:
    marked = fuse.amps if fuse.blows is None else fuse.blows
    rated = "as marked on the sheet of the maker" if marked is None else shown(Quantity(marked, "A"))
    return f"{fuse.name}: marked {rated}{f', {fuse.form}' if fuse.form else ''}", (fuse.name,)
