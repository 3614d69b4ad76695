"""A wire on the return side that carries more than its rating."""

from __future__ import annotations

from collections.abc import Iterator

from ...findings.finding import Finding, Level, Stage
from ...fixes.overloads import overloaded
from ...fixes.sizes import thicker
from ...fixes.thicker import NO_SIZE
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for overload in study.conductors.overloaded():
        if overload.loading.side == "return":
            yield overloaded(RULE, study, overload, "second")


RULE = Rule(
    name="thin-return",
    level=Level.ERROR,
    family="fire",
    stage=Stage.CONSEQUENCE,
    catches="a return wire that carries more than its continuous or short-time rating; no fuse protects it",
    why="""A return wire carries the sum of all loads that share it, and no fuse is chosen for it. A thin strap from the
    engine, a common ground wire of all lamps or a forgotten second path to the battery carries the current of several
    fuses; when the thick wire beside it comes loose, it carries all of it, the starter's too.""",
    source="33 CFR 183.425 table 5 for continuous current; the adiabatic equation of IEC 60364-5-54 for the "
    "current while a control is held or the engine cranks",
    formula="""found where current, momentary controls at rest > ampacity
   or where current, any control held, or cranking > the greater of ampacity and what heats the wire in 30 s from the
      temperature that it has with the controls released to that of its class, no heat lost
in the named states and in the combination that loads the wire most.
An error where figures that were read find it, which may be higher than the limit shown, and a warning where only
figures from memory do""",
    cautions="No fuse protects a return wire: after the first ride feel whether it, or a joint of it, is warm.",
    says={
        "continuous": "return wire {wire} ({size}) carries {current}, rated {limit} continuous",
        "short-time": "return wire {wire} ({size}) carries {current}, rated {limit} short-time",
    },
    fixes={"second": "or fit a second wire of that size beside wire {wire}: no fuse protects a return wire", **NO_SIZE},
    find=find,
    fix=thicker,
)
