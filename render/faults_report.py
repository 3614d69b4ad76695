"""Single faults as text and as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..checks.faults.effects import Effect
    from ..checks.faults.sweep import Report
    from ..lang.model import Harness


def faults_text(reports: Sequence[Report], harness: Harness, states: Sequence[str], *, width: int = 100) -> str:
    """Failure modes with their end effects, the worst first; ends in a line feed."""
    lines = [f"{len(reports)} failure modes with an effect in {_listed(states)}", ""]
    category = None
    for report in reports:
        if report.category != category:
            category = report.category
            lines += [f"Category {category.word}", ""]
        lines += _wrapped(_modes(report), width, "  ", "      ")
        if report.burns:
            lines += _wrapped("nothing opens: what it touches burns", width, "      ", "        ")
        elif report.blows:
            lines += _wrapped(f"opens {_listed(report.blows)}", width, "      ", "        ")
        for names, effects in report.effects:
            said = f"{', '.join(names)}: {'; '.join(_gathered(effects, harness))}"
            lines += _wrapped(said, width, "      ", "        ")
        lines.append("")
    return "\n".join(lines).rstrip("\n") + "\n"


def _modes(report: Report) -> str:
    """The faults of one report, the failure mode once."""
    mode = report.faults[0].mode
    return f"{', '.join(fault.key for fault in report.faults)}: {mode}"


def _gathered(effects: Iterable[Effect], harness: Harness) -> list[str]:
    """Effects in words, all elements of a part that fare alike as the part."""
    by_part: dict[tuple[str, str], list[Effect]] = {}
    for effect in effects:
        by_part.setdefault((effect.thing.partition(".")[0], effect.now), []).append(effect)
    said = []
    for (name, _), inside in by_part.items():
        part = harness.parts.get(name)
        elements = getattr(part, "elements", ())
        if len(inside) > 1 and len(inside) == len(elements):
            said.append(inside[0].words().replace(inside[0].thing, name, 1))
        else:
            said.extend(effect.words() for effect in inside)
    return said


def faults_json(reports: Iterable[Report]) -> str:
    """The same as JSON: one object a report, shares with six significant digits."""
    found = [
        {
            "category": report.category.word.partition(" ")[0],
            "severity": report.category.word.partition(" ")[2],
            "faults": [{"branch": fault.key, "mode": fault.mode} for fault in report.faults],
            "opens": list(report.blows),
            "burns": report.burns,
            "effects": [
                {
                    "states": list(states),
                    "ends": [
                        {"thing": e.thing, "was": e.was, "now": e.now, "share": float(f"{e.share:.6g}")}
                        for e in effects
                    ],
                }
                for states, effects in report.effects
            ],
        }
        for report in reports
    ]
    return json.dumps({"version": 1, "failure_modes": found}, indent=2, ensure_ascii=False) + "\n"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else "no state"


def _wrapped(text: str, width: int, first: str, others: str) -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=others, break_long_words=False, break_on_hyphens=False
    )
