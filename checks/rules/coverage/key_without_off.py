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
            yield RULE.found("no-off", key.span, facts={"key": key.name, "positions": tuple(names)}, about=(key.name,))


RULE = Rule(
    name="key-without-off",
    level=Level.WARNING,
    family="coverage",
    catches="a key switch with no position `off`, `lock` or `park`",
    why="""Which loads stay live, what discharges the battery and whether the key stops the engine are checked in the
    positions `off`, `lock` and `park`. For a key switch that has none of these they are not checked, and a report
    without a finding would read as a proof.""",
    source="the language: a key is out in `off`, `lock` and `park`",
    says={
        "no-off": f"{{key}} is a key switch without a position {listed(KEY_OUT)}: the harness was not checked with the "
        "ignition off",
    },
    fixes={
        "no-off": "write `off` for the position of {key} in which the ignition is off (its positions: {positions}), or "
        "remove `key` from its line if it is not the ignition switch",
    },
    find=find,
)
