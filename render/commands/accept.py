"""``loomwright accept``: records what is found as known."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ...lang.diagnostics.visible import visible
from . import options
from .exits import CANNOT, FOUND, say
from .judging import baseline_in, check_files
from .outputs import save

if TYPE_CHECKING:
    from datetime import datetime


@click.command()
@options.files
@click.option("--into", metavar="FILE", help="The list to write; else the settings', or accepted.json.")
@options.profile
@options.own_rules
@options.today
def accept(
    files: tuple[str, ...], into: str | None, profile: str | None, own_rules: bool, today: datetime | None
) -> None:
    """Record current findings as a baseline.

    For an old harness with more findings than can be fixed at once: today's findings go into a list, and `check
    --accepted` then fails only on what is new or more severe. The list has one finding a line, without line numbers,
    and belongs in version control. Entries for other harnesses stay. Errors in a file are never accepted. An accepted
    finding is as dangerous as before.

    \b
    Examples:
      loomwright accept bike.loom
      loomwright check bike.loom --accepted accepted.json

    Exits 0 when the list is written, 1 when a file has errors or a rule could not be checked, 2 when a file cannot be
    read or written.
    """
    from ...checks.runner.baseline import new_baseline

    checked, unreadable = check_files(files, None, profile, options.day_of(today), own_rules=own_rules)
    if unreadable:
        raise click.exceptions.Exit(CANNOT)
    reports = [report for report, _ in checked]
    lists = {settings.accepted for _, settings in checked}
    into = into or (lists.pop() if len(lists) == 1 else None) or "accepted.json"
    if into.endswith(".loom"):
        raise click.UsageError(f"--into {into} would be taken for a harness: name the list accepted.json or the like")
    if faulty := [report for report in reports if report.mistakes]:
        from ..report.findings import report_text

        click.echo("".join(map(report_text, faulty)), nl=False, err=True)
        say(f"{into} is not written: errors in a file are never accepted")
        raise click.exceptions.Exit(FOUND)
    made = new_baseline(reports, into, baseline_in(into) if Path(into).exists() else {})
    save(into, made.text)
    click.echo(f"{visible(into)}: {made.accepted} accepted")
    for finding in made.refused:
        click.echo(visible(f"not accepted: {finding.message} [{finding.rule}]"), err=True)
    if made.refused:
        raise click.exceptions.Exit(FOUND)
