"""The command line: reads arguments, calls the language, the checks and the drawings, prints.

Exit status: 0, nothing found at the level asked for; 1, something found, mistakes in a text included; 2, a file cannot
be read or written, or the command line is wrong; 70, a fault of Loomwright's own. What a command needs is imported
inside it, so that ``check`` never pays for pictures.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, NoReturn

import click

from . import __version__

if TYPE_CHECKING:
    from .checks.runner import Report
    from .lang.model import Reading

FOUND, CANNOT, OWN_FAULT, INTERRUPTED = 1, 2, 70, 130
LEVELS = ("error", "warning", "note")
FORMATS = {
    "text": "",
    "json": "json_report",
    "sarif": "sarif",
    "junit": "junit",
    "annotations": "annotations",
    "code-quality": "code_quality",
}
"""What ``check`` can write, and the module of ``render.formats`` that writes it."""

STANDARD_INPUT = "-"


class _Cannot(click.ClickException):
    """A file that cannot be read or written: ``program: message``, as the GNU coding standards say where no line is."""

    exit_code = CANNOT

    def show(self, file: IO[Any] | None = None) -> None:
        click.echo(f"loomwright: {self.format_message()}", file=file or sys.stderr)


class _Commands(click.Group):
    """Sees to it that "found something" and "could not run" never look alike, however a command ends."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit):
            raise
        except (KeyboardInterrupt, click.Abort):
            ctx.exit(INTERRUPTED)
        except BrokenPipeError:  # whoever read our output has gone: there is nobody left to tell
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            ctx.exit(CANNOT)
        except Exception:  # noqa: BLE001  the last resort: Python's own status for it is 1, which here means "found"
            _own_fault()


def _own_fault() -> NoReturn:
    import traceback

    traceback.print_exc()
    click.echo("loomwright: this is a fault of loomwright itself and says nothing about the harness", err=True)
    sys.exit(OWN_FAULT)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="loomwright", message="%(prog)s %(version)s")
def main() -> None:
    """Motorcycle wiring harnesses as text: checked on every edit, drawn as a schematic.

    It tells what it checked and what it found, never that a harness is safe: local codes, the makers' instructions and
    licensed practice come first, and a meter has the last word.
    """
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show a letter gets its number: an Ω is no reason to stop.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


@main.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
@click.option("--format", "format_", type=click.Choice(list(FORMATS)), default="text", help="What to write.")
@click.option(
    "--fail-on", type=click.Choice(LEVELS), default="warning", show_default=True, help="Exit 1 from this level up."
)
@click.option("--waived", is_flag=True, help="List what a waiver covers, too.")
@click.option("--profile", default="boat-law", show_default=True, help="Whose limits to judge conductors and fuses by.")
@click.option("--stdin-filename", metavar="NAME", help="What to call the harness that FILE - reads.")
@click.option("--today", type=click.DateTime(["%Y-%m-%d"]), help="The day to judge waivers' dates by; else this one.")
def check(
    files: tuple[str, ...],
    format_: str,
    fail_on: str,
    waived: bool,
    profile: str,
    stdin_filename: str | None,
    today: datetime | None,
) -> None:
    """Judge harnesses by every rule. FILE - reads standard input.

    Exits 0 when nothing is found, 1 when something is (mistakes in the text included), 2 when a file cannot be read.
    """
    from .checks.finding import Level
    from .checks.runner import check as check_harness
    from .render.report import worst_level

    day = today.date() if today else date.today()  # noqa: DTZ011  the user's own day
    readings, unreadable = _read_all(files, stdin_filename)
    reports = [check_harness(reading, today=day, profile=profile) for reading in readings]
    _print_reports(reports, format_, waived=waived)
    if unreadable:
        raise click.exceptions.Exit(CANNOT)
    worst = worst_level(reports)
    if worst is not None and worst >= Level[fail_on.upper()]:
        raise click.exceptions.Exit(FOUND)


def _print_reports(reports: Sequence[Report], format_: str, *, waived: bool) -> None:
    if format_ == "text":
        from .render.report import report_text, wants_colour

        colour = wants_colour(sys.stdout, os.environ)
        text = "".join(report_text(report, colour=colour, waived=waived) for report in reports)
    else:
        from importlib import import_module

        colour = False
        text = import_module(f".render.formats.{FORMATS[format_]}", __package__).write(reports, waived=waived)
    click.echo(text, nl=False, color=colour)


def _read_all(files: Sequence[str], stdin_filename: str | None) -> tuple[list[Reading], bool]:
    """Every file that can be read, and whether one could not: that is said at once, and the others are still read."""
    if files.count(STANDARD_INPUT) > 1:
        raise click.UsageError("standard input can be read once: give - once")
    if stdin_filename is not None and STANDARD_INPUT not in files:
        raise click.UsageError("--stdin-filename names what standard input holds: give - as a FILE")
    readings, unreadable = [], False
    for file in files:
        try:
            readings.append(_read(file, stdin_filename))
        except _Cannot as failure:
            failure.show()
            unreadable = True
    return readings, unreadable


def _read(file: str, stdin_filename: str | None = None) -> Reading:
    from .lang.reading import read_harness

    if file == STANDARD_INPUT:
        return read_harness(stdin_filename or "<stdin>", _text(file, sys.stdin.buffer.read))
    return read_harness(file, _text(file, Path(file).read_bytes))


def _text(file: str, read: Callable[[], bytes]) -> str:
    try:
        return read().decode("utf-8")
    except UnicodeDecodeError as error:
        raise _Cannot(f"{file}: cannot be read: not UTF-8 at byte {error.start + 1}; save it as UTF-8") from None
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        reason = (isinstance(error, OSError) and error.strerror) or str(error)
        raise _Cannot(f"{file}: cannot be read: {reason[:1].lower()}{reason[1:]}") from None


@main.command()
def rules() -> None:
    """List every rule: its name, its gravest level, and what it catches."""
    from .checks.runner import catalogue
    from .render.catalogue import rule_list

    click.echo(rule_list(catalogue()), nl=False)


@main.command()
@click.argument("rule")
def explain(rule: str) -> None:
    """Tell what RULE catches and why, by which source, with an example that it finds fault with and one it passes."""
    from .checks.runner import catalogue, rule_named
    from .render.catalogue import explanation

    found = rule_named(rule)
    if found is None:
        from difflib import get_close_matches

        near = get_close_matches(rule, [known.name for known in catalogue()], 1)
        hint = f"; the nearest is {near[0]!r}" if near else ""
        raise click.UsageError(f"no rule is named {rule!r}{hint}. 'loomwright rules' lists them.")
    click.echo(explanation(found), nl=False)
