"""Single faults as text and as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from ...lang.circuit.ids import owner_of
from ..formats.figures import rounded

if TYPE_CHECKING:
    from ...checks.fmea.effects import Effect
    from ...checks.fmea.report import Report
    from ...lang.model.harness import Harness


Said = tuple[str, str]
"""What happens, in words for one thing and for many."""


def faults_text(reports: Sequence[Report], harness: Harness, states: Sequence[str], *, width: int = 100) -> str:
    """Failure modes with their end effects, the worst first; ends in a line feed.

    ``states`` are all that were gone through. What goes the same way in the same states is merged.
    """
    lines = _wrapped(f"{len(reports)} failure modes with an effect in {_listed(states)}", width, "", "  ")
    lines.append("")
    category = None
    for report in reports:
        if report.category != category:
            category = report.category
            lines += [f"Category {category.word}", ""]
        lines += _wrapped(_modes(report), width, "  ", "      ")
        for said in (*_devices(report, states), *_ends(report, harness, states)):
            lines += _wrapped(said, width, "      ", "        ")
        lines.append("")
    return "\n".join(lines).rstrip("\n") + "\n"


def _devices(report: Report, states: Sequence[str]) -> Iterator[str]:
    """What a short to ground blows, and where nothing protects it."""
    if report.unfed:
        then = f"it would blow {_listed(report.blows)}" if report.blows else "no fuse would protect it: fire"
        yield f"has no feed in these states, nor with two controls moved; once fed, {then}"
        return
    if report.fires:
        yield f"no fuse protects it: fire{_where(report.fires, states)}"
    if report.blown:
        yield f"blows {_listed(report.blows)}{_where(report.blown, states)}"


def _where(names: Sequence[str], states: Sequence[str]) -> str:
    """In which of all states; nothing where it is each of them."""
    return "" if set(states) <= set(names) else f" in {_listed(names)}"


def _ends(report: Report, harness: Harness, states: Sequence[str]) -> Iterator[str]:
    """What else follows, and where."""
    for said, names in _together(report, harness, states):
        where = "every state" if len(names) == len(states) > 1 else _listed(names)
        yield f"{said} in {where}"


def _modes(report: Report) -> str:
    """The faults of one report, the failure mode once."""
    if not report.faults:
        return "without any fault:"
    mode = report.faults[0].mode
    return f"{', '.join(fault.key for fault in report.faults)}: {mode}"


def _together(report: Report, harness: Harness, states: Sequence[str]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What happens, and in which states: the worst first, then what happens in most of them."""
    where: dict[tuple[str, Said], list[str]] = {}
    severe: dict[tuple[str, Said], int] = {}
    for among, effects in report.effects:
        for thing, said, category in _gathered(effects, harness):
            where.setdefault((thing, said), []).extend(among)
            severe[thing, said] = min(severe.get((thing, said), category), category)
    groups: dict[tuple[tuple[str, ...], Said], list[str]] = {}
    order = {name: i for i, name in enumerate(states)}  # states with a control moved for it come last
    for (thing, said), found in where.items():
        among = tuple(sorted(found, key=lambda name: (order.get(name, len(order)), name)))
        groups.setdefault((among, said), []).append(thing)
    worst = {key: min(severe[thing, key[1]] for thing in things) for key, things in groups.items()}
    for names, said in sorted(groups, key=lambda key: (worst[key], -len(key[0]))):
        things = groups[names, said]
        yield f"{_listed(things)} {said[len(things) > 1]}", names


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


def faults_json(reports: Iterable[Report]) -> str:
    """The same as JSON: one object a report."""
    found = [
        {
            "category": report.category.numeral,
            "severity": report.category.severity,
            "faults": [{"branch": fault.key, "mode": fault.mode} for fault in report.faults],
            "opens": [] if report.unfed else list(report.blows),
            "would_open": list(report.blows) if report.unfed else [],
            "opens_in": list(report.blown),
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
    return json.dumps({"version": 2, "failure_modes": found}, indent=2, ensure_ascii=False) + "\n"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else "no state"


def _wrapped(text: str, width: int, first: str, others: str) -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=others, break_long_words=False, break_on_hyphens=False
    )
