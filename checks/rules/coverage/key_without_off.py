"""A key of which no position says that it is out."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.diagnostics.messages import listed
from ....lang.vocabulary.words import KEY_OUT
from ...behaviour.keys import keys
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for key in keys(study.behaviour.network):
        names = [position.name for position in key.positions]
        if not any(name in KEY_OUT for name in names):
            yield Finding(
                rule=RULE.name,
                level=RULE.level,
                message=f"{key.name} is a key and has no position {listed(KEY_OUT)}: nothing was checked with the "
                "ignition off",
                span=key.span,
                about=(key.name,),
                source=RULE.source,
                remedy=f"name the position of {key.name} in which the ignition is off `off` (its positions here: "
                f"{listed(names, 'and')}); take `key` off its line if it is not the ignition switch",
            )


RULE = Rule(
    name="key-without-off",
    level=Level.WARNING,
    family="coverage",
    catches="a key with no position `off`, `lock` or `park`",
    why="""What stays live with the ignition off, what drains the battery and whether the engine stops at the key are
    asked of the positions `off`, `lock` and `park`. Where a key has none of them nothing of that is found, and a
    report without a finding would read as a promise.""",
    source="ours",
    find=find,
)
