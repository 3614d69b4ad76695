"""What a survey says, as plain text: every half with what speaks for and against it, then the next reading to take."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ...checks.survey.answers import Alike, HalfAnswer, LeadAnswer, Reason, Verdict
from ...checks.survey.prior import NOTHING
from ...lang.diagnostics.messages import plainly_listed
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import Quantity, shown
from ...lang.records import dataclass
from ...lang.survey.colours import in_words
from ...lang.survey.record import Shows
from ..formats.figures import rounded
from .findings import counted

if TYPE_CHECKING:
    from ...checks.survey.contradiction import Unexplained
    from ...checks.survey.probe import Probe
    from ...lang.survey.record import MeterReading, Survey

INDENT: Final = "    "
CAUTION: Final = (
    "Before every reading: battery disconnected, meter on beeper or ohm, both probes on bare metal. Live wires give "
    "false readings and can destroy the meter."
)
DISCLAIMER: Final = "Only readings and colours were judged; cut nothing before you have seen where it goes."

_ALIKE: Final = {
    Alike.SAME_WIRES: "two ends of the same wires: no reading tells them apart, so look which one is on which",
    Alike.SAME_KIND: "parts of the same kind and figures: swapping them changes only their names",
}

_REASONS: Final = {
    "colours": "{0} of {1} leads have the colours that are drawn at {2}",
    "extra lead": "{0} is on no end of {1}",
    "colour": "{0} is {1}, and {3} (wire {4}) is drawn {2}",
    "missing lead": "no lead here for {1}",
}


def percent(share: float) -> str:
    """A share as a percentage, never rounded up to certainty."""
    return shown(Quantity(min(100.0 * share, 99.9), "%"), 3 if share >= 0.99 else 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Identified:
    """The report on a survey: answers, readings that fit nothing, the next one, how many leads are owed one."""

    survey: Survey
    answers: tuple[HalfAnswer, ...]
    odd: tuple[Unexplained, ...]
    probe: Probe | None
    owed: int


def identify_text(identified: Identified) -> str:
    """Everything that can be said of a survey, the next reading last."""
    lines = []
    for answer in identified.answers:
        lines += [*half_lines(answer), ""]
    for each in identified.odd:
        lines += [*unexplained_lines(each), ""]
    lines += probe_lines(identified.probe, identified.owed)
    lines.append("")
    lines.append(closing(identified.survey, identified.answers))
    lines.append(DISCLAIMER)
    return "".join(f"{visible(line).rstrip()}\n" for line in lines)


def closing(survey: Survey, answers: tuple[HalfAnswer, ...]) -> str:
    """How many halves there are, and how surely they are known."""
    kinds = {verdict: sum(answer.verdict is verdict for answer in answers) for verdict in Verdict}
    said = ", ".join(f"{count} {verdict.value}" for verdict, count in kinds.items() if count)
    lines = len({each.span.line for each in survey.readings})
    taken = f"{counted(lines, 'line')} of readings"
    return f"{survey.file}: {_halves(len(answers))}: {said or 'nothing to identify'} ({taken})"


def _halves(number: int) -> str:
    return "1 half" if number == 1 else f"{number} halves"


def half_lines(answer: HalfAnswer) -> Iterator[str]:
    """A half: what it is, why, and where each of its leads goes."""
    yield f"{answer.half.name}: {verdict_text(answer)}"
    if answer.alike is not None:
        yield f"{INDENT}{_ALIKE[answer.alike]}"
    for supports, word in ((True, "for"), (False, "against")):
        for reason in answer.reasons:
            if reason.supports is supports:
                yield f"{INDENT}{word}: {reason_text(reason)}"
    if answer.dropped >= 0.01:
        yield f"{INDENT}not sure: {percent(answer.dropped)} of the possibilities were not looked at"
    if answer.verdict in (Verdict.OPEN, Verdict.NOTHING):
        return
    names = [str(lead.lead) for lead in answer.leads]
    colours = [" + ".join(map(in_words, lead.lead.colours)) for lead in answer.leads]
    ends = [lead.end or "?" for lead in answer.leads]
    odd = {r.facts[0] for r in answer.reasons if r.kind == "colour" and not r.supports}
    widths = [max(map(len, column)) for column in (names, colours, ends)]
    for lead, *cells in zip(answer.leads, names, colours, ends, strict=True):
        first = "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
        yield f"{INDENT}{first}  {_goes(lead, answer.verdict, odd=str(lead.lead) in odd)}"


def verdict_text(answer: HalfAnswer) -> str:
    """What a half is, in words."""
    named = [
        f"{'not on the diagram' if name == NOTHING else name} {percent(share)}" for name, share in answer.candidates
    ]
    match answer.verdict:
        case Verdict.SURE:
            return f"sure: {answer.best} ({percent(answer.candidates[0][1])})"
        case Verdict.LIKELY:
            how = "" if answer.measured else ", by colour and place alone"
            return f"likely: {answer.best} ({percent(answer.candidates[0][1])}){how}"
        case Verdict.ANY_OF:
            return f"any of: {', '.join(named)}"
        case Verdict.NOTHING:
            return f"not on the diagram ({percent(answer.candidates[0][1])})"
        case Verdict.OPEN:
            return f"open: {', '.join(named)}"


def reason_text(reason: Reason) -> str:
    facts = reason.facts
    match reason.kind:
        case "place":
            return (
                f"it is at {facts[0]}, as {facts[1]} is"
                if reason.supports
                else f"it is at {facts[0]}, and {facts[1]} is drawn at {facts[2]}"
            )
        case "side":
            return (
                f"a {facts[0]} half, as {facts[1]} is drawn"
                if reason.supports
                else f"a {facts[0]} half, and {facts[1]} is drawn as the other one"
            )
        case "readings":
            lines = f"line{'s' if len(facts) > 1 else ''} {plainly_listed(facts)}"
            return lines if reason.supports else f"{lines}: see below"
        case _:
            return _REASONS[reason.kind].format(*facts)


def _goes(lead: LeadAnswer, verdict: Verdict, *, odd: bool) -> str:
    """Where a lead's wires go; of a half that may be several, only what it is joined with can be sure. ``odd``: its
    colour is not the one that is drawn there.
    """
    if lead.end is None:
        return "on no end of the diagram"
    wires = f"wire{'s' if len(lead.wires) > 1 else ''} {' '.join(lead.wires)} to {' '.join(lead.goes_to)}"
    if lead.sure:
        return f"{wires}  sure" if verdict is not Verdict.ANY_OF else f"{wires}  sure of what it is connected to"
    if odd and not lead.measured:
        return f"{wires}  by its place in the plug, the colour does not fit: measure before it is cut"
    return f"{wires}  {percent(lead.share)}{'' if lead.measured else ', by colour alone'}"


def reading_text(reading: MeterReading) -> str:
    """A reading as a line of a survey says it."""
    points = f"{reading.a.text} {reading.b.text}"
    setting = f" with {', '.join(f'{c} {p}' for c, p in reading.setting)}" if reading.setting else ""
    match reading.shows:
        case Shows.OHMS:
            return f"{points} {ohms_text(reading.ohms or 0.0)}{setting}"
        case Shows.OPEN:
            return f"{points} open{setting}"
        case _:
            return f"{reading.shows.value} {points}{setting}"


def ohms_text(ohms: float) -> str:
    return shown(Quantity(ohms, "ohm")).replace(",", "")


def unexplained_lines(odd: Unexplained) -> Iterator[str]:
    """A reading that fits nothing, and what to do, the cheapest first."""
    yield f"{odd.reading.span}: `{reading_text(odd.reading)}` contradicts the other readings and the diagram"
    yield f"{INDENT}the points are most probably {odd.points[0]} and {odd.points[1]}"
    yield f"{INDENT}fix: take this reading again"
    if odd.dead:
        yield f"{INDENT}fix: test whether {plainly_listed(odd.dead, 'or')} is open"
    if odd.change is not None:
        match odd.change.kind:
            case "missing":
                wire = odd.change.lines[0]
                yield f"{INDENT}fix: if it stays, look for wire {wire}; where it is missing, delete its line"
            case "extra":
                yield f"{INDENT}fix: if it stays, a wire is not drawn; add to the diagram: {odd.change.lines[0]}"
            case _:
                first, second = odd.change.lines
                yield f"{INDENT}fix: if both stay, swap on the diagram what is on {first} and on {second}"


def probe_lines(probe: Probe | None, owed: int) -> Iterator[str]:
    """The next reading to take, with its caution."""
    if probe is None:
        yield "next: no single reading identifies more; measure each lead that is not sure before it is cut"
        return
    where = f", at {plainly_listed(probe.places)}" if probe.places else ""
    if probe.owed:
        yield f"next: black probe on {probe.black}, red probe on {probe.red}{where}: expected to beep"
        yield f"{INDENT}it confirms what rests on colour alone; {counted(owed, 'lead')} owed such a reading"
    else:
        yield (
            f"next: black probe on {probe.black}, red probe on {probe.red}{where}: beeps with {percent(probe.beeps)}, "
            f"worth {shown(probe.gain, 2)} bit"
        )
    yield f"{INDENT}then add `beeps {probe.black} {probe.red}` or `silent {probe.black} {probe.red}`"
    yield f"{INDENT}{CAUTION}"


def identify_json(identified: Identified) -> str:
    """The same for programs: ``version`` counts up when a field changes or goes."""
    document = {
        "version": 1,
        "file": identified.survey.file,
        "title": identified.survey.title,
        "diagram": identified.survey.diagram,
        "halves": [_half_data(answer) for answer in identified.answers],
        "unexplained": [
            {
                "line": odd.reading.span.line,
                "reading": reading_text(odd.reading),
                "points": list(odd.points),
                "dead": list(odd.dead),
                "change": None if odd.change is None else {"kind": odd.change.kind, "lines": list(odd.change.lines)},
            }
            for odd in identified.odd
        ],
        "next": None
        if identified.probe is None
        else {
            "black": identified.probe.black,
            "red": identified.probe.red,
            "places": list(identified.probe.places),
            "beeps": rounded(identified.probe.beeps),
            "gain_bit": rounded(identified.probe.gain),
            "confirms": identified.probe.owed,
        },
        "owed": identified.owed,
    }
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def _half_data(answer: HalfAnswer) -> dict[str, object]:
    return {
        "name": answer.half.name,
        "verdict": answer.verdict.value,
        "candidates": [{"name": name, "share": rounded(share)} for name, share in answer.candidates],
        "alike": answer.alike.value if answer.alike else None,
        "dropped": rounded(answer.dropped),
        "reasons": [{"supports": reason.supports, "text": reason_text(reason)} for reason in answer.reasons],
        "leads": [
            {
                "name": str(lead.lead),
                "colour": " + ".join(map(in_words, lead.lead.colours)),
                "end": lead.end,
                "share": rounded(lead.share),
                "sure": lead.sure,
                "measured": lead.measured,
                "wires": list(lead.wires),
                "goes_to": list(lead.goes_to),
            }
            for lead in answer.leads
        ],
    }
