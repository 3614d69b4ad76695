"""``loomwright check``: judges harnesses by every rule."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import click

from . import options
from .cores import usable_cores
from .exits import CANNOT, FOUND
from .judging import but_accepted, check_files, say_missing
from .outputs import FORMATS, print_reports, save_report

if TYPE_CHECKING:
    from datetime import datetime

    from ...checks.runner.run import Report
    from ...checks.runner.settings import Settings

LEVELS: Final = ("error", "warning", "note")


@click.command()
@options.files
@click.option("--format", "format_", type=click.Choice(list(FORMATS)), default="text", help="What to write.")
@click.option(
    "--also",
    type=(click.Choice(list(FORMATS)), str),
    metavar="FORMAT FILE",
    multiple=True,
    help="Write the report to FILE in this format, too; may be repeated.",
)
@click.option("--fail-on", type=click.Choice(LEVELS), help="Exit 1 from this level up; else the settings', or warning.")
@click.option("--accepted", metavar="FILE", help="Ignore findings in this list, which `accept` writes.")
@options.show_waived
@options.profile
@options.own_rules
@options.stdin_filename
@click.option("--jobs", type=click.IntRange(min=1), metavar="N", help="Check this many files at once; else all cores.")
@options.today
def check(
    files: tuple[str, ...],
    format_: str,
    also: tuple[tuple[str, str], ...],
    fail_on: str | None,
    accepted: str | None,
    show_waived: bool,
    profile: str | None,
    own_rules: bool,
    stdin_filename: str | None,
    jobs: int | None,
    today: datetime | None,
) -> None:
    """Check harnesses against every rule.

    If FILE is a folder, every .loom file below it that has a `loom` line is checked. FILE - reads standard input.
    Defaults come from the nearest loomwright.toml, or [tool.loomwright] in pyproject.toml.

    \b
    Examples:
      loomwright check bike.loom
      loomwright check . --accepted accepted.json
      loomwright check bike.loom --format github --also sarif out/bike.sarif --also junit out/bike.xml

    Exits 0 when nothing at the level of --fail-on or above is found, 1 when something is (errors in the file
    included), 2 when a file cannot be read or written.
    """
    from ...checks.causes import with_likely_cause
    from ...checks.findings.finding import Level

    day = options.day_of(today)
    least = Level[fail_on.upper()] if fail_on else None

    def explained(report: Report, settings: Settings, terms: dict[str, Any]) -> Report:
        return with_likely_cause(but_accepted(report, accepted or settings.accepted), day, **terms)

    checked, unreadable = check_files(
        files,
        stdin_filename,
        profile,
        day,
        own_rules=own_rules,
        jobs=usable_cores() if jobs is None else jobs,
        then=explained,
    )
    say_missing(accepted)
    reports = [report for report, _ in checked]
    print_reports(reports, format_, waived=show_waived)
    for name, file in also:
        save_report(reports, name, file, waived=show_waived)
    if unreadable:
        raise click.exceptions.Exit(CANNOT)
    for report, settings in checked:
        from_level = next(level for level in (least, settings.fail_on, Level.WARNING) if level is not None)
        if report.worst is not None and report.worst >= from_level:
            raise click.exceptions.Exit(FOUND)
