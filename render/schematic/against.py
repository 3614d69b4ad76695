"""Old against new on two schematics: what is added or changed in the new one, what is removed or changed in the old."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from ...checks.conversion.item_changes import ItemChange, part_changes, wire_changes
from ...checks.conversion.matching import Match
from ...lang.circuit.ids import piece_of
from ...lang.model.harness import Harness
from ..drawing.primitives import Mark
from .symbols.drawn import Now

_WORDS: Final = {"added": "new", "removed": "removed", "re-routed": "re-routed"}
_LONGEST: Final = 24
"""Letters of what something was that are noted beside it; more are left to ``compare`` (ours)."""


def changes(old: Harness, new: Harness, revision: str = "") -> tuple[Now, Now]:
    """What is marked in the new harness, and what in the old one, which may be of a ``revision`` in git."""
    match = Match(old, new, by_ends=True)
    found = [*part_changes(match), *wire_changes(match)]
    before, now = old.title or old.file, new.title or new.file
    there, here = (f" of revision {revision}", f"Revision {revision}, compared") if revision else ("", "Compared")
    return (
        _marked(new, found, is_new=True, says=f"Compared with {before}{there}."),
        _marked(old, found, is_new=False, says=f"{here} with {now}."),
    )


def _marked(harness: Harness, found: Iterable[ItemChange], *, is_new: bool, says: str) -> Now:
    by_name: dict[tuple[str, str], list[ItemChange]] = {}
    for change in found:
        by_name.setdefault((change.what, change.new if is_new else change.old), []).append(change)
    of_parts = {name: own for name in harness.parts if (own := by_name.get(("part", name)))}
    of_wires: dict[str, list[ItemChange]] = {
        piece_of(each): own for each in harness.segments if (own := by_name.get(("wire", each.wire)))
    }
    differing: dict[str, list[ItemChange]] = {**of_parts, **of_wires}
    return Now(
        says=says,
        positions={},
        active=None,
        notes={name: _note(own, is_new=is_new) for name, own in differing.items()},
        marks={name: _mark(own) for name, own in differing.items()},
    )


def _mark(found: Iterable[ItemChange]) -> Mark:
    kinds = {change.kind for change in found}
    return "added" if "added" in kinds else "removed" if "removed" in kinds else "changed"


def _note(found: Iterable[ItemChange], *, is_new: bool) -> str:
    """In a few words what differs."""
    return ", ".join(dict.fromkeys(_words(change, is_new=is_new) for change in found))


def _words(change: ItemChange, *, is_new: bool) -> str:
    if change.kind in _WORDS:
        return _WORDS[change.kind]
    names, texts = (change.new, change.old), (change.now, change.was)
    other = names[is_new] if change.kind == "renamed" else texts[is_new].replace("mm2", "mm²")  # as beside each wire
    return f"{'was' if is_new else 'becomes'} {other}" if 0 < len(other) <= _LONGEST else change.kind
