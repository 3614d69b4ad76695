"""A field winding that is never excited, or that only a lamp or another load feeds once it is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final

from ....lang.circuit.branch import Branch
from ....lang.model.parts import Field
from ....lang.quantities.quantity import Quantity
from ...behaviour import BATTERY, DIRECT
from ...behaviour.keys import engine, key_on
from ...dc.devices import UnsolvableError
from ...findings.facts import Fact
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.device_constants import laws
from ...tables.spares import resistance_sold, spare_rating

CARRIES = 0.5
"""Of its full current, what a field must get while the engine runs (ours): output falls with field current."""

CHARGED: Final = 1.2
"""Of the system's voltage, what a charging battery has (ours: 14.4 V on 12 V)."""
LAMP_MARGIN: Final = 1.5
"""How much more than just enough a charge lamp is to pass (ours)."""

TRIED = 256
"""Combinations that are solved for one field before it is reported that none of them excites it (ours)."""


def find(study: Study) -> Iterator[Finding]:
    behaviour, circuit = study.behaviour, study.circuit
    for key in sorted({key for supply in circuit.supplies for key in supply.field_keys}):
        field = circuit.by_key.get(key)
        if field is not None and study.is_asked_at(field.span) and behaviour.wired(field):
            with study.judging(field.part):
                yield from _of_field(study, field)


def _of_field(study: Study, field: Branch) -> Iterator[Finding]:
    behaviour = study.behaviour
    while_ = behaviour.all_of(engine("off"), key_on(behaviour.network))
    by_copper, by_loads = behaviour.connected(field.key, BATTERY), behaviour.reached_through_loads(field.key, BATTERY)
    left = behaviour.holds_in(behaviour.any_of(by_copper, by_loads), while_)
    if not left:
        volts, whole = study.harness.volts, _full_amps(study, field)
        pilot = _pilot(volts, volts / whole, laws().field_start_share * whole) if whole else UNKNOWN_PILOT
        yield RULE.found("not-fed", field.span, facts={**_names(study, field), **pilot}, about=(field.part,))
        return
    full = _full_amps(study, field)
    if full is None:
        return
    needed = laws().field_start_share * full
    nearest, best = None, 0.0
    for _ in range(TRIED):
        one = left.shown()
        if one is None:
            break
        left -= left.space.only(one)
        try:
            amps = abs(study.operation.at(one.positions).amps(field.key))
        except UnsolvableError:
            continue  # what never settles is another rule's
        if amps >= needed:
            yield from _while_it_runs(study, field, full)
            return
        nearest, best = nearest or one, max(best, amps)
    if nearest is None:
        return
    yield RULE.found(
        "too-little",
        field.span,
        facts={
            **_names(study, field),
            **_pilot(study.harness.volts, study.harness.volts / full, needed),
            "current": Quantity(best, "A"),
            "needed": Quantity(needed, "A"),
        },
        about=(field.part,),
        shown=nearest,
        source=RULE.source,
        figures=(
            Figure("through the field", best, "A"),
            Figure("needed", needed, "A"),
            Figure("full field", full, "A"),
        ),
    )


def _while_it_runs(study: Study, field: Branch, full: float) -> Iterator[Finding]:
    """A field that is excited, and then gets no more current than a lamp or another load passes."""
    behaviour = study.behaviour
    while_ = behaviour.all_of(engine("running"), key_on(behaviour.network))
    if behaviour.holds_in(behaviour.connected(field.key, DIRECT), while_):
        return
    left = behaviour.holds_in(behaviour.reached_through_loads(field.key, DIRECT), while_)
    nearest, best = left.shown(), 0.0
    for _ in range(TRIED):
        one = left.shown()
        if one is None:
            break
        try:
            best = max(best, abs(study.operation.at(one.positions).amps(field.key)))
        except UnsolvableError:
            return  # what never settles is another rule's
        left -= left.space.only(one)
    if nearest is None or best >= CARRIES * full:
        return
    yield RULE.found(
        "weak-field",
        field.span,
        facts={**_names(study, field), "current": Quantity(best, "A"), "full": Quantity(full, "A")},
        about=(field.part,),
        shown=nearest,
        source="Loomwright's limit: at least 50 % of full field current with the engine running",
        figures=(Figure("through the field", best, "A"), Figure("full field", full, "A")),
        fix="weak-field",
    )


def _names(study: Study, field: Branch) -> dict[str, Fact]:
    """The field, its machine, and the terminal where its feed belongs."""
    return {"field": field.key, "machine": field.part, "terminal": study.protection.feed_end(field)}


UNKNOWN_PILOT: Final[Mapping[str, Fact]] = {"lamp": "", "ohms": "", "rating": ""}


def _pilot(volts: float, field: float, needed: float) -> Mapping[str, Fact]:
    """What passes enough to excite a field of some ohm: the least W of a charge lamp, or a resistor beside it.

    The current in A that is ``needed`` is a small share of what the field takes by itself: something must limit it.
    """
    ohms = resistance_sold(volts / needed - field)
    rating = spare_rating("resistor", (volts * CHARGED) ** 2 / ohms)
    return {
        "lamp": Quantity(math.ceil(LAMP_MARGIN * volts * needed), "W"),
        "ohms": Quantity(ohms, "ohm"),
        "rating": Quantity(rating, "W") if rating is not None else "",
    }


def _full_amps(study: Study, field: Branch) -> float | None:
    """The current in A of the field with the system's voltage across it; ``None`` where its resistance is not known."""
    ohms = field.item.ohms if isinstance(field.item, Field) else None
    return study.harness.volts / ohms if ohms else None


RULE = Rule(
    name="no-field-feed",
    level=Level.ERROR,
    family="behaviour",
    catches="a field winding that no switch position with the key on and the engine off feeds enough current to "
    "excite it, or that only loads feed with the engine running, with less than half of its full current",
    why="""An alternator or dynamo with a wound field has no output until its field is fed from elsewhere: on most,
    through the charge-warning lamp. That lamp is part of the charging circuit. With an LED in its place, or without it
    after a rebuild, the battery is never charged though every wire looks right.""",
    source="Loomwright's limit: 5 % of full field current excites it",
    formula="""found where the current of the field is < 5 % of U / R in every combination, engine off and key on
   or  where only loads feed it with the engine running, and its current is < 50 % of U / R""",
    cautions="Flash a field only by the method of its maker, for a moment and with the engine off. An LED or its "
    "resistor that is bridged for a trial can burn out.",
    says={
        "not-fed": "{field} never gets a feed with the engine off, so {machine} is never excited and never charges",
        "too-little": "{field} gets at most {current}[ ({when})]; it needs {needed} to excite {machine}",
        "weak-field": "{field} is fed only through loads with the engine running[ ({when})]: at most {current} of "
        "{full} at full field, so {machine} has next to no output",
    },
    fixes={
        "not-fed": "feed {terminal} from behind the key, through a charge lamp[ of {lamp} or more][, or a resistor of "
        "{ohms}, {rating} or more]",
        "too-little": "fit a filament charge lamp[ of {lamp} or more] in the feed to {terminal}[, or a resistor of "
        "{ohms}, {rating} or more, in parallel with what is there]",
        "weak-field": "connect a feed from behind the key to the feed side of the regulator, past the charge lamp; "
        "never to {terminal} itself",
    },
    find=find,
)
