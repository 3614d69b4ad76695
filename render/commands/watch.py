"""``loomwright watch``: checks a harness on every save."""

from __future__ import annotations

import sys

import click

from . import options
from .exits import CannotError
from .judging import but_accepted, folder_settings, limits_named, terms_of
from .outputs import print_reports


@click.command()
@options.file
@click.option("--accepted", metavar="LIST", help="What this list has does not count; `accept` writes it.")
@options.show_waived
@options.profile
@options.own_rules
def watch(file: str, accepted: str | None, show_waived: bool, profile: str | None, own_rules: bool) -> None:
    """Check a harness on every save.

    FILE and all that it uses are watched. Ctrl-C ends it.

    \b
    Example:
      loomwright watch bike.loom

    Exits 0 when it is ended with Ctrl-C; what is found does not change that.
    """
    from ...checks.causes import with_likely_cause
    from ...checks.runner.run import check as check_harness
    from ...lang.files.watching import readings

    limits, settings = limits_named(profile), folder_settings(file)
    terms = terms_of(settings, limits, own_rules=own_rules)
    try:
        for reading in readings(file):
            if isinstance(reading, Exception):
                CannotError(f"cannot read {reading}; waiting for it").show()
                continue
            day = options.day_of(None)
            report = but_accepted(check_harness(reading, today=day, **terms), accepted or settings.accepted)
            report = with_likely_cause(report, day, **terms)
            if sys.stdout.isatty():
                click.clear()
            print_reports([report], "text", waived=show_waived)
            sys.stdout.flush()
    except KeyboardInterrupt:
        return
