"""An old part of which the new text says nothing, and words of the new text that fit no old part."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.diagnostics.diagnostic import Note
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.model.parts import Part
    from ...conversion.matching import Match


def find(study: Study) -> Iterator[Finding]:
    comparison = study.comparison
    conversion = study.harness.conversion
    if comparison is None or conversion.span is None:
        return
    match = comparison.match
    old = {*match.old.parts, *match.old.wires}
    for part in match.undecided:
        yield RULE.found(
            "part",
            conversion.span,
            facts={"part": part.name, "kind": part.kind},
            about=(part.name,),
            notes=(Note(f"{part.name} in the old harness", part.span),),
            group="undecided",
        )
    for new in study.harness.parts.values():
        before = new.was or new.name
        if (new.was or new.kept) and before not in old:
            case = "was" if new.was else "kept"
            twin = _twin(match, new)
            yield RULE.found(
                case,
                new.span,
                facts={"part": new.name, "old": before, "twin": twin},
                about=(new.name,),
                fix="twin" if twin else case,
            )
    for removed in conversion.removed:
        for name in removed.names:
            if name not in old:
                yield RULE.found("removed", removed.span, facts={"part": name}, about=(name,))


def _twin(match: Match, new: Part) -> str:
    """The one old part that nothing is stated of, of the same kind and terminals; empty where there is not just one."""
    alike = [old.name for old in match.undecided if old.kind == new.kind and set(old.terminals) == set(new.terminals)]
    return alike[0] if len(alike) == 1 else ""


RULE = Rule(
    name="undecided",
    level=Level.WARNING,
    family="conversion",
    catches="a part of the old harness that is neither kept, nor replaced, nor removed",
    why="""Every part of the old harness did something, or was left from something. One that the new text does not
    mention was forgotten more often than dropped: say of each whether it is kept, replaced, or removed.""",
    source="Loomwright's analysis: every part of the old harness",
    says={
        "part": "{part} ({kind}) of the old harness is neither kept, nor replaced, nor removed",
        "was": "{part} was {old}, and the old harness has no {old}",
        "kept": "{part} is kept, and the old harness has no {part}",
        "removed": "{part} is removed, and the old harness has no {part}",
    },
    fixes={
        "part": "write `kept` on its line where it is still fitted, `was {part}` on the line of what replaces it, or "
        "`removed {part}` where it is gone",
        "was": "name the old part in `was` as the old harness does",
        "kept": "name the old part with `was`, or take `kept` away",
        "twin": "write `was {twin}` on the line of {part}, if {twin} is its old name: their terminals are the same",
        "removed": "name the removed part as the old harness does",
    },
    find=find,
)
