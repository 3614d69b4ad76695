"""Single faults of a harness, as somebody makes them, on the frozen model and never on the text.

The one list of them: ``loomwright mutate`` puts each into the user's harness, the strategies put some into random ones.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal, get_args

from ...lang.model.parts import Connector, Fuse, Ground, Splice, Switch
from ...lang.model.wires import End, Wire
from ...lang.quantities.quantity import Quantity, shown
from ...lang.quantities.size import Size
from ...lang.records import dataclass
from ..causes.changes import swapped, with_end_at, with_part, without_wire
from ..causes.edits import outer_ends, sides
from ..tables.conductors import metric_sizes
from ..tables.fuses import ratings

if TYPE_CHECKING:
    from ...lang.diagnostics.diagnostic import Span
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Mount, Part
    from ...lang.model.wires import Segment

Kind = Literal[
    "fuse bridged",
    "fuse upsized",
    "wire thinned",
    "ground lost",
    "wire lost",
    "wire moved",
    "ends exchanged",
    "part turned",
    "switch bridged",
    "nets joined",
]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)
"""Every kind of fault, those that can start a fire first."""

SIZES_ONLY: Final = ("fuse upsized", "wire thinned")
"""Faults after which everything is connected as before, and as much is live."""

UPSIZED: Final = 2.0
"""A fuse is exchanged for the next one sold of at least this many times its rating (ours)."""
THINNED: Final = 0.5
"""A wire is exchanged for the thickest standard size of at most this share of its area (ours)."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong: what was done, to which parts and wires, where these stand, and the harness with it.

    ``adds`` is the name of a wire that is there besides: how that one is made tells nothing of the harness.
    """

    kind: Kind
    says: str
    touches: tuple[str, ...]
    span: Span
    apply: Callable[[], Harness]
    adds: str = ""

    @property
    def key(self) -> str:
        """What no other fault of the harness has."""
        return f"{self.kind}: {self.says}"


def faults(harness: Harness) -> tuple[Fault, ...]:
    """Every single fault of a harness, in the order of ``KINDS`` and of the text."""
    found = (fault for making in _MAKING for fault in making(harness))
    return tuple({fault.key: fault for fault in found}.values())


def _at(part: Part, kind: Kind, says: str, make: Callable[[], Harness]) -> Fault:
    """A fault at one part."""
    return Fault(kind, says, (part.name,), part.span, make)


# --- each kind -------------------------------------------------------------------------------------------------------
def _fuses(harness: Harness) -> Iterator[Fault]:
    for part in harness.parts.values():
        if isinstance(part, Fuse):
            yield _at(part, "fuse bridged", f"{part.name} is bridged", partial(bridged, harness, part))


def bridged(harness: Harness, fuse: Fuse) -> Harness:
    """A harness with a fuse that lets everything through: its two wires joined."""

    def joined(end: End) -> End:
        return End(fuse.name) if end.part == fuse.name else end

    wires = {}
    for name, wire in harness.wires.items():
        pieces = tuple(replace(piece, a=joined(piece.a), b=joined(piece.b)) for piece in wire.segments)
        wires[name] = replace(wire, a=pieces[0].a, b=pieces[-1].b, segments=pieces)
    mounts = tuple(replace(m, terminal="") if m.part == fuse.name else m for m in harness.mounts)
    splice = Splice(kind="splice", name=fuse.name, span=fuse.span, places=fuse.places, sealed=True)
    return replace(with_part(harness, splice), wires=wires, mounts=mounts)


def _larger_fuses(harness: Harness) -> Iterator[Fault]:
    for part in harness.parts.values():
        if isinstance(part, Fuse) and part.amps is not None:
            amps = next((each for each in ratings(part.form or "blade") if each >= UPSIZED * part.amps), None)
            larger = replace(part, amps=UPSIZED * part.amps if amps is None else amps)
            now, was = (shown(Quantity(each, "A")) for each in (larger.amps or 0.0, part.amps))
            yield _at(
                part, "fuse upsized", f"{part.name} is {now} in place of {was}", partial(with_part, harness, larger)
            )


def _thin_wires(harness: Harness) -> Iterator[Fault]:
    for wire in harness.wires.values():
        if wire.size is None:
            continue
        thinner = [size for size in metric_sizes() if size.area <= THINNED * wire.size.area]
        if thinner:
            area = thinner[-1].area
            size = Size(area=area, text=shown(Quantity(area, "mm2")), standard="metric")
            yield Fault(
                "wire thinned",
                f"wire {wire.name} is {size.text} in place of {wire.size.text}",
                (wire.name,),
                wire.span,
                partial(sized, harness, wire, size),
            )


def sized(harness: Harness, wire: Wire, size: Size) -> Harness:
    """A harness with a wire of another size."""
    pieces = tuple(replace(piece, size=size) for piece in wire.segments)
    return replace(harness, wires={**harness.wires, wire.name: replace(wire, size=size, segments=pieces)})


def _lost_grounds(harness: Harness) -> Iterator[Fault]:
    for wire in harness.wires.values():
        if _is_ground(harness, wire):
            yield _lost(harness, "ground lost", wire)
    for mount in harness.mounts:
        end = End(mount.part, mount.terminal)
        yield Fault(
            "ground lost",
            f"{end.node} is not mounted to {mount.ground}",
            (mount.part, mount.ground),
            mount.span,
            partial(_unmounted, harness, mount),
        )


def _unmounted(harness: Harness, mount: Mount) -> Harness:
    return replace(harness, mounts=tuple(each for each in harness.mounts if each is not mount))


def _is_ground(harness: Harness, wire: Wire) -> bool:
    return any(isinstance(harness.parts[end.part], Ground) for end in (wire.a, wire.b))


def _lost(harness: Harness, kind: Kind, wire: Wire) -> Fault:
    return Fault(
        kind,
        f"wire {wire.name} from {wire.a.node} to {wire.b.node} is missing",
        (wire.name, wire.a.part, wire.b.part),
        wire.span,
        partial(without_wire, harness, wire.name),
    )


def _lost_wires(harness: Harness) -> Iterator[Fault]:
    for wire in harness.wires.values():
        if not _is_ground(harness, wire):
            yield _lost(harness, "wire lost", wire)


def _moved_wires(harness: Harness) -> Iterator[Fault]:
    """A wire on the next terminal of its part."""
    for segment, side, end in outer_ends(harness):
        to = _next(harness, end)
        if to is not None:
            yield Fault(
                "wire moved",
                f"wire {segment.wire} is on {to.node} in place of {end.node}",
                (segment.wire, end.part),
                segment.span,
                partial(with_end_at, harness, segment.name, side, to),
            )


def _next(harness: Harness, end: End) -> End | None:
    """The terminal beside one, the first beside the last: where a wire lands that is put one off."""
    part = harness.parts[end.part]
    if isinstance(part, Connector):
        numbers = tuple(str(number) for number in part.numbers)
        place = numbers.index(end.way.terminal) if end.way.terminal in numbers else -1
        return End(part.name, numbers[(place + 1) % len(numbers)] + end.half) if len(numbers) > 1 else None
    if len(part.terminals) < 2 or end.terminal not in part.terminals:
        return None
    place = part.terminals.index(end.terminal)
    return End(part.name, part.terminals[(place + 1) % len(part.terminals)])


def _exchanged(harness: Harness) -> Iterator[Fault]:
    """The wires at two terminals beside each other, exchanged; in a connector two ways of one half."""
    wired = {end for segment in harness.segments for end in (segment.a, segment.b)}
    turned = {frozenset((part.name, a, b)) for part in harness.parts.values() for _, a, b in sides(part)}
    for part in harness.parts.values():
        if isinstance(part, Connector):
            names = [f"{number}s" for number in part.numbers]
        elif isinstance(part, Ground | Splice) or len(part.terminals) < 3:
            continue  # two terminals: a part turned, or one that has no sides
        else:
            names = list(part.terminals)
        for one, other in pairwise(name for name in names if End(part.name, name) in wired):
            if frozenset((part.name, one, other)) in turned:
                continue
            yield _at(
                part,
                "ends exchanged",
                f"the wires at {End(part.name, one)} and {End(part.name, other)} are exchanged",
                partial(swapped, harness, part.name, one, other),
            )


def _turned(harness: Harness) -> Iterator[Fault]:
    for part in harness.parts.values():
        for _, one, other in sides(part):
            yield _at(
                part,
                "part turned",
                f"{part.name} is the wrong way round",
                partial(swapped, harness, part.name, one, other),
            )


def _bridged_switches(harness: Harness) -> Iterator[Fault]:
    """A contact that is closed in every position: welded, or bridged by somebody who wanted to ride home."""
    for part in harness.parts.values():
        if not isinstance(part, Switch):
            continue
        for pair in dict.fromkeys(pair for position in part.positions for pair in position.pairs):
            if all(pair in position.pairs for position in part.positions):
                continue
            rows = tuple(
                position if pair in position.pairs else replace(position, pairs=(*position.pairs, pair))
                for position in part.positions
            )
            yield _at(
                part,
                "switch bridged",
                f"{part.name} joins {pair[0]} and {pair[1]} in every position",
                partial(with_part, harness, replace(part, positions=rows)),
            )


def _joined(harness: Harness) -> Iterator[Fault]:
    """A wire too many, between two terminals beside each other."""
    thickest = max(harness.segments, key=lambda piece: piece.size.area if piece.size else 0.0, default=None)
    if thickest is None:
        return
    name = BRIDGE
    while name in harness.wires or name in harness.parts:
        name += "+"
    for part in harness.parts.values():
        if isinstance(part, Ground | Splice | Connector | Fuse):
            continue  # a bridged fuse is a separate fault
        for one, other in pairwise(part.terminals):
            ends = End(part.name, one), End(part.name, other)
            yield Fault(
                "nets joined",
                f"{ends[0]} and {ends[1]} are bridged",
                (part.name,),
                part.span,
                partial(with_bridge, harness, name, thickest, *ends),
                adds=name,
            )


BRIDGE: Final = "bridge"


def with_bridge(harness: Harness, name: str, like: Segment, one: End, other: End) -> Harness:
    """A harness with a short wire more, as thick as some piece of another."""
    studs = (harness.parts[one.part].place, harness.parts[other.part].place)
    piece = replace(like, wire=name, number=0, a=one, b=other, length=0.05, written=True, route=(), studs=studs)
    wire = Wire(name=name, a=one, b=other, span=like.span, segments=(piece,), size=like.size, length=0.05)
    return replace(harness, wires={**harness.wires, name: wire})


_MAKING: Final = (
    _fuses,
    _larger_fuses,
    _thin_wires,
    _lost_grounds,
    _lost_wires,
    _moved_wires,
    _exchanged,
    _turned,
    _bridged_switches,
    _joined,
)
