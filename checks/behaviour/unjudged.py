"""What was asked and not answered: kept while rules ask on, and said once at the end."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from ...lang.records import dataclass
from ..logic.analysis import TooWideError
from .undecided import UndecidedError, too_wide

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(frozen=True, slots=True)
class Unanswered:
    """A rule that could not judge some parts, and why."""

    rule: str
    parts: tuple[str, ...]
    why: str


class Unjudged:
    """Questions without an answer, in the order in which they came up. ``rule`` names whoever asks now."""

    def __init__(self) -> None:
        self.rule = ""
        self._found: dict[Unanswered, None] = {}

    @contextmanager
    def judging(self, *parts: str) -> Iterator[None]:
        """Whoever asks about some parts goes on to the next where that is too much to go through, or undecided."""
        try:
            yield
        except TooWideError as wide:
            self._found[Unanswered(self.rule, parts, too_wide(wide))] = None
        except UndecidedError as undecided:
            self._found[Unanswered(self.rule, parts, str(undecided))] = None

    def drained(self) -> tuple[Unanswered, ...]:
        """All of them; from then on there are none."""
        found = tuple(self._found)
        self._found.clear()
        return found
