"""A kept part that minds the new voltage or the new polarity."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Coil, Element, Flasher, Rectifier, Regulator, Source, Unit
from ....lang.quantities.quantity import Quantity
from ...conversion.functions import can_be_live
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    comparison = study.comparison
    conversion = study.harness.conversion
    if comparison is None or conversion.span is None:
        return
    old, new = comparison.match.old, comparison.match.new
    circuit = comparison.new.circuit
    for _, part in comparison.match.kept:
        branches = circuit.of_part.get(part.name, ())
        if old.volts != new.volts and _minds_volts(part, [b.item for b in branches], new.volts):
            yield RULE.found(
                "volts",
                part.span,
                facts={"part": part.name, "old": Quantity(old.volts, "V"), "new": Quantity(new.volts, "V")},
                about=(part.name,),
            )
        reversed_ = any(b.branch_type.polarised and not can_be_live(comparison.new, b.key) for b in branches)
        if old.grounded != new.grounded and (reversed_ or _has_a_pole_on_its_case(part)):
            yield RULE.found(
                "ground",
                part.span,
                facts={"part": part.name, "old": old.grounded, "new": new.grounded},
                about=(part.name,),
            )


def _has_a_pole_on_its_case(part: object) -> bool:
    """Whether a part is built for one pole on its case, whatever its wires do: common practice, no source."""
    return isinstance(part, Rectifier | Regulator) or (isinstance(part, Source) and part.what != "battery")


def _minds_volts(part: object, items: list[object], volts: float) -> bool:
    """Whether a part is made for volts, and not said to be made for the new ones."""
    if isinstance(part, Source):
        rated = part.volts if part.what == "battery" else part.regulated
        return rated is None or not 0.9 * volts <= rated <= 1.25 * volts
    if isinstance(part, Rectifier | Regulator):
        return part.regulated is None or not volts <= part.regulated <= 1.25 * volts
    if isinstance(part, Unit | Flasher):
        return True
    return any(isinstance(item, Element | Coil) and item.rated_volts != volts for item in items)


RULE = Rule(
    name="polarity-changed",
    level=Level.ERROR,
    family="conversion",
    catches="a kept part made for another voltage, or for the other pole grounded, than the new system has",
    why="""A filament lamp works with either pole on the frame; diodes, electronics, regulators, alternators and dynamos
    do not, and no part survives twice its voltage for long. A rectifier on the wrong pole is a dead short through its
    diodes, and an ignition box is destroyed at once.""",
    source="Loomwright's analysis: parts that current passes one way, and parts rated in volts; that machines and "
    "regulators are built for one pole on their case is common practice, no source",
    cautions="Connect the battery for the first time with the starter cable off, the key and every switch off, and a "
    "lamp of 21 W in place of the main fuse: it must stay out. Where it lights up, disconnect the battery, grounded "
    "lead first, and look for the short.",
    says={
        "volts": "{part} is kept from a system of {old}, and gets {new} in this one",
        "ground": "{part} is kept from a system with {old} ground, and this one has {new} ground",
    },
    fixes={
        "volts": "replace {part} by one for {new}, or state the voltage that it is made for on its line",
        "ground": "replace {part} by one for {new} ground, or ask its maker whether it can be isolated from ground",
    },
    find=find,
)
