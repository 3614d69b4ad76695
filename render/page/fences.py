"""Commands in a build log: a fence of Markdown that begins with ``loomwright`` is replaced by what the command gives.

::

    ```loomwright draw --system lighting
    revision: 1f3a9c2
    ```

It is given for the harness that the log belongs to, so it names no file; with a ``revision`` as that harness stood
then, so that the log keeps the drawing of its day. Nothing is run: the functions behind the commands are asked, rules
are not, least of all the user's own.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Sequence
from functools import cached_property
from html import escape
from typing import TYPE_CHECKING, Any, Final

import click

from ...lang.diagnostics.visible import visible
from ...lang.files.reading import UnreadableError
from ...lang.files.revisions import SHORT, commit_of, read_revision
from ...lang.records import dataclass
from ..report.asked import AskedError, no_such_words, trace_asked, without_states
from .photographs import data_uri

if TYPE_CHECKING:
    from ...checks.tables.profiles import Profile
    from ...lang.model.harness import Harness, Reading

PROGRAM: Final = "loomwright"
REVISION: Final = re.compile(r"[0-9a-f]{7,40}", re.IGNORECASE)
"""A commit by its digits, and nothing else: a branch moves on, and what looks like an option is one."""
_SETTING: Final = re.compile(r"\s*([a-z]+)\s*:\s*(.*?)\s*")


class FenceError(ValueError):
    """A fence that gives nothing: ``str()`` says why, ``expected`` and ``remedy`` what would; ``line`` counts from the
    line of its command, which is 0.
    """

    def __init__(self, message: str, *, expected: str = "", remedy: str = "", line: int = 0) -> None:
        super().__init__(message)
        self.expected = expected
        self.remedy = remedy
        self.line = line


@dataclass(frozen=True, slots=True, kw_only=True)
class Fence:
    """What one asks for: a ``command`` with its ``options``, of the harness as of each of the ``revisions``, the older
    first; of the one that is there now without any.
    """

    words: str
    command: str
    options: tuple[tuple[str, Any], ...]
    revisions: tuple[str, ...] = ()

    @property
    def option(self) -> dict[str, Any]:
        return dict(self.options)


def _command(name: str, *params: click.Parameter) -> click.Command:
    return click.Command(name, params=list(params), add_help_option=False)


COMMANDS: Final = {
    "draw": _command("draw", *(click.Option([name]) for name in ("--system", "--state", "--fault"))),
    "states": _command(
        "states", click.Option(["--state", "states"], multiple=True), click.Option(["--bars"], is_flag=True)
    ),
    "trace": _command(
        "trace", click.Argument(["name"]), click.Option(["--in", "state"]), click.Option(["--with", "positions"])
    ),
    "compare": _command("compare"),
}
"""What a log may ask for. No option names a file."""
MOST_REVISIONS: Final = {"compare": 2}
"""All others take one."""


def parsed(info: str, body: str) -> Fence:
    """The fence with this first line, ``loomwright`` left out of it, and these lines. Raises ``FenceError``."""
    try:
        words = shlex.split(info)
    except ValueError:
        raise FenceError("a quotation mark is not closed", expected="two of a kind") from None
    commands = ", ".join(COMMANDS)
    if not words:
        raise FenceError("a command is missing", expected=f"one of {commands}")
    command = COMMANDS.get(words[0])
    if command is None:
        raise FenceError(f"a log has no command {words[0]!r}", expected=f"one of {commands}")
    try:
        context = command.make_context(words[0], words[1:])
    except click.UsageError as error:
        raise FenceError(
            f"{words[0]}: {_clause(error.format_message())}",
            expected=_usage(command),
            remedy="a fence names no file: the harness of the log is meant",
        ) from None
    options = tuple(sorted(context.params.items()))
    revisions = tuple(_revisions(body))
    if len(revisions) > (most := MOST_REVISIONS.get(words[0], 1)):
        raise FenceError(f"{words[0]} takes no more than {most} of `revision:`")
    return Fence(words=" ".join((PROGRAM, *info.split())), command=words[0], options=options, revisions=revisions)


def _revisions(body: str) -> Sequence[str]:
    found = []
    for number, line in enumerate(body.split("\n"), 1):
        if not line.strip():
            continue
        setting = _SETTING.fullmatch(line)
        if setting is None or setting[1] != "revision":
            raise FenceError(
                f"{line.strip()!r} is not allowed here", expected="`revision:` and the digits of a commit", line=number
            )
        if not REVISION.fullmatch(setting[2]):
            raise FenceError(
                f"{setting[2]!r} is no commit",
                expected="its 7 to 40 digits, 0 to 9 and a to f",
                remedy="`git log --format=%h` shows them",
                line=number,
            )
        found.append(setting[2].lower())
    return found


def _usage(command: click.Command) -> str:
    return " ".join((command.name or "", *map(_shown, command.params)))


def _shown(param: click.Parameter) -> str:
    if isinstance(param, click.Option):
        return f"[{param.opts[0]}]" if param.is_flag else f"[{param.opts[0]} ...]"
    return (param.name or "").upper()


def _clause(words: str) -> str:
    return f"{words[:1].lower()}{words[1:]}".removesuffix(".")


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What a fence gives, as HTML that is safe as it is; ``markdown`` where it is that."""

    html: str = ""
    markdown: str = ""
    caption: str = ""


class Workshop:
    """Gives what fences ask for of one harness file, each harness of a day read once.

    ``limits`` are those by which states are judged.
    """

    def __init__(self, reading: Reading, limits: Callable[[Harness], Profile]) -> None:
        self._now = reading
        self._limits = limits
        self._given: dict[Fence, Given] = {}
        self._then: dict[str, tuple[Harness, str]] = {}

    def given(self, fence: Fence) -> Given:
        """Raises ``FenceError``."""
        if fence not in self._given:
            self._given[fence] = self._make(fence)
        return self._given[fence]

    def _make(self, fence: Fence) -> Given:
        days = [self._of(revision) for revision in fence.revisions]
        harness, day = days[-1] if days else (self._now.harness, "")
        match fence.command:
            case "draw":
                html = _drawn(harness, **fence.option)
            case "states":
                html = self._states(harness, **fence.option)
            case "trace":
                html = _traced(harness, **fence.option)
            case _:
                return self._compared(fence, days)
        return Given(html=html, caption=f"{fence.words}{f' in revision {day}' if day else ''}")

    def _of(self, revision: str) -> tuple[Harness, str]:
        """The harness as it was in a revision, and how that is called."""
        if revision not in self._then:
            file = self._now.harness.file
            try:
                commit = commit_of(revision, file)
                if not commit.startswith(revision):
                    raise UnreadableError(f"the repository has no commit that begins with {revision}")
                reading = read_revision(commit, file)
            except UnreadableError as error:
                raise FenceError(
                    _clause(str(error)),
                    remedy="a log takes revisions in which its harness file is there under its name",
                ) from None
            self._then[revision] = _without_errors(reading, f"as of revision {revision}"), commit[:SHORT]
        return self._then[revision]

    def _states(self, harness: Harness, states: Sequence[str], bars: bool) -> str:
        from ...checks.operation.load_drops import load_drops
        from ...checks.operation.operating_points import state_tables
        from ...checks.operation.operation import Operation
        from ...lang.circuit.build import build_circuit
        from ..report.charts import NO_BARS, state_charts
        from ..report.states import states_text
        from .charts import charts_html

        for name in states:
            if name not in harness.states:
                raise FenceError(no_such_words("state", name, harness.states))
        if lacking := without_states(harness):
            raise FenceError(f"the harness {lacking}")
        names, limits = tuple(states or harness.states), self._limits(harness)
        operation = Operation(build_circuit(harness))
        tables = list(state_tables(operation, limits, names))
        if not bars:
            return _text(states_text(tables))
        charts = state_charts(tables, load_drops(operation, names), limits)
        return charts_html(charts) if charts else _text(NO_BARS)

    def _compared(self, fence: Fence, days: Sequence[tuple[Harness, str]]) -> Given:
        """Two revisions; one and what is there now; without any the harness that this one converts, and this one."""
        from ...checks.conversion.comparison import Comparison
        from ...checks.conversion.difference import compared
        from ...checks.conversion.side import Side
        from ..report.comparison import as_markdown

        file = self._now.harness.file
        if days:
            (old, before), (new, after) = (days[0], days[1] if len(days) == 2 else (self._now.harness, ""))
            names = f"{before}:{file}", f"{after}:{file}" if after else file
        else:
            old, new = self._converted, self._now.harness
            names = old.file, file
        found = compared(Comparison(Side(old), Side(new), by_ends=True), *names)
        return Given(markdown=as_markdown(found), caption=fence.words)

    @cached_property
    def _converted(self) -> Harness:
        if self._now.old is None:
            raise FenceError(
                "the harness converts no other one",
                expected="`revision:` and the digits of a commit, once or twice, or a line `converts` in the harness",
            )
        try:
            return _without_errors(self._now.old(), "that it converts")
        except UnreadableError as error:
            raise FenceError(f"the harness that it converts cannot be read: {error}") from None


def _without_errors(reading: Reading, which: str) -> Harness:
    if reading.mistakes:
        first = reading.mistakes[0]
        raise FenceError(f"the harness {which} has errors: {first.span}: {visible(first.message)}")
    return reading.harness


def _drawn(harness: Harness, system: str | None, state: str | None, fault: str | None) -> str:
    """The schematic as a picture: what it holds can reach nothing of the page around it."""
    from ...checks.dc.devices import UnsolvableError
    from ..drawing.svg import svg_text
    from ..schematic.moment import UnknownFault, moment
    from ..schematic.schematic import NoEngine, UnknownSystem, draw

    if state is None and fault is not None:
        raise FenceError("--fault is drawn in a state", expected="--state and its name as well")
    if state is not None and state not in harness.states:
        raise FenceError(no_such_words("state", state, harness.states))
    if state is not None and (lacking := without_states(harness)):
        raise FenceError(f"the harness {lacking}")
    try:
        now = None if state is None else moment(harness, state, fault or "")
        drawing = draw(harness, system=system, now=now)
    except (UnknownSystem, NoEngine, UnknownFault) as error:
        raise FenceError(str(error)) from None
    except UnsolvableError as error:
        raise FenceError(f"state {state} has no solution: {error}") from None
    width, height = round(drawing.width), round(drawing.height)
    return (
        f'<div class="sheet" tabindex="0"><img src="{data_uri("image/svg+xml", svg_text(drawing).encode())}" '
        f'width="{width}" height="{height}" alt="{escape(visible(drawing.about))}"></div>'
    )


def _traced(harness: Harness, name: str, state: str | None, positions: str | None) -> str:
    from ...checks.behaviour.trace import UnknownThingError

    try:
        return _text(trace_asked(harness, name, state, positions))
    except AskedError as error:
        raise FenceError(str(error)) from None
    except UnknownThingError as unknown:
        raise FenceError(no_such_words("part, wire, element or terminal", name, unknown.known)) from None


def _text(report: str) -> str:
    return f'<pre tabindex="0" dir="ltr">{escape(report.rstrip())}</pre>'
