"""``loomwright draw``: the schematic of harnesses."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

from ...lang.diagnostics.visible import visible
from . import options
from .exits import CannotError, reason
from .inputs import STANDARD_INPUT, sound

DRAWINGS: Final = ("svg", "png", "pdf")


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
@click.option("--system", "systems", metavar="NAME", multiple=True, help="A sheet of this system; may be repeated.")
@click.option(
    "-o", "--output", metavar="DRAWING", help="Just this one drawing, its format by its ending: svg, png or pdf."
)
def draw(
    files: tuple[str, ...], into: str, formats: tuple[str, ...], systems: tuple[str, ...], output: str | None
) -> None:
    """Draw the schematic of harnesses.

    Each FILE on one sheet, or a sheet for each --system (lighting, ignition, ...) with its feeds. Prints the name of
    each drawing: that of its FILE unless -o gives another. Exits 1 when a file has mistakes: half a harness is not
    drawn.

    \b
    Examples:
      loomwright draw bike.loom -o bike.pdf
      loomwright draw bike.loom --system lighting --system charging --into sheets
    """
    from ..schematic.schematic import NoEngine, UnknownSystem, write
    from ..schematic.schematic import draw as schematic

    if output is not None:
        _one_drawing(files, systems, Path(output))
    stems = ["harness" if file == STANDARD_INPUT else Path(file).stem for file in files]
    if twice := sorted({stem for stem in stems if stems.count(stem) > 1}):
        raise click.UsageError(f"two files would be drawn as {twice[0]}: draw them into two folders")
    harnesses = [sound(file) for file in files]
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
