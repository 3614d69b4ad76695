"""A regulator with its feed and the field exchanged."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import swap
from ....lang.model.parts import Regulator, Source
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Examination


def find(examination: Examination) -> Iterator[Finding]:
    parts = examination.harness.parts.values()
    machines = [part for part in parts if isinstance(part, Source) and part.field_winding]
    for part in parts:
        if not isinstance(part, Regulator) or not part.passes:
            continue
        enters, leaves = (f"{part.name}.{terminal}" for terminal in part.passes)
        if not examination.copper.is_wired((enters, leaves)):
            continue  # loose-end says so
        for machine in machines:
            field = machine.field_winding
            if field and (end := _wrong(examination, enters, leaves, machine.name, (field.plus, field.minus))):
                terminal, at = end
                yield Finding(
                    rule=RULE.name,
                    level=RULE.level,
                    message=f"the field of {machine.name} is on the wrong side of {part.name}: {terminal} is connected "
                    f"to {at}, and {part.name} passes current from {enters} to {leaves}",
                    span=part.span,
                    about=(part.name, machine.name),
                    path=(terminal, at),
                    source=RULE.source,
                    remedy=f"swap the wires at {enters} and {leaves}",
                    proposals=(swap(enters, leaves),),
                )


def _wrong(
    examination: Examination, enters: str, leaves: str, machine: str, field: tuple[str, str]
) -> tuple[str, str] | None:
    """The end of the field that is on the wrong side, and where; ``None`` where neither is.

    Current goes from the + of the field to its -, and through the regulator from ``enters`` to ``leaves``: a field
    is behind its regulator by its +, or before it by its -. With a positive ground the same words hold, since both
    pairs are written from + to -.
    """
    joined, ground = examination.copper.fused, examination.circuit.ground
    plus, minus = (f"{machine}.{terminal}" for terminal in field)
    if joined.same(leaves, plus) or joined.same(enters, minus):
        return None
    if joined.same(enters, plus) and not joined.same(plus, ground):
        return plus, enters
    if joined.same(leaves, minus) and not joined.same(minus, ground):
        return minus, leaves
    return None


RULE = Rule(
    name="exchanged-field",
    level=Level.ERROR,
    family="behaviour",
    catches="a field regulator with the field on the side where its feed belongs",
    why="""A field regulator lets current through one way, from its feed to the field. With the two leads exchanged an
    electronic one blocks or is destroyed, and one with contacts regulates by the wrong voltage: the machine
    charges nothing, or as much as it can.""",
    source="ours: which terminals copper connects to the field winding",
    find=find,
)
