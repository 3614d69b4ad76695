"""A word of a line, with its place."""

from __future__ import annotations


class Token(str):
    """A word of a line: a text that knows its ``type`` (a terminal of the grammar) and where it begins in its line.

    Two of the same text are equal: their types are, too, since a text has but one. ``start_pos`` and ``end_pos`` count
    from 0, ``column`` and ``end_column`` from 1.
    """

    __slots__ = ("start_pos", "type", "value")

    type: str
    value: str
    start_pos: int

    @property
    def end_pos(self) -> int:
        return self.start_pos + len(self)

    @property
    def column(self) -> int:
        return self.start_pos + 1

    @property
    def end_column(self) -> int:
        return self.start_pos + len(self) + 1


def token(kind: str, value: str, start: int) -> Token:
    made = str.__new__(Token, value)
    made.type = kind
    made.value = value
    made.start_pos = start
    return made
