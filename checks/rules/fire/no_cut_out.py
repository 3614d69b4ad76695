"""A dynamo that the battery can drive as a motor."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Source
from ....lang.quantities.quantity import Quantity
from ...behaviour import BATTERY
from ...behaviour.counterexample import about_path
from ...findings.finding import Finding, Level, Stage
from ...fixes.charging import charging_fuse
from ...rule import Rule
from ...study import Study
from ...tables.spares import spare_rating


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    protection = study.protection
    for supply in behaviour.circuit.supplies:
        with study.judging(supply.name):
            part = study.harness.parts.get(supply.name)
            if not isinstance(part, Source) or part.what != "dynamo":
                continue
            pole = protection.feed_pole(supply)
            shown = behaviour.may(behaviour.fed(pole, BATTERY))
            if shown is None:
                continue
            path = behaviour.feed(shown, pole, BATTERY)
            on_path = [branch for name in path if (branch := behaviour.circuit.by_key.get(name)) is not None]
            turned = tuple(branch.part for branch in on_path if branch.branch_type is BranchType.CUT_OUT)
            diodes = tuple(branch.part for branch in on_path if branch.branch_type is BranchType.DIODE)
            case = "turned" if turned else "none"
            full = charging_fuse(study, supply)  # the least fuse for its whole output: a diode is to carry no less
            diode = spare_rating("diode", full * study.protection.profile.continuous_share) if full else None
            yield RULE.found(
                case,
                part.shown_at(supply.span),
                facts={
                    "dynamo": supply.name,
                    "regulators": turned,
                    "diodes": diodes,
                    "amps": Quantity(diode, "A") if diode is not None else "",
                },
                about=(supply.name, *about_path(behaviour, path)),
                shown=shown,
                path=path,
                fix=f"{case}-positive" if behaviour.circuit.return_sign == "+" else case,
            )


DIODE: Final = (
    "fit a regulator with a cut-out between {dynamo} and the battery; or a diode[ of {amps}] between the regulator and "
    "the battery, so that the regulator stays on the side of {dynamo}, on a heat sink insulated from the frame, its "
    "band (cathode) towards"
)
DROP: Final = "; the diode drops 0.5 V to 1 V: set the regulator higher by that, or the battery is not charged"
OTHER_WAY: Final = "[: {diodes} {diodes:passes|pass} current from the battery to {dynamo}]"


RULE = Rule(
    name="no-cut-out",
    level=Level.ERROR,
    family="fire",
    stage=Stage.TOPOLOGY,
    catches="a dynamo connected to the battery without a cut-out or a diode that keeps the battery from driving it",
    why="""A dynamo at rest is a motor with a resistance of a fraction of an ohm. The cut-out disconnects it whenever
    its voltage is below the battery's; without one, or with one that is bypassed or the wrong way round, the battery
    drives tens of amperes through the armature, through wires and brushes made for a few, until the battery is flat or
    something burns.""",
    source="common practice, no source",
    formula="found where, in a possible combination, the feed pole of a battery is connected to that of a dynamo",
    cautions="Disconnect the battery, grounded lead first, before you work on its charging system.",
    says={
        "none": "{dynamo} is connected to the battery without a cut-out[ ({when})]; the battery can drive it as a "
        "motor",
        "turned": "{dynamo} is connected to the battery through the cut-out of {regulators} the wrong way round[ "
        "({when})]; the battery can drive it as a motor",
    },
    fixes={
        "none": f"{DIODE} the battery{DROP}{OTHER_WAY}",
        "none-positive": f"{DIODE} {{dynamo}}{DROP}{OTHER_WAY}",
        "turned": "find out which terminal of {regulators} is for {dynamo}; then swap the wires, or write the cut-out "
        "dynamo side first, as in `cut-out 6.4 V: D B`",
        "turned-positive": "find out which terminal of {regulators} is for {dynamo}; then swap the wires, or write the "
        "cut-out battery side first with a positive ground, as in `cut-out 6.4 V: B D`",
    },
    find=find,
)
