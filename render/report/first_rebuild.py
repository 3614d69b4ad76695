"""The first file of a rebuild: the kept parts of the old harness, the wires between them, each cut lead insulated."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ...lang.diagnostics.messages import Diagnostics
from ...lang.editing.formatter import tidy
from ...lang.syntax.parser import parse

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ...checks.conversion.boundary import Lead
    from ...checks.conversion.sorting import Sorting
    from ...lang.syntax.tree import Inner, Statement

ALWAYS: Final = frozenset({"system", "wires", "place", "route", "use", "pattern", "house", "language"})
"""First words of the statements that are taken over as they are."""
LIBRARY: Final = "library/"


def first_rebuild(sorting: Sorting, leads: tuple[Lead, ...], texts: Mapping[str, str], old: str, file: str) -> str:
    """The text, in the layout of the language. ``old``: the old file as the new one names it.

    Raises ``TidyError`` where it would not mean the same once laid out.
    """
    title = (sorting.harness.title or "harness").replace('"', "'")
    lines = [f'loom "{title}, rebuild"']
    main, *used = [name for name in texts if not name.startswith(LIBRARY)]
    taken: list[str] = []
    for name in (main, *used):
        syntax = parse(texts[name], name, Diagnostics())
        for statement in syntax.statements:
            taken += _taken(sorting, statement, texts[name].split("\n"), is_main=name == main)
    heads = [line for line in taken if line.split(" ", 1)[0] in ("language", "system", "wires", "use")]
    lines = [
        *(h for h in heads if h.startswith("language")),
        *lines,
        *(h for h in heads if not h.startswith("language")),
    ]
    lines.append(f'converts "{old}"')
    lines += ["", *(line for line in taken if line not in heads)]
    lines += ["", "# --- Leads that were cut, each with what it got before", ""]
    for lead in leads:
        got = "; ".join(lead.got)
        if lead.cut.bare:
            lines.append(f"capped {lead.cut.node}  # {got}")
        else:
            lines.append(f"# {lead.cut.node} lost wire {', '.join(lead.cut.wires)}: {got}")
    return tidy("\n".join(lines) + "\n", file)


def _taken(sorting: Sorting, statement: Statement, rows: list[str], *, is_main: bool) -> Iterator[str]:
    if statement.node is None:
        return
    head = statement.head
    name = str(statement.tokens[1]) if len(statement.tokens) > 1 else ""
    if head in ALWAYS:
        if head != "use" or (is_main and '"' not in _row(statement, rows)):
            yield from _written(statement, rows, kept=False)
    elif head == "wire":
        if name in sorting.wires and sorting.wires[name].keep:
            whole = sorting.stays(sorting.harness.wires[name])
            written = _written(statement, rows, kept=True)
            yield from written if whole else (f"# {row}  # its other end goes to a new part" for row in written)
    elif head == "mount":
        part = name.partition(".")[0]
        if part in sorting.parts and sorting.keeps(part):
            yield from _written(statement, rows, kept=False)
    elif name in sorting.parts and sorting.keeps(name) and head == sorting.harness.parts[name].kind:
        yield from _written(statement, rows, kept=True)


def _row(line: Statement | Inner, rows: list[str]) -> str:
    """The words of a line as they were written."""
    first, last = line.tokens[0], line.tokens[-1]
    return rows[line.line - 1][first.column - 1 : last.end_column - 1]


def _written(statement: Statement, rows: list[str], *, kept: bool) -> Iterator[str]:
    words = [str(token) for token in statement.tokens]
    said = _row(statement, rows) + (" kept" if kept and "kept" not in words else "")
    if statement.block is None:
        yield said
        return
    yield f"{said} {{"
    for inner in statement.block:
        yield f"    {_row(inner, rows)}"
    yield "}"
