"""A capacitor that is rated for less than the voltage that the charging system holds."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ....lang.editing.proposals import Proposal, SetQuantity
from ....lang.model.parts import Capacitor, Rectifier, Regulator, Source
from ....lang.quantities.quantity import Quantity, shown
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    parts = study.harness.parts.values()
    volts, by = max(
        (
            (volts, part.name)
            for part in parts
            if isinstance(part, Source | Rectifier | Regulator)
            for volts in (part.regulated, _at_rest(part, study.harness.volts))
            if volts is not None
        ),
        key=lambda found: found[0],
        default=(0.0, ""),
    )
    joined = {
        node for branch in study.circuit.branches if branch.branch_type.conductor for node in (branch.a, branch.b)
    }
    twice = math.ceil(2 * volts)
    for part in parts:
        if not isinstance(part, Capacitor) or part.volts is None or part.volts >= volts:
            continue  # a large one without a voltage is listed by `not-judged`
        if not {f"{part.name}.+", f"{part.name}.-"} <= joined:
            continue  # not connected: `loose-end` and `unused-part` say so
        fits = f"a capacitor of {shown(twice)} V"
        yield RULE.found(
            "over",
            part.span,
            facts={
                "capacitor": part.name,
                "source": by,
                "highest": Quantity(volts, "V"),
                "rated": Quantity(part.volts, "V"),
            },
            about=(part.name,),
            figures=(Figure("rated", part.volts, "V"), Figure("highest voltage", volts, "V")),
            proposals=(
                Proposal(
                    f"fit {fits} or more at {part.name}: twice the highest voltage is usual",
                    (SetQuantity(part.name, "voltage", f"{twice} V"),),
                ),
            ),
        )


def _at_rest(part: Source | Rectifier | Regulator, system: float) -> float | None:
    """The V of a battery, those of the system where none are written; ``None`` of a machine."""
    if not isinstance(part, Source) or part.what != "battery":
        return None
    return system if part.volts is None else part.volts


_HARNESS = """
loom "{title}"
place tray
source BAT battery at tray {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
ground FRAME at tray
fuse MAIN 10 A blade at tray
source ALT alternator at tray {{ output 100 W: B+ B-; regulated 14.4 V; idle 60 W }}
capacitor CAP 22 mF {volts} V at tray
splice SP at tray
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.15 m
wire 2 MAIN.2 to SP red 2.5 mm2 0.1 m
wire 3 SP to ALT.B+ red 2.5 mm2 0.1 m
wire 4 ALT.B- to FRAME black 2.5 mm2 0.1 m
wire 5 SP to CAP.+ red 1.5 mm2 0.1 m
wire 6 CAP.- to FRAME black 1.5 mm2 0.1 m
wire 7 BAT.- to FRAME black 6 mm2 0.2 m
"""

RULE = Rule(
    name="capacitor-volts",
    level=Level.ERROR,
    family="fire",
    catches="a capacitor rated below the highest regulated voltage, or the battery's",
    why="""An electrolytic capacitor above its rated voltage overheats, vents hot electrolyte and may burst. A capacitor
    beside a battery, or in place of one, has the full charging voltage across it on every ride, and more when the
    regulator fails.""",
    source="the ratings in the harness's own text; twice the voltage: common practice, no source",
    formula="found where the capacitor's rated voltage < the highest regulated voltage, or the battery's",
    cautions="A large capacitor holds its charge: discharge it through a lamp before you touch its terminals.",
    says={"over": "{capacitor} is rated {rated}, and {source} puts up to {highest} across it"},
    find=find,
)
