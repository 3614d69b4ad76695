"""What differs between two harnesses: for a terminal, in Markdown for a review, as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Final

from ...checks.conversion.item_changes import KINDS
from ...checks.conversion.new_findings import KINDS as KINDS_OF_FINDINGS
from ...lang.diagnostics.messages import plainly_listed
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import Quantity, shown
from ..formats.figures import rounded

if TYPE_CHECKING:
    from ...checks.conversion.difference import Differences, LiveChange, StateChange
    from ...checks.conversion.item_changes import ItemChange
    from ...checks.conversion.new_findings import FindingChange
    from ...checks.conversion.settings import SettingChange

CAUTION: Final = (
    "What is listed is what was compared: parts as they are rated and plugged, wires, wet places, the common controls "
    "in every combination, and the states that both name. Never compared: what a file expects, waives and labels; "
    "pairs, screens and caps."
)
FAULTS: Final = (
    "An effect of a single fault is new where no fault of its kind had it before; what comes on is counted state by "
    "state. Not listed: which wires have an effect that was there before, and which effects one fault has "
    "together; `faults` of the new file has both."
)
"""Shown where single faults were compared: what is counted."""
AVERAGED: Final = "V of loads: while the circuits of coils are closed. V of sources, and A: means over the coils' duty."
"""Shown under states in which coils work: what their figures are, the same as in ``states``."""
ROWS: Final = {
    "lost": "live before{when}, now never",
    "gained": "live now{when}, never before",
    "depends": "always live before{when}; now not always{on}",
    "independent": "always live now{when}; before not always{on}",
    "instead": "live{when} now depends{on}",
}
FINDINGS: Final = {
    "new": "that are new",
    "more severe": "that are more severe now",
    "less severe": "that are less severe now",
    "settled": "that are settled",
}


def as_text(found: Differences) -> str:
    """For a terminal, ending in a line feed."""
    lines = [f"{found.old} -> {found.new}"]
    for title, rows in sections(found):
        lines += ["", title, *(f"  {row}" for row in rows)]
    lines += ["", *closing(found)]
    return "".join(f"{visible(line)}\n" for line in lines)


def as_markdown(found: Differences) -> str:
    """For a review: a heading, and a list or table a section."""
    lines = [f"## `{_code(found.old)}` → `{_code(found.new)}`"]
    for title, rows in sections(found):
        lines += ["", f"### {title}", "", *(f"- {_escaped(row)}" for row in rows)]
    lines += ["", *(_escaped(line) for line in closing(found))]
    return "".join(f"{visible(line)}\n" for line in lines)


def as_json(found: Differences) -> str:
    """One object; numbers in V and A, six significant digits."""
    return json.dumps({"version": 1, **rounded(asdict(found))}, indent=2, ensure_ascii=False) + "\n"


def sections(found: Differences) -> Iterator[tuple[str, list[str]]]:
    """What differs: a title, and a line for each thing."""
    if found.system is not None:
        yield "System", [f"{found.system[0]} -> {found.system[1]}"]
    for what in ("part", "wire"):
        for kind in KINDS:
            rows = [_item(each) for each in found.items if (each.what, each.kind) == (what, kind)]
            if rows:
                yield f"{what.capitalize()}s {kind} ({len(rows)})", rows
    if found.places:
        yield f"Places changed ({len(found.places)})", [f"{p.name}: {p.was} -> {p.now}" for p in found.places]
    if found.live:
        yield f"Live under another condition ({len(found.live)})", _lives(found.live)
    for state in found.settings:
        rows = [_state(each) for each in found.states if each.state == state.name]
        yield f"In state {state.name}", [*_settings(state.settings), *rows]
    for change in KINDS_OF_FINDINGS if found.findings is not None else ():
        rows = [_finding(each) for each in found.findings or () if each.kind == change]
        if rows:
            yield f"Findings {FINDINGS[change]} ({len(rows)})", rows
    if found.faults:
        yield (
            f"Effects of single faults, of categories I and II, that are new ({len(found.faults)})",
            [f"{each.effect}: by {plainly_listed(each.faults)}" for each in found.faults],
        )
    if found.unjudged:
        yield "Not compared", list(found.unjudged)


def _finding(each: FindingChange) -> str:
    was = f", before {each.before}" if each.kind in ("more severe", "less severe") else ""
    return f"{each.file}:{each.line}: {each.level}{was}: {each.message} [{each.rule}]"


def _item(each: ItemChange) -> str:
    match each.kind:
        case "added":
            return f"{each.new}: {each.now}"
        case "removed":
            return f"{each.old}: {each.was}"
        case "renamed":
            return f"{each.old} is {each.new} now"
        case _ if not each.was:
            return f"{each.new}: {each.now} (new)"
        case _ if not each.now:
            return f"{each.new}: no longer {each.was}"
        case _:
            return f"{each.new}: {each.was} -> {each.now}"


def _lives(changes: Sequence[LiveChange]) -> list[str]:
    """What changes alike is merged."""
    alike: dict[tuple[object, ...], list[LiveChange]] = {}
    for each in changes:
        alike.setdefault((each.row, each.when, each.controls), []).append(each)
    return [_live(group[0], [each.element for each in group]) for group in alike.values()]


def _live(each: LiveChange, elements: Sequence[str]) -> str:
    when = f" with {plainly_listed(f'{control} {at}' for control, at in each.when)}" if each.when else ""
    verb = "depended" if each.row == "independent" else "depends"
    on = f": that {verb} on {plainly_listed(each.controls)}" if each.controls else ""
    if each.row == "instead":
        on = f" on {plainly_listed(each.controls)}"
    return f"{plainly_listed(elements)}: {ROWS[each.row].format(when=when, on=on)}"


def _settings(changes: Sequence[SettingChange]) -> Iterator[str]:
    """In which settings a state differs from the one of the same name, in one line; none where it does not."""
    both = [_setting(each) for each in changes if each.old is not None and each.new is not None]
    before = [f"{each.old} {each.was}" for each in changes if each.new is None]
    now = [f"{each.new} {each.now}" for each in changes if each.old is None]
    words = (("", both), ("only old: ", before), ("only new: ", now))
    if said := [head + ", ".join(rows) for head, rows in words if rows]:
        yield f"set differently: {'; '.join(said)}"


def _setting(each: SettingChange) -> str:
    renamed = "" if each.old == each.new else f"{each.new} "
    return f"{each.old} {each.was} -> {renamed}{each.now}"


def _state(each: StateChange) -> str:
    figures = ((each.old_volts, each.new_volts, "V"), (each.old_amps, each.new_amps, "A"))
    said = [(_figure(was, unit), _figure(now, unit)) for was, now, unit in figures]
    averages = dict.fromkeys((each.old_average, each.new_average))
    rms = f" ({' -> '.join(averages)})" if "rms" in averages else ""
    return f"{each.element}: " + ", ".join(was if was == now else f"{was} -> {now}" for was, now in said) + rms


LEAST: Final = {"V": 0.05, "A": 0.005}
"""What is less is shown as 0."""


def _figure(value: float, unit: str) -> str:
    return shown(Quantity(value if abs(value) >= LEAST[unit] else 0.0, unit))


def closing(found: Differences, *, options: bool = True) -> Iterator[str]:
    """The last lines: how far the comparison went; ``options``: and by which of them it goes further."""
    if found.none:
        yield "nothing differs"
    if any(state.averaged for state in found.settings):
        yield AVERAGED
    yield CAUTION
    if found.faults is not None:
        yield FAULTS
    left = [
        f"{word} ({option})" if options else word
        for word, option, compared in (
            ("findings", "--findings", found.findings),
            ("single faults", "--faults", found.faults),
        )
        if compared is None
    ]
    if left:
        yield f"Not compared: {plainly_listed(left)}."


def _escaped(text: str) -> str:
    """Text that Markdown shows as it is."""
    return (
        "".join(f"\\{each}" if each in "\\`*_{}[]<>#|!" else each for each in text)
        .replace("->", "→")
        .replace("-\\>", "→")
    )


def _code(text: str) -> str:
    return text.replace("`", "'")
