"""A declared difference from the old harness that does not come about."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.editing.proposals import DropLine, Proposal
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.model.statements import Declared
    from ...conversion.matching import Match

COVERED: Final = {"changes": "changed-feed", "loses": "lost-function"}
"""What each word declares: the findings of this rule."""


def find(study: Study, found: tuple[Finding, ...]) -> Iterator[Finding]:
    comparison = study.comparison
    if comparison is None or not study.harness.conversion.declared:
        return
    match = comparison.match
    unknown = {name for each in found if each.rule == "not-judged" or each.outcome != "found" for name in each.about}
    broken = {each.rule for each in found if each.outcome != "found"}
    for declared in study.harness.conversion.declared:
        if COVERED[declared.how] in broken:
            continue  # nobody knows what that rule would find
        happens = {n for each in found if each.rule == COVERED[declared.how] for n in _both_names(match, each.about)}
        cases: dict[str, list[str]] = {}
        for name in declared.names:
            if name not in happens | unknown:
                cases.setdefault(_case(match, declared.how, name), []).append(name)
        for case, names in cases.items():
            yield _idle(declared, case, tuple(names))


def _case(match: Match, how: str, name: str) -> str:
    """Why a word declares nothing of a part: ``changes`` is of kept parts alone, ``loses`` of all others."""
    if name not in match.old.parts and name not in match.old_of:
        return "stranger"
    kept = any(name in (old.name, new.name) for old, new in match.kept)
    if how == "changes":
        return "same" if kept else "replaced"
    return "kept" if kept else "done"


def _both_names(match: Match, about: tuple[str, ...]) -> Iterator[str]:
    """The names that a declaration can have for what a finding is about: those of the new harness and of the old."""
    for name in about:
        yield name
        if name in match.old_of:
            yield match.old_of[name]


def _idle(declared: Declared, case: str, names: tuple[str, ...]) -> Finding:
    whole = len(names) == len(declared.names)
    drop = Proposal("take this line out", (DropLine(declared.span.file, declared.span.line),))
    return RULE.found(
        case,
        declared.span,
        facts={"parts": names, "word": declared.how},
        fix=None if whole or case in RULE.fixes else "names",
        about=names,
        proposals=(drop,) if whole and case not in RULE.fixes else (),
    )


RULE = Rule(
    name="idle-declaration",
    level=Level.NOTE,
    family="conversion",
    needs_all=True,
    catches="`changes` or `loses` that declares a difference which does not come about",
    why="""What is declared is passed over when the rebuild is compared with the old harness. A declaration of something
    that is as before would also pass over the next change of that part, which nobody meant.""",
    source="Loomwright's analysis: the findings of changed-feed and lost-function, before what is declared is "
    "passed over",
    says={
        "same": "{parts} {parts:gets|get} the same as in the old harness as far as was compared, "
        "so `changes` declares nothing",
        "replaced": "{parts} {parts:is|are} not kept, and `changes` is of kept parts, so it declares nothing",
        "done": "what {parts} did in the old harness is still done, so `loses` declares nothing",
        "kept": "{parts} {parts:is|are} kept, and `loses` is of parts that are not, so it declares nothing",
        "stranger": "{parts} {parts:is|are} not in the old harness, so `{word}` declares nothing",
    },
    fixes={
        "names": "take {parts} out of this line",
        "replaced": "take this line out; if a function is lost on purpose, write `loses` for `changes`",
        "kept": "take this line out; if the part gets something else on purpose, write `changes` for `loses`",
    },
    find=find,
)
