"""What a rule is: one self-describing record, one file each in ``checks/rules/``.

A rule file defines ``RULE`` and nothing that another rule needs. The catalogue, ``loomwright explain``, the metadata of
the machine formats and the rules' pages are all made from this record.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field
from typing import TYPE_CHECKING, Final, Literal, get_args

from ..lang.records import dataclass
from .behaviour.counterexample import circumstances, lowered
from .findings.facts import Fact, as_facts
from .findings.finding import Figure, Finding, Level, Outcome, Stage
from .findings.wording import fields, filled

if TYPE_CHECKING:
    from ..lang.diagnostics.diagnostic import Note, Span
    from ..lang.editing.proposals import Proposal
    from .behaviour import Combination
    from .study import Study

Family = Literal["fire", "stop", "ground", "behaviour", "workmanship", "conversion", "coverage"]
FAMILIES: Final[tuple[Family, ...]] = get_args(Family)

WHEN: Final = "[ ({when})]"
"""How a sentence names the circumstances of what it says: after it, unless its template has them elsewhere."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule of the catalogue.

    ``level`` is the worst it gives; ``catches`` one line; ``why`` a paragraph for the rider, with what can happen;
    ``source`` where the limit or the definition comes from ("common practice, no source" and "ours" are stated).
    ``formula`` is shown by ``explain`` where a number decides. ``cautions`` for work that can hurt. The harnesses that
    it finds fault with and passes are in ``specs/rules`` (``examples``); a user's own rule carries its own in
    ``bad``, a whole small harness, and ``good``, a near miss that must stay silent (of this rule).
    ``says`` has a template for each case that the rule can find (``findings.wording`` tells how it is written), and
    ``fixes`` what would settle it, by the same case or by another name. Words and numbers are there alone: the
    rule's code gives facts to ``found``.
    ``fix`` works out the fixes of a finding that are edits of the text, where they cost too much to come with it.
    ``aliases`` are old names, kept for good.
    ``find`` is called with the ``Study`` of a harness; where the rule ``needs_all``, after all others and with what
    they found, too. ``stage`` orders findings of one level. A ``root_cause`` names its own repair: what a search proves
    that this repair settles follows from it. A ``symptom`` says of a part no more than that it does not work: where
    another finding says why, that is enough.
    """

    name: str
    level: Level
    family: Family
    catches: str
    why: str
    source: str
    find: Callable[..., Iterable[Finding]]
    bad: str = ""
    good: str = ""
    fix: Callable[[Study, Finding], Iterable[Proposal]] | None = None
    formula: str = ""
    cautions: str = ""
    aliases: tuple[str, ...] = ()
    stage: Stage = Stage.OTHER
    root_cause: bool = False
    symptom: bool = False
    needs_all: bool = False
    says: Mapping[str, str] = field(default_factory=dict)
    fixes: Mapping[str, str] = field(default_factory=dict)

    def found(
        self,
        case: str,
        span: Span,
        *,
        facts: Mapping[str, Fact | float],
        about: Iterable[str] = (),
        level: Level | None = None,
        outcome: Outcome = "found",
        shown: Combination | None = None,
        fix: str | None = None,
        combination: tuple[tuple[str, str], ...] = (),
        state: str = "",
        path: tuple[str, ...] = (),
        figures: tuple[Figure, ...] = (),
        source: str | None = None,
        proposals: tuple[Proposal, ...] = (),
        notes: tuple[Note, ...] = (),
        group: str = "",
        rank: float = 0.0,
        explains: tuple[str, ...] = (),
        subject: str = "",
    ) -> Finding:
        """A finding of this rule: ``case`` and ``fix`` (the same name where it is left out) choose the templates.

        ``level`` and ``source`` are the rule's own where they are left out. ``outcome`` is ``not-checked`` where a case
        says that one thing could not be judged. ``shown``: a combination that shows it; its
        circumstances become the fact ``when``, which is in brackets after the message or where the template names
        it, and where a rider hardly meets it the level is one lower.
        Raises ``KeyError`` for a case without a template, or a template without its facts.
        """
        template = self.says[case]
        if shown is not None:
            facts = {**facts, "when": circumstances(shown)}
            template += "" if "when" in fields(template) else WHEN
        known = as_facts(facts)
        message = filled(template, known)
        remedy = self.fixes.get(case, "") if fix is None else self.fixes[fix]
        return Finding(
            rule=self.name,
            level=lowered(self.level if level is None else level, shown),
            message=message,
            span=span,
            case=case,
            facts=known,
            outcome=outcome,
            stage=self.stage,
            about=tuple(dict.fromkeys(about)),
            combination=shown.shown if shown is not None else combination,
            state=state,
            path=path,
            figures=figures,
            source=self.source if source is None else source,
            remedy=filled(remedy, known),
            proposals=proposals,
            implausible=shown is not None and shown.implausible,
            notes=notes,
            group=group,
            rank=rank,
            explains=explains,
            subject=subject,
        )
