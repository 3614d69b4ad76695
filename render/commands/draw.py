"""``loomwright draw``: the schematic of harnesses, and their drawings for the bench."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from ...lang.diagnostics.visible import visible
from . import options
from .exits import CannotError, reason
from .inputs import STANDARD_INPUT, named_states, of_revision, sound, sound_either
from .outputs import save_bytes
from .progress import Steps, progress

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...lang.model.harness import Harness
    from ..schematic.symbols.drawn import Now

DRAWINGS: Final = ("svg", "png", "pdf")
LIST: Final = "csv"
"""What only the layout can be written as: its peg list."""
SHEETS: Final = ("current", "layout", "pinouts", "owner")
PAPERS: Final = ("A4", "A3")


@click.command()
@options.files
@click.option(
    "--into", metavar="FOLDER", default=".", show_default=True, help="Where the drawings go; made if need be."
)
@click.option(
    "--format",
    "formats",
    type=click.Choice((*DRAWINGS, LIST)),
    multiple=True,
    default=["svg"],
    help="May be given more than once; csv is the peg list of a layout.",
)
@click.option(
    "--sheet",
    type=click.Choice(SHEETS),
    default="current",
    show_default=True,
    help="Current paths; for the bench how each loom is laid, or what is in each plug; what the next owner needs.",
)
@click.option("--system", "systems", metavar="NAME", multiple=True, help="A sheet of this system; may be repeated.")
@click.option(
    "--paper",
    type=click.Choice(PAPERS),
    help="Draw a set of sheets of this size with an index; also of the sheets for the bench, where A4 is the default.",
)
@click.option("--state", metavar="STATE", help="Draw this named state: what is live, with voltages and currents.")
@click.option("--fault", metavar="FAULT", help='With --state: with this open, such as "wire 12 open" or "MAIN open".')
@click.option(
    "--against",
    metavar="OLD",
    help="Draw this old harness, too, a file or REV:FILE of git; mark what is added, removed, changed.",
)
@click.option("--tiles", is_flag=True, help="With a layout, each board at 1:1 on as many leaves as that takes.")
@click.option("--pegs", is_flag=True, help="Print the peg list of a layout, and draw nothing.")
@click.option(
    "-o",
    "--output",
    metavar="DRAWING",
    help="Just this one drawing, its format by its ending: svg, png or pdf; csv for a peg list.",
)
def draw(
    files: tuple[str, ...],
    into: str,
    formats: tuple[str, ...],
    sheet: str,
    systems: tuple[str, ...],
    paper: str | None,
    state: str | None,
    fault: str | None,
    against: str | None,
    tiles: bool,
    pegs: bool,
    output: str | None,
) -> None:
    """Draw the schematic of harnesses, or their sheets for the bench.

    Each FILE on one sheet, or a sheet for each --system (lighting, ignition, ...) with its feeds. Prints the name of
    each drawing: that of its FILE unless -o gives another. Exits 1 when a file has errors: half a harness is not
    drawn; 2 when a loom cannot be laid, no plug is there to show, or a file cannot be written.

    --paper draws a set of sheets to hang above the bench: supply and distribution first, then the systems without what
    feeds them. A wire that goes on to another sheet ends in a flag with sheet, track and terminal, on both sheets; last
    come an index of parts and wires and the colours. Nothing is lettered lower than 1.8 mm.

    --state draws a named state: contacts as they are in it, wires with voltage and current, those without either pale
    and broken. With --fault "wire 12 open" one thing is open, and what is no longer live, or newly so, is noted.

    --against OLD draws both harnesses: in FILE what is added and changed is marked, in OLD what is removed and changed.
    OLD is a file, or REV:FILE for a file as it was in a revision of its git repository.

    --sheet layout lays each loom of FILE out flat: its longest path straight, branches and legs in their lengths, each
    stretch with its wires and how thick it is, kept wires in grey. The peg list says where each peg is on a board;
    crowded places and plug faces follow at 1:1, with --tiles the whole board. --sheet pinouts shows each plug from the
    wires and from its mating face, with what is in each cavity. --sheet owner is for the next owner: fuses and what
    each feeds, grounds, lamps, units, what the colours mean, how to find a fault. A PDF has all leaves in it; SVG and
    PNG are a file a leaf.

    \b
    Examples:
      loomwright draw bike.loom -o bike.pdf
      loomwright draw bike.loom --paper A3 -o bike.pdf
      loomwright draw bike.loom --state riding --fault "MAIN open" -o riding.pdf
      loomwright draw bike.loom --against stock.loom --into sheets
      loomwright draw bike.loom --against HEAD:bike.loom --paper A3 -o changes.pdf
      loomwright draw bike.loom --system lighting --system charging --into sheets
      loomwright draw bike.loom --sheet layout --paper A3 -o layout.pdf
      loomwright draw bike.loom --sheet layout --pegs
      loomwright draw bike.loom --sheet layout -o pegs.csv
      loomwright draw bike.loom --sheet pinouts -o pinouts.pdf
      loomwright draw bike.loom --sheet owner -o for-the-next-owner.pdf
    """
    if output is not None:
        _one_drawing(files, systems, Path(output), sheet)
    _check_options(sheet, formats, systems, paper, tiles=tiles, pegs=pegs, output=output)
    _check_moment(sheet, state, fault)
    _check_against(files, sheet, paper, against, output, state=state)
    stems = ["harness" if file == STANDARD_INPUT else Path(file).stem for file in files]
    if twice := sorted({stem for stem in stems if stems.count(stem) > 1}):
        raise click.UsageError(f"two files would be drawn as {twice[0]}: draw them into two folders")
    harnesses = [sound(file) for file in files]
    if pegs:
        click.echo("".join(_peg_list(harness, file) for harness, file in zip(harnesses, files, strict=True)), nl=False)
        return
    if sheet == "current" and paper is None:
        moments = [_moment(harness, file, state, fault) for harness, file in zip(harnesses, files, strict=True)]
        if against is not None:
            old = sound_either(against)
            stems, harnesses = [stems[0], f"{stems[0]}-old"], [harnesses[0], old]
            moments = list(_marked(old, harnesses[0], against))
        _schematics(stems, harnesses, moments, into, formats, systems, output)
        return
    if output is not None:
        formats = (_ending(Path(output)),)
    made: dict[str, bytes] = {}
    before = sound_either(against) if against is not None else None
    with progress("drawing") as steps:
        for done, (harness, stem, file) in enumerate(zip(harnesses, stems, files, strict=True), 1):
            if sheet == "current":
                sets = [(harness, file, _moment(harness, file, state, fault))]
                if before is not None and against is not None:
                    marks = _marked(before, harness, against)
                    sets = [(harness, file, marks[0]), (before, against, marks[1])]
                made |= _paper_files(sets, stem, paper or PAPERS[0], formats, steps)
            else:
                made |= _bench_files(harness, stem, file, sheet, paper or PAPERS[0], formats, tiles=tiles)
                steps(done, len(files))
    if output is not None and len(made) > 1:
        raise click.UsageError(f"{output}: this sheet has {len(made)} leaves: name a PDF, or give --into FOLDER")
    for name, data in made.items():
        target = str(Path(into) / name) if output is None else output
        save_bytes(target, data)
        click.echo(visible(target))


def _check_options(
    sheet: str,
    formats: tuple[str, ...],
    systems: tuple[str, ...],
    paper: str | None,
    *,
    tiles: bool,
    pegs: bool,
    output: str | None,
) -> None:
    """Refuse what belongs to another sheet."""
    if systems and sheet != "current":
        raise click.UsageError(f"--system is for the schematic: leave it out with --sheet {sheet}")
    if systems and paper is not None:
        raise click.UsageError("--paper draws all systems, each on its sheet: leave --system out")
    for option, given in (("--tiles", tiles), ("--pegs", pegs), ("--format csv", LIST in formats)):
        if given and sheet != "layout":
            raise click.UsageError(f"{option} is for a layout: give --sheet layout, too")
    if pegs and output is not None:
        raise click.UsageError("--pegs prints the list: leave it out to write one, -o pegs.csv")


def _check_moment(sheet: str, state: str | None, fault: str | None) -> None:
    """Refuse a state where none is drawn, and a fault without a state."""
    if state is not None and sheet != "current":
        raise click.UsageError(f"--state is for the schematic: leave it out with --sheet {sheet}")
    if fault is not None and state is None:
        raise click.UsageError("--fault is drawn in a named state: give --state, too")


def _check_against(
    files: tuple[str, ...], sheet: str, paper: str | None, against: str | None, output: str | None, *, state: str | None
) -> None:
    """Refuse a second harness where it cannot be drawn."""
    if against is None:
        return
    if sheet != "current":
        raise click.UsageError(f"--against is for the schematic: leave it out with --sheet {sheet}")
    if state is not None:
        raise click.UsageError("--against marks what is written differently, --state what is live: give one of them")
    if len(files) > 1:
        raise click.UsageError("--against compares OLD with one FILE: give one FILE")
    if output is not None and paper is None:
        raise click.UsageError("--against makes two drawings: give --into FOLDER instead of -o, or --paper and a PDF")


def _marked(old: Harness, new: Harness, against: str) -> tuple[Now, Now]:
    """What is marked in the new and in the old harness."""
    from ..schematic.against import changes

    return changes(old, new, of_revision(against)[0])


def _moment(harness: Harness, file: str, state: str | None, fault: str | None) -> Now | None:
    """The moment to draw, if one is asked for."""
    if state is None:
        return None
    from ...checks.dc.devices import UnsolvableError
    from ..schematic.moment import UnknownFault, moment

    named_states(harness, file, (state,))
    try:
        return moment(harness, state, fault or "")
    except UnknownFault as error:
        raise click.UsageError(str(error)) from None
    except UnsolvableError as error:
        raise CannotError(f"{file}: state {state} has no solution: {error}") from None


def _peg_list(harness: Harness, file: str) -> str:
    """The peg list of a harness for a terminal."""
    from ...checks.bench.tree import CannotLayError
    from ..bench.layout_sheet import boards
    from ..bench.peg_list import pegs_text

    try:
        return pegs_text(boards(harness))
    except CannotLayError as error:
        raise CannotError(f"{file}: {error}") from None


def _bench_files(
    harness: Harness, stem: str, file: str, sheet: str, paper: str, formats: tuple[str, ...], *, tiles: bool
) -> dict[str, bytes]:
    """The files of a sheet for the bench, all made before one is written."""
    from ...checks.bench.tree import CannotLayError
    from ...lang.files.revisions import revision_of
    from ..bench.layout_sheet import layout_files
    from ..bench.owner_sheet import owner_files
    from ..bench.pinout_sheet import NothingToDraw, pinout_files

    revision = "" if file == STANDARD_INPUT else revision_of(file)
    wanted = tuple(dict.fromkeys(formats))
    try:
        if sheet == "layout":
            return layout_files(harness, stem, paper=paper, formats=wanted, revision=revision, tiles=tiles)
        make = owner_files if sheet == "owner" else pinout_files
        return make(harness, stem, paper=paper, formats=wanted, revision=revision)
    except (CannotLayError, NothingToDraw) as error:
        raise CannotError(f"{file}: {error}") from None


def _paper_files(
    sets: Sequence[tuple[Harness, str, Now | None]], stem: str, paper: str, formats: tuple[str, ...], steps: Steps
) -> dict[str, bytes]:
    """The files of sets of sheets, one after another, all made before one is written; ``steps`` counts each one's."""
    from ..drawing.layout_engine import NoEngine
    from ..drawing.leaves import as_files
    from ..paper.fitting import TooLarge
    from ..paper.sheet_set import paper_sheets

    try:
        leaves = [
            leaf
            for harness, file, now in sets
            for leaf in paper_sheets(harness, paper, _revision(file), now=now, steps=steps)
        ]
    except NoEngine as error:
        raise CannotError(str(error)) from None
    except TooLarge as error:
        larger = "give --paper A3, or draw it" if paper == "A4" else "draw it"
        too_large = f"{error} is larger than a sheet of {paper} with what is connected to it"
        raise CannotError(f"{too_large}: {larger} without --paper") from None
    return as_files(f"{stem}-{paper.lower()}", sets[0][0].title or stem, leaves, dict.fromkeys(formats))


def _revision(file: str) -> str:
    """What a file is a state of: its commit, or where it is in none the beginning of its hash."""
    from ...lang.files.revisions import SHORT, commit_of, revision_of

    if file == STANDARD_INPUT:
        return ""
    revision, path = of_revision(file)
    if revision:
        return f"git {commit_of(revision, path)[:SHORT]}"
    if commit := revision_of(file):
        return f"git {commit}"
    from hashlib import sha256

    return f"sha256 {sha256(Path(file).read_bytes()).hexdigest()[:10]}"


def _schematics(
    stems: Sequence[str],
    harnesses: Sequence[Harness],
    moments: Sequence[Now | None],
    into: str,
    formats: tuple[str, ...],
    systems: tuple[str, ...],
    output: str | None,
) -> None:
    """Draw the current paths of each harness, and write them as they are made."""
    from ..schematic.schematic import NoEngine, UnknownSystem, write
    from ..schematic.schematic import draw as schematic

    folder = Path(into)
    try:
        asked = [
            (f"{stem}-{system}" if system else stem, harness, system, now)
            for stem, harness, now in zip(stems, harnesses, moments, strict=True)
            for system in dict.fromkeys(systems or (None,))
        ]
        sheets = []
        with progress("drawing") as steps:
            for done, (name, harness, system, now) in enumerate(asked, 1):
                sheets.append((name, schematic(harness, system=system, now=now)))
                steps(done, len(asked))
        for name, drawing in sheets:
            targets = [folder / f"{name}.{ending}" for ending in formats] if output is None else [Path(output)]
            for target in targets:
                target.parent.mkdir(parents=True, exist_ok=True)
                write(drawing, target)
                click.echo(visible(str(target)))
    except UnknownSystem as error:
        raise click.UsageError(str(error)) from None
    except NoEngine as error:
        raise CannotError(str(error)) from None
    except OSError as error:
        raise CannotError(f"{error.filename or folder}: cannot be written: {reason(error)}") from None


def _one_drawing(files: tuple[str, ...], systems: tuple[str, ...], output: Path, sheet: str) -> None:
    """Refuse a name for one drawing where several would be made, or whose ending tells no format."""
    if len(files) > 1 or len(set(systems)) > 1:
        raise click.UsageError("-o names one drawing, and several are asked for: give --into FOLDER instead")
    known = (*DRAWINGS, LIST) if sheet == "layout" else DRAWINGS
    if _ending(output) not in known:
        raise click.UsageError(f"{output}: the ending tells the format; expected one of {', '.join(known)}")


def _ending(output: Path) -> str:
    return output.suffix.lower().removeprefix(".")
