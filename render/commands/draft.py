"""``loomwright draft``: a harness file from a survey alone, where there is no diagram."""

from __future__ import annotations

import click

from ...lang.diagnostics.visible import visible
from .exits import FOUND, CannotError, reason


@click.command()
@click.argument("file", metavar="SURVEY")
@click.option("-o", "--output", metavar="FILE", help="Write it here; an existing file is not overwritten.")
def draft(file: str, output: str | None) -> None:
    """Draft a harness from a survey alone.

    For an old harness without a diagram. Every half becomes a connector, two halves that mate become one; leads with
    continuity are joined, and each line says whether it was measured or rests on colour alone. The readings that are
    still needed are listed at the end. The draft is a beginning: fill in sizes, fuses and most of the parts.

    \b
    Examples:
      loomwright draft found.loom
      loomwright draft found.loom -o bike.loom

    Exits 0, 1 when the file has errors or readings contradict each other, 2 when a file cannot be read or written.
    """
    from pathlib import Path

    from ...checks.survey.draft import drafted
    from ...lang.diagnostics.messages import plainly_listed
    from ...lang.editing.formatter import tidy
    from ...lang.editing.replace import replace_file
    from ..report.draft import draft_text
    from .surveying import has_mistakes, read, require_leads

    reading = read(file)
    survey = reading.survey
    if survey.harness is not None:
        raise CannotError(f"{file} has a diagram: `identify` tells which half is which")
    require_leads(file, reading)
    found = drafted(survey)
    text = tidy(draft_text(found), "draft.loom")
    if output is None:
        click.echo(text, nl=False)
    else:
        if Path(output).exists():
            raise CannotError(f"{output} is there already, and stays as it is: choose another name")
        try:
            replace_file(Path(output), text.encode("utf-8"))
        except (OSError, ValueError) as error:
            raise CannotError(f"{output}: cannot be written: {reason(error)}") from None
        click.echo(f"{visible(output)}: written", err=True)
    for clash in found.clashes:
        by = plainly_listed(tuple(map(str, clash.joined_by)))
        lines = "line" if len(clash.joined_by) == 1 else "lines"
        click.echo(
            f"{survey.file}:{clash.parted_by}: {clash.a} and {clash.b} are silent here, and joined by {lines} {by}: "
            "take these readings again",
            err=True,
        )
    if has_mistakes(reading) or found.clashes:
        raise click.exceptions.Exit(FOUND)
