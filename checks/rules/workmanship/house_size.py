"""A wire thinner than the house's smallest."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import resized
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.conductors import SAME_SIZE


def find(study: Study) -> Iterator[Finding]:
    smallest = study.harness.house.smallest
    if smallest is None:
        return
    for wire in study.harness.wires.values():
        if wire.kept or wire.size is None or wire.size.area >= smallest.size.area * (1.0 - SAME_SIZE):
            continue
        yield Finding(
            rule=RULE.name,
            level=Level.WARNING,
            message=f"wire {wire.name} ({wire.size.text}) is thinner than the house's smallest, {smallest.size.text}",
            span=wire.span,
            about=(wire.name,),
            figures=(Figure("area", wire.size.area, "mm2"), Figure("house's smallest", smallest.size.area, "mm2")),
            source=f"the house's own, {smallest.span.file}:{smallest.span.line}",
            proposals=resized(wire.name, smallest.size),
        )


RULE = Rule(
    name="house-size",
    level=Level.WARNING,
    family="workmanship",
    catches="a wire thinner than the house's smallest size",
    why="""A thin wire carries its few milliamps well, and breaks at the first crimp that shakes. What a shop's own
    pliers, contacts and hands can work with is for it to say; what it says is asked, and nothing else. Wires that are
    kept from an old harness are not.""",
    source="the house's own `house smallest` line; where there is none nothing is said",
    formula="found where area < 98 % of the house's smallest: strands never add up to their nominal size exactly",
    cautions="Pull at every crimp by hand before the loom is closed.",
    find=find,
)
