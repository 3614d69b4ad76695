"""A turn lamp that stays on without flashing."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Element, UnitOutput
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study

TURN = {"turn-left", "turn-right"}


def find(study: Study) -> Iterator[Finding]:
    circuit = study.circuit
    turns = [
        b
        for b in circuit.branches
        if isinstance(b.item, Element)
        and {"turn-left", "turn-right"} & set(b.item.roles)
        and "tell-tale" not in b.item.roles
    ]
    if not turns:
        return
    flashing = [
        b.key
        for b in circuit.branches
        if b.branch_type is BranchType.FLASHER or (isinstance(b.item, UnitOutput) and b.item.flashing)
    ]
    # What still feeds a lamp when everything that flashes is open does not flash.
    behaviour = study.behaviour.without(flashing)
    for branch in turns:
        with study.judging(branch.part):
            shown = behaviour.may(behaviour.live(branch.key))
            if shown is None:
                continue
            yield RULE.found(
                "steady",
                branch.span,
                facts={"lamp": branch.key},
                about=(branch.part,),
                shown=shown,
                path=behaviour.loop(shown, branch),
            )


RULE = Rule(
    name="no-flasher",
    level=Level.WARNING,
    family="behaviour",
    catches="a turn lamp that is live through no flasher and no flashing output",
    why="""A turn lamp that does not flash is taken for a position lamp. Laws ask for 60 to 120 flashes a minute. Local
    law decides.""",
    source="UN R53 6.3 and SI 1989/1796: direction indicators flash (from memory); local law decides",
    cautions="Do not ride on with a turn lamp that does not flash: nobody behind takes it for a signal.",
    says={"steady": "{lamp} is a turn lamp and stays on without flashing"},
    fixes={"steady": "feed {lamp} only through a flasher, or through an output marked `flashing`"},
    find=find,
)
