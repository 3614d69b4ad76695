"""Tags for the ends of old wires: in words for a terminal, as CSV for a label program, as JSON."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.messages import plainly_listed
from ...lang.diagnostics.visible import visible
from .findings import counted

if TYPE_CHECKING:
    from ...checks.conversion.tags import Tag

CAUTION: Final = (
    "Disconnect the battery before anything is cut. Tag both ends of a wire first, compare colours and ends with the "
    "motorcycle, and insulate each bare end."
)
BYTE_ORDER_MARK: Final = "\ufeff"
"""Tells spreadsheets that the file is UTF-8."""


def wire_words(tag: Tag) -> str:
    """``wire 25 orange/black 28 x 0.30 mm``."""
    return " ".join(filter(None, (f"wire {tag.wire}", tag.colour, tag.size)))


def way_words(tag: Tag) -> str:
    """``to SP-IGN at headstock via C-RIGHT.1``."""
    via = f" via {', '.join(tag.via)}" if tag.via else ""
    return f"to {tag.to}{_at(tag.to_place)}{via}"


def new_words(tag: Tag) -> str:
    """What becomes of the end in the new harness; empty where that is not known."""
    match tag.new:
        case "wired":
            return f"{tag.new_end}, {'wire' if len(tag.new_wires) == 1 else 'wires'} {', '.join(tag.new_wires)}"
        case "capped":
            return f"{tag.new_end} is not used: insulate it"
        case "bare":
            return f"{tag.new_end} has no wire"
        case "no part":
            return f"{tag.end.part} is removed"
        case "no terminal":
            return f"{tag.new_end} has no terminal {tag.end.terminal}"
        case _:
            return ""


def _at(place: str) -> str:
    return f" at {place}" if place else ""


def tags_text(tags: Sequence[Tag]) -> str:
    """Place by place, ending in a line feed."""
    lines: list[str] = []
    widths = [max((len(text) for text in column), default=0) for column in zip(*map(_head, tags), strict=True)]
    place = None
    for tag in tags:
        if tag.place != place:
            place = tag.place
            lines += [*([""] if lines else []), place or "no place named"]
        number, *cells = _head(tag)
        head = "  ".join((number.rjust(widths[0]), *map(str.ljust, cells, widths[1:])))
        leads = f" (leads to {', '.join(tag.reaches)})" if tag.reaches else ""
        lines.append(f"  {head}  {wire_words(tag)}, {way_words(tag)}{leads}")
        indent = " " * (widths[0] + 4)
        lines += [f"{indent}carried: {got}" for got in tag.got]
        if tag.new and not (tag.action == "keep" and tag.new_wires == (tag.wire,) and tag.new_end == tag.end):
            lines.append(f"{indent}new: {new_words(tag)}")
    counts = {word: sum(tag.action == word for tag in tags) for word in ("keep", "take off", "cut")}
    listed = plainly_listed([f"{number} to {word}" for word, number in counts.items() if number])
    lines += ["", f"{counted(len(tags), 'tag')}: {listed}" if tags else "no wire, so no tag", CAUTION]
    return "".join(f"{visible(line).rstrip()}\n" for line in lines)


def _head(tag: Tag) -> tuple[str, str, str]:
    return str(tag.number), tag.action, tag.end


COLUMNS: Final = (
    "number",
    "place",
    "end",
    "wire",
    "colour",
    "size",
    "to",
    "to_place",
    "via",
    "reaches",
    "action",
    "got",
    "new_end",
    "new_wires",
    "new",
)


def tags_csv(tags: Sequence[Tag]) -> str:
    """CSV (RFC 4180) with a byte order mark and one header row; a list in one cell is parted by semicolons."""
    target = io.StringIO()
    target.write(BYTE_ORDER_MARK)
    writer = csv.DictWriter(target, COLUMNS)
    writer.writeheader()
    for tag in tags:
        cells = {name: "; ".join(cell) if isinstance(cell, tuple) else cell for name, cell in asdict(tag).items()}
        writer.writerow({**cells, "new": new_words(tag)})
    return target.getvalue()


def tags_json(tags: Sequence[Tag]) -> str:
    found = {"version": 1, "tags": [{**asdict(tag), "new_state": tag.new, "new": new_words(tag)} for tag in tags]}
    return json.dumps(found, indent=2, ensure_ascii=False) + "\n"
