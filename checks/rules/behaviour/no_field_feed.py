"""A field winding that is never excited, or that only a lamp or another load feeds once it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ....lang.circuit.branch import Branch, Supply
from ....lang.model.parts import Field
from ....lang.quantities.quantity import Quantity
from ....lang.records import dataclass
from ...behaviour import BATTERY, DIRECT, Combination
from ...behaviour.keys import engine, key_on
from ...dc.devices import UnsolvableError
from ...dc.excitation import start_volts
from ...dc.relay_fixed_point import gets_start
from ...findings.facts import Fact
from ...findings.finding import Figure, Finding, Level
from ...fixes.first_current import field_feed, pilot
from ...rule import Rule
from ...study import Study

CARRIES = 0.5
"""Of its full current, what a field must get while the engine runs (ours): output falls with field current."""

SAGGED = 0.5
"""Of what excites a field that gets more with the engine off, what the loads of a state leave it at least (ours)."""

TRIED = 256
"""Combinations that are solved for one field before it is reported that none of them excites it (ours)."""


@dataclass(frozen=True, slots=True)
class _Winding:
    """A ``field``, the A that it takes ``whole`` at the regulated voltage, and those ``needed`` to excite it."""

    supply: Supply
    field: Branch
    whole: float
    needed: float


def find(study: Study) -> Iterator[Finding]:
    behaviour, circuit = study.behaviour, study.circuit
    of = {key: supply for supply in circuit.supplies for key in supply.field_keys}
    for key in sorted(of):
        field = circuit.by_key.get(key)
        if field is not None and study.is_asked_at(field.span) and behaviour.wired(field):
            with study.judging(field.part):
                yield from _of_field(study, of[key], field)


def _of_field(study: Study, supply: Supply, field: Branch) -> Iterator[Finding]:
    behaviour = study.behaviour
    while_ = behaviour.all_of(engine("off"), key_on(behaviour.network))
    by_copper, by_loads = behaviour.connected(field.key, BATTERY), behaviour.reached_through_loads(field.key, BATTERY)
    left = behaviour.holds_in(behaviour.any_of(by_copper, by_loads), while_)
    if not left:
        fix = _first_feed(study, supply, field, "not-fed")
        yield RULE.found(
            "not-fed",
            field.span,
            facts=_names(study, supply, field),
            about=(field.part,),
            fix=fix,
            explains=(field.key,),
        )
        return
    ohms, regulated = _ohms(field), study.operation.network.regulated[supply.name]
    if ohms is None:
        return
    winding = _Winding(supply, field, regulated / ohms, start_volts(regulated) / ohms)
    nearest, best = None, 0.0
    for _ in range(TRIED):
        one = left.shown()
        if one is None:
            break
        left -= left.space.only(one)
        try:
            point = study.operation.at(one.positions)
        except UnsolvableError:
            continue  # what never settles is another rule's
        amps = abs(point.amps(field.key))
        if gets_start(point.flow.network, point.flow, supply, field):
            yield from _under_load(study, winding) or _while_it_runs(study, winding)
            return
        nearest, best = nearest or one, max(best, amps)
    if nearest is None:
        return
    yield _too_little(study, winding, best, shown=nearest)


def _too_little(
    study: Study, winding: _Winding, amps: float, *, shown: Combination | None = None, state: str = ""
) -> Finding:
    """A field that gets some A with the engine off, or in a named ``state``, and needs more."""
    supply, field = winding.supply, winding.field
    return RULE.found(
        "too-little-loaded" if state else "too-little",
        field.span,
        facts={
            **_names(study, supply, field),
            "current": Quantity(amps, "A"),
            "needed": Quantity(winding.needed, "A"),
            "state": state,
        },
        about=(field.part,),
        explains=(field.key,),
        shown=shown,
        state=state,
        source=RULE.source,
        figures=(
            Figure("through the field", amps, "A"),
            Figure("needed", winding.needed, "A"),
            Figure("full field", winding.whole, "A"),
        ),
        fix=_first_feed(study, supply, field, "too-little"),
    )


def _under_load(study: Study, winding: _Winding) -> list[Finding]:
    """A field that gets enough with the engine off, and in a named state, with the loads of that, does not."""
    if len(winding.supply.field_keys) > 1:
        return []  # another field may excite it
    amps = {
        point.state: abs(point.amps(winding.field.key))
        for point in study.operation.points.values()
        if point.engine in ("idling", "running") and winding.supply.name not in point.memory.excited
    }
    sagged = [name for name in amps if amps[name] >= SAGGED * winding.needed]  # less: its feed is off in that state
    state = min(sagged, key=lambda name: amps[name], default="")
    return [_too_little(study, winding, amps[state], state=state)] if state else []


def _while_it_runs(study: Study, winding: _Winding) -> Iterator[Finding]:
    """A field that is excited, and then gets no more current than a lamp or another load passes."""
    behaviour, field, full = study.behaviour, winding.field, winding.whole
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
        facts={**_names(study, winding.supply, field), "current": Quantity(best, "A"), "full": Quantity(full, "A")},
        about=(field.part,),
        explains=(field.key,),
        shown=nearest,
        source="Loomwright's limit: at least 50 % of full field current with the engine running",
        figures=(Figure("through the field", best, "A"), Figure("full field", full, "A")),
        fix=_straight(study, field),
    )


def _names(study: Study, supply: Supply, field: Branch) -> dict[str, Fact]:
    """The field, its machine, the terminal of the field on its feed side, where its feed belongs, and through what."""
    place = field_feed(study, field)
    return {
        "field": field.key,
        "machine": field.part,
        "terminal": study.protection.feed_end(field),
        "feed": place.at,
        **_pilot(study, supply, field),
    }


def _pilot(study: Study, supply: Supply, field: Branch) -> Mapping[str, Fact]:
    """The charge lamp or resistor that passes enough to excite a machine; empty where no figure is known."""
    ohms = _ohms(field)
    found = pilot(study, supply, ohms) if ohms is not None else None
    lamp, resistor, rating = (found.lamp, found.ohms, found.watts) if found is not None else (None, None, None)
    diode = found.diode if found is not None else None
    return {
        "diode": Quantity(diode, "A") if diode is not None else "",
        "lamp": Quantity(lamp, "W") if lamp is not None else "",
        "ohms": Quantity(resistor, "ohm") if resistor is not None and rating is not None else "",
        "rating": Quantity(rating, "W") if rating is not None else "",
    }


def _first_feed(study: Study, supply: Supply, field: Branch, case: str) -> str:
    """The case of the fix of a field that is not excited: behind a lamp alone, one that its own machine does not feed
    afterwards would have next to no output.
    """
    return case if field_feed(study, field).own(study, supply) else _straight(study, field)


def _straight(study: Study, field: Branch) -> str:
    """The case of the fix that feeds a field past every lamp, by what is known of its regulator."""
    return {"before": "straight", "behind": "straight-field", "": "weak-field"}[field_feed(study, field).regulated]


def _ohms(field: Branch) -> float | None:
    """The resistance of a field in ohm; ``None`` where it is not known."""
    return (field.item.ohms or None) if isinstance(field.item, Field) else None


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
    formula="""full     = U / R: the regulated voltage across the resistance of the field
found where the current of the field is < 5 % of full in every combination, engine off and key on
   or  in a named state with the engine running or idling, loads included
   or  where only loads feed it with the engine running, and its current is < 50 % of full""",
    cautions="Flash a field only by the method of its maker, for a moment and with the engine off. An LED or its "
    "resistor that is bridged for a trial can burn out.",
    says={
        "not-fed": "{field} never gets a feed with the engine off, so {machine} is never excited and never charges",
        "too-little": "{field} gets at most {current}[ ({when})]; it needs {needed} to excite {machine}",
        "too-little-loaded": "{field} gets {current} with the loads of {state}; it needs {needed} to excite {machine}",
        "weak-field": "{field} is fed only through loads with the engine running[ ({when})]: at most {current} of "
        "{full} at full field, so {machine} has next to no output",
    },
    fixes={
        "not-fed": "feed {feed} from behind the key, through a diode[ of {diode}] that blocks current back to the key, "
        "and a charge lamp[ of {lamp} or more][, or a resistor of {ohms}, {rating} or more, in place of the lamp]",
        "too-little": "fit a filament charge lamp[ of {lamp} or more] in the feed to {feed}[, or a resistor of "
        "{ohms}, {rating} or more, in parallel with what is there]",
        "straight": "connect a feed from behind the key to {feed}, past any charge lamp; never to {terminal} itself",
        "straight-field": "connect a feed from behind the key to {terminal}, past any charge lamp",
        "weak-field": "connect a feed from behind the key to the feed side of the regulator, past any charge lamp; "
        "never to {terminal} itself",
    },
    find=find,
)
