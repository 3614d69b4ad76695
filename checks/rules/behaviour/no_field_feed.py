"""A field that nothing starts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ....lang.circuit.branch import Branch
from ....lang.model.parts import Field
from ....lang.quantities.quantity import shown
from ...behaviour import BATTERY
from ...behaviour.counterexample import found
from ...behaviour.keys import engine, key_on
from ...dc.devices import UnsolvableError
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.device_constants import law_source, laws

TRIED = 256
"""Combinations that are solved for one field before it is said that none of them starts it (ours)."""


def find(study: Study) -> Iterator[Finding]:
    behaviour, circuit = study.behaviour, study.circuit
    for key in sorted({key for supply in circuit.supplies for key in supply.field_keys}):
        field = circuit.by_key.get(key)
        if field is not None and behaviour.wired(field):
            with study.judging(field.part):
                yield from _of_field(study, field)


def _of_field(study: Study, field: Branch) -> Iterator[Finding]:
    behaviour = study.behaviour
    while_ = behaviour.all_of(engine("off"), key_on(behaviour.network))
    by_copper, by_loads = behaviour.connected(field.key, BATTERY), behaviour.reached_through_loads(field.key, BATTERY)
    left = behaviour.holds_in(behaviour.any_of(by_copper, by_loads), while_)
    if not left:
        yield found(
            RULE.name,
            RULE.level,
            f"nothing but the machine itself feeds {field.key}: it never starts to charge",
            field.span,
            about=(field.part,),
            source=RULE.source,
            remedy=f"feed {field.a} from behind the key, through the charge lamp or a resistor",
        )
        return
    full = _full_amps(study, field)
    if full is None:
        return
    needed = laws().field_start_share * full
    best = 0.0
    nearest = left.shown()
    for _ in range(TRIED):
        one = left.shown()
        if one is None:
            break
        try:
            amps = abs(study.operation.at(one.positions).amps(field.key))
        except UnsolvableError:
            amps = 0.0  # the finding that says so is another rule's
        if amps >= needed:
            return
        best = max(best, amps)
        left -= left.space.only(one)
    told = found(
        RULE.name,
        RULE.level,
        f"{field.key} gets at most {shown(best)} A before the engine turns, and needs {shown(needed)} A "
        f"to start to charge",
        field.span,
        about=(field.part,),
        shown=nearest,
        source=f"{RULE.source}; {law_source('field_start_share')}",
        remedy=f"fit a larger charge lamp on the way to {field.a}, or a resistor beside it, for {shown(needed)} A "
        "or more",
    )
    through = (Figure("through the field", best, "A"), Figure("needed", needed, "A"), Figure("full field", full, "A"))
    yield replace(told, figures=through)


def _full_amps(study: Study, field: Branch) -> float | None:
    """What the field takes with the whole system voltage across it; ``None`` where its ohms are not said."""
    ohms = field.item.ohms if isinstance(field.item, Field) else None
    return study.harness.volts / ohms if ohms else None


RULE = Rule(
    name="no-field-feed",
    level=Level.ERROR,
    family="behaviour",
    catches="no combination with the key on gives the field the current that starts it, engine off",
    why="""A machine with a wound field gives nothing until something else has fed the field: on most, the charge-
    warning lamp. The lamp is part of the charging circuit. An LED in its place, or a rebuild that leaves it
    out, and the battery is flat by the evening with nothing that looks wrong.""",
    source="ours: 5 % of full field current starts it",
    formula="I >= 0.05 U / R, engine off, key on",
    cautions="Flash a field through a lamp, never straight from the battery, and with the engine off.",
    find=find,
)
