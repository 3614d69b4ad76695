"""Single faults as text and as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from ...checks.fmea.halting import ENGINE
from ...checks.fmea.not_opened import NotOpened
from ...lang.circuit.ids import owner_of
from ...lang.diagnostics.messages import plainly_listed
from ...lang.model.conditions import BY_ITSELF
from ...lang.model.parts import Capacitor, Fuse, Source, Switch
from ..formats.figures import rounded
from .findings import counted

if TYPE_CHECKING:
    from ...checks.fmea.effects import Effect
    from ...checks.fmea.failure_modes import Fault
    from ...checks.fmea.report import NotCalculated, Report
    from ...lang.model.harness import Harness


Said = tuple[str, str]
"""What happens, in words for one thing and for many."""


NOT_SIMULATED = "Not simulated: shorts between wires or to a feed, contacts that stick or weld, bad joints"
"""Shown last: a fault that is not in the list may still do harm."""

DANGERS = {"gearbox": "in gear", "clutch": "with the clutch out"}
"""The sensed quantities of an interlock, and when each has the starter stay dead."""

LEAST_STATES = 2
"""From this many states on their common name is shorter."""


def faults_text(
    reports: Sequence[Report],
    harness: Harness,
    states: Sequence[str],
    live: Mapping[str, frozenset[str]] | None = None,
    unknown: Sequence[NotCalculated] = (),
    silent: NotOpened | None = None,
    unasked: Sequence[str] = (),
    *,
    width: int = 100,
) -> str:
    """Failure modes with their end effects, the worst first, then those ``unknown``; ends in a line feed.

    ``states`` are all that were gone through, ``live`` those in which each element is live without any fault. What goes
    the same way in the same states is merged. ``silent``: what no opening tells of, ``unasked`` the starters of which
    none of them shows what lets them turn in gear.
    """
    where = _States(harness, states, live or {})
    lines = _wrapped(
        f"{_count(reports)} with an effect in {plainly_listed(_short(states)) or 'no state'}", width, "", "  "
    )
    lines.append("")
    category = None
    for report in reports:
        if report.category != category:
            category = report.category
            lines += [f"Category {category.word}", ""]
        lines += _wrapped(_modes(report.faults), width, "  ", "      ")
        for said in (*_devices(report, where), *_ends(report, where)):
            lines += _wrapped(said, width, "      ", "        ")
        lines.append("")
    if unknown:
        lines += ["Not calculated", ""]
    for each in unknown:
        lines += _wrapped(_modes(each.faults), width, "  ", "      ")
        for names, why in each.why:
            lines += _wrapped(f"{why}{_where(names, where)}", width, "      ", "        ")
        lines.append("")
    for said in _not_opened(harness, silent, states) if silent is not None else ():
        lines += [*_wrapped(said, width, "", ""), ""]
    if unasked and harness.states.keys() <= set(states):
        lines += [*_wrapped(_not_asked(harness, unasked), width, "", ""), ""]
    lines += _wrapped(_not_simulated(harness), width, "", "")
    return "\n".join(lines).rstrip("\n") + "\n"


def _count(reports: Sequence[Report]) -> str:
    """How many faults there are, and in how many groups that nobody can tell apart where that is fewer."""
    groups = [report.faults for report in reports if report.faults]
    faults = sum(map(len, groups))
    return counted(faults, "fault") + (f" in {counted(len(groups), 'group')}" if faults > len(groups) else "")


def _not_opened(harness: Harness, silent: NotOpened, states: Sequence[str]) -> Iterator[str]:
    """What no opening tells of, and why: by name where all states were gone through, else how much that is."""
    every = harness.states.keys() <= set(states)
    among = "any named state" if every else plainly_listed(_short(states))

    def those(keys: Sequence[str], ask: str = "") -> str:
        return f": {', '.join(keys)}.{ask}" if every else f": {len(keys)} wires, ways and contacts."

    ask = " Name a state that uses them."
    if silent.idle:
        yield f"Not opened, since nothing flows there in {among}{those(silent.idle, ask)}"
    if silent.unloaded:
        yield f"Opened only while all that they feed or ground is off, in {among}{those(silent.unloaded, ask)}"
    if silent.doubled:
        yield f"Opened without any effect, since something else joins the same ends{those(silent.doubled)}"
    if silent.harmless:
        yield f"Opened without any effect that is judged here{those(silent.harmless)}"
    if silent.phases:
        yield f"Not opened, since what a phase gives then is not solved{those(silent.phases)}"


def _not_asked(harness: Harness, starters: Sequence[str]) -> str:
    """What would have to be asked for the faults of an interlock to show, and what judges it without them."""
    names = plainly_listed(starters)
    sensed = {part.senses for part in harness.parts.values() if isinstance(part, Switch)}
    danger = " and ".join(words for quantity, words in DANGERS.items() if quantity in sensed)
    return (
        f"Not shown: faults that let {names} turn {danger}, since no named state asks for that: name one, with the "
        "start button pressed. Without a fault starter-interlock judges it."
    )


def _not_simulated(harness: Harness) -> str:
    """What no fault here is about; of stators the numbers that are missing."""
    alternators = [p for p in harness.parts.values() if isinstance(p, Source) and p.what == "alternator" and p.phases]
    unknown = [p for p in alternators if p.measured.volts is None or p.measured.amps is None]
    condensers = ", condensers" if any(isinstance(p, Capacitor) for p in harness.parts.values()) else ""
    if unknown:
        measurable = [p for p in unknown if p.field_winding is None]  # with a field they depend on its current
        missing = ": the file does not state open-circuit voltage and short-circuit current" if measurable else ""
        names = plainly_listed([p.name for p in unknown])
        return f"{NOT_SIMULATED}{condensers}, shorts inside parts, and the phases of {names}{missing}."
    return f"{NOT_SIMULATED}{condensers}, and shorts inside parts{' other than rectifiers' if alternators else ''}."


class _States:
    """The states that were gone through, and how to name many of them."""

    def __init__(self, harness: Harness, states: Sequence[str], live: Mapping[str, frozenset[str]]) -> None:
        self.harness = harness
        self.all = tuple(states)
        self.live = live
        engine = {name: dict(state.settings).get("engine", "off") for name, state in harness.states.items()}
        self.groups = (
            ("with the engine running", tuple(s for s in states if engine.get(s) in BY_ITSELF)),
            ("with the engine off", tuple(s for s in states if engine.get(s) == "off")),
        )

    def among(self, names: Sequence[str]) -> str:
        """Some of them as shortly as can be: ``every state``, ``every state with the engine running and key-on``."""
        if set(self.all) <= set(names) and len(self.all) > 1:
            return "every state"
        left, said = list(names), []
        for title, states in self.groups:
            if len(states) > LEAST_STATES and set(states) <= set(left):
                said.append(f"every state {title}")
                left = [name for name in left if name not in states]
        return plainly_listed([*said, *_short(left)]) or "no state"

    def wherever_on(self, report: Report) -> tuple[str, ...]:
        """The elements that a failure turns off in all states in which they are live, of several such."""
        dead: dict[str, set[str]] = {}
        for names, effects in report.effects:
            for effect in effects:
                if (effect.was, effect.now) == ("live", "dead"):
                    dead.setdefault(effect.thing, set()).update(names)
        several = len(self.all) > 1
        return tuple(t for t, names in dead.items() if several and names >= self.live.get(t, names | {""}))


def _short(names: Sequence[str]) -> list[str]:
    """Names of states, those that differ in a moved control alone together: ``idling with KEY off or KILL stop``."""
    found: dict[str, list[str]] = {}
    for name in names:
        first, _, turned = name.partition(" with ")
        found.setdefault(first if turned else name, []).append(turned)
    said = []
    for first, moved in found.items():
        said += [first for each in moved if not each]
        if turned := " or ".join(each for each in moved if each):
            said.append(f"{first} with {turned}")
    return said


def _devices(report: Report, states: _States) -> Iterator[str]:
    """What a short to ground blows, and where nothing protects it."""
    if report.unfed:
        opens = plainly_listed(_opening(report.blows, states.harness, "blow", "trip"))
        then = f"it would {opens}" if report.blows else "no fuse would protect it: fire"
        yield f"has no feed in these states, nor with two controls moved; once fed, {then}"
        return
    if report.fires:
        yield f"no fuse protects it: fire{_where(report.fires, states)}"
    if report.blown:
        opens = plainly_listed(_opening(report.blows, states.harness, "blows", "trips"))
        yield f"{opens}{_where(report.blown, states)}"
    if report.lasting:
        left = plainly_listed(report.lasting)
        yield f"{left} {'stays' if len(report.lasting) == 1 else 'stay'} open then: as with {left} open"


def _opening(devices: Sequence[str], harness: Harness, blows: str, trips: str) -> Iterator[str]:
    """What fuses do, and what an output or a breaker does."""
    fuses = [d for d in devices if isinstance(part := harness.parts.get(owner_of(d)), Fuse) and part.form != "breaker"]
    others = [d for d in devices if d not in fuses]
    yield from (f"{verb} {plainly_listed(names)}" for verb, names in ((blows, fuses), (trips, others)) if names)


def _where(names: Sequence[str], states: _States) -> str:
    """In which of all states; nothing where it is each of them."""
    return "" if set(states.all) <= set(names) else f" in {states.among(names)}"


def _ends(report: Report, states: _States) -> Iterator[str]:
    """What else follows, and where."""
    whole = states.wherever_on(report)
    if whole:
        worst = {e.thing: e.category for _, effects in report.effects for e in effects if e.thing in whole}
        things = _parts(sorted(whole, key=lambda thing: worst[thing]), states.harness)
        one = len(things) == 1
        yield f"{plainly_listed(things)} {'goes' if one else 'go'} dead wherever {'it is' if one else 'they are'} on"
    for said, names in _together(report, states, frozenset(whole)):
        yield f"{said} in {states.among(names)}"


def _parts(elements: Sequence[str], harness: Harness) -> list[str]:
    """Elements by key, those of a part all together as the part."""
    found: dict[str, None] = {}
    for element in elements:
        own = [each for each in elements if owner_of(each) == owner_of(element)]
        among = getattr(harness.parts.get(owner_of(element)), "elements", ())
        found[owner_of(element) if len(own) == len(among) > 1 else element] = None
    return list(found)


def _modes(faults: Sequence[Fault]) -> str:
    """Faults of one failure mode, which is named once."""
    if not faults:
        return "without any fault:"
    return f"{', '.join(fault.where for fault in faults)}: {faults[0].mode}"


def _together(report: Report, states: _States, whole: frozenset[str]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What happens, and in which states: the worst first, then what happens in most of them. What goes dead of the
    ``whole`` is listed already.
    """
    where: dict[tuple[str, Said], list[str]] = {}
    severe: dict[tuple[str, Said], int] = {}
    for among, effects in report.effects:
        rest = [e for e in effects if e.thing not in whole or e.now != "dead"]
        for thing, said, category in _gathered(rest, states.harness):
            where.setdefault((thing, said), []).extend(among)
            severe[thing, said] = min(severe.get((thing, said), category), category)
    groups: dict[tuple[tuple[str, ...], Said], list[str]] = {}
    order = {name: i for i, name in enumerate(states.all)}  # states with a control moved for it come last
    for (thing, said), found in where.items():
        among = tuple(sorted(found, key=lambda name: (order.get(name, len(order)), name)))
        groups.setdefault((among, said), []).append(thing)
    worst = {key: min(severe[thing, key[1]] for thing in things) for key, things in groups.items()}
    for names, said in sorted(groups, key=lambda key: (worst[key], -len(key[0]))):
        things = groups[names, said]
        yield f"{'the engine' if things == [ENGINE] else plainly_listed(things)} {said[len(things) > 1]}", names


def _gathered(effects: Iterable[Effect], harness: Harness) -> Iterator[tuple[str, Said, int]]:
    """What each effect is of, in words for one thing and for many, and how severe; all elements of a part that fare
    alike as the part, and what is fed backwards besides in the same words.
    """
    told = list(effects)
    backwards = {e.thing for e in told if e.now == "backwards"} & {e.thing for e in told if e.now != "backwards"}
    by_part: dict[tuple[str, Said], list[Effect]] = {}
    for effect in told:
        if effect.now == "backwards" and effect.thing in backwards:
            continue
        more = ", fed backwards," if effect.thing in backwards else ""
        said = (effect.happens() + more, effect.happens(many=True) + more)
        by_part.setdefault((owner_of(effect.thing), said), []).append(effect)
    for (name, said), inside in by_part.items():
        elements = getattr(harness.parts.get(name), "elements", ())
        things = [name] if 1 < len(inside) == len(elements) else [effect.thing for effect in inside]
        for thing in things:
            yield thing, said, min(effect.category for effect in inside)


def faults_json(
    reports: Iterable[Report],
    unknown: Iterable[NotCalculated] = (),
    silent: NotOpened | None = None,
    unasked: Iterable[str] = (),
) -> str:
    """The same as JSON: one object a report."""
    silent = silent if silent is not None else NotOpened()
    found = [
        {
            "category": report.category.numeral,
            "severity": report.category.severity,
            "faults": _named(report.faults),
            "opens": [] if report.unfed else list(report.blows),
            "would_open": list(report.blows) if report.unfed else [],
            "opens_in": list(report.blown),
            "stay_open": list(report.lasting),
            "burns": report.burns,
            "burns_in": list(report.fires),
            "fed": not report.unfed,
            "effects": [
                {
                    "states": list(states),
                    "ends": [
                        {"thing": e.thing, "was": e.was, "now": e.now, "share": rounded(e.share)} for e in effects
                    ],
                }
                for states, effects in report.effects
            ],
        }
        for report in reports
    ]
    left = [
        {"faults": _named(each.faults), "why": [{"states": list(names), "reason": why} for names, why in each.why]}
        for each in unknown
    ]
    told = {
        "version": 3,
        "failure_modes": found,
        "not_calculated": left,
        "not_opened": list(silent.idle),
        "not_opened_loaded": list(silent.unloaded),
        "without_effect": [*silent.doubled, *silent.harmless],
        "phases": list(silent.phases),
        "not_asked_in_gear": list(unasked),
    }
    return json.dumps(told, indent=2, ensure_ascii=False) + "\n"


def _named(faults: Iterable[Fault]) -> list[dict[str, str]]:
    return [{"branch": f.key, "mode": f.mode, **({"to": f.other} if f.other else {})} for f in faults]


def _wrapped(text: str, width: int, first: str, others: str) -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=others, break_long_words=False, break_on_hyphens=False
    )
