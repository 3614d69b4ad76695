"""From a file, or a text, to a harness: the way into the language."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Final, Protocol, cast

from ..diagnostics.diagnostic import Note, Span
from ..diagnostics.messages import Diagnostics, listed
from ..diagnostics.unreadable import why_unreadable
from ..model.harness import Harness, Reading
from ..model.statements import Conversion, Expectation
from ..resolve.expectations import resolve_expectation
from ..resolve.names import Scope
from ..resolve.resolve import resolve
from ..survey.words import SURVEY, is_survey
from ..syntax.parser import parse
from ..syntax.tree import Statement, Syntax, UseLine

LIBRARY: Final = Path(__file__).parent / "library"
"""Patterns that come with the tool, a file each: ``use lamps`` reads ``lamps.loom`` here."""

Parsing = Callable[[str, str, Diagnostics], Syntax]
"""From a text and its file's name to its syntax tree; mistakes go to the third."""


class Resolving(Protocol):
    """``resolve``, or what does the same."""

    def __call__(self, texts: Sequence[Syntax], mistakes: Diagnostics, *, unread: bool = ...) -> Harness: ...


LARGEST_FILE: Final = 64_000_000
"""Bytes. A thousand times the largest harness that anybody has written by hand."""


class UnreadableError(OSError):
    """A file that cannot be read at all: not there, no file, no permission, or too large. ``str()`` says which."""


def read_file(path: str | os.PathLike[str]) -> Reading:
    """Reads a harness and all that it uses.

    Raises ``UnreadableError`` where the file itself cannot be read. All else that is wrong, a used file that cannot be
    read included, is among the reading's mistakes.
    """
    name = os.fspath(path)
    try:
        text = load_text(Path(name))
    except (OSError, ValueError) as error:  # a NUL in a name is a ValueError
        raise UnreadableError(
            f"{name!r}: {why_unreadable(error)}" if "\0" in name else f"{name}: {why_unreadable(error)}"
        ) from error
    return read_text(text, name)


def read_text(
    text: str,
    file: str = "harness.loom",
    *,
    load: Callable[[Path], str] | None = None,
    parsed: Parsing = parse,
    resolved: Resolving = resolve,
) -> Reading:
    """Reads a harness from a text, as if ``file`` held it; files that it uses are looked for beside that.

    ``load`` gives the text of a used file by its real path, and raises ``OSError`` without one: for whoever
    knows better than the disk, as an editor does. ``parsed`` makes the syntax tree of each text, ``resolved`` the
    harness of these.
    """
    mistakes = Diagnostics()
    if is_survey(text):
        line = next(number for number, row in enumerate(text.split("\n"), 1) if SURVEY in row.partition("#")[0])
        column = text.split("\n")[line - 1].index(SURVEY) + 1
        mistakes.add(
            "survey-file",
            Span(file, line, column, column + len(SURVEY)),
            "this is a survey, not a harness",
            expected="a harness, which begins with `loom`",
            remedy="`loomwright identify` and `loomwright draft` read a survey",
        )
        return Reading(harness=Harness(file=file), mistakes=mistakes.sorted((file,)), texts={file: text})
    root = Path(os.path.realpath(Path(file).parent))
    collector = _Collector(mistakes, root, load or load_used, parsed, resolved)
    collector.add(text, file, os.path.realpath(file), ())
    texts = collector.texts
    harness = resolved(texts, mistakes, unread=collector.unread)
    return Reading(
        harness=harness,
        mistakes=mistakes.sorted(syntax.file for syntax in texts),
        texts={syntax.file: syntax.text for syntax in texts},
        lacking=tuple(collector.lacking),
        old=partial(_read_old, harness.conversion, collector) if harness.conversion.converts is not None else None,
    )


def read_expectation(line: str, harness: Harness) -> Expectation:
    """One ``expect`` line, read as if it was in the text of a harness. Raises ``ValueError``, which says what is
    wrong with it.
    """
    mistakes = Diagnostics()
    scope = Scope(mistakes, places=harness.places, parts=harness.parts, wires=harness.wires, states=harness.states)
    statements = parse(line, harness.file, mistakes).statements
    known = len(statements) == 1 and statements[0].head == "expect" and statements[0].node is not None
    found = resolve_expectation(statements[0], scope) if known else None
    if found is None or len(mistakes):
        said = mistakes.sorted((harness.file,))
        raise ValueError(said[0].message if said else f"`{line}` is no `expect` line")
    return found


def _read_old(conversion: Conversion, collector: _Collector) -> Reading:
    """The harness that another one converts, read as the files that it uses are: from its folder or below, only.

    Raises ``UnreadableError``, whose text says why.
    """
    written = conversion.converts or ""
    user = conversion.span.file if conversion.span else ""
    name = os.path.normpath(Path(user).parent / written)
    try:
        target = Path(os.path.realpath(name))
        if not written:
            raise UnreadableError("a name of a file is missing")
        if Path(written).is_absolute() or not target.is_relative_to(collector.root):
            raise UnreadableError("it is outside the folder of the harness: copy the file there")
        text = collector.load(target)
    except UnreadableError:
        raise
    except (OSError, ValueError) as error:
        raise UnreadableError(why_unreadable(error)) from error
    return read_text(text, name, load=collector.load, parsed=collector.parsed, resolved=collector.resolved)


def load_text(path: Path) -> str:
    """The text of a file; bytes that are no UTF-8 become lone surrogates, which the syntax reports line by line."""
    if path.is_dir():
        raise IsADirectoryError(21, "Is a directory", str(path))
    with path.open("rb") as stream:
        raw = stream.read(LARGEST_FILE + 1)
    if len(raw) > LARGEST_FILE:
        raise OSError(27, f"more than {LARGEST_FILE // 1_000_000} MB")
    return raw.decode("utf-8", "surrogateescape")


def load_used(path: Path) -> str:
    """The text of a file that another one uses. A pipe or a device is none: it could be waited for, or obeyed."""
    if path.exists() and not path.is_file() and not path.is_dir():
        raise OSError(22, "this is no file")
    return load_text(path)


@dataclass(slots=True, eq=False, repr=False)
class _Collector:
    """The texts of a harness: the one that is checked, and each that some file uses, once.

    ``root`` is the folder of the checked file; nothing outside of it and of the library is read.
    """

    mistakes: Diagnostics
    root: Path
    load: Callable[[Path], str]
    parsed: Parsing
    resolved: Resolving
    texts: list[Syntax] = field(default_factory=list)
    unread: bool = False
    lacking: list[str] = field(default_factory=list)
    _seen: set[str] = field(default_factory=set)

    def add(self, text: str, file: str, real: str, users: tuple[str, ...]) -> None:
        """Takes in a text and what it uses. ``users`` are the real paths of the files on the way to it."""
        pending = [(text, file, real, users)]
        self._seen.add(real)
        while pending:  # no search of `lang.search`: each step reads a file and says what it cannot read
            text, file, real, users = pending.pop(0)
            syntax = self.parsed(text, file, self.mistakes)
            self.texts.append(syntax)
            for statement in syntax.statements:
                if statement.head != "use":
                    continue
                if statement.node is None:
                    self.unread = True
                    continue
                found = self._find(statement, file)
                if found is None:
                    self.unread = True
                    continue
                name, target = found
                if target in (real, *users):
                    self.mistakes.add(
                        "use-cycle",
                        statement.span(),
                        f"`{name}` uses this file in its turn" if target != real else "this file uses itself",
                        expected="files that use each other in one direction only",
                    )
                elif target not in self._seen:
                    self._seen.add(target)
                    try:
                        pending.append((self.load(Path(target)), name, target, (real, *users)))
                    except (OSError, ValueError) as error:
                        self._unreadable(statement, name, why_unreadable(error))
                        self.unread = True
                        self.lacking.append(name)

    def _find(self, statement: Statement, user: str) -> tuple[str, str] | None:
        """The name and the real path of what a ``use`` line names."""
        what = cast(UseLine, statement.node).what
        if what.type != "STRING":
            return self._in_library(statement, what.value)
        written = what.value[1:-1]
        if not written:
            self._unreadable(statement, written, "a name of a file is missing")
            return None
        name = written if user.startswith(_LIBRARY_NAME) else os.path.normpath(Path(user).parent / written)
        target = Path(os.path.realpath(name))
        if Path(written).is_absolute() or not target.is_relative_to(self.root):
            self.mistakes.add(
                "outside-use",
                statement.span(what),
                f"`{written}` is outside the folder of the harness",
                expected="a file in the folder of the file that is checked, or below it",
                remedy="copy the file there",
            )
            return None
        return name, str(target)

    def _in_library(self, statement: Statement, called: str) -> tuple[str, str] | None:
        known = library_names()
        if called in known:
            return f"{_LIBRARY_NAME}{called}.loom", os.path.realpath(LIBRARY / f"{called}.loom")
        what = cast(UseLine, statement.node).what
        self.mistakes.add(
            "unknown-library",
            statement.span(what),
            f"no patterns named `{called}` come with the tool",
            expected=f'{listed(known)}; the name of a file goes in `"`',
            wrong=called,
            known=known,
        )
        return None

    def _unreadable(self, statement: Statement, name: str, why: str) -> None:
        self.mistakes.add(
            "unreadable-use",
            statement.span(cast(UseLine, statement.node).what),
            f"`{name}` cannot be used: {why}",
            expected="the name of a file, as seen from this one",
        )


_LIBRARY_NAME: Final = "library/"
"""How files that come with the tool are named in messages: never by a path of the machine."""


def library_names() -> tuple[str, ...]:
    """What can stand after ``use`` without quotation marks."""
    return tuple(sorted(path.stem for path in LIBRARY.glob("*.loom")))


__all__ = ["Note", "Reading", "Span", "UnreadableError", "library_names", "read_expectation", "read_file", "read_text"]
