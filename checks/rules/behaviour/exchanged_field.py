"""A regulator whose feed and field leads are swapped."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.ids import End
from ....lang.editing.proposals import swap
from ....lang.model.parts import Regulator, Source
from ...behaviour.field_regulators import field_ends, field_machines, field_regulators, is_right, passes
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    circuit, copper = study.circuit, study.copper
    machines, regulators = field_machines(circuit), field_regulators(circuit)
    # Of several machines and regulators each that has its own is right: what else it shares a feed with says nothing.
    right = {name for r in regulators for m in machines if is_right(circuit, copper, r, m) for name in (r.name, m.name)}
    for regulator in regulators:
        enters, leaves = passes(regulator)
        if regulator.name in right or not copper.is_wired((enters, leaves)):
            continue  # limiter-off or loose-end says so
        for machine in machines:
            if machine.name not in right and (end := _wrong(study, regulator, machine)):
                terminal, at = end
                yield RULE.found(
                    "wrong-side",
                    regulator.span,
                    facts={
                        "machine": machine.name,
                        "regulator": regulator.name,
                        "terminal": terminal,
                        "at": at,
                        "enters": enters,
                        "leaves": leaves,
                    },
                    about=(regulator.name, machine.name),
                    path=(terminal, at),
                    proposals=(swap(enters, leaves),),
                )


def _wrong(study: Study, regulator: Regulator, machine: Source) -> tuple[End, End] | None:
    """The end of the field that is on the wrong side, and where; ``None`` where neither is."""
    joined, ground = study.copper.fused, study.circuit.ground
    (enters, leaves), (plus, minus) = passes(regulator), field_ends(machine)
    pairs = (plus, enters), (minus, leaves)
    return next((pair for pair in pairs if joined.same(*pair) and not joined.same(pair[0], ground)), None)


RULE = Rule(
    name="exchanged-field",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    root_cause=True,
    catches="a field regulator whose feed and field leads are swapped",
    why="""A field regulator passes current one way only, from its feed to the field. With the two leads swapped an
    electronic one blocks or is destroyed, and one with contacts senses the wrong voltage: the alternator or dynamo
    does not charge, or runs unregulated at full output.""",
    source="Loomwright's analysis: which terminals wires and fuses connect to the field winding",
    cautions="Disconnect the battery before you swap wires at a field, and measure its resistance first: one wrong "
    "swap shorts the regulator.",
    says={
        "wrong-side": "the field of {machine} is on the wrong side of {regulator}: {terminal} is connected to {at}, "
        "and {regulator} passes current only from {enters} to {leaves}"
    },
    find=find,
)
