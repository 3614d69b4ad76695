"""The build log: Markdown beside a harness, with photographs, and with what commands give of the harness.

It is read as a whole: where anything in it cannot be shown, its mistakes tell what and where, and nobody gets half.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.diagnostic import Diagnostic, Span
from ...lang.files.reading import UnreadableError
from ...lang.records import dataclass
from ..report.findings import source_lines
from . import markdown
from .fences import PROGRAM, Fence, FenceError, Given, Workshop, parsed
from .markdown import Block, Heading, Picture
from .own_folder import OutsideError, contents, inside, own
from .photographs import LARGEST_FILE, PhotographError, photograph

if TYPE_CHECKING:
    from ...checks.tables.profiles import Profile
    from ...lang.model.harness import Harness, Reading

NAME: Final = "log.md"
LARGEST_LOG: Final = 2_000_000
"""Bytes (ours): a log of a thousand pages."""
PREFIX: Final = "log-"
"""What the ids of a log begin with in a page that has others, too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """A log as HTML that fetches nothing, its pictures in it; ``mistakes`` are what could not be shown, and with any
    there is no ``html``. ``text`` is what was read.
    """

    file: str
    text: str
    html: str = ""
    headings: tuple[Heading, ...] = ()
    mistakes: tuple[Diagnostic, ...] = ()


def log_beside(harness_file: str) -> str | None:
    """The log of a harness: ``NAME-log.md`` where its folder has several harnesses with logs, else ``log.md``."""
    path = Path(harness_file)
    for name in (f"{path.stem}-{NAME}", NAME):
        if (path.parent / name).is_file():
            return str(path.parent / name)
    return None


def read_log(file: str, reading: Reading, limits: Callable[[Harness], Profile], *, top: int = 2) -> Log:
    """The log in a file, of a harness without mistakes; ``limits`` are those by which its states are judged. Its first
    heading has the level ``top``. Raises ``UnreadableError``.
    """
    folder = Path(file).parent
    try:
        data = contents(own(folder, Path(file)), LARGEST_LOG)
        if len(data) > LARGEST_LOG:
            raise OutsideError(f"more than {LARGEST_LOG // 1_000_000} MB")
    except OutsideError as error:
        raise UnreadableError(f"{file}: {error}") from None
    text = data.decode("utf-8", "replace").removeprefix("\ufeff")
    if unfit := tuple(_unfit(file, data, text)):
        return Log(file=file, text=text, mistakes=unfit)
    return _Reader(file, text, reading, limits).log(top)


def _bad_bytes(data: bytes) -> int | None:
    """Where the first byte stands that is no UTF-8, counted from 1."""
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        return error.start + 1
    return None


def _unfit(file: str, data: bytes, text: str) -> Iterator[Diagnostic]:
    """What keeps a text from being read as Markdown at all."""
    if (bad := _bad_bytes(data)) is not None:
        line = data[: bad - 1].count(b"\n") + 1
        yield Diagnostic(
            "not-utf-8", _line(file, text, line), "this is not UTF-8", "", None, "save the log as UTF-8 in your editor"
        )
        return
    for number, row in enumerate(source_lines(text), 1):
        control = next((each for each in row if each != "\t" and (each < " " or "\x7f" <= each < "\xa0")), None)
        if control is not None:
            column = row.index(control) + 1
            yield Diagnostic(
                "control-character",
                Span(file, number, column, column + 1),
                f"a control character, U+{ord(control):04X}",
                "",
                None,
                "delete it",
            )


def _line(file: str, text: str, number: int, words: str = "") -> Span:
    """Where ``words`` are in a line; all of it where they do not."""
    lines = source_lines(text)
    row = lines[number - 1] if number <= len(lines) else ""
    start = row.find(words) if words else -1
    if start >= 0:
        return Span(file, number, start + 1, start + 1 + len(words))
    start = len(row) - len(row.lstrip())
    return Span(file, number, start + 1, max(start + 2, len(row.rstrip()) + 1))


class _Reader:
    """Makes a page of one text; what goes wrong on the way is collected, so that all of it is reported at once."""

    def __init__(self, file: str, text: str, reading: Reading, limits: Callable[[Harness], Profile]) -> None:
        self._file, self._text = file, text
        self._workshop = Workshop(reading, limits)
        self._mistakes: list[Diagnostic] = []
        self._pictures: dict[Path, str] = {}

    def log(self, top: int) -> Log:
        made = markdown.converted(self._text, top=top, prefix=PREFIX, picture=self._picture, block=self._block)
        for link in made.bad_links:
            self._mistake(
                "log-link",
                link.line,
                f"`{link.address}` is no address that a log may lead to",
                expected="https://, http:// or mailto:, or # and the words of a heading here",
                words=link.address,
            )
        mistakes = tuple(sorted(self._mistakes, key=lambda each: each.span))
        whole = Log(file=self._file, text=self._text, headings=made.headings, mistakes=mistakes)
        return whole if mistakes else replace(whole, html=made.html)

    def _mistake(
        self, kind: str, line: int, message: str, *, expected: str = "", remedy: str = "", words: str = ""
    ) -> None:
        span = _line(self._file, self._text, line, words)
        self._mistakes.append(Diagnostic(kind, span, message, expected, None, remedy))

    def _picture(self, asked: Picture) -> str:
        """An image with what it shows in words: those of the log, or its file's name."""
        try:
            path = inside(Path(self._file).parent, asked.address)
            if path not in self._pictures:
                found = photograph(contents(path, LARGEST_FILE))
                self._pictures[path] = f'src="{found.uri}" width="{found.width}" height="{found.height}"'
        except OutsideError as error:
            self._mistake(
                "log-picture",
                asked.line,
                f"`{asked.address}` cannot be shown: {error}",
                expected="a photograph in the folder of the log, or below it, named as seen from there",
                words=asked.address,
            )
            return ""
        except PhotographError as error:
            self._mistake(
                "log-picture",
                asked.line,
                f"`{asked.address}` cannot be shown: {error}",
                remedy=error.remedy,
                words=asked.address,
            )
            return ""
        words = asked.words or path.stem
        title = f'<span class="caption">{escape(asked.caption)}</span>' if asked.caption else ""
        return f'<img {self._pictures[path]} alt="{escape(words)}">{title}'

    def _block(self, block: Block) -> str | None:
        program, _, rest = block.info.partition(" ")
        if program != PROGRAM:
            return None
        try:
            fence = parsed(rest, block.body)
            return self._figure(fence, self._workshop.given(fence))
        except FenceError as error:
            self._mistake(
                "log-fence", block.line + error.line, str(error), expected=error.expected, remedy=error.remedy
            )
            return ""

    @staticmethod
    def _figure(fence: Fence, given: Given) -> str:
        """What a fence gives, under the command that gave it."""
        html = given.html
        if given.markdown:
            html = markdown.converted(
                given.markdown, top=4, prefix=f"{PREFIX}{fence.command}-", picture=lambda _: "", block=lambda _: None
            ).html
        return f'<figure class="given"><figcaption><code>{escape(given.caption)}</code></figcaption>{html}</figure>'
