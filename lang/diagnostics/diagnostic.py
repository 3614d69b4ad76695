"""What is wrong with a text: places in files, and mistakes found while reading.

Knows nothing of rules. A mistake is data; words on a terminal are made from it elsewhere.
"""

from __future__ import annotations

from ..records import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A stretch of one line of one file.

    ``file`` is the name as the user wrote it (never made absolute). ``line`` and ``column`` count from 1, columns in
    code points; ``end_column`` is one past the last character.
    """

    file: str
    line: int
    column: int
    end_column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Note:
    """A second place that explains the first, such as "first defined here"."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One mistake in a text: where, what was found, what was expected and what to do.

    ``kind`` is a stable name of the message (the error gallery has one file for each); ``message`` stands alone on one
    line; ``expected`` and ``remedy`` are empty where there is nothing to add; ``nearest`` is the closest known name.
    """

    kind: str
    span: Span
    message: str
    expected: str = ""
    nearest: str | None = None
    remedy: str = ""
    notes: tuple[Note, ...] = ()
