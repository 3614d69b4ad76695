"""What a rule is: one self-describing record, one file each in ``checks/rules/``.

A rule file defines ``RULE`` and nothing that another rule needs. The catalogue, ``loomwright explain``, the metadata of
the machine formats and RULES.md are all made from this record.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from .finding import Finding, Level

if TYPE_CHECKING:
    from .examination import Examination

Family = Literal["fire", "stop", "ground", "behaviour", "build", "conversion", "honesty"]
FAMILIES: tuple[Family, ...] = ("fire", "stop", "ground", "behaviour", "build", "conversion", "honesty")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule of the catalogue.

    ``level`` is the gravest it gives; ``catches`` one line; ``why`` a paragraph for the rider, with what can happen;
    ``source`` where the limit or the definition comes from ("common practice, no source" and "ours" are said).
    ``formula`` is shown by ``explain`` where a number decides. ``bad`` is a whole small harness that the rule must
    find fault with; ``good`` a near miss that must stay silent (of this rule). ``cautions`` for work that can hurt.
    ``aliases`` are old names, kept for ever.
    """

    name: str
    level: Level
    family: Family
    catches: str
    why: str
    source: str
    bad: str
    good: str
    find: Callable[[Examination], Iterable[Finding]]
    formula: str = ""
    cautions: str = ""
    aliases: tuple[str, ...] = ()
