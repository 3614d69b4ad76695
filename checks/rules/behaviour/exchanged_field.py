"""A regulator whose feed and field leads are swapped."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import swap
from ....lang.model.parts import Regulator, Source
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    parts = study.harness.parts.values()
    machines = [part for part in parts if isinstance(part, Source) and part.field_winding]
    regulators = [part for part in parts if isinstance(part, Regulator) and part.passes]
    # Of several machines and regulators each that has its own is right: what else it shares a feed with says nothing.
    right = {name for r in regulators for m in machines if _is_right(study, r, m) for name in (r.name, m.name)}
    for regulator in regulators:
        enters, leaves = _passes(regulator)
        if regulator.name in right or not study.copper.is_wired((enters, leaves)):
            continue  # loose-end says so
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


def _passes(regulator: Regulator) -> tuple[str, str]:
    """Where current enters a field regulator, and where it leaves."""
    assert regulator.passes  # noqa: S101
    first, last = regulator.passes
    return f"{regulator.name}.{first}", f"{regulator.name}.{last}"


def _field(machine: Source) -> tuple[str, str]:
    """The + and the - of a machine's field."""
    assert machine.field_winding  # noqa: S101
    return f"{machine.name}.{machine.field_winding.plus}", f"{machine.name}.{machine.field_winding.minus}"


def _is_right(study: Study, regulator: Regulator, machine: Source) -> bool:
    """Whether a field is behind its regulator by its +, or before it by its -, and not only at ground as both may be.

    Current goes from the + of the field to its -, and through the regulator from where it enters to where it leaves.
    With a positive ground the same words hold, since both pairs are written from + to -.
    """
    joined, ground = study.copper.fused, study.circuit.ground
    (enters, leaves), (plus, minus) = _passes(regulator), _field(machine)
    pairs = (leaves, plus), (enters, minus)
    return any(joined.same(own, end) and not joined.same(end, ground) for own, end in pairs)


def _wrong(study: Study, regulator: Regulator, machine: Source) -> tuple[str, str] | None:
    """The end of the field that is on the wrong side, and where; ``None`` where neither is."""
    joined, ground = study.copper.fused, study.circuit.ground
    (enters, leaves), (plus, minus) = _passes(regulator), _field(machine)
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
    source="ours: which terminals wires and fuses connect to the field winding",
    says={
        "wrong-side": "the field of {machine} is on the wrong side of {regulator}: {terminal} is connected to {at}, "
        "and {regulator} passes current only from {enters} to {leaves}"
    },
    find=find,
)
