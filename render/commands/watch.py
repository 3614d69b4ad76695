"""``loomwright watch``: checks a harness on every save."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from . import options
from .exits import CannotError
from .judging import but_accepted, folder_settings, limits_named, say_missing, terms_of
from .outputs import print_reports

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ...checks.runner.run import Report
    from ...lang.model.harness import Reading


@click.command()
@options.file
@click.option("--accepted", metavar="LIST", help="Ignore findings in this list, which `accept` writes.")
@options.show_waived
@options.profile
@options.own_rules
@click.option("--clear", is_flag=True, help="Clear the terminal before each report.")
def watch(
    file: str, accepted: str | None, show_waived: bool, profile: str | None, own_rules: bool, clear: bool
) -> None:
    """Check a harness on every save.

    FILE, all that it uses, the settings and the list of accepted findings are watched; where one cannot be
    read, it waits until it can. A line with the time begins each report. Ctrl-C ends it.

    \b
    Example:
      loomwright watch bike.loom

    Exits 0 when it is ended with Ctrl-C; what is found does not change that.
    """
    from ...checks.causes import with_likely_cause
    from ...checks.runner.run import check as check_harness
    from ...checks.runner.settings import files_of_settings
    from ...lang.files.watching import readings

    judged_by: dict[str, None] = {}
    reported = False

    def judging_files() -> Iterable[str]:
        """What decides how the harness is judged, there or not: settings, limits, own rules, accepted findings."""
        return (*files_of_settings(file), *judged_by)

    def report_of(reading: Reading) -> Report:
        limits, settings = limits_named(profile), folder_settings(file)
        known = accepted or settings.accepted
        own = settings.own_rules if own_rules else ()
        judged_by.update(dict.fromkeys(name for name in (profile, known, *own) if name and Path(name).suffix))
        terms = terms_of(settings, limits, own_rules=own_rules)
        say_missing(accepted)
        day = options.day_of(None)
        report = but_accepted(check_harness(reading, today=day, **terms), known)
        return with_likely_cause(report, day, **terms)

    try:
        for reading in readings(file, beside=judging_files):
            if isinstance(reading, Exception):
                CannotError(f"cannot read {reading}; waiting for it").show()
                continue
            try:
                report = report_of(reading)
            except CannotError as error:
                if not reported:  # wrong from the start: a slip that nobody is about to correct
                    raise
                CannotError(f"{error.format_message()}; waiting for it").show()
                continue
            if clear:
                click.clear()
            click.echo(f"== {datetime.now():%H:%M:%S}")  # noqa: DTZ005  the user's own clock
            print_reports([report], "text", waived=show_waived)
            reported = True
            sys.stdout.flush()
    except KeyboardInterrupt:
        return
