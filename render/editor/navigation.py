"""Where a name is defined, and where it is mentioned."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from ...lang.diagnostics.diagnostic import Span
from ...lang.files.reading import library_names
from .occurrences import NAMED, Occurrence, owners, pattern_owner

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from .workspace import Understood


def definitions(known: Understood, mention: Occurrence) -> tuple[Span, ...]:
    """Where a name is defined: more than once where a mistake says so, nowhere where nothing defines it.

    A terminal that no line of its part names is the part's by its kind: the part's own line is shown.
    """
    if mention.sort == "file":
        return _file(known, mention)
    same = alike(known.harness, mention)
    found = tuple(m.span for m in known.all_mentions if m.defines and (m.sort, m.owner, m.name) in same)
    if not found and mention.owner:
        found = tuple(m.span for m in known.all_mentions if m.defines and m.key == ("part", "", mention.owner))
    return found[:1] if mention.sort == "terminal" else found


def references(known: Understood, mention: Occurrence, *, definition: bool) -> tuple[Span, ...]:
    """Every place that mentions the same thing, in the order of the files; where it is defined only if asked for."""
    same = alike(known.harness, mention)
    return tuple(m.span for m in known.all_mentions if m.key in same and (definition or not m.defines))


def alike(harness: Harness, mention: Occurrence) -> frozenset[tuple[str, str, str]]:
    """The keys of all mentions of one thing: a part's and its pattern's; parts and wires share one set of names."""
    if mention.sort in ("part", "wire"):
        return frozenset((sort, "", mention.name) for sort in ("part", "wire"))
    if mention.sort in NAMED or not mention.owner:
        return frozenset({mention.key})
    pattern = mention.owner.removeprefix(pattern_owner(""))
    if pattern != mention.owner:
        shared = [mention.owner, *(part.name for part in harness.parts.values() if part.pattern == pattern)]
    else:
        shared = [*owners(mention.owner, harness.parts.get(mention.owner))]
    return frozenset((mention.sort, owner, mention.name) for owner in shared)


def _file(known: Understood, mention: Occurrence) -> tuple[Span, ...]:
    """The file that a ``use`` or a ``converts`` line names."""
    written = mention.name.strip('"')
    if not mention.name.startswith('"') and written in library_names():
        return (Span(f"library/{written}.loom", 1, 1, 1),)
    name = os.path.normpath(Path(mention.span.file).parent / written)
    return (Span(name, 1, 1, 1),) if name in known.syntaxes or Path(name).is_file() else ()
