"""The command line: reads arguments, calls the language, the checks and the drawings, prints.

Exit status: 0, nothing found at the level asked for; 1, something found, mistakes in a text included; 2, a file cannot
be read or written, or the command line is wrong; 70, a fault of Loomwright's own. What a command needs is imported
inside it, so that ``check`` never pays for pictures.
"""

from __future__ import annotations

import atexit
import gc
import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, NoReturn

import click

from . import __version__
from .render.commands.identify import identify

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from .checks.rule import Rule
    from .checks.runner.run import Report
    from .checks.runner.settings import Settings
    from .checks.sizing.sizing import Sizing
    from .checks.tables.profiles import Profile
    from .lang.circuit.circuit import Circuit
    from .lang.editing.formatter import Tidied
    from .lang.model.harness import Harness, Reading
    from .render.formats.accepted import Lists

FOUND, CANNOT, OWN_FAULT, INTERRUPTED = 1, 2, 70, 130
LEVELS = ("error", "warning", "note")
FORMATS = {
    "text": "",
    "json": "json_report",
    "sarif": "sarif",
    "junit": "junit",
    "github": "annotations",
    "gitlab": "code_quality",
}
"""What ``check`` can write, and the module of ``render.formats`` that writes it."""

DRAWINGS = ("svg", "png", "pdf")
STANDARD_INPUT = "-"
YOUNG = 300_000
"""So many new objects may there be before garbage is looked for (ours). Next to none of them ever is: looking after
every 700, as Python does, takes a fifteenth of the time of a check.
"""

FEW = 6
"""So many names can all be shown to somebody who missed one."""


class _Cannot(click.ClickException):
    """A file that cannot be read or written: ``program: message``, as the GNU coding standards say where no line is."""

    exit_code = CANNOT

    def show(self, file: IO[Any] | None = None) -> None:
        click.echo(f"loomwright: {self.format_message()}", file=file or sys.stderr)


def _file_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Names of files, for shells that complete a command line."""
    from click.shell_completion import CompletionItem

    return [CompletionItem(incomplete, type="file")]


def _rule_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Names of rules, for shells that complete a command line."""
    from click.shell_completion import CompletionItem

    from .checks.runner.run import catalogue

    return [CompletionItem(rule.name) for rule in catalogue() if rule.name.startswith(incomplete)]


def _state_names(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Names of the states of FILE, for shells that complete a command line."""
    from click.shell_completion import CompletionItem

    harness = _harness_so_far(ctx)
    return [CompletionItem(name) for name in (harness.states if harness else ()) if name.startswith(incomplete)]


def _seen_words(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Things that can be dead, dim or live in FILE, for shells that complete a command line."""
    from click.shell_completion import CompletionItem

    from .checks.diagnosis.observations import STANDINGS
    from .lang.circuit.build import build_circuit

    harness = _harness_so_far(ctx)
    consumers = [branch for branch in build_circuit(harness).branches if branch.branch_type.consumes] if harness else []
    things = dict.fromkeys((*(branch.part for branch in consumers), *(branch.key for branch in consumers)))
    said = (f"{thing} {word}" for thing in things for word in STANDINGS)
    return [CompletionItem(each) for each in said if each.startswith(incomplete)]


def _harness_so_far(ctx: click.Context) -> Harness | None:
    """The harness of a command line that is still being typed; ``None`` where there is no FILE that can be read."""
    from .lang.files.reading import UnreadableError, read_file

    # While an option waits for its value, click has not told the arguments from the rest yet.
    file = ctx.params.get("file") or next(iter(ctx.args), None)
    if file is None or file == STANDARD_INPUT:
        return None
    try:
        return read_file(file).harness
    except UnreadableError:
        return None


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


@click.group("loomwright", cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="loomwright", message="%(prog)s %(version)s")
def main() -> None:
    """Motorcycle wiring harnesses as text: checked on every edit, drawn as a schematic.

    It tells what it checked and what it found, never that a harness is safe: local codes, the makers' instructions and
    licensed practice come first, and a meter has the last word.

    \b
    Examples:
      loomwright new my-twin
      loomwright watch my-twin.loom
      loomwright check my-twin.loom
      loomwright explain unfused-feed

    \b
    Exit status:
      0    nothing was found at the level asked for
      1    something was found, mistakes in a text included
      2    a file cannot be read or written, or the command line is wrong
      70   a fault of loomwright's own, which says nothing about the harness
      130  interrupted
    """
    gc.set_threshold(YOUNG)
    atexit.register(gc.freeze)  # what is there at the end goes with the process: no garbage need be looked for in it
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show a letter gets its number: an Ω is no reason to stop.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


_profile = click.option(
    "--profile",
    metavar="NAME",
    help="Whose limits to judge by: a profile or its FILE.toml; else the harness's, the settings', or boat-law.",
)
_own_rules = click.option(
    "--own-rules",
    is_flag=True,
    envvar="LOOMWRIGHT_OWN_RULES",
    help="Run rules of your own, which are code: those that the settings name and those of installed packages.",
)
_today = click.option(
    "--today", type=click.DateTime(["%Y-%m-%d"]), help="The day to judge waivers' dates by; else this one."
)


@main.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True, shell_complete=_file_names)
@click.option("--format", "format_", type=click.Choice(list(FORMATS)), default="text", help="What to write.")
@click.option(
    "--also",
    type=(click.Choice(list(FORMATS)), str),
    metavar="FORMAT FILE",
    multiple=True,
    help="Write the report to FILE in this format, too; may be repeated.",
)
@click.option("--fail-on", type=click.Choice(LEVELS), help="Exit 1 from this level up; else the settings', or warning.")
@click.option("--accepted", metavar="FILE", help="What this list has does not count; `accept` writes it.")
@click.option("--show-waived", is_flag=True, help="List what is waived or accepted, too.")
@_profile
@_own_rules
@click.option("--stdin-filename", metavar="NAME", help="What to call the harness that FILE - reads.")
@_today
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
    today: datetime | None,
) -> None:
    """Judge harnesses by every rule.

    A FILE that is a folder stands for every .loom file in it and below that has a `loom` line. FILE - reads standard
    input. Defaults come from the nearest loomwright.toml, or [tool.loomwright] in pyproject.toml.

    \b
    Examples:
      loomwright check bike.loom
      loomwright check . --accepted accepted.json
      loomwright check bike.loom --format github --also sarif out/bike.sarif --also junit out/bike.xml

    Exits 0 when nothing is found, 1 when something is (mistakes in the text included), 2 when a file cannot be read or
    written.
    """
    from .checks.causes import with_likely_cause
    from .checks.findings.finding import Level

    checked, unreadable, day = _checked(files, stdin_filename, profile, today, own_rules=own_rules)
    least = Level[fail_on.upper()] if fail_on else None
    reports = [
        with_likely_cause(_but_accepted(report, accepted or settings.accepted), day, **terms)
        for report, settings, terms in checked
    ]
    _print_reports(reports, format_, waived=show_waived)
    for name, file in also:
        _save_report(reports, name, file, waived=show_waived)
    if unreadable:
        raise click.exceptions.Exit(CANNOT)
    for report, (_, settings, _) in zip(reports, checked, strict=True):
        from_level = next(level for level in (least, settings.fail_on, Level.WARNING) if level is not None)
        if report.worst is not None and report.worst >= from_level:
            raise click.exceptions.Exit(FOUND)


def _checked(
    files: Sequence[str], stdin_filename: str | None, profile: str | None, today: datetime | None, *, own_rules: bool
) -> tuple[list[tuple[Report, Settings, dict[str, Any]]], bool, date]:
    """What a check of the files of the command line gives, each with its settings and terms, whether one cannot be
    read, and the day.
    """
    from .checks.runner.run import check as check_harness

    limits = _limits(profile)
    day = today.date() if today else date.today()  # noqa: DTZ011  the user's own day
    readings, unreadable = _read_all(files, stdin_filename)
    checked = []
    for reading in readings:
        settings = _folder_settings(reading.harness.file)
        terms = _terms(settings, limits, own_rules=own_rules)
        checked.append((check_harness(reading, today=day, **terms), settings, terms))
    return checked, unreadable, day


def _terms(settings: Settings, limits: Profile | None, *, own_rules: bool) -> dict[str, Any]:
    """How to check a harness with these settings: whose limits, and which rules besides those that come along."""
    from .checks.tables.profiles import DEFAULT

    terms: dict[str, Any] = {"profile": limits, "otherwise": settings.profile or DEFAULT}
    if own_rules:
        terms["own_rules"] = _rules_of_ones_own(settings)
    elif settings.rules_span is not None and settings.own_rules:
        from .checks.runner.own_rules import Unrun

        terms["unrun"] = Unrun(settings.own_rules, settings.rules_span)
    return terms


def _rules_of_ones_own(settings: Settings) -> tuple[Rule, ...]:
    """Runs the user's own rule files, and those of packages; only ever called because the command line says so."""
    from .checks.runner.own_rules import OwnRuleError, rules_from_files, rules_from_packages
    from .checks.runner.run import catalogue

    try:
        offered = rules_from_packages(catalogue())
        return (*offered, *rules_from_files(settings.own_rules, (*catalogue(), *offered)))
    except OwnRuleError as error:
        raise _Cannot(str(error)) from None


def _folder_settings(harness_file: str) -> Settings:
    from .checks.runner.settings import SettingsError, settings_of

    try:
        return settings_of(harness_file)
    except SettingsError as error:
        raise _Cannot(str(error)) from None


def _limits(profile: str | None) -> Profile | None:
    """The profile that the command line names."""
    from .checks.tables.profiles import profile_at, profile_names

    if profile is None:
        return None
    if not profile.endswith(".toml") and profile not in profile_names():
        raise _no_such("profile", profile, profile_names())
    try:
        return profile_at(profile)
    except ValueError as error:
        raise _Cannot(str(error)) from None


def _profile_for(harness: Harness, profile: str | None) -> Profile:
    """Whose limits count for a harness without mistakes: the command line's, its own, the settings', the default."""
    from .checks.runner.policy import profile_of
    from .checks.tables.profiles import DEFAULT

    limits = _limits(profile)
    try:
        return profile_of(harness, limits, _folder_settings(harness.file).profile or DEFAULT)
    except ValueError as error:
        raise _Cannot(f"{harness.file}: {error}") from None


def _but_accepted(report: Report, accepted: str | None) -> Report:
    """A report in which what a list of accepted findings holds does not count."""
    if accepted is None:
        return report
    from .render.formats.accepted import without_accepted

    return without_accepted(report, _accepted_lists(accepted), accepted)


def _accepted_lists(file: str) -> Lists:
    from .render.formats.accepted import NotAcceptedError, read_accepted

    try:
        return read_accepted(file)
    except NotAcceptedError as error:
        raise _Cannot(str(error)) from None
    except OSError as error:
        raise _Cannot(f"cannot read {file}: {_reason(error)}") from None


def _print_reports(reports: Sequence[Report], format_: str, *, waived: bool) -> None:
    from .render.report.findings import wants_colour

    colour = format_ == "text" and wants_colour(sys.stdout, os.environ)
    click.echo(_formatted(reports, format_, waived=waived, colour=colour), nl=False, color=colour)


def _formatted(reports: Sequence[Report], format_: str, *, waived: bool, colour: bool = False) -> str:
    if format_ == "text":
        from .render.report.findings import report_text

        return "".join(report_text(report, colour=colour, waived=waived) for report in reports)
    from importlib import import_module

    text: str = import_module(f".render.formats.{FORMATS[format_]}", __package__).write(reports, waived=waived)
    return text


def _save_report(reports: Sequence[Report], format_: str, file: str, *, waived: bool) -> None:
    read = {os.path.realpath(name) for report in reports for name in report.texts if "\0" not in name}
    if file.endswith(".loom") or ("\0" not in file and os.path.realpath(file) in read):
        raise click.UsageError(f"--also {format_} {file} would write over a harness: name another file")
    _save(file, _formatted(reports, format_, waived=waived))


def _save(file: str, text: str) -> None:
    from .lang.editing.replace import replace_file

    try:
        Path(file).parent.mkdir(parents=True, exist_ok=True)
        replace_file(Path(file), text.encode("utf-8", "backslashreplace"))
    except (OSError, ValueError) as error:
        raise _Cannot(f"{file}: cannot be written: {_reason(error)}") from None


@main.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True, shell_complete=_file_names)
@click.option("--into", metavar="FILE", help="The list to write; else the settings', or accepted.json.")
@_profile
@_own_rules
@_today
def accept(
    files: tuple[str, ...], into: str | None, profile: str | None, own_rules: bool, today: datetime | None
) -> None:
    """Take what is found today as known.

    For an old harness with more findings than can be mended at once: what is found now goes into a list, and
    `check --accepted` then fails only for what is new or has become graver. The list has one finding a line, names no
    line of a harness, and belongs into version control. What it says of other harnesses stays. Mistakes in a text are
    never accepted. A finding that is accepted is as dangerous as before.

    \b
    Examples:
      loomwright accept bike.loom
      loomwright check bike.loom --accepted accepted.json

    Exits 0 when the list is written, 1 when a text has mistakes or a rule could not be checked, 2 when a file cannot be
    read or written.
    """
    from .render.formats.accepted import new_list

    checked, unreadable, _ = _checked(files, None, profile, today, own_rules=own_rules)
    if unreadable:
        raise click.exceptions.Exit(CANNOT)
    reports = [report for report, _, _ in checked]
    lists = {settings.accepted for _, settings, _ in checked}
    into = into or (lists.pop() if len(lists) == 1 else None) or "accepted.json"
    if into.endswith(".loom"):
        raise click.UsageError(f"--into {into} would be taken for a harness: name the list accepted.json or the like")
    if faulty := [report for report in reports if report.mistakes]:
        from .render.report.findings import report_text

        click.echo("".join(map(report_text, faulty)), nl=False, err=True)
        click.echo(f"loomwright: {into} is not written: mistakes in a text are never accepted", err=True)
        raise click.exceptions.Exit(FOUND)
    made = new_list(reports, into, _accepted_lists(into) if Path(into).exists() else {})
    _save(into, made.text)
    click.echo(f"{into}: {made.accepted} accepted")
    for finding in made.refused:
        click.echo(f"not accepted: {finding.message} [{finding.rule}]", err=True)
    if made.refused:
        raise click.exceptions.Exit(FOUND)


def _read_all(files: Sequence[str], stdin_filename: str | None) -> tuple[list[Reading], bool]:
    """Every file that can be read, and whether one could not: that is said at once, and the others are still read."""
    _check_standard_input(files, stdin_filename)
    readings, unreadable = [], False
    for file in _in_folders(files, titled=True):
        try:
            readings.append(_read(file, stdin_filename))
        except _Cannot as failure:
            failure.show()
            unreadable = True
    return readings, unreadable


def _check_standard_input(files: Sequence[str], stdin_filename: str | None) -> None:
    if files.count(STANDARD_INPUT) > 1:
        raise click.UsageError("standard input can be read once: give - once")
    if stdin_filename is not None and STANDARD_INPUT not in files:
        raise click.UsageError("--stdin-filename names what standard input holds: give - as a FILE")


def _read(file: str, stdin_filename: str | None = None) -> Reading:
    from .lang.files.reading import UnreadableError, read_file, read_text

    if file == STANDARD_INPUT:
        text = sys.stdin.buffer.read().decode("utf-8", "surrogateescape")  # as files are read: reported line by line
        return read_text(text, stdin_filename or "<stdin>")
    try:
        return read_file(file)
    except UnreadableError as error:
        raise _Cannot(f"cannot read {error}") from None


def _reason(error: Exception) -> str:
    reason = (isinstance(error, OSError) and error.strerror) or str(error)
    return f"{reason[:1].lower()}{reason[1:]}"


@main.command()
@click.argument("name", metavar="NAME")
def new(name: str) -> None:
    """Start a harness.

    Writes NAME.loom: small, commented, without a finding, and yours to change. A file that is there is never written
    over.

    \b
    Examples:
      loomwright new my-twin
      loomwright check my-twin.loom

    Exits 0, 2 when the file is there already or cannot be written.
    """
    from .lang.files.starting import start

    try:
        click.echo(start(name))
    except FileExistsError as error:
        raise _Cannot(f"{error.filename} is there already, and stays as it is: choose another name") from None
    except OSError as error:
        raise _Cannot(f"{name}: cannot be written: {_reason(error)}") from None
    except ValueError as error:
        raise click.UsageError(f"{name!r} cannot name a harness: {error}") from None


@main.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion(shell: str) -> None:
    """Print what a shell completes commands with.

    Save it once where your shell looks for it; it asks loomwright itself what there is.

    \b
    Examples:
      loomwright completion bash > ~/.local/share/bash-completion/completions/loomwright
      loomwright completion zsh > ~/.zfunc/_loomwright        # with ~/.zfunc in $fpath
      loomwright completion fish > ~/.config/fish/completions/loomwright.fish
    """
    from click.shell_completion import ShellComplete, get_completion_class

    class_ = get_completion_class(shell)
    if class_ is None or main.name is None:
        raise _Cannot(f"no completion for {shell}")
    variable = f"_{main.name.upper()}_COMPLETE"
    # The class's own text, without its look at which bash is running now: the text may be made on another machine.
    click.echo(ShellComplete.source(class_(main, {}, main.name, variable)))


@main.command()
@click.argument("file", metavar="FILE", shell_complete=_file_names)
@click.option("--accepted", metavar="LIST", help="What this list has does not count; `accept` writes it.")
@click.option("--show-waived", is_flag=True, help="List what is waived or accepted, too.")
@_profile
@_own_rules
def watch(file: str, accepted: str | None, show_waived: bool, profile: str | None, own_rules: bool) -> None:
    """Check a harness on every save.

    FILE and all that it uses are watched. Ctrl-C ends it.

    \b
    Example:
      loomwright watch bike.loom

    Exits 0 when it is ended with Ctrl-C; what is found does not change that.
    """
    from .checks.causes import with_likely_cause
    from .checks.runner.run import check as check_harness
    from .lang.files.watching import readings

    limits, settings = _limits(profile), _folder_settings(file)
    terms = _terms(settings, limits, own_rules=own_rules)
    try:
        for reading in readings(file):
            if isinstance(reading, Exception):
                _Cannot(f"cannot read {reading}; waiting for it").show()
                continue
            day = date.today()  # noqa: DTZ011  the user's own day
            report = _but_accepted(check_harness(reading, today=day, **terms), accepted or settings.accepted)
            report = with_likely_cause(report, day, **terms)
            if sys.stdout.isatty():
                click.clear()
            _print_reports([report], "text", waived=show_waived)
            sys.stdout.flush()
    except KeyboardInterrupt:
        return


@main.command()
@_profile
@_own_rules
def serve(profile: str | None, own_rules: bool) -> None:
    """Answer an editor while somebody writes.

    Speaks the Language Server Protocol over standard input and output; the editor starts it. Mistakes and findings as
    you type, completion, what a word, a wire or a terminal does, definitions, renaming, tidying, quick fixes. Needs the
    extra `editor`. Settings are read when it starts.

    \b
    Example, as an editor is told it:
      loomwright serve

    Exits 0 when the editor ends it.
    """
    try:
        from .render.editor.server import serve as speak
        from .render.editor.workspace import CannotJudgeError, Terms
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in ("pygls", "lsprotocol"):
            raise
        raise _Cannot("serve needs the extra `editor`: python -m pip install 'loomwright[editor]'") from None
    limits = _limits(profile)

    def terms(file: str) -> Terms:
        """How a harness is judged; what cannot be used is told in the editor, and ends nothing."""

        def accepted(report: Report) -> Report:
            try:
                return _but_accepted(report, settings.accepted)
            except _Cannot as error:
                raise CannotJudgeError(error.format_message()) from None

        try:
            settings = _folder_settings(file)
            return Terms(_terms(settings, limits, own_rules=own_rules), accepted)
        except _Cannot as error:
            raise CannotJudgeError(error.format_message()) from None

    speak(terms)


@main.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True, shell_complete=_file_names)
@click.option("--check", "only_check", is_flag=True, help="Write nothing; exit 1 where something would change.")
@click.option("--diff", "show_diff", is_flag=True, help="Write nothing; show what would change, and exit 1 if it does.")
@click.option("--stdin-filename", metavar="NAME", help="What to call the text that FILE - reads.")
def tidy(files: tuple[str, ...], only_check: bool, show_diff: bool, stdin_filename: str | None) -> None:
    """Give harness files their one layout.

    One space between words, four before the lines of a block, traits in their order, first forms of units and
    colours. Comments, blank lines and the order of lines stay, and so does every line with a mistake in its words. A
    file is replaced whole, after the tidied text was read and found to say the same; nothing else of Loomwright but
    `size --write` writes over what you wrote. A FILE that is a folder stands for all .loom files in it and below.
    FILE - reads standard input and writes the tidied text to standard output.

    \b
    Examples:
      loomwright tidy bike.loom
      loomwright tidy --diff .
      loomwright tidy - < bike.loom

    Exits 0, with --check and --diff 1 where something would change, 2 when a file cannot be read or written.
    """
    from .lang.editing.formatter import TidyError, tidy_file
    from .lang.files.reading import UnreadableError

    _check_standard_input(files, stdin_filename)
    changes = failed = False
    for file in _in_folders(files):
        try:
            if file == STANDARD_INPUT:
                tidied = _tidy_input(stdin_filename or "<stdin>", write=not (only_check or show_diff))
            else:
                tidied = tidy_file(file, write=not (only_check or show_diff))
        except UnreadableError as error:
            _Cannot(f"cannot read {error}").show()
            failed = True
        except TidyError as error:
            _Cannot(f"{file}: {error}").show()
            failed = True
        except OSError as error:
            _Cannot(f"{file}: cannot be written and is what it was: {_reason(error)}").show()
            failed = True
        else:
            changes = changes or tidied.differs
            if file != STANDARD_INPUT or only_check or show_diff:
                name = stdin_filename or "<stdin>" if file == STANDARD_INPUT else file
                _tell_tidied(name, tidied, only_check=only_check, show_diff=show_diff)
    if failed:
        raise click.exceptions.Exit(CANNOT)
    if changes and (only_check or show_diff):
        raise click.exceptions.Exit(FOUND)


def _tidy_input(name: str, *, write: bool) -> Tidied:
    from .lang.editing.formatter import Tidied, decoded, encoded, tidy

    before = decoded(sys.stdin.buffer.read())
    tidied = Tidied(before, tidy(before, name))
    if write:
        sys.stdout.buffer.write(encoded(tidied.after))
        sys.stdout.buffer.flush()
    return tidied


def _tell_tidied(file: str, tidied: Tidied, *, only_check: bool, show_diff: bool) -> None:
    from .render.report.findings import visible

    if not tidied.differs:
        return
    if show_diff:
        from difflib import unified_diff

        texts = (text.removesuffix("\n").split("\n") for text in (tidied.before, tidied.after))
        before, after = ([line.removesuffix("\r") for line in lines] for lines in texts)
        for line in unified_diff(before, after, file, file, lineterm=""):
            click.echo(visible(line))
    elif only_check:
        click.echo(f"{visible(file)}: would be tidied")
    else:
        click.echo(f"{visible(file)}: tidied", err=True)


def _in_folders(files: Sequence[str], *, titled: bool = False) -> Iterator[str]:
    """The files of the command line, with those of a folder in its place; ``titled``: only harnesses of their own."""
    from .lang.files.folders import harness_files, has_title

    for file in files:
        if file != STANDARD_INPUT and Path(file).is_dir():
            found = [each for each in harness_files(file) if not titled or has_title(each)]
            if not found:
                needed = "a .loom file that has a `loom` line" if titled else "a .loom file"
                raise _Cannot(f"cannot read {file}: this is a folder without {needed}")
            yield from found
        else:
            yield file


@main.command()
@_own_rules
def rules(own_rules: bool) -> None:
    """List the rules: name, gravest level, what each catches."""
    from .render.report.rules import rule_list

    click.echo(rule_list(_rules_here(own_rules)), nl=False)


@main.command()
@click.argument("rule", shell_complete=_rule_names)
@_own_rules
def explain(rule: str, own_rules: bool) -> None:
    """Tell all about one rule.

    What it catches and why, by which source, a harness that it finds fault with and one that it passes.
    """
    from .render.report.rules import explanation

    known = _rules_here(own_rules)
    found = next((each for each in known if rule == each.name or rule in each.aliases), None)
    if found is None:
        raise _no_such("rule", rule, [each.name for each in known])
    click.echo(explanation(found), nl=False)


def _rules_here(own_rules: bool) -> tuple[Rule, ...]:
    """The rules that come along, and those of the settings of this folder where the command line asks for them."""
    from .checks.runner.run import catalogue

    if not own_rules:
        return catalogue()
    return (*catalogue(), *_rules_of_ones_own(_folder_settings("harness.loom")))


@main.command()
@click.argument("file", metavar="FILE")
@click.argument("name", metavar="NAME")
@click.option("--in", "state", metavar="STATE", help="In this state of the file; controls that it does not name rest.")
@click.option(
    "--with", "positions", metavar="'CONTROL POSITION, ...'", help="With these controls there; others anywhere."
)
@click.option("--stdin-filename", metavar="NAME", help="What to call the harness that FILE - reads.")
def trace(file: str, name: str, state: str | None, positions: str | None, stdin_filename: str | None) -> None:
    """Follow the current to a thing and back.

    NAME is an element (HEAD.dip), a terminal (KEY.30), a part or a wire of FILE. Tells every setting of the controls
    that brings it about, in as few words as will do, and shows the way of the current for each that has its own.
    Exits 1 when the text has mistakes.
    """
    from .checks.behaviour.trace import UnknownThingError
    from .checks.behaviour.trace import trace as traced
    from .checks.logic import SwitchingLogic
    from .lang.circuit.build import build_circuit
    from .render.report.trace import trace_text

    if state is not None and positions is not None:
        raise click.UsageError("--in and --with say the same thing in two ways: give one")
    harness = _sound(file, stdin_filename)
    circuit = build_circuit(harness)
    settings = _settings(circuit, state, positions)
    try:
        logic = SwitchingLogic(circuit)
        found = traced(logic, name, settings, rest=state is not None)
    except UnknownThingError as unknown:
        raise _no_such(f"part, wire, element or terminal of {file}", name, unknown.known) from None
    click.echo(trace_text(logic, found, anywhere=not settings and state is None), nl=False)


@main.command()
@click.argument("file", metavar="FILE", shell_complete=_file_names)
@click.option("--state", "names", metavar="STATE", multiple=True, help="Only this state; may be repeated.")
@click.option("--format", "format_", type=click.Choice(["text", "json", "csv"]), default="text", help="What to write.")
@_profile
@click.option("--stdin-filename", metavar="NAME", help="What to call the harness that FILE - reads.")
def states(file: str, names: tuple[str, ...], format_: str, profile: str | None, stdin_filename: str | None) -> None:
    """Show the named states in numbers.

    Of each state what sources give and loads get, in V, A, W and per cent of their rating; how full fuses are; the
    hottest wires and what their insulation withstands beyond that; and whether the battery gives or is charged.

    \b
    Examples:
      loomwright states bike.loom
      loomwright states bike.loom --state cranking
      loomwright states bike.loom --format csv > states.csv

    Exits 1 when the text has mistakes, 2 when the file cannot be read or names no state.
    """
    from .checks.operation.operating_points import state_tables
    from .checks.operation.operation import Operation
    from .lang.circuit.build import build_circuit
    from .render.report.findings import wants_colour
    from .render.report.states import states_csv, states_json, states_text

    harness = _sound(file, stdin_filename)
    chosen = _states(harness, file, names)
    tables = list(state_tables(Operation(build_circuit(harness)), _profile_for(harness, profile), chosen))
    colour = format_ == "text" and wants_colour(sys.stdout, os.environ)
    text = {"json": states_json, "csv": states_csv}.get(format_, lambda found: states_text(found, colour=colour))(
        tables
    )
    click.echo(text, nl=False, color=colour)


@main.command()
@click.argument("file", metavar="FILE", shell_complete=_file_names)
@click.argument("names", metavar="[NAME]...", nargs=-1)
@click.option("--all", "every", is_flag=True, help="Show what stays as it is, too.")
@click.option("--format", "format_", type=click.Choice(["text", "json"]), default="text", help="What to write.")
@click.option("--thinner", is_flag=True, help="Propose thinner wires and smaller fuses where these are enough, too.")
@click.option(
    "--write", is_flag=True, help="Put the proposed sizes and ratings into the files, and change nothing else."
)
@_profile
@click.option("--stdin-filename", metavar="NAME", help="What to call the harness that FILE - reads.")
@_today
def size(
    file: str,
    names: tuple[str, ...],
    every: bool,
    format_: str,
    thinner: bool,
    write: bool,
    profile: str | None,
    stdin_filename: str | None,
    today: datetime | None,
) -> None:
    """Propose sizes of wires and ratings of fuses.

    Finds the wires that are too thin for current, fuse, drop or dead shorts on their route and says which of these
    decides, with the smallest standard size, metric and AWG, that is enough; and the fuses that are too small for what
    flows or too large for the wires behind them: a smaller fuse comes before a thicker wire. What is enough stays as it
    is; --thinner proposes less where less is enough, but never leads of battery, starter or engine ground below the
    main feed. With NAMEs (wires and fuses), only for these. A star marks what would change. Nothing is changed without
    --write; what is kept from an old harness never is, and what is waived is not asked for.

    \b
    Examples:
      loomwright size bike.loom
      loomwright size bike.loom 12 14 F-IGN --all
      loomwright size bike.loom --write

    Exits 0, 1 when the text has mistakes, 2 when a file cannot be read or written.
    """
    from .checks.sizing.sizing import UnknownNameError, sizing
    from .lang.editing.resize import own_files
    from .render.report.findings import wants_colour
    from .render.report.sizes import sizing_json, sizing_text

    if write and file == STANDARD_INPUT:
        raise click.UsageError("--write needs files to write: standard input is none")
    reading = _sound_reading(file, stdin_filename)
    harness = reading.harness
    files = own_files(reading.texts)
    places = {name: thing.span for things in (harness.wires, harness.parts) for name, thing in things.items()}
    foreign = [name for name, span in places.items() if span.file not in (*files, harness.file)]
    day = today.date() if today else date.today()  # noqa: DTZ011  the user's own day
    limits = _profile_for(harness, profile)
    try:
        found = sizing(reading, today=day, profile=limits, names=names, foreign=foreign, thinner=thinner)
    except UnknownNameError as unknown:
        raise _no_such(f"wire or fuse of {file}", unknown.name, unknown.known) from None
    colour = format_ == "text" and wants_colour(sys.stdout, os.environ)
    text = sizing_json(found) if format_ == "json" else sizing_text(found, every=every or bool(names), colour=colour)
    click.echo(text, nl=False, color=colour)
    if write:
        _write_sizes(files, found)


def _write_sizes(files: Sequence[str], found: Sizing) -> None:
    """Puts what is proposed into the files, all or none, and tells which were written."""
    from .lang.editing.resize import ResizeError, resized_files, write_all

    try:
        changed = resized_files(files, found.sizes, found.ratings)
        write_all(changed)
    except ResizeError as error:
        raise _Cannot(str(error)) from None
    except OSError as error:
        raise _Cannot(f"{error.filename or 'a file'}: cannot be written: {_reason(error)}") from None
    for each in changed:
        click.echo(f"{each.file}: written", err=True)


@main.command()
@click.argument("file", metavar="FILE", shell_complete=_file_names)
@click.option("--state", "names", metavar="STATE", multiple=True, help="Only in this state; may be repeated.")
@click.option("--format", "format_", type=click.Choice(["text", "json"]), default="text", help="What to write.")
@click.option("--stdin-filename", metavar="NAME", help="What to call the harness that FILE - reads.")
def faults(file: str, names: tuple[str, ...], format_: str, stdin_filename: str | None) -> None:
    """Tell what every single fault does, the worst first.

    Opens each wire, way, fuse, contact and mount in each named state, lays each wire on ground, and follows relays,
    units and machines until all is at rest: what goes dead, what comes to life, what is fed backwards, which device
    opens. From the first state in which the engine runs it is also stopped by each control that can, so that a fault
    which keeps it running shows. Alike ones are told together, by severity: I fire or an engine that cannot be stopped;
    II the engine stops, or the rider is not seen; III no start, no charge, no warning; IV the rest (words of
    MIL-STD-1629A, grades ours).

    \b
    Examples:
      loomwright faults bike.loom
      loomwright faults bike.loom --state riding

    Exits 1 when the text has mistakes, 2 when the file cannot be read or names no state.
    """
    from .checks.fmea.fault_simulation import Sweep
    from .checks.operation.operation import Operation
    from .checks.protection.protection import Protection
    from .lang.circuit.build import build_circuit
    from .render.report.faults import faults_json, faults_text

    harness = _sound(file, stdin_filename)
    operation = Operation(build_circuit(harness))
    chosen = _states(harness, file, names)
    for name in chosen:
        if name in operation.unsolved:
            raise _Cannot(f"{file}: state {name} has no numbers: {operation.unsolved[name]}")
    protection = Protection(operation.circuit)
    sweep = Sweep(operation, protection)
    reports = sweep.reports(chosen, protection)
    text = faults_json(reports) if format_ == "json" else faults_text(reports, harness, sweep.all_states(chosen))
    click.echo(text, nl=False)
    if operation.alternating:
        click.echo(f"loomwright: alternating current is not solved: {', '.join(operation.alternating)}", err=True)


@main.command()
@click.argument("file", metavar="FILE", shell_complete=_file_names)
@click.option(
    "--state",
    "name",
    metavar="STATE",
    required=True,
    shell_complete=_state_names,
    help="The state that the machine is in.",
)
@click.option(
    "--seen",
    metavar="'THING WORD'",
    multiple=True,
    required=True,
    shell_complete=_seen_words,
    help="What is seen there, a thing and dead, dim or live, or what is measured, as shown below; may be repeated, "
    "or several with commas between.",
)
@click.option("--format", "format_", type=click.Choice(["text", "json"]), default="text", help="What to write.")
@click.option("--stdin-filename", metavar="NAME", help="What to call the harness that FILE - reads.")
def suspect(file: str, name: str, seen: tuple[str, ...], format_: str, stdin_filename: str | None) -> None:
    """Go from what is seen to what may have failed, and to the next measurement.

    Ranks the single faults (an open conductor, contact, fuse or load, a bad joint, a wire on ground) by how well they
    explain what was seen and read, each with its reasons, those in series together, and a blown fuse with the wires
    that may have blown it; then says where to put the two leads of the meter, and what it shows with each of them. Ask
    again with that reading, until one place is left, or none that volts tell apart: those are measured in ohms.

    \b
    What can be seen, and read in V or mV:
      "HORN dead"                     a part or an element: dead, dim or live
      "HEAD.dip 9.1 V at 56b"         from a terminal to the battery's ground pole
      "9.1 V at HEAD.56b"             the same
      "9.1 V across HEAD.dip"         between the two ends of an element, a fuse, a wire, a contact
      "0.4 V from HEAD.31 to FRAME"   red lead, black lead

    \b
    Examples:
      loomwright suspect bike.loom --state braking --seen "REAR.stop dead, REAR.tail live"
      loomwright suspect bike.loom --state braking --seen "REAR.stop dead" --seen "0.0 V at C-TAIL.1s"

    Exits 1 when the text has mistakes, 2 when the file cannot be read or the question means nothing.
    """
    from .checks.dc.devices import UnsolvableError
    from .checks.diagnosis.observations import ObservationError, UnknownThingError, observations
    from .checks.diagnosis.ranking import Diagnoser
    from .checks.fmea.fault_simulation import Sweep
    from .checks.operation.operation import Operation
    from .lang.circuit.build import build_circuit
    from .render.report.diagnosis import inquiry_json, inquiry_text

    harness = _sound(file, stdin_filename)
    _states(harness, file, (name,))
    try:
        detective = Diagnoser(Sweep(Operation(build_circuit(harness))), name)
        diagnosis = detective.inquire([each for text in seen for each in observations(text, detective.places)])
    except UnsolvableError as error:
        raise _Cannot(f"{file}: state {name} has no numbers: {error}") from None
    except ObservationError as error:
        raise click.UsageError(f"--seen: {error}") from None
    except UnknownThingError as unknown:
        raise _no_such(f"{unknown.what} in {file}", unknown.name, unknown.known) from None
    text = inquiry_json(diagnosis, name) if format_ == "json" else inquiry_text(diagnosis, harness, name)
    click.echo(text, nl=False)


def _states(harness: Harness, file: str, names: tuple[str, ...]) -> tuple[str, ...]:
    """The named states that the command line asks for; all of them where it asks for none."""
    from .lang.model.parts import Source

    for name in names:
        if name not in harness.states:
            raise _no_such("state", name, harness.states)
    if not harness.states:
        raise _Cannot(f"{file} names no state: write one, such as: state riding {{ KEY on, engine running }}")
    if not any(isinstance(part, Source) for part in harness.parts.values()):
        raise _Cannot(f"{file} has no source, so nothing in it is live: write one, such as: source BAT battery at TRAY")
    return names or tuple(harness.states)


def _settings(circuit: Circuit, state: str | None, positions: str | None) -> dict[str, str]:
    """The positions that the command line asks for, by control; a switch's name stands for its control."""
    if state is not None:
        known = circuit.harness.states.get(state)
        if known is None:
            raise _no_such("state", state, circuit.harness.states)
        return dict(known.settings)
    settings = {}
    for words in (positions or "").split(","):
        match words.split():
            case []:
                continue
            case [name, position]:
                pass
            case _:
                raise click.UsageError(
                    f"--with takes a control and its position, such as 'KEY on', not {words.strip()!r}"
                )
        control = next((c for c in circuit.controls.values() if name in (c.name, *c.switches)), None)
        if control is None:
            raise _no_such("control", name, circuit.controls)
        if position not in control.positions:
            raise _no_such(f"position of {name}", position, control.positions)
        settings[control.name] = position
    return settings


def _no_such(what: str, name: str, known: Iterable[str]) -> click.UsageError:
    """A name on the command line that means nothing, with the nearest ones that do; with all where they are few."""
    from difflib import get_close_matches

    names = list(known)
    near = names if len(names) <= FEW else get_close_matches(name, names, 3, 0.5)
    said = "there is" if len(names) <= FEW else "near it:"
    return click.UsageError(f"no {what} is named {name!r}" + (f"; {said} {', '.join(near)}" if near else ""))


def _sound(file: str, stdin_filename: str | None = None) -> Harness:
    """The harness of a file without mistakes; where there are some they are reported, and the command ends with 1."""
    return _sound_reading(file, stdin_filename).harness


def _sound_reading(file: str, stdin_filename: str | None = None) -> Reading:
    """The same with its texts."""
    from .checks.runner.run import Report
    from .render.report.findings import report_text, wants_colour

    if stdin_filename is not None and file != STANDARD_INPUT:
        raise click.UsageError("--stdin-filename names what standard input holds: give - as FILE")
    reading = _read(file, stdin_filename)
    if not reading.mistakes:
        return reading
    report = Report(
        harness=reading.harness,
        mistakes=reading.mistakes,
        findings=(),
        waived=(),
        texts=reading.texts,
        unchecked="mend the mistakes in the text first",
    )
    colour = wants_colour(sys.stderr, os.environ)
    click.echo(report_text(report, colour=colour), nl=False, err=True, color=colour)
    raise click.exceptions.Exit(FOUND)


def _one_drawing(files: tuple[str, ...], systems: tuple[str, ...], output: Path) -> None:
    """Refuse a name for one drawing where several would be made, or whose ending tells no format."""
    if len(files) > 1 or len(set(systems)) > 1:
        raise click.UsageError("-o names one drawing, and several are asked for: give --into FOLDER instead")
    if output.suffix.lower().removeprefix(".") not in DRAWINGS:
        raise click.UsageError(f"{output}: the ending tells the format; expected one of {', '.join(DRAWINGS)}")


@main.command()
@click.argument("files", metavar="FILE...", nargs=-1, required=True)
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

    Each FILE on one sheet, or a sheet for each --system (lighting, ignition, ...) with what feeds it. Tells where each
    drawing is; it bears the name of its FILE unless -o names one. Exits 1 when a text has mistakes: half a harness is
    not drawn.

    \b
    Examples:
      loomwright draw bike.loom -o bike.pdf
      loomwright draw bike.loom --system lighting --system charging --into sheets
    """
    from .render.schematic.schematic import NoEngine, UnknownSystem, write
    from .render.schematic.schematic import draw as schematic

    if output is not None:
        _one_drawing(files, systems, Path(output))
    stems = ["harness" if file == STANDARD_INPUT else Path(file).stem for file in files]
    if twice := sorted({stem for stem in stems if stems.count(stem) > 1}):
        raise click.UsageError(f"two files would be drawn as {twice[0]}: draw them into two folders")
    harnesses = [_sound(file) for file in files]
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
                click.echo(str(target))
    except UnknownSystem as error:
        raise click.UsageError(str(error)) from None
    except NoEngine as error:
        raise _Cannot(str(error)) from None
    except OSError as error:
        raise _Cannot(f"{error.filename or folder}: cannot be written: {_reason(error)}") from None


main.add_command(identify)
