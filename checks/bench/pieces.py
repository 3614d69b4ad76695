"""The pieces that a loom is cut from: how long each is, and what goes on its ends.

Lengths in m, areas in mm2, diameters in mm. What the text does not say is ``None`` or empty, and counted as owed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Final, Literal

from ...lang.model.parts import Connector, Splice
from ...lang.model.wires import End, Segment, Wire
from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from ...lang.resolve.routes import SLACK, Ways, wire_length
from ...lang.vocabulary.colours import Colour
from ..tables.bench import bench_figure, core_diameter, strip_length

if TYPE_CHECKING:
    from ...lang.model.bench import Offered, SpareWire
    from ...lang.model.harness import Harness
    from ...lang.quantities.size import Size

Sort = Literal["ring", "push-on", "bullet", "pin", "bare", "splice"]

_CRIMPS: Final[dict[str, Sort]] = {
    "stud": "ring",
    "tab": "push-on",
    "bullet": "bullet",
    "pin": "pin",
    "screw": "ring",
    "bare": "bare",
}
"""What a terminal offers -> what is crimped on the wire (IEC 61210 for tabs; the rest common practice)."""

ALONE: Final = ("ring",)
"""Crimps of which several fit on one terminal: each wire has its own unless the text says that it shares one."""

_LONGEST_STRIP: Final[Sort] = "ring"
"""Whose strip is reckoned with where it is not known what an end gets: the cut is then rather too long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crimp:
    """``size`` mm is the width of a push-on or the diameter of a contact, ``thread`` the M of a ring's hole.

    ``half`` tells contacts of a connector apart: ``socket`` or ``pin``, empty elsewhere.
    """

    sort: Sort
    size: float | None = None
    thread: int | None = None
    half: Literal["", "socket", "pin"] = ""

    @property
    def name(self) -> str:
        """As a list of parts has it: ``ring M8``, ``push-on 6.3 mm``, ``socket contact 1.5 mm``, ``crimp splice``."""
        if self.sort == "splice":
            return "crimp splice"
        if self.sort == "bare":
            return "no crimp: bare strands"
        if self.sort == "ring":
            return f"ring M{self.thread}"
        said = f"{self.half} contact".strip() if self.half or self.sort == "pin" else self.sort
        return said if self.size is None else f"{said} {shown(self.size)} mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceEnd:
    """One end of a piece. ``crimp`` is ``None`` where the text does not say what its terminal offers.

    ``seal`` is the diameter in mm of the core that a seal closes on, ``None`` where there is no seal or no size.
    ``beside`` are the pieces in the same crimp.
    """

    end: End | None
    place: str | None
    crimp: Crimp | None = None
    strip: float | None = None
    sealed: bool = False
    seal: float | None = None
    beside: tuple[str, ...] = ()

    @property
    def is_splice(self) -> bool:
        return self.crimp is not None and self.crimp.sort == "splice"

    @property
    def name(self) -> str:
        """The terminal, or for the end of a spare wire its place."""
        return self.end.node if self.end is not None else f"at {self.place}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece of wire between two crimps.

    ``finished`` is its length in the loom, ``cut`` what is cut from the spool, in m; both ``None`` where neither routes
    nor text tell a length. ``route`` names the places that it passes. ``twisted`` are the wires that it is twisted
    with; ``spare``: it is connected to nothing.
    """

    name: str
    wire: str
    a: PieceEnd
    b: PieceEnd
    colour: Colour | None
    size: Size | None
    wire_class: str
    finished: float | None
    cut: float | None
    route: tuple[str, ...] = ()
    kept: bool = False
    site_cut: bool = False
    spare: bool = False
    twisted: tuple[str, ...] = ()
    shielded: tuple[str, ...] = ()

    @property
    def ends(self) -> tuple[PieceEnd, PieceEnd]:
        return self.a, self.b

    @property
    def core(self) -> float | None:
        """mm across it."""
        return None if self.size is None else core_diameter(self.size.area)

    @property
    def spool(self) -> Spool:
        return Spool(
            colour=str(self.colour or ""), size=self.size.text if self.size else "", wire_class=self.wire_class
        )


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Spool:
    """A kind of wire as it is bought; empty where the text does not say."""

    colour: str
    size: str
    wire_class: str

    @property
    def name(self) -> str:
        return " ".join(word for word in (self.colour, self.size, f"class {self.wire_class}") if word)


def pieces(harness: Harness) -> tuple[Piece, ...]:
    """Every piece of a harness, kept ones too, in the order of the text; spare wires last."""
    at = _at_terminals(harness)
    found = [_piece(harness, wire, segment, at) for wire in harness.wires.values() for segment in wire.segments]
    slack = harness.fitting.slack
    ways = Ways(harness.routes, SLACK if slack is None else slack)
    return (*found, *(_spare(spare, ways) for spare in harness.fitting.spare_wires))


def cut_length(finished: float, ends: Iterable[PieceEnd], *, site_cut: bool = False) -> float:
    """m to cut for a piece of ``finished`` m.

    Its strips, and room to crimp each end that is no splice once again where it is no short piece; rounded up.
    """
    ends = tuple(ends)
    strips = sum(strip_length(_LONGEST_STRIP) if end.strip is None else end.strip for end in ends)
    again = bench_figure("recrimp").value * sum(not end.is_splice and end.end is not None for end in ends)
    whole = finished + strips
    if finished > bench_figure("recrimp_from").value:
        whole += again
    if site_cut:
        whole += bench_figure("site_cut").value
    step = bench_figure("rounding").value
    return round(math.ceil(whole / step - 1e-6) * step, 6)


def total_cut(pieces: Iterable[Piece]) -> float:
    """m of wire that pieces are cut from, those of unknown length left out; in whole µm, whatever their order."""
    return round(math.fsum(piece.cut for piece in pieces if piece.cut is not None), 6)


def _at_terminals(harness: Harness) -> dict[End, list[Segment]]:
    found: dict[End, list[Segment]] = {}
    for segment in harness.segments:
        for end in (segment.a, segment.b):
            found.setdefault(end, []).append(segment)
    return found


def _piece(harness: Harness, wire: Wire, segment: Segment, at: Mapping[End, list[Segment]]) -> Piece:
    a, b = (
        _end(harness, segment, end, place, at[end])
        for end, place in zip((segment.a, segment.b), segment.studs, strict=True)
    )
    others = {
        how: tuple(
            name for bundle in harness.bundles_of(wire.name) if bundle.how == how for name in bundle.wires
            if name != wire.name
        )
        for how in ("twisted", "shielded")
    }  # fmt: skip
    finished = segment.length
    if finished is not None and not segment.written:
        if others["twisted"]:
            finished *= 1.0 + bench_figure("twisting").value
        finished += bench_figure("service_loop").value * harness.fitting.housed(segment.a, segment.b)
    return Piece(
        name=segment.name,
        wire=wire.name,
        a=a,
        b=b,
        colour=segment.colour,
        size=segment.size,
        wire_class=segment.wire_class,
        finished=finished,
        cut=None if finished is None else cut_length(finished, (a, b), site_cut=wire.site_cut),
        route=segment.route,
        kept=wire.kept,
        site_cut=wire.site_cut,
        twisted=others["twisted"],
        shielded=others["shielded"],
    )


def _end(harness: Harness, segment: Segment, end: End, place: str | None, here: list[Segment]) -> PieceEnd:
    crimp = crimp_at(harness, end)
    sealed = _is_sealed(harness, end)
    if crimp is not None and crimp.sort == "splice":
        beside: tuple[str, ...] = ()  # a splice holds all its wires: that is what it is
    elif crimp is None or crimp.sort in ALONE:
        wires = harness.fitting.beside(segment.wire, end)
        beside = tuple(each.name for each in here if each.wire in wires)
    else:
        beside = tuple(each.name for each in here if each.name != segment.name)
    return PieceEnd(
        end=end,
        place=place,
        crimp=crimp,
        strip=None if crimp is None else strip_length(crimp.sort),
        sealed=sealed,
        seal=core_diameter(segment.size.area) if sealed and segment.size is not None else None,
        beside=beside,
    )


def crimp_at(harness: Harness, end: End) -> Crimp | None:
    """What is crimped on a wire that ends here; ``None`` where the text does not say what the terminal offers."""
    part = harness.parts[end.part]
    if isinstance(part, Splice):
        return Crimp(sort="splice")
    if isinstance(part, Connector):
        offered = harness.fitting.at(end.way)
        return None if offered is None else _crimp(offered, "socket" if end.half == "s" else "pin")
    offered = harness.fitting.at(end)
    return None if offered is None else _crimp(offered, "")


def _crimp(offered: Offered, half: Literal["", "socket", "pin"]) -> Crimp:
    sort = _CRIMPS[offered.what]
    if offered.what == "screw" and offered.thread is None:
        sort = "bare"  # a screw without a thread that is stated clamps the strands
    size = None if offered.size is None else round(offered.size * 1000, 3)
    return Crimp(sort=sort, size=size, thread=offered.thread, half=half)


def _is_sealed(harness: Harness, end: End) -> bool:
    """Whether a wire that ends here goes through a seal: a sealed connector's, or that of a sealed housing."""
    part = harness.parts[end.part]
    if isinstance(part, Connector):
        return part.sealed
    housing = harness.fitting.housing(end.part)
    return housing is not None and housing.sealed


def _spare(spare: SpareWire, ways: Ways) -> Piece:
    way = ways.between(spare.a, spare.b)
    ends = PieceEnd(end=None, place=spare.a, strip=0.0), PieceEnd(end=None, place=spare.b, strip=0.0)
    finished = None if way is None or way.tied else wire_length(way.distance, ways.slack, way.more)
    return Piece(
        name=spare.name,
        wire=spare.name,
        a=ends[0],
        b=ends[1],
        colour=spare.colour,
        size=spare.size,
        wire_class=spare.wire_class,
        finished=finished,
        cut=None if finished is None else cut_length(finished, ends),
        route=way.places if way is not None else (),
        spare=True,
    )


# --- what is owed ----------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Owed:
    """Something that the text does not say: ``what`` it is, and the wires, ends, parts or routes it is owed for."""

    what: Literal["length", "size", "colour", "ends", "cover", "face"]
    names: tuple[str, ...]


def owed(harness: Harness, all_pieces: Iterable[Piece]) -> tuple[Owed, ...]:
    """What is left blank on the sheets, each sort once; kept pieces are owed nothing, since nobody makes them."""
    new = [piece for piece in all_pieces if not piece.kept]
    routes = {frozenset(pair) for piece in new for pair in zip(piece.route, piece.route[1:], strict=False)}
    found: dict[Literal["length", "size", "colour", "ends", "cover", "face"], Iterable[str]] = {
        "length": (piece.name for piece in new if piece.finished is None),
        "size": (piece.wire for piece in new if piece.size is None),
        "colour": (piece.wire for piece in new if piece.colour is None),
        "ends": (each.end.node for piece in new for each in piece.ends if each.end is not None and each.crimp is None),
        "cover": (
            f"{route.a} to {route.b}"
            for route in harness.routes
            if route.cover is None and frozenset((route.a, route.b)) in routes
        ),
        "face": _faceless(harness, new),
    }
    said = {what: tuple(dict.fromkeys(names)) for what, names in found.items()}
    return tuple(Owed(what=what, names=names) for what, names in said.items() if names)


def _faceless(harness: Harness, new: Iterable[Piece]) -> Iterator[str]:
    """Connectors that new pieces end in and whose face is not said."""
    reached = dict.fromkeys(each.end.part for piece in new for each in piece.ends if each.end is not None)
    for name in reached:
        part = harness.parts[name]
        if isinstance(part, Connector) and not part.face:
            yield name


def why_no_length(harness: Harness, piece: Piece) -> str:
    """Why a piece has no length: a part without a place, or places that no routes join."""
    for end in piece.ends:
        if end.end is not None and not harness.parts[end.end.part].places:
            return (
                f"{end.end.part} has no place: write `at PLACE` on its line, or a length on that of wire {piece.wire}"
            )
    a, b = (end.place or harness.parts[end.end.part].places[0] if end.end else end.place or "" for end in piece.ends)
    return f"no routes lead from {a} to {b}: write `route {a} {b} LENGTH`, or a length on the line of wire {piece.wire}"
