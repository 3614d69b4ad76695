"""What a search for a likely cause gives: offers, each a small change that would settle what was found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.records import dataclass

if TYPE_CHECKING:
    from ...lang.model.harness import Harness


@dataclass(frozen=True, slots=True)
class Offer:
    """One likely cause: ``message`` stands alone on one line, ``about`` names what it touches, ``settles`` counts the
    errors and warnings that it settles, ``changes`` the changes that it is made of. ``fixed`` is the harness after it:
    for looking at, never for writing.
    """

    message: str
    about: tuple[str, ...]
    settles: int
    changes: int
    fixed: Harness


@dataclass(frozen=True, slots=True)
class Causes:
    """At most three offers, whether the search ``finished``, and how many edits were ``tried`` (0 if it was not)."""

    offers: tuple[Offer, ...]
    tried: int
    finished: bool

    @property
    def remark(self) -> str:
        """What to think of the offers, or why there are none; empty where there is nothing to say."""
        if not self.finished:
            return "the search for a likely cause was stopped before its end: its bound of work was reached"
        if not self.offers:
            return ""
        changes = "1 small change was" if self.tried == 1 else f"{self.tried} small changes were"
        if len(self.offers) > 1:
            return f"{changes} tried, and each of these alone settles as many findings: look at the motorcycle first"
        if self.offers[0].changes > 1:
            return (
                f"{changes} tried, and only these two together settle that many findings: look at the motorcycle first"
            )
        return f"{changes} tried, and this one alone settles that many findings: look at the motorcycle first"
