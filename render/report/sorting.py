"""What a harness is made of, what to keep of it, and what each kept part gets from what is replaced."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Final

from ...checks.conversion.sorting import SYSTEMS
from ...lang.diagnostics.messages import plainly_listed
from ...lang.diagnostics.visible import visible

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...checks.conversion.boundary import Lead
    from ...checks.conversion.sorting import Sorted, Sorting

CAUTION: Final = (
    "Proposed by the connections in the file: look at each on the motorcycle, tag each lead, and disconnect "
    "the battery before anything is cut."
)


def as_text(sorting: Sorting, leads: tuple[Lead, ...]) -> str:
    lines: list[str] = []
    for system in SYSTEMS:
        parts = [each for each in sorting.parts.values() if each.system == system]
        wires = [each for each in sorting.wires.values() if each.system == system]
        if not parts and not wires:
            continue
        lines.append(system)
        for keep in (True, False):
            word = "keep" if keep else "replace"
            lines += [f"  {word}  {each.name}: {_why(each)}" for each in parts if each.keep is keep]
            named = [each.name for each in wires if each.keep is keep]
            if named:
                lines.append(f"  {word}  {'wire' if len(named) == 1 else 'wires'} {', '.join(named)}")
        lines.append("")
    none = "no leads of kept parts to cut"
    lines.append("leads of kept parts to take off or cut, and what they carried" if leads else none)
    for lead in leads:
        cut = lead.cut
        to = f", to {', '.join(cut.others)}" if cut.others else ""
        lines.append(f"  {cut.node} ({_wires(cut.wires)}{to})")
        kept = [name for name in cut.wires if sorting.wires[name].keep]
        if kept:
            lines.append(
                f"      {_wires(kept)} {'are' if len(kept) > 1 else 'is'} kept: take off at the far end, not cut"
            )
        lines += [f"      {got}" for got in lead.got]
    lines += ["", CAUTION]
    return "".join(f"{visible(line)}\n" for line in lines)


def _why(each: Sorted) -> str:
    return f"{each.why} (as the file says)" if each.stated else each.why


def as_json(sorting: Sorting, leads: tuple[Lead, ...]) -> str:
    found = {
        "version": 1,
        "parts": [asdict(each) for each in sorting.parts.values()],
        "wires": [asdict(each) for each in sorting.wires.values()],
        "boundary": [{**asdict(lead.cut), "got": list(lead.got)} for lead in leads],
    }
    return json.dumps(found, indent=2, ensure_ascii=False) + "\n"


def _wires(names: Sequence[str]) -> str:
    return f"{'wires' if len(names) > 1 else 'wire'} {plainly_listed(names)}"
