"""What may have failed and what to measure next, as text and as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...checks.diagnosis.observations import Read, Seen
from ...checks.diagnosis.statuses import LOOKS, USUAL
from ...checks.fmea.failure_modes import SHORT, STATOR
from ...checks.tables.meter import meter_figures
from ...lang.diagnostics.messages import plainly_listed
from .battery_out import battery_out, is_fuse, place_of
from .findings import counted
from .paragraphs import wrapped

if TYPE_CHECKING:
    from ...checks.diagnosis.diagnosis import AmbiguityGroup, Diagnosis
    from ...checks.diagnosis.next_test import Expected, Measurement
    from ...checks.diagnosis.observations import Observation
    from ...lang.model.harness import Harness

CAUTION = (
    "Single faults only, as the file has the harness: two faults at once may look the same, and a battery that is flat "
    "or worn, or an alternator without output, is not among them: see to those first. Do not let a probe touch two "
    "contacts. Keep clear of moving and hot parts and of ignition leads, whose voltage can kill. The makers' "
    "instructions and licensed practice come first; nothing here claims a harness safe."
)
"""Shown under every inquiry."""

BLOWN = (
    "A blown fuse has a cause: find the short behind it before you fit a new one of the same rating. A larger fuse, or "
    "a piece of wire, sets the harness on fire instead."
)

STATOR_TEST = (
    "Diodes and phases: with the engine stopped and the stator unplugged, the diode range reads about 0.5 V one way "
    "and open circuit the other way from each phase to the rectifier's + and from its - to each phase. With the engine "
    "idling, every two leads of the unplugged stator read the same AC voltage, and no lead reads 0 ohm to ground when "
    "it is stopped. Hands off the leads while it turns."
)
"""Stands where a rectifier or a stator is suspected."""

OTHERWISE = "With {so} the harness shows {seen} without any fault: see to that first."
STOP_ENGINE = (
    "Stop the engine now: with {so} the harness shows {seen} without any fault, and the oil pressure is not judged "
    "here. See to the oil level, and measure the pressure with a gauge, before the engine runs again."
)
PULL_OFF = (
    "Then, with the engine stopped and the key on, pull the wire off {switch}: if {lit} stays live, a wire on the way "
    "is on ground; if it goes out, the wires are good, and it is the pressure or {switch}."
)
"""Said where a switch senses what nobody sees, and that may be so."""

LEFT = "Only this is left: look at it, clean it, try another in its place."
LEFT_RESTLESS = (
    "Only this is left, and with it the reading would not stand still. If it did, it is not this: see to the battery, "
    "then look for two faults."
)
"""What to do where no measurement tells more."""

STICKS = (
    "A switch or button to ground that sticks closed shows as its wire shorted to ground does; a contact in a feed "
    "that sticks closed feeds what is behind it. Neither is judged: unplug the switch, button or relay and look again."
)


def inquiry_text(
    diagnosis: Diagnosis,
    harness: Harness,
    state: str,
    *,
    width: int = 100,
    again: str = "--seen",
    cautions: bool = True,
) -> str:
    """The suspects with their reasons, the likeliest first, and what to measure next; ends in a line feed.

    ``again`` is the option that takes what is measured next; empty where nobody can be asked again. ``cautions`` are
    left out where the reader has them already.
    """
    lines = [*_sensed(diagnosis, width), *_found(diagnosis, state, width, again)]
    for number, ambiguity_group in enumerate(diagnosis.ambiguity_groups, 1):
        lines += _chain(ambiguity_group, number, len(diagnosis.ambiguity_groups), width)
    if any(is_fuse(harness, key) for ambiguity_group in diagnosis.ambiguity_groups for key in _open(ambiguity_group)):
        lines += ["", *wrapped(BLOWN, width)]
    if any(
        ambiguity_group.mode == SHORT and not ambiguity_group.opens and not ambiguity_group.burns
        for ambiguity_group in diagnosis.ambiguity_groups
    ):
        lines += ["", *wrapped(STICKS, width)]
    if any(ambiguity_group.mode in STATOR for ambiguity_group in diagnosis.ambiguity_groups):
        lines += ["", *wrapped(STATOR_TEST, width)]
    if diagnosis.partial:
        lines += ["", *wrapped(_nothing_fits(diagnosis, state, again), width)]
    elif diagnosis.ambiguity_groups and not diagnosis.stops_first:
        lines += ["", *_next(diagnosis, harness, state, width, again)]
    if diagnosis.unsolved:
        lines += ["", *wrapped(f"Not judged, since it could not be solved: {', '.join(diagnosis.unsolved)}.", width)]
    if diagnosis.unpredicted:
        lines += ["", *wrapped(_unpredicted(diagnosis, state), width)]
    return "\n".join([*lines, *(["", *wrapped(CAUTION, width)] if cautions else [])]) + "\n"


def _sensed(diagnosis: Diagnosis, width: int) -> Iterator[str]:
    """What nobody sees may be otherwise: that comes before any fault, and before any reading of an engine that runs."""
    for each in diagnosis.sensed:
        so, switch = f"{each.quantity.replace('-', ' ')} {each.position}", plainly_listed(each.switches)
        seen = plainly_listed([str(one) for one in each.seen])
        lit = plainly_listed([str(one.thing) for one in each.seen if isinstance(one, Seen) and one.word == "live"])
        said = STOP_ENGINE if each.stop else OTHERWISE
        then = f" {PULL_OFF}" if each.stop and lit else ""
        yield from (*wrapped(f"{said}{then}".format(so=so, seen=seen, switch=switch, lit=lit), width), "")


def _unpredicted(diagnosis: Diagnosis, state: str) -> str:
    ways = "; ".join(f"{state} {each}" for each in diagnosis.unpredicted)
    return f"Not predicted: {ways}. If it was left so before, a fault that is not listed here may be the cause."


HALF_SHOWN = 0.05
"""V by which a reading and what is predicted may differ and still be shown as the same figure."""


def _found(diagnosis: Diagnosis, state: str, width: int, again: str) -> Iterator[str]:
    seen = ", ".join(str(each) for each in diagnosis.observations)
    if diagnosis.sound:
        said = (
            f"In {state} the harness does all this without any fault: {_as_expected(diagnosis)}. Ask in a state in "
            "which it should be otherwise, with its switch or button as it must be; where FILE names none, add one."
        )
        if any(isinstance(each, Read) for each in diagnosis.observations):
            share = meter_figures().reading_share + meter_figures().reading_floor
            said += f" A reading up to some {100 * share:.0f} % off what is predicted counts as the same"
            most = diagnosis.most_charged
            said += (
                "."
                if math.isinf(most)
                else f", but none over {_span(most, most)}: no battery is charged with more. Across the battery "
                f"{_span(diagnosis.least_charged, diagnosis.least_charged)} is the least."
            )
    elif not diagnosis.ambiguity_groups:
        said = (
            "No single open conductor, contact, fuse or load, no bad joint and no wire shorted to ground explains what "
            f"is seen in {state}: {seen}. {_nothing_fits(diagnosis, state, again)}"
        )
    else:
        count = sum(
            1 if ambiguity_group.opens else len(ambiguity_group.suspects)
            for ambiguity_group in diagnosis.ambiguity_groups
        )  # one fuse is one suspect
        many = counted(count, "suspect")
        places = counted(len(diagnosis.ambiguity_groups), "group") if len(diagnosis.ambiguity_groups) < count else ""
        head = f"{many} in {places}" if places else many
        end = ", the likeliest first" if len(diagnosis.ambiguity_groups) > 1 else ""
        said = f"{seen} in {state}: {head}{end}."
        if diagnosis.partial:
            said += " None explains all of it: nearest only."
        said += _scales(diagnosis.observations)
    if diagnosis.too_little:
        readings = plainly_listed([str(each) for each in diagnosis.too_little])
        limit = _span(diagnosis.least_charged, diagnosis.least_charged)
        said += (
            f" {readings}: the battery is charged with {limit} at least here, and suspects give that reading as near "
            "as a regulator holds it."
        )
    if diagnosis.too_much:
        readings = plainly_listed([str(each) for each in diagnosis.too_much])
        verb = "is" if len(diagnosis.too_much) == 1 else "are"
        limit = _span(diagnosis.most_charged, diagnosis.most_charged)
        said += (
            f" {readings} {verb} over {limit}, the most that a battery is charged with here: a regulator that has "
            "failed does that and is not among the faults that are judged here. An overcharged battery gives off "
            "explosive gas: stop the engine and see to the regulator, what it senses and its ground first."
        )
    if diagnosis.lowered:
        readings = plainly_listed([str(each) for each in diagnosis.lowered])
        said += (
            f" {readings}: the regulator lowers the current of that field here, by how much is not calculated, so that "
            "any voltage from none to that of a full field is as it should be. Ask in a state with the engine stopped "
            "and the ignition on, in which the field's voltage is known."
        )
    if diagnosis.dim_when_sound:
        things = plainly_listed(diagnosis.dim_when_sound)
        verb = "is" if len(diagnosis.dim_when_sound) == 1 else "are"
        said += f" Without any fault {things} {verb} dim too: read as dimmer than that."
    yield from wrapped(said, width)


def _scales(seen: Sequence[Observation]) -> str:
    """What words and readings are held against."""
    said = ""
    if any(isinstance(each, Seen) and each.word == "dim" for each in seen):
        dark, bright = LOOKS[USUAL]
        said += f" Dim: some {100 * dark:.0f} to {100 * bright:.0f} % of the voltage without any fault; live: more."
    if any(isinstance(each, Read) for each in seen):
        share = meter_figures().reading_share + meter_figures().reading_floor
        said += f" A reading agrees that is up to some {100 * share:.0f} % off."
    return said


def _as_expected(diagnosis: Diagnosis) -> str:
    """What was seen, with what is predicted of a reading that is something else."""
    otherwise = {
        read: f"{read} (predicted: {_span(least, most)})"
        for read, least, most in diagnosis.expected
        if not least - HALF_SHOWN <= read.volts <= most + HALF_SHOWN
    }
    return ", ".join(
        otherwise.get(each, str(each)) if isinstance(each, Read) else str(each) for each in diagnosis.observations
    )


def _nothing_fits(diagnosis: Diagnosis, state: str, again: str) -> str:
    """What to look for where no fault that is judged explains all of it."""
    said = "Look for two faults, a contact that sticks closed, or an observation that is not so."
    off, read = diagnosis.off_when_sound, dict.fromkeys(each.where for each in diagnosis.live_where_dead)
    words = {each.thing for each in diagnosis.observations if isinstance(each, Seen) and each.word == "live"}
    one = len(off) == 1
    without = f"In {state} {plainly_listed(off)} {'is' if one else 'are'} off without any fault"
    elsewhere = f"ask in a state with {plainly_listed(off)} on"
    if not words.isdisjoint(off):
        live = "it is on" if one else "they are on"
        said += f" {without}: {_fed_otherwise(live, state, elsewhere if again else 'set it so and look again')}"
    elif read:
        elsewhere = "ask in a state with it so" if again else "set it so and read again"
        none = f"In {state} there is no voltage {plainly_listed(list(read))} without any fault"
        said += f" {none}: {_fed_otherwise('it is read', state, elsewhere)}"
    elif off:
        said += f" {without}: {elsewhere}." if again else f" {without}."
    return said


def _fed_otherwise(live: str, state: str, otherwise: str) -> str:
    """What feeds that which is live and should be dead; ``otherwise``: what to do where a switch is not as stated."""
    return (
        f"if {live} with every switch, the key too, as in {state}, look for a contact that sticks closed and for a "
        f"wire shorted to a live feed, which are not judged. If a switch is otherwise, {otherwise}."
    )


def _chain(ambiguity_group: AmbiguityGroup, number: int, count: int, width: int) -> list[str]:
    """One numbered line, what it explains and how, what does not fit, and what else it would do."""
    gap = " " * (len(str(count)) + 3)
    lines = ["", *wrapped(_named(ambiguity_group), width, f"{number:>{len(gap) - 2}}  ", gap)]
    for reason in ambiguity_group.reasons:
        head = "explains" if reason.explains else "does not fit:"
        lines += wrapped(f"{head} {reason.observation}: {reason.words}", width, f"{gap}  ", f"{gap}    ")
    if ambiguity_group.history:
        lines += wrapped(
            f"so where relays were left otherwise: {ambiguity_group.history}", width, f"{gap}  ", f"{gap}    "
        )
    if ambiguity_group.earlier:
        said = f"so only if it was there before {ambiguity_group.earlier}"
        lines += wrapped(said, width, f"{gap}  ", f"{gap}    ")
    if ambiguity_group.also:
        lines += wrapped(f"would also: {plainly_listed(ambiguity_group.also)}", width, f"{gap}  ", f"{gap}    ")
    return lines


def _named(ambiguity_group: AmbiguityGroup) -> str:
    """The suspects of a chain and how they fail."""
    keys = [suspect.fault.where for suspect in ambiguity_group.suspects]
    names = ", ".join(keys)
    one = "one of these is shorted" if len(keys) > 1 else "this is shorted"
    if ambiguity_group.opens:
        return f"{plainly_listed(ambiguity_group.opens)}: open, because {one} to ground: {names}"
    if ambiguity_group.mode == SHORT:
        fire = "; no fuse protects it: fire" if ambiguity_group.burns else ""
        return f"{names}: {one} to ground{fire}"
    series = "" if ambiguity_group.mode in STATOR else " in series"
    return f"{names}: {ambiguity_group.mode}{f', one of these{series}' if len(keys) > 1 else ''}"


def _open(ambiguity_group: AmbiguityGroup) -> tuple[str, ...]:
    """What is open, by branch key, if it is this."""
    return ambiguity_group.opens or tuple(s.fault.key for s in ambiguity_group.suspects if s.mode == "open")


# --- what to measure -------------------------------------------------------------------------------------------------
def _next(diagnosis: Diagnosis, harness: Harness, state: str, width: int, again: str) -> Iterator[str]:
    if diagnosis.next is not None:
        yield from _volts(diagnosis, diagnosis.next, harness, state, width, again)
    elif diagnosis.ohms or diagnosis.to_ground:
        yield from battery_out(diagnosis, harness, state, width)
    else:
        reasons = (reason for group in diagnosis.ambiguity_groups for reason in group.reasons)
        restless = any(reason.restless and reason.explains for reason in reasons)
        yield from wrapped(LEFT_RESTLESS if restless else LEFT, width)


def _volts(
    diagnosis: Diagnosis, measured: Measurement, harness: Harness, state: str, width: int, again: str
) -> Iterator[str]:
    yield from wrapped(f"Measure next, with everything as in {state}{_standing(measured)}:", width)
    yield f"  meter  {setting(measured)}"
    for colour, node in (("red", measured.red), ("black", measured.black)):
        yield f"  {colour:<5}  {node}{place_of(harness, node)}"
    if measured.swings:
        yield from wrapped("The reading pulses: note its peak.", width, "  ", "  ")
    spans = [_reading(row) for row in measured.expected]
    for row, span in zip(measured.expected, spans, strict=True):
        head = f"  {span:<{max(map(len, spans))}}  "
        said = f"{_whose(row, diagnosis.ambiguity_groups)} ({_predicted(row)})"
        yield from wrapped(said, width, head, " " * len(head))
    if again:
        yield from wrapped("Then say what it shows, in place of X, and ask again:", width)
        yield f'  {again} "X V {measured.where}"'


def _standing(measured: Measurement) -> str:
    """How the engine is, where a suspect stops it."""
    if not measured.stands:
        return ""
    if not measured.crank:
        return ", but the engine stopped"
    contacts = plainly_listed(f"{part} {'closed' if closed else 'open'}" for part, closed in measured.crank)
    return f", but the engine stopped with {contacts}; key off while you turn it to there"


def _predicted(row: Expected) -> str:
    verb = "chatter" if len(row.chatters) > 1 else "chatters"
    restless = f"no steady voltage where {plainly_listed(row.chatters)} {verb}" if row.chatters else ""
    if row.least is None or row.most is None:
        return f"predicts {restless}"
    return f"predicts {_span(row.least, row.most)}{f', or {restless}' if restless else ''}"


def _reading(row: Expected) -> str:
    """The readings that are a row's: every reading is some row's."""
    if math.isinf(row.over):
        return "any reading" if math.isinf(row.under) else f"under {_span(row.under, row.under)}"
    return f"over {_span(row.over, row.over)}" if math.isinf(row.under) else _span(row.over, row.under)


def setting(measured: Measurement) -> str:
    """How the meter is set."""
    return f"{'AC' if measured.alternating else 'DC'} volts, range {measured.range:.0f} V"


def _whose(row: Expected, ambiguity_groups: Sequence[AmbiguityGroup]) -> str:
    """Whose a reading is: chains by their numbers, and of one that it splits the suspects by name."""
    said = []
    for number, ambiguity_group in enumerate(ambiguity_groups, 1):
        inside = [(s.fault, ambiguity_group.mode) in row.suspects for s in ambiguity_group.suspects]
        if all(inside):
            said.append(str(number))
        elif any(inside):
            said.append(f"of {number} {_runs([s.fault.where for s in ambiguity_group.suspects], inside)}")
    return "; ".join([*said, "nothing wrong"] if row.sound else said)


def _runs(names: Sequence[str], inside: Sequence[bool]) -> str:
    """Those of a series that are inside, what stands side by side by its ends."""
    runs: list[list[str]] = []
    before = False
    for name, here in zip(names, inside, strict=True):
        if here and before:
            runs[-1].append(name)
        elif here:
            runs.append([name])
        before = here
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _span(least: float, most: float) -> str:
    low, high = (f"{volts:.1f}".replace("-0.0", "0.0") for volts in (least, most))
    return f"{low} V" if low == high else f"{low} to {high} V"
