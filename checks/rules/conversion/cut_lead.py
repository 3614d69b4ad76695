"""A lead of a kept part that ends nowhere in the new harness."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.ids import End
from ....lang.model.parts import Connector, Splice
from ...conversion.leads import led_to, wires_at
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    comparison = study.comparison
    if comparison is None:
        return
    before, now = comparison.old.circuit, comparison.new.circuit
    capped = {capped.end.node for capped in study.harness.capped}
    match = comparison.match
    for old, new in match.kept:
        if isinstance(old, Connector | Splice):
            continue
        for terminal in old.terminals:
            was, here = End(old.name, terminal), End(new.name, terminal)
            wires = wires_at(before, was)
            if not wires or here in capped or wires_at(now, here):
                continue
            ends = led_to(before, was)
            gone = tuple(dict.fromkeys(p for end in ends if (p := end.part) in match.removed))
            yield RULE.found(
                "wire",
                new.span,
                facts={"terminal": here, "ends": ends, "removed": gone, "wires": wires},
                about=(new.name,),
                group=new.name,
                explains=(f"terminal {here}",),  # loose-end has nothing to add
            )


RULE = Rule(
    name="cut-lead",
    level=Level.ERROR,
    family="conversion",
    catches="a lead of a kept part that went to the old harness and now ends nowhere",
    why="""A part that is kept brings its leads with it, and one that fed nothing important in the workshop may have
    fed the ignition on the road. A lead that is cut and not connected again either leaves something dead, or touches
    metal and blows a fuse. So each lead is connected again, or capped on purpose.""",
    source="Loomwright's analysis: every terminal that the old harness wires",
    cautions="Disconnect the battery before a lead is cut, and insulate its end at once.",
    says={
        "wire": "{terminal} has no wire; in the old harness {wires:wire} led from there[ to {ends}]"
        "[; {removed} {removed:is|are} removed]",
    },
    fixes={"wire": "connect {terminal} to what takes over, or insulate its lead and write: capped {terminal}"},
    find=find,
)
