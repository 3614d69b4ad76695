"""Single faults and suspects as text and as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ..checks.faults.effects import Effect
    from ..checks.faults.suspects import Inquiry
    from ..checks.faults.sweep import Report
    from ..lang.model import Harness

MANY = 12
"""Of so many suspects that one cannot tell apart the rest is counted and not named."""


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


def inquiry_text(inquiry: Inquiry, state: str, *, width: int = 100) -> str:
    """The suspects, the likeliest first, and what to measure next; ends in a line feed."""
    lines: list[str] = []
    if inquiry.sound:
        lines.append(f"In {state} the harness does all this without any fault.")
    if not inquiry.suspects:
        lines.append(
            f"No single open conductor, contact, fuse or load explains what is seen in {state}: "
            "look for two faults, a short, or an observation that is not so."
        )
        return "\n".join(_each(lines, width)) + "\n"
    count = len(inquiry.suspects)
    if inquiry.partial:
        lines.append(f"Nothing single explains all of it; {_counted(count, 'suspect')} for most of it, the best first:")
    else:
        lines.append(f"{_counted(count, 'suspect')}, the likeliest first:")
    text = _each(lines, width)
    for suspect in inquiry.suspects:
        also = f" (would also make {_listed(suspect.also)})" if suspect.also else ""
        against = f" (speaks against it: {_listed(suspect.against)})" if suspect.against else ""
        text += _wrapped(f"{suspect.fault}{also}{against}", width, "  ", "      ")
    text.append("")
    if inquiry.next is None:
        text += _wrapped(
            "No reading at a terminal tells them apart: look at each, or try another state.", width, "", ""
        )
    else:
        measured = inquiry.next
        text += _wrapped(f"Measure next: volts at {measured.node} (black lead on {measured.ground})", width, "", "")
        for reading in measured.readings:
            names = [str(fault) for fault in reading.suspects]
            more = f" and {len(names) - MANY} more" if len(names) > MANY else ""
            text += _wrapped(
                f"{_volts(reading.least, reading.most)}: {', '.join(names[:MANY])}{more}", width, "  ", "      "
            )
    return "\n".join(text) + "\n"


def inquiry_json(inquiry: Inquiry, state: str) -> str:
    """The same as JSON."""
    measured = inquiry.next
    found: dict[str, Any] = {
        "version": 1,
        "state": state,
        "sound": inquiry.sound,
        "partial": inquiry.partial,
        "suspects": [
            {"branch": s.fault.key, "mode": s.fault.mode, "also": list(s.also), "against": list(s.against)}
            for s in inquiry.suspects
        ],
        "measure": None
        if measured is None
        else {
            "red": measured.node,
            "black": measured.ground,
            "readings": [
                {
                    "least": _rounded(r.least),
                    "most": _rounded(r.most),
                    "suspects": [{"branch": f.key, "mode": f.mode} for f in r.suspects],
                }
                for r in measured.readings
            ],
        },
    }
    return json.dumps(found, indent=2, ensure_ascii=False) + "\n"


def _rounded(volts: float) -> float:
    return round(volts, 3) + 0.0


def _volts(least: float, most: float) -> str:
    low, high = f"{least + 0.0:.1f}".replace("-0.0", "0.0"), f"{most + 0.0:.1f}".replace("-0.0", "0.0")
    return f"{low} V" if low == high else f"{low} to {high} V"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else "no state"


def _counted(count: int, thing: str) -> str:
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def _each(lines: Iterable[str], width: int) -> list[str]:
    return [piece for line in lines for piece in _wrapped(line, width, "", "")]


def _wrapped(text: str, width: int, first: str, others: str) -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=others, break_long_words=False, break_on_hyphens=False
    )
