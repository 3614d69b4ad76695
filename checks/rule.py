"""What a rule is: one self-describing record, one file each in ``checks/rules/``.

A rule file defines ``RULE`` and nothing that another rule needs. The catalogue, ``loomwright explain``, the metadata of
the machine formats and the rules' pages are all made from this record.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Literal

from ..lang.records import dataclass
from .findings.finding import Finding, Level

if TYPE_CHECKING:
    from ..lang.editing.proposals import Proposal
    from .study import Study

Family = Literal["fire", "stop", "ground", "behaviour", "workmanship", "conversion", "coverage"]
FAMILIES: tuple[Family, ...] = ("fire", "stop", "ground", "behaviour", "workmanship", "conversion", "coverage")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule of the catalogue.

    ``level`` is the gravest it gives; ``catches`` one line; ``why`` a paragraph for the rider, with what can happen;
    ``source`` where the limit or the definition comes from ("common practice, no source" and "ours" are said).
    ``formula`` is shown by ``explain`` where a number decides. ``cautions`` for work that can hurt. The harnesses that
    it finds fault with and passes stand in ``specs/rules`` (``examples``); a user's own rule carries its own in
    ``bad``, a whole small harness, and ``good``, a near miss that must stay silent (of this rule).
    ``fix`` works out the fixes of a finding that are edits of the text, where they cost too much to come with it.
    ``aliases`` are old names, kept for ever.
    """

    name: str
    level: Level
    family: Family
    catches: str
    why: str
    source: str
    find: Callable[[Study], Iterable[Finding]]
    bad: str = ""
    good: str = ""
    fix: Callable[[Study, Finding], Iterable[Proposal]] | None = None
    formula: str = ""
    cautions: str = ""
    aliases: tuple[str, ...] = ()
