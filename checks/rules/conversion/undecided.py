"""An old part of which the new text says nothing, and words of the new text that fit no old part."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.diagnostics.diagnostic import Note
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


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
            yield RULE.found(
                "was" if new.was else "kept",
                new.span,
                facts={"part": new.name, "old": before},
                about=(new.name,),
            )
    for removed in conversion.removed:
        for name in removed.names:
            if name not in old:
                yield RULE.found("removed", removed.span, facts={"part": name}, about=(name,))


RULE = Rule(
    name="undecided",
    level=Level.WARNING,
    family="conversion",
    catches="a part of the old harness that is neither kept, nor replaced, nor removed",
    why="""Every part of the old harness did something, or was left from something. One that the new text does not
    mention was forgotten more often than dropped: say of each whether it is kept, replaced, or removed.""",
    source="ours: every part of the old harness",
    says={
        "part": "{part} ({kind}) of the old harness is neither kept, nor replaced, nor removed",
        "was": "{part} was {old}, and the old harness has no {old}",
        "kept": "{part} is kept, and the old harness has no {part}",
        "removed": "{part} is removed, and the old harness has no {part}",
    },
    fixes={
        "part": "mark the part that it is as kept, name it in `was` of what replaces it, or write: removed {part}",
        "was": "name the old part in `was` as the old harness does",
        "kept": "name the old part with `was`, or take `kept` away",
        "removed": "name the removed part as the old harness does",
    },
    find=find,
)
