"""The cut list: every new piece with its length and what goes on its ends, for a terminal, as CSV and on paper."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

from ...checks.bench.pieces import total_cut
from ...checks.tables.bench import bench_figure
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import Quantity, shown
from ..report.findings import counted
from .sheets import Table, columns, csv_text, millimetres, plain_millimetres, tables_pdf

if TYPE_CHECKING:
    from ...checks.bench.looms import Loom
    from ...checks.bench.pieces import Piece, PieceEnd
    from ...checks.bench.stretches import Stretch

SHEET: Final = "cut list"


def caution() -> str:
    """What stands under every list of lengths, with what they hold that no check counts."""
    loop = millimetres(bench_figure("service_loop").value)
    return (
        f"Lengths hold {loop} more at each part that plugs in, so that it comes off for service, and what is stripped; "
        "voltage drop is worked out without these. Check one length of each kind on the motorcycle before you cut. "
        "Tug-test every crimp. These are figures from the harness file; local codes and a licensed practitioner decide."
    )


def by_spool(looms: Iterable[Loom]) -> list[tuple[str, list[Piece]]]:
    """The pieces of each kind of wire, longest first: the order in which to cut."""
    found: dict[str, list[Piece]] = {}
    for piece in (piece for loom in looms for piece in loom.pieces):
        found.setdefault(piece.spool.name, []).append(piece)
    for group in found.values():
        group.sort(key=lambda piece: (-(piece.cut or 0.0), piece.name))
    return sorted(found.items(), key=lambda item: item[0])


def by_loom(looms: Iterable[Loom]) -> list[tuple[str, list[Piece]]]:
    """The pieces of each loom, branch by branch: the order in which to lay."""
    found: list[tuple[str, list[Piece]]] = []
    for loom in looms:
        branches: dict[tuple[str, ...], list[Piece]] = {}
        for piece in loom.pieces:
            branches.setdefault(_way(piece), []).append(piece)
        for way, group in sorted(branches.items(), key=lambda item: (-len(item[0]), item[0])):
            said = f"along {' - '.join(way)}" if len(way) > 1 else f"within {way[0]}" if way else "no route"
            found.append((f"loom {loom.name}, {said}", group))
    return found


def _way(piece: Piece) -> tuple[str, ...]:
    """The places of a piece; the same for both directions."""
    return min(piece.route, piece.route[::-1])


# --- words -----------------------------------------------------------------------------------------------------------
def end_words(end: PieceEnd) -> str:
    """``F-KEY.2: push-on 6.3 mm, strip 6 mm``."""
    said = ", ".join(_on(end))
    return f"{end.name}: {said}" if said else end.name


def _on(end: PieceEnd) -> list[str]:
    """What goes on an end, and which pieces share its crimp."""
    joint = "joined" if end.crimp is not None and end.crimp.sort == "bare" else "in one crimp"
    shared = f"{joint} with {', '.join(end.beside)}" if end.beside else ""
    return [word for word in (_crimp(end), _strip(end), seal_words(end), shared) if word]


def _crimp(end: PieceEnd) -> str:
    return end.crimp.name if end.crimp is not None else ""


def _strip(end: PieceEnd) -> str:
    return f"strip {millimetres(end.strip)}" if end.strip else ""


def seal_words(end: PieceEnd) -> str:
    """``seal for 2.1 mm``; ``seal`` where the size of the wire is owed; empty where the end has none."""
    if not end.sealed:
        return ""
    return "seal" if end.seal is None else f"seal for {shown(Quantity(end.seal, 'mm'))}"


def remarks(piece: Piece) -> str:
    """What else there is to know at the bench."""
    said = []
    if piece.twisted:
        said.append(f"twisted with {', '.join(piece.twisted)}")
    if piece.shielded:
        said.append(f"in one screen with {', '.join(piece.shielded)}")
    if piece.site_cut:
        said.append("cut to length on the motorcycle")
    if piece.spare:
        said.append("spare: insulate both ends")
    return "; ".join(said)


def total_words(group: Sequence[Piece]) -> str:
    """``3 pieces, 1.25 m``."""
    lacking = sum(piece.cut is None for piece in group)
    metres = shown(Quantity(total_cut(group), "m"))
    return f"{counted(len(group), 'piece')}, {metres}" + (f" and {lacking} of unknown length" if lacking else "")


# --- for a terminal --------------------------------------------------------------------------------------------------
def cut_text(
    looms: Sequence[Loom], stretches: Sequence[Sequence[Stretch]], kept: int, owed: Sequence[str], *, order: str
) -> str:
    """Group by group, ending in a line feed. ``stretches`` are those of each loom."""
    lines: list[str] = []
    for name, group in by_spool(looms) if order == "spool" else by_loom(looms):
        lines += [f"{name}: {total_words(group)}", *columns([row_cells(p, order) for p in group], right=(1,)), ""]
    if order == "loom" and any(stretches):
        rows = [_stretch(loom, each) for loom, held in zip(looms, stretches, strict=True) for each in held]
        lines += ["stretches", *columns(rows, right=(2, 3)), ""]
    pieces = [piece for loom in looms for piece in loom.pieces]
    if order == "loom":
        lines += _splices(pieces)
    said = f"{total_words(pieces)} in {counted(len(looms), 'loom')}" if pieces else "no wire to cut"
    lines += [f"{said}; {counted(kept, 'kept wire')} left out" if kept else said, *owed, caution()]
    return "".join(f"{visible(line).rstrip()}\n" for line in lines)


def _splices(pieces: Sequence[Piece]) -> list[str]:
    """How the splices of one place lie in the bundle: one behind the other, so that it does not swell."""
    at: dict[str, dict[str, None]] = {}
    for piece in pieces:
        for end in piece.ends:
            if end.is_splice and end.end is not None and end.place is not None:
                at.setdefault(end.place, {})[end.end.part] = None
    apart = bench_figure("between_splices").value
    rows = [
        (
            place,
            counted(len(names), "splice"),
            f"{millimetres(apart * (len(names) - 1))} of the bundle",
            ", ".join(names),
        )
        for place, names in at.items()
        if len(names) > 1
    ]
    return [f"splices, {millimetres(apart)} apart", *columns(rows), ""] if rows else []


def row_cells(piece: Piece, order: str) -> tuple[str, ...]:
    """A piece in words: by ``spool`` the group says how it looks."""
    looks = () if order == "spool" else (piece.spool.name,)
    return (piece.name, millimetres(piece.cut), *looks, end_words(piece.a), end_words(piece.b), remarks(piece))


def _stretch(loom: Loom, stretch: Stretch) -> tuple[str, ...]:
    """What a stretch holds, how thick it is and how tightly it may bend."""
    sizes = ", ".join(f"{count} of {size}" for size, count in stretch.sizes)
    unsized = f" and {counted(len(stretch.unsized), 'wire')} of no size" if stretch.unsized else ""
    tight, loose = (shown(Quantity(each, "mm"), 2) for each in (stretch.tight, stretch.loose))
    bend = f", bend radius at least {shown(Quantity(stretch.bend, 'mm'), 2)}" if stretch.flexing else ""
    copper, mass = (shown(Quantity(1000 * each, "g"), 2) for each in (stretch.copper, stretch.mass))
    return (
        loom.name,
        f"{stretch.a} - {stretch.b}",
        shown(Quantity(stretch.length, "m")),
        f"{counted(len(stretch.pieces), 'wire')}",
        f"{tight} across pulled tight, {loose} in a sleeve",
        f"{copper} of copper, {mass} in all",
        f"{stretch.cover or 'cover missing'}{bend}: {sizes}{unsized}",
    )


# --- CSV -------------------------------------------------------------------------------------------------------------
_END: Final = ("end", "place", "crimp", "strip_mm", "seal_mm", "together_with")
COLUMNS: Final = (
    "piece", "wire", "colour", "size", "class", "finished_mm", "cut_mm",
    *(f"{name}_a" for name in _END), *(f"{name}_b" for name in _END),
    "loom", "stretches", "remarks",
)  # fmt: skip


def cut_csv(looms: Sequence[Loom], *, order: str) -> str:
    """One row a piece, in the order of cutting or laying."""
    loom_of = {piece.name: loom.name for loom in looms for piece in loom.pieces}
    groups = by_spool(looms) if order == "spool" else by_loom(looms)
    return csv_text(COLUMNS, (_cells(piece, loom_of[piece.name]) for _, group in groups for piece in group))


def _cells(piece: Piece, loom: str) -> tuple[str, ...]:
    return (
        piece.name,
        piece.wire,
        str(piece.colour or ""),
        piece.size.text if piece.size else "",
        piece.wire_class,
        plain_millimetres(piece.finished),
        plain_millimetres(piece.cut),
        *_end_cells(piece.a),
        *_end_cells(piece.b),
        loom,
        " - ".join(piece.route),
        remarks(piece),
    )


def _end_cells(end: PieceEnd) -> tuple[str, ...]:
    seal = "" if end.seal is None else shown(end.seal)
    return (end.name, end.place or "", _crimp(end), plain_millimetres(end.strip), seal, "; ".join(end.beside))


# --- on paper --------------------------------------------------------------------------------------------------------
def cut_pdf(
    title: str, looms: Sequence[Loom], owed: Sequence[str], *, order: str, paper: str = "A4", revision: str = ""
) -> bytes:
    """Tables with a box a piece, then what is owed and the caution."""
    groups = by_spool(looms) if order == "spool" else by_loom(looms)
    loom_of = {piece.name: loom.name for loom in looms for piece in loom.pieces}
    other = "loom" if order == "spool" else "wire"
    head = ("piece", "cut", "end A", "crimp, strip, seal", "end B", "crimp, strip, seal", other, "remarks")
    tables = [
        Table(
            caption=f"{name}: {total_words(group)}",
            head=head,
            widths=(1.1, 1.3, 2.3, 3.6, 2.3, 3.6, 1.9, 2.4),
            rows=tuple(
                (
                    piece.name,
                    millimetres(piece.cut),
                    piece.a.name,
                    ", ".join(_on(piece.a)),
                    piece.b.name,
                    ", ".join(_on(piece.b)),
                    loom_of[piece.name] if order == "spool" else piece.spool.name,
                    remarks(piece),
                )
                for piece in group
            ),
            right=(1,),
        )
        for name, group in groups
    ]
    return tables_pdf(title, SHEET, tables, (*owed, caution()), paper, revision)
