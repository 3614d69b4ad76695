"""``loomwright log``: the build log of a harness as one HTML file."""

from __future__ import annotations

from pathlib import Path

import click

from ...lang.diagnostics.visible import visible
from . import options
from .exits import CannotError
from .inputs import STANDARD_INPUT, sound_reading
from .judging import sound_log
from .outputs import ending_of, save


@click.command()
@options.file
@click.option("--log", "log_file", metavar="LOG", help="The log. Default: log.md or NAME-log.md beside FILE.")
@click.option("-o", "--output", metavar="PAGE", help="Write it here.  [default: NAME-log.html beside FILE]")
def log(file: str, log_file: str | None, output: str | None) -> None:
    """Make the build log one HTML file.

    The log is Markdown (CommonMark, no HTML) in log.md beside FILE; where several harnesses are in one folder, in
    NAME-log.md. The page holds all that is in it and fetches nothing.

    Photographs are JPEG, PNG or WebP files in the folder of the log or below it, shown with ![words](photos/tray.jpg
    "caption"). They are turned upright and made smaller, and nothing but the picture is kept: no place, no date.

    A fence that begins with `loomwright` is replaced by what the command gives of FILE: draw [--system NAME] [--state
    NAME [--fault 'wire 12 open']], states [--state NAME] [--bars], trace NAME [--in STATE] [--with 'CONTROL POSITION'],
    and compare, with the harness that FILE converts. A line `revision:` with 7 to 40 digits of a commit takes FILE as
    it stood then; compare takes two.

    \b
    Example of a fence:
      ```loomwright draw --system lighting
      revision: 1f3a9c2
      ```

    \b
    Examples:
      loomwright log bike.loom
      loomwright log bike.loom -o for-the-next-owner.html

    Exits 0, 1 when FILE or the log has errors (then nothing is written), 2 when a file cannot be read or written.
    """
    from ..page.log import NAME, log_beside
    from ..page.log_page import log_page

    if file == STANDARD_INPUT:
        raise click.UsageError("a log is beside the file of its harness: name that file, not -")
    ending_of(output, ("html",))
    reading = sound_reading(file)
    log_file = log_file or log_beside(file)
    if log_file is None:
        stem = Path(file).stem
        raise CannotError(f"{file} has no log: write one in {NAME} or {stem}-{NAME} beside it, or name it with --log")
    found = sound_log(log_file, reading)
    target = output or str(Path(file).with_suffix("")) + "-log.html"
    save(target, log_page(reading.harness.title or Path(file).stem, found))
    click.echo(visible(target))
