"""Tidying a harness file: its one layout, and the proof that nothing but the layout changed."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, Final

from ..diagnostics.diagnostic import Diagnostic, Span
from ..diagnostics.messages import Diagnostics
from ..files.reading import UnreadableError, read_text
from ..model.harness import Reading
from ..records import dataclass
from ..survey.words import is_survey
from ..syntax.parser import parse
from .layout import first_forms, laid_out
from .replace import replace_file

MARK: Final = "\ufeff"
"""The byte-order mark that some editors put before a text."""

LIMIT: Final = 2_000_000
"""Characters. What is longer is no harness, and reading it four times would take minutes."""


class TidyError(Exception):
    """A text that is better left alone; ``str()`` says why."""


def tidy(text: str, file: str = "harness.loom") -> str:
    """``text`` in the one layout of the language; a text that has it already comes back as it is, and a byte-order mark
    stays.

    The files that it uses are read too, beside ``file``. Raises ``TidyError`` where the tidied text would not mean
    the same, which is a fault of the layout and never of the text; nothing is to be written then.
    """
    if len(text) > LIMIT:
        raise TidyError(f"more than {LIMIT // 1_000_000} million characters are no harness")
    mark, text = text[: text.startswith(MARK)], text.removeprefix(MARK)
    return mark + (_tidy_survey(text, file) if is_survey(text) else _tidy_harness(text, file))


def _tidy_harness(text: str, file: str) -> str:
    before = read_text(text, file)
    tidied = laid_out(text, file, unsplit=_faulty(before, file))
    if tidied == text:
        return text
    after = read_text(tidied, file)
    if what := changed(before, after, _said(text, file), _said(tidied, file)):
        raise TidyError(f"left as it is: tidied, {what} would not be the same; please report this file")
    if laid_out(tidied, file, unsplit=_faulty(after, file)) != tidied:
        raise TidyError("left as it is: tidied twice, it would not look the same; please report this file")
    return tidied


def _tidy_survey(text: str, file: str) -> str:
    """A survey in its one layout, with the same proof."""
    from ..survey.layout import laid_out_survey
    from ..survey.reading import read_survey

    before = read_survey(text, file)
    tidied = laid_out_survey(text, file, frozenset(mistake.span.line for mistake in before.mistakes))
    after = read_survey(tidied, file, diagram=before.diagram)
    same = _placeless(before.survey) == _placeless(after.survey)
    if not same or _said_mistakes(before.mistakes) != _said_mistakes(after.mistakes):
        raise TidyError("left as it is: tidied, the survey would not be the same; please report this file")
    if laid_out_survey(tidied, file, frozenset(mistake.span.line for mistake in after.mistakes)) != tidied:
        raise TidyError("left as it is: tidied twice, it would not look the same; please report this file")
    return tidied


@dataclass(frozen=True, slots=True)
class Tidied:
    """A file before and after; bytes that are no UTF-8 are lone surrogates in both."""

    before: str
    after: str

    @property
    def differs(self) -> bool:
        return self.before != self.after


def tidy_file(file: str, *, write: bool) -> Tidied:
    """A file, tidied; ``write`` puts that in its place, whole or not at all.

    Raises ``UnreadableError`` where it cannot be read, ``TidyError`` where it is better left alone, and ``OSError``
    where it cannot be written: it is then what it was.
    """
    path = Path(file)
    try:
        if path.exists() and not path.is_file():
            raise UnreadableError(f"{file}: this is no file")
        raw = path.read_bytes()
    except (FileNotFoundError, ValueError) as error:
        raise UnreadableError(f"{file}: there is no such file") from error
    except UnreadableError:
        raise
    except OSError as error:
        raise UnreadableError(f"{file}: {(error.strerror or str(error)).lower()}") from error
    before = decoded(raw)
    tidied = Tidied(before, tidy(before, file))
    if write and tidied.differs:
        replace_file(path, encoded(tidied.after), was=raw)
    return tidied


def decoded(raw: bytes) -> str:
    return raw.decode("utf-8", "surrogateescape")


def encoded(text: str) -> bytes:
    return text.encode("utf-8", "surrogateescape")


def _faulty(reading: Reading, file: str) -> frozenset[int]:
    """Lines with a mistake: split, they might be read in another way."""
    return frozenset(mistake.span.line for mistake in reading.mistakes if mistake.span.file == file)


def changed(before: Reading, after: Reading, said: Any, says: Any) -> str:
    """What is not the same in two readings of a file, places in the text aside; empty where all is."""
    for what, one, other in (
        ("its words", said[0], says[0]),
        ("its comments", said[1], says[1]),
        ("its mistakes", _mistakes(before), _mistakes(after)),
        ("the harness", _placeless(before.harness), _placeless(after.harness)),
    ):
        if one != other:
            return what
    return ""


def _said(text: str, file: str) -> tuple[list[tuple[str, ...]], list[str]]:
    """The words of each statement and of each line of a block, in order, and the comments."""
    syntax = parse(text, file, Diagnostics())
    words = []
    for statement in syntax.statements:
        words.append(first_forms(statement.tokens))
        words += [first_forms(inner.tokens) for inner in statement.block or ()]
    comments = [line.comment.rstrip() for line in syntax.lines if line.comment is not None]
    return words, [unicodedata.normalize("NFC", comment) for comment in comments]


def _mistakes(reading: Reading) -> list[tuple[str, str]]:
    return _said_mistakes(reading.mistakes)


def _said_mistakes(mistakes: Iterable[Diagnostic]) -> list[tuple[str, str]]:
    return sorted((mistake.kind, mistake.message) for mistake in mistakes)


def _placeless(value: Any) -> Any:
    """A value of the model without the places in the text; the order of all else stays."""
    if isinstance(value, Span):
        return None
    if is_dataclass(value):
        return (type(value).__name__, *(_placeless(getattr(value, each.name)) for each in fields(value)))
    if isinstance(value, dict):
        return [(key, _placeless(each)) for key, each in value.items()]
    if isinstance(value, tuple | list):
        return [_placeless(each) for each in value]
    return value
