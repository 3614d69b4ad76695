"""How much was worked out, counted: a bound on it is the same on every machine, as one in seconds is not."""

from __future__ import annotations

SPACE, COMBINATIONS, SITUATION, TABLE, ISLAND = 450, 29, 1300, 16, 450
"""What counts as how much work, in some millionths of a second of a quiet machine (ours, fitted to searches): a state
space, 1,024 combinations of it, a situation that is solved, a table in the search for a worst combination, the island
of an element in one combination.
"""


class TooMuchWorkError(Exception):
    """More was worked out than whoever asked allows."""


class Tally:
    """State spaces made, the combinations that they hold together, situations solved, tables gone through for worst
    combinations, and islands. Where it comes to more work than ``most`` whoever counts gets a ``TooMuchWorkError``.
    """

    __slots__ = ("combinations", "islands", "most", "situations", "spaces", "tables")

    def __init__(self) -> None:
        self.spaces = self.combinations = self.situations = self.tables = self.islands = 0
        self.most: int | None = None

    @property
    def work(self) -> int:
        """All of it together."""
        counted = SPACE * self.spaces + SITUATION * self.situations + TABLE * self.tables + ISLAND * self.islands
        return counted + COMBINATIONS * self.combinations // 1024

    def space(self, size: int) -> None:
        """A state space of this many combinations is made. Raises ``TooMuchWorkError``."""
        self.spaces += 1
        self.combinations += size
        self._check()

    def situation(self) -> None:
        """A situation is solved. Raises ``TooMuchWorkError``."""
        self.situations += 1
        self._check()

    def island(self) -> None:
        """An element's island is found in one combination. Raises ``TooMuchWorkError``."""
        self.islands += 1
        self._check()

    def went_through(self, tables: int) -> None:
        """Some tables are gone through for a worst combination. Raises ``TooMuchWorkError``."""
        self.tables += tables
        self._check()

    def _check(self) -> None:
        if self.most is not None and self.work > self.most:
            raise TooMuchWorkError
