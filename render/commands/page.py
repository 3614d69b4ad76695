"""``loomwright page``: a harness as one HTML file that works."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from ...lang.diagnostics.visible import visible
from . import options
from .exits import FOUND, CannotError
from .inputs import STANDARD_INPUT, show_mistakes, sound_reading
from .judging import but_accepted, folder_settings, sound_log, terms_of
from .outputs import ending_of, save
from .progress import progress


@click.command()
@options.file
@click.option("-o", "--output", metavar="PAGE", help="Write it here.  [default: NAME.html beside FILE]")
@click.option("--log", "log_file", metavar="LOG", help="The build log. Default: log.md or NAME-log.md beside FILE.")
@options.stdin_filename
@options.today
def page(
    file: str, output: str | None, log_file: str | None, stdin_filename: str | None, today: datetime | None
) -> None:
    """Make one HTML file that shows and works the harness.

    It opens in a browser, on a telephone too, without a network, and fetches nothing. The schematic by system and
    whole; a control panel with the named states and every control, which calculates voltages and currents; what a cut
    wire, a pulled fuse, a lost ground or a terminal shorted to ground changes; the findings, each in the setting that
    shows it; the list to buy, the cut list and the sheets of a proof, with boxes and readings that the browser keeps;
    charts of the named states; the harness that this one converts, against it; the build log; and what the next owner
    needs to know.

    \b
    Examples:
      loomwright page bike.loom
      loomwright page bike.loom -o for-the-garage.html

    Of more than 300 wires the sheets of a proof are left out, since they take minutes; `loomwright prove` makes them.

    Exits 1 when the file or its log has errors (then nothing is written), 2 when the file cannot be read or written.
    """
    from ...checks.runner.run import RuleStudy, check_examined
    from ..page.bench_sheets import without_proof
    from ..page.log import log_beside
    from ..page.page import page as made
    from ..page.told import TOP
    from ..schematic.schematic import NoEngine

    ending_of(output, ("html",))
    if file == STANDARD_INPUT and output is None and stdin_filename is None:
        raise click.UsageError("name the page with -o: standard input has no name to make one of")
    reading = sound_reading(file, stdin_filename)
    settings = folder_settings(reading.harness.file)
    terms = terms_of(settings, None, own_rules=False)
    study = RuleStudy(
        reading.harness,
        today=options.day_of(today),
        otherwise=terms["otherwise"],
        unrun=terms.get("unrun"),
        old=reading.old,
    )
    report = but_accepted(check_examined(reading, study), settings.accepted)
    if report.mistakes:
        show_mistakes(report.harness, report.mistakes, report.texts, "fix the errors in the file first")
        raise click.exceptions.Exit(FOUND)
    if log_file is None and file != STANDARD_INPUT:
        log_file = log_beside(file)
    log = sound_log(log_file, reading, top=TOP) if log_file is not None else None
    if why := without_proof(study.harness):
        click.echo(why, err=True)
    target = output or str(Path(stdin_filename or file).with_suffix(".html"))
    try:
        with progress("making the page"):
            text = made(report, study, log=log)
        save(target, text)
    except NoEngine as error:
        raise CannotError(str(error)) from None
    click.echo(visible(target))
