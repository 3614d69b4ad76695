"""A wire thinner than the shop's smallest."""

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
        yield RULE.found(
            "thin",
            wire.span,
            facts={"wire": wire.name, "size": wire.size.text, "smallest": smallest.size.text},
            about=(wire.name,),
            figures=(Figure("area", wire.size.area, "mm2"), Figure("shop's smallest", smallest.size.area, "mm2")),
            source=f"this shop's `house smallest` line, {smallest.span.file}:{smallest.span.line}",
            proposals=resized(wire.name, smallest.size),
        )


RULE = Rule(
    name="house-size",
    level=Level.WARNING,
    family="workmanship",
    catches="a wire thinner than the shop's smallest size",
    why="""A thin wire may be thick enough for its current and still break at a crimp that vibrates. The smallest size
    that its pliers and contacts can crimp is for the shop to state; without a `house smallest` line nothing is
    checked, and wires that are kept from an old harness never are.""",
    source="the shop's own `house smallest` line; without such a line nothing is checked",
    formula="found where area < 98 % of the shop's smallest: strands never add up to their nominal size exactly",
    says={"thin": "wire {wire} ({size}) is thinner than this shop's smallest, {smallest}"},
    cautions="Pull at every crimp by hand before the loom is closed.",
    find=find,
)
