"""How much was worked out, counted: a bound on it is the same on every machine, as one in seconds is not."""

from __future__ import annotations


class Tally:
    """State spaces made, the combinations that they hold together, and situations solved."""

    __slots__ = ("combinations", "situations", "spaces")

    def __init__(self) -> None:
        self.spaces = self.combinations = self.situations = 0
