"""What may have failed and what to measure next, as text and as JSON."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from ..lang.model import Fuse
from .report import counted

if TYPE_CHECKING:
    from ..checks.faults.measuring import Expected, Measurement, Ohms
    from ..checks.faults.suspects import Chain, Inquiry
    from ..lang.model import Harness

MANY = 12
"""Of so many suspects that one line cannot tell apart the rest is counted and not named."""

CAUTION = (
    "Weighed one at a time, as the file has the harness: two faults at once may look the same. Let a probe bridge "
    "nothing; keep clear of what turns, of what is hot and of ignition leads, whose volts can kill. The makers' "
    "instructions and licensed practice come first; nothing here claims a harness safe."
)
"""Stands under every inquiry."""

BLOWN = "A fuse that has blown was blown by something: find the short behind it before a new one goes in."


def inquiry_text(inquiry: Inquiry, harness: Harness, state: str, *, width: int = 100) -> str:
    """The suspects with their reasons, the likeliest first, and what to measure next; ends in a line feed."""
    lines = [*_found(inquiry, state, width)]
    for number, chain in enumerate(inquiry.chains, 1):
        lines += _chain(chain, number, len(inquiry.chains), width)
    if any(_is_fuse(harness, s.fault.key) and s.mode == "open" for s in inquiry.suspects):
        lines += ["", *_wrapped(BLOWN, width)]
    if inquiry.chains:
        lines += ["", *_next(inquiry, harness, state, width)]
    if inquiry.unsolved:
        lines += ["", *_wrapped(f"Not weighed, since it could not be solved: {', '.join(inquiry.unsolved)}.", width)]
    return "\n".join([*lines, "", *_wrapped(CAUTION, width)]) + "\n"


def _found(inquiry: Inquiry, state: str, width: int) -> Iterator[str]:
    seen = ", ".join(str(each) for each in inquiry.observations)
    if inquiry.sound:
        said = f"In {state} the harness does all this without any fault: {seen}."
    elif not inquiry.chains:
        said = (
            f"No single open conductor, contact, fuse or load and no bad joint explains what is seen in {state}: "
            f"{seen}. Look for two faults, a short, or an observation that is not so."
        )
    else:
        many = counted(len(inquiry.suspects), "suspect")
        places = counted(len(inquiry.chains), "chain") if len(inquiry.chains) < len(inquiry.suspects) else ""
        head = f"{many} in {places}" if places else many
        end = ", the likeliest first" if len(inquiry.chains) > 1 else ""
        said = f"{seen} in {state}: {head}{end}."
        if inquiry.partial:
            said += " None explains all of it."
    yield from _wrapped(said, width)


def _chain(chain: Chain, number: int, count: int, width: int) -> list[str]:
    """One numbered line, what it explains and how, what speaks against it, and what else it would do."""
    gap = " " * (len(str(count)) + 3)
    named = [suspect.fault.key for suspect in chain.suspects]
    series = ", one of these in series" if len(named) > 1 else ""
    lines = ["", *_wrapped(f"{', '.join(named)}: {chain.mode}{series}", width, f"{number:>{len(gap) - 2}}  ", gap)]
    for reason in chain.reasons:
        head = "explains" if reason.explains else "speaks against it:"
        lines += _wrapped(f"{head} {reason.observation}: {reason.words}", width, f"{gap}  ", f"{gap}    ")
    if chain.also:
        lines += _wrapped(f"would also: {_listed(chain.also)}", width, f"{gap}  ", f"{gap}    ")
    return lines


# --- what to measure -------------------------------------------------------------------------------------------------
def _next(inquiry: Inquiry, harness: Harness, state: str, width: int) -> Iterator[str]:
    if inquiry.next is not None:
        yield from _volts(inquiry, inquiry.next, harness, state, width)
    elif inquiry.ohms:
        yield from _ohms(inquiry.ohms, harness, width)
    else:
        yield from _wrapped("Only this is left: look at it, clean it, try another in its place.", width)


def _volts(inquiry: Inquiry, measured: Measurement, harness: Harness, state: str, width: int) -> Iterator[str]:
    yield f"Measure next, with everything as in {state}:"
    yield f"  meter  {setting(measured)}"
    for colour, node in (("red", measured.red), ("black", measured.black)):
        yield f"  {colour:<5}  {node}{_place(harness, node)}"
    if measured.swings:
        yield from _wrapped("It swings with the flasher: take the most that it shows.", width, "  ", "  ")
    spans = [_span(row.least, row.most) for row in measured.expected]
    for row, span in zip(measured.expected, spans, strict=True):
        head = f"  {span:<{max(map(len, spans))}}  "
        yield from _wrapped(_whose(row, inquiry.chains), width, head, " " * len(head))
    yield from _wrapped("Then say what it shows, in place of X, and ask again:", width)
    yield f'  --seen "X V {measured.where}"'


def setting(measured: Measurement) -> str:
    """How the meter is set."""
    return f"DC volts, range {measured.range:.0f} V"


def _whose(row: Expected, chains: Sequence[Chain]) -> str:
    """Whose a reading is: chains by their numbers, and of one that it splits the suspects by name."""
    said = []
    for number, chain in enumerate(chains, 1):
        inside = [(s.fault, chain.mode) in row.suspects for s in chain.suspects]
        if all(inside):
            said.append(str(number))
        elif any(inside):
            said.append(f"of {number} {_runs([s.fault.key for s in chain.suspects], inside)}")
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


def _ohms(found: Sequence[Ohms], harness: Harness, width: int) -> Iterator[str]:
    first = "minus" if harness.grounded == "negative" else "plus"
    yield from _wrapped(
        "No volts that a probe gets at tell them apart. Turn the key off and disconnect the battery, "
        f"{first} first; then measure ohms, range 200 ohm, from end to end. Next to nothing is sound; no reading is "
        "open; some ohms are a bad joint. A load has some ohms of its own.",
        width,
    )
    for each in found[:MANY]:
        unplug = ", one end taken off: other things join its ends" if each.bypassed else ""
        yield from _wrapped(f"{each.fault.key}: {each.red} to {each.black}{unplug}", width, "  ", "      ")
    if len(found) > MANY:
        yield f"  and {len(found) - MANY} more likewise"


def _place(harness: Harness, node: str) -> str:
    """What a terminal belongs to and where that is."""
    part = harness.parts.get(node.partition(".")[0])
    if part is None:
        return ""
    words = f"{part.kind} at {part.place}" if part.place else part.kind
    return f" ({words})"


def _is_fuse(harness: Harness, key: str) -> bool:
    return isinstance(harness.parts.get(key), Fuse)


# --- JSON ------------------------------------------------------------------------------------------------------------
def inquiry_json(inquiry: Inquiry, state: str) -> str:
    """The same as JSON: volts with three decimals."""
    found: dict[str, Any] = {
        "version": 2,
        "state": state,
        "seen": [str(each) for each in inquiry.observations],
        "sound": inquiry.sound,
        "partial": inquiry.partial,
        "chains": [
            {
                "weight": round(chain.weight, 3),
                "mode": chain.mode,
                "suspects": [{"branch": s.fault.key, "weight": round(s.weight, 3)} for s in chain.suspects],
                "reasons": [
                    {"seen": str(r.observation), "explains": r.explains, "why": r.words} for r in chain.reasons
                ],
                "also": list(chain.also),
            }
            for chain in inquiry.chains
        ],
        "measure": _measure(inquiry.next) if inquiry.next is not None else None,
        "ohms": [
            {"branch": o.fault.key, "red": o.red, "black": o.black, "take_one_end_off": o.bypassed}
            for o in inquiry.ohms
        ],
        "not_weighed": list(inquiry.unsolved),
        "caution": CAUTION,
    }
    return json.dumps(found, indent=2, ensure_ascii=False) + "\n"


def _measure(measured: Measurement) -> dict[str, Any]:
    return {
        "setting": setting(measured),
        "red": measured.red,
        "black": measured.black,
        "sound": _rounded(measured.sound),
        "swings": measured.swings,
        "readings": [
            {
                "least": _rounded(row.least),
                "most": _rounded(row.most),
                "suspects": [{"branch": fault.key, "mode": mode} for fault, mode in row.suspects],
                "sound": row.sound,
            }
            for row in measured.expected
        ],
        "then": f"X V {measured.where}",
    }


def _rounded(volts: float) -> float:
    return round(volts, 3) + 0.0


def _span(least: float, most: float) -> str:
    low, high = (f"{volts:.1f}".replace("-0.0", "0.0") for volts in (least, most))
    return f"{low} V" if low == high else f"{low} to {high} V"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _wrapped(text: str, width: int, first: str = "", others: str = "") -> Iterable[str]:
    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=others, break_long_words=False, break_on_hyphens=False
    )
