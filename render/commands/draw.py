"""``loomwright draw``: the schematic of harnesses, and their drawings for the bench."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from ...lang.diagnostics.visible import visible
from . import options
from .exits import CannotError, reason
from .inputs import STANDARD_INPUT, sound
from .outputs import save_bytes

if TYPE_CHECKING:
    from ...lang.model.harness import Harness

DRAWINGS: Final = ("svg", "png", "pdf")
SHEETS: Final = ("current", "pinouts")
PAPERS: Final = ("A4", "A3")


@click.command()
@options.files
@click.option(
    "--into", metavar="FOLDER", default=".", show_default=True, help="Where the drawings go; made if need be."
)
@click.option(
    "--format",
    "formats",
    type=click.Choice(DRAWINGS),
    multiple=True,
    default=["svg"],
    help="May be given more than once.",
)
@click.option(
    "--sheet",
    type=click.Choice(SHEETS),
    default="current",
    show_default=True,
    help="Current paths, or for the bench what is in each plug.",
)
@click.option("--system", "systems", metavar="NAME", multiple=True, help="A sheet of this system; may be repeated.")
@click.option("--paper", type=click.Choice(PAPERS), help="Of the sheets for the bench.  [default: A4]")
@click.option(
    "-o", "--output", metavar="DRAWING", help="Just this one drawing, its format by its ending: svg, png or pdf."
)
def draw(
    files: tuple[str, ...],
    into: str,
    formats: tuple[str, ...],
    sheet: str,
    systems: tuple[str, ...],
    paper: str | None,
    output: str | None,
) -> None:
    """Draw the schematic of harnesses, or their sheets for the bench.

    Each FILE on one sheet, or a sheet for each --system (lighting, ignition, ...) with its feeds. Prints the name of
    each drawing: that of its FILE unless -o gives another. Exits 1 when a file has mistakes: half a harness is not
    drawn.

    --sheet pinouts shows each plug from the wires and from its mating face, with what is in each cavity. A PDF has all
    leaves in it; SVG and PNG are a file a leaf.

    \b
    Examples:
      loomwright draw bike.loom -o bike.pdf
      loomwright draw bike.loom --system lighting --system charging --into sheets
      loomwright draw bike.loom --sheet pinouts -o pinouts.pdf
    """
    if output is not None:
        _one_drawing(files, systems, Path(output))
    stems = ["harness" if file == STANDARD_INPUT else Path(file).stem for file in files]
    if twice := sorted({stem for stem in stems if stems.count(stem) > 1}):
        raise click.UsageError(f"two files would be drawn as {twice[0]}: draw them into two folders")
    if sheet == "current":
        if paper is not None:
            raise click.UsageError("--paper is for the sheets for the bench: give --sheet pinouts, too")
        _schematics(stems, [sound(file) for file in files], into, formats, systems, output)
        return
    if systems:
        raise click.UsageError(f"--system is for the schematic: leave it out with --sheet {sheet}")
    if output is not None:
        formats = (Path(output).suffix.lower().removeprefix("."),)
    made: dict[str, bytes] = {}
    for stem, file in zip(stems, files, strict=True):
        made |= _pinouts(sound(file), stem, file, paper or PAPERS[0], formats)
    if output is not None and len(made) > 1:
        raise click.UsageError(f"{output}: this sheet has {len(made)} leaves: name a PDF, or give --into FOLDER")
    for name, data in made.items():
        target = str(Path(into) / name) if output is None else output
        save_bytes(target, data)
        click.echo(visible(target))


def _pinouts(harness: Harness, stem: str, file: str, paper: str, formats: tuple[str, ...]) -> dict[str, bytes]:
    """The files of the pin-outs, all made before one is written."""
    from ...lang.files.revisions import revision_of
    from ..bench.pinout_sheet import NothingToDraw, pinout_files

    revision = "" if file == STANDARD_INPUT else revision_of(file)
    try:
        return pinout_files(harness, stem, paper=paper, formats=dict.fromkeys(formats), revision=revision)
    except NothingToDraw as error:
        raise CannotError(str(error)) from None


def _schematics(
    stems: list[str],
    harnesses: list[Harness],
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
        sheets = [
            (f"{stem}-{system}" if system else stem, schematic(harness, system=system))
            for stem, harness in zip(stems, harnesses, strict=True)
            for system in dict.fromkeys(systems or (None,))
        ]
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


def _one_drawing(files: tuple[str, ...], systems: tuple[str, ...], output: Path) -> None:
    """Refuse a name for one drawing where several would be made, or whose ending tells no format."""
    if len(files) > 1 or len(set(systems)) > 1:
        raise click.UsageError("-o names one drawing, and several are asked for: give --into FOLDER instead")
    if output.suffix.lower().removeprefix(".") not in DRAWINGS:
        raise click.UsageError(f"{output}: the ending tells the format; expected one of {', '.join(DRAWINGS)}")
