"""Arguments and options that several commands have, and what a shell completes them with."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING, Final

import click

from .inputs import STANDARD_INPUT

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from ...lang.model.harness import Harness


# --- what a shell completes a command line with
def file_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Names of files."""
    from click.shell_completion import CompletionItem

    return [CompletionItem(incomplete, type="file")]


def rule_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Names of rules."""
    from click.shell_completion import CompletionItem

    from ...checks.runner.run import catalogue

    return [CompletionItem(rule.name) for rule in catalogue() if rule.name.startswith(incomplete)]


def state_names(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Names of the states of FILE."""
    from click.shell_completion import CompletionItem

    harness = _harness_so_far(ctx)
    return [CompletionItem(name) for name in (harness.states if harness else ()) if name.startswith(incomplete)]


def seen_words(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Things that can be dead, dim or live in FILE."""
    from click.shell_completion import CompletionItem

    from ...checks.diagnosis.observations import STANDINGS
    from ...lang.circuit.build import build_circuit

    harness = _harness_so_far(ctx)
    consumers = [branch for branch in build_circuit(harness).branches if branch.branch_type.consumes] if harness else []
    things = dict.fromkeys((*(branch.part for branch in consumers), *(branch.key for branch in consumers)))
    said = (f"{thing} {word}" for thing in things for word in STANDINGS)
    return [CompletionItem(each) for each in said if each.startswith(incomplete)]


def _harness_so_far(ctx: click.Context) -> Harness | None:
    """The harness of a command line that is still being typed; ``None`` where there is no FILE that can be read."""
    from ...lang.files.reading import UnreadableError, read_file

    # While an option waits for its value, click has not told the arguments from the rest yet.
    given = ctx.params.get("file") or next(iter(ctx.args), None)
    if given is None or given == STANDARD_INPUT:
        return None
    try:
        return read_file(given).harness
    except UnreadableError:
        return None


# --- arguments
file: Final = click.argument("file", metavar="FILE", shell_complete=file_names)
files: Final = click.argument("files", metavar="FILE...", nargs=-1, required=True, shell_complete=file_names)


# --- options
text_or_json: Final = click.option(
    "--format", "format_", type=click.Choice(["text", "json"]), default="text", help="What to write."
)
text_or_csv: Final = click.option(
    "--format", "format_", type=click.Choice(["text", "csv"]), default="text", help="What to write."
)
list_output: Final = click.option(
    "-o", "--output", metavar="FILE", help="Write it here; the ending tells the format: pdf or csv."
)
paper: Final = click.option(
    "--paper", type=click.Choice(["A4", "A3", "letter"]), default="A4", help="Paper of the PDF."
)
stdin_filename: Final = click.option(
    "--stdin-filename", metavar="NAME", help="What to call the harness that FILE - reads."
)
show_waived: Final = click.option("--show-waived", is_flag=True, help="List what is waived or accepted, too.")
profile: Final = click.option(
    "--profile",
    metavar="NAME",
    help="Limits to use: a profile or its FILE.toml. Default: as in the harness, the settings, or boat-law.",
)
own_rules: Final = click.option(
    "--own-rules",
    is_flag=True,
    envvar="LOOMWRIGHT_OWN_RULES",
    help="Run your own rules, which are code: those that the settings name and those of installed packages.",
)
today: Final = click.option(
    "--today",
    type=click.DateTime(["%Y-%m-%d"]),
    metavar="DATE",
    help="Date for waivers, such as 2026-03-01. Default: today.",
)


def day_of(given: datetime | None) -> date:
    """The day that ``--today`` names; else the user's own."""
    return given.date() if given else date.today()  # noqa: DTZ011
