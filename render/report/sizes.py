"""What sizing proposes, for a terminal and as JSON: what each wire and fuse has, what it needs, and what decides."""

from __future__ import annotations

import io
import json
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from ...lang.quantities.quantity import shown
from ..formats.figures import rounded
from .findings import counted

if TYPE_CHECKING:
    from rich.console import RenderableType

    from ...checks.sizing.criteria import Need
    from ...checks.sizing.sized import SizedFuse, SizedWire, Sizing
    from ...lang.quantities.size import Size

CAUTION = (
    "Local codes and a licensed practitioner decide. These are proposals from the figures above; no harness is claimed "
    "to be safe. A ground return is sized for its own current and one fault, not for the current of a second ground "
    "that has come off. Under 1 A the law exempts only wires of electronics; of all others that least size is "
    "Loomwright's choice. Before a larger fuse, find out why the old one was too small. The inrush of motors and lamps "
    "is not counted: ask the fuse's maker."
)
"""Shown under every proposal."""

FORMAT_VERSION = 1
_NONE = "-"


def sizing_text(found: Sizing, *, every: bool = False, width: int = 120, colour: bool = False) -> str:
    """Tables for a terminal, ``width`` columns wide, ending in a line feed; ``every``: what stays as it is, too."""
    from rich.console import Console

    target = io.StringIO()
    console = Console(
        file=target, width=width, force_terminal=colour, color_system="standard" if colour else None, highlight=False
    )
    for each in _blocks(found, every):
        console.print(each)
    return "".join(f"{line.rstrip()}\n" for line in target.getvalue().split("\n")[:-1])


def _blocks(found: Sizing, every: bool) -> Iterable[RenderableType]:
    from rich.text import Text

    wires = [wire for wire in found.wires if every or wire.changes or wire.short_of]
    fuses = [fuse for fuse in found.fuses if every or fuse.changes]
    if wires:
        heads = ("wire", "has", "metric", "AWG", "continuous", "short-time", "decides")
        yield _grid(heads, [_wire(wire) for wire in wires], right=(4, 5))
    if fuses:
        heads = ("fuse", "has", "least", "proposed", "continuous", "short-time", "decides")
        yield _grid(heads, [_fuse(fuse) for fuse in fuses], right=(4, 5))
    yield Text(closing_line(found))
    for remark in found.remarks:
        yield Text(f"- {remark}")
    yield Text(CAUTION)


def closing_line(found: Sizing) -> str:
    """How much is proposed, and by whose limits."""
    rest = len(found.wires) + len(found.fuses) - len(found.sizes) - len(found.ratings)
    said = (
        f"{counted(len(found.sizes), 'wire')} and {counted(len(found.ratings), 'fuse')} to change, {rest} as they are"
    )
    return f"{said}; profile {found.profile}"


def _grid(heads: Sequence[str], rows: Iterable[Sequence[str]], right: Sequence[int]) -> RenderableType:
    from rich import box
    from rich.table import Table

    grid = Table(box=box.SIMPLE, pad_edge=False, show_edge=False, padding=(0, 1))
    last = len(heads) - 1
    for place, head in enumerate(heads):
        grid.add_column(head, justify="right" if place in right else "left", no_wrap=place < last)
    for row in rows:
        grid.add_row(*row)
    return grid


def _wire(wire: SizedWire) -> tuple[str, ...]:
    marked = [_text(wire.metric), _text(wire.awg)]
    if wire.changes and wire.proposed is not None:
        place = 1 if wire.proposed.standard == "AWG" else 0
        marked[place] = f"{marked[place]} *"
    return (wire.name, _text(wire.present), *marked, _amps(wire.amps), _amps(wire.held), _why(wire))


def _why(wire: SizedWire) -> str:
    if wire.left:
        return f"({wire.left})"
    return wire.short_of or (f"{wire.decides.reason}: {wire.decides.says}" if wire.decides else "")


def _fuse(fuse: SizedFuse) -> tuple[str, ...]:
    present, least, proposed = (
        _NONE if amps is None else f"{shown(amps)} A" for amps in (fuse.present, fuse.least, fuse.proposed)
    )
    if fuse.changes:
        proposed = f"{proposed} *"
    why = f"({fuse.left})" if fuse.left else fuse.says
    return (fuse.name, present, least, proposed, _amps(fuse.amps), _amps(fuse.held), why)


def _text(size: Size | None) -> str:
    return size.text if size is not None else _NONE


def _amps(amps: float) -> str:
    return "" if amps < 5e-3 else f"{amps:.2f} A" if amps < 9.995 else f"{amps:.1f} A"


# --- for machines ----------------------------------------------------------------------------------------------------
def sizing_json(found: Sizing) -> str:
    """Everything as JSON: areas in mm2, currents in A, lengths in m."""
    document = {
        "format": "loomwright-sizing",
        "version": FORMAT_VERSION,
        "profile": found.profile,
        "wires": [_wire_object(wire) for wire in found.wires],
        "fuses": [
            {
                "name": fuse.name,
                "form": fuse.form,
                "present": fuse.present,
                "least": fuse.least,
                "proposed": fuse.proposed,
                "changes": fuse.changes,
                "amps": fuse.amps,
                "held": fuse.held,
                "decides": fuse.says,
                "left": fuse.left,
            }
            for fuse in found.fuses
        ],
        "remarks": list(found.remarks),
        "caution": CAUTION,
    }
    return json.dumps(rounded(document), indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def _wire_object(wire: SizedWire) -> dict[str, Any]:
    return {
        "name": wire.name,
        "present": _size(wire.present),
        "proposed": _size(wire.proposed),
        "changes": wire.changes,
        "metric": _size(wire.metric),
        "awg": _size(wire.awg),
        "amps": wire.amps,
        "held": wire.held,
        "metres": wire.metres,
        "decides": _need(wire.decides) if wire.decides else None,
        "needs": [_need(need) for need in wire.needs],
        "left": wire.left,
        "short_of": wire.short_of,
    }


def _need(need: Need) -> dict[str, Any]:
    return {"reason": need.reason, "says": need.says, "metric": _size(need.metric), "awg": _size(need.awg)}


def _size(size: Size | None) -> dict[str, Any] | None:
    return None if size is None else {"text": size.text, "mm2": size.area}
