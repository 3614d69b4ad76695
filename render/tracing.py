"""A traced way as text: what the current passes, in order, with what a person at the bench looks for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from ..checks.tracing import Trace
from ..lang.model import Fuse, Ground, Piece, Splice
from .formats.entries import number
from .report import INDENT, visible

if TYPE_CHECKING:
    from ..lang.circuit import Branch, Circuit
    from ..lang.mistake import Span


def trace_text(circuit: Circuit, traces: Iterable[Trace]) -> str:
    """Every trace: a line that says what holds when, then the way, one thing a line."""
    return "".join(f"{visible(line).rstrip()}\n" for found in traces for line in _lines(circuit, found))


def _lines(circuit: Circuit, found: Trace) -> Iterator[str]:
    if found.undecided:
        yield f"{found.thing}: not decided whether it is {found.said}: {found.undecided}"
        return
    if found.never:
        yield f"{found.thing}: never {found.said}"
        return
    if found.elsewhere is not None:
        yield f"{found.thing}: not {found.said} so; it is {_when(found.elsewhere)}"
        return
    yield f"{found.thing}: {found.said} {_when(found.combination)}"
    if found.held:
        yield f"{INDENT}while it holds that " + ", ".join(found.held)
    if found.through_others:
        yield f"{INDENT}only through what stands in series with it"
    rows = list(_rows(circuit, found.way))
    broad = max((len(name) for name, _, _ in rows), default=0)
    wide = max((len(what) for _, what, _ in rows), default=0)
    for name, what, place in rows:
        yield f"{INDENT}{name:<{broad}}  {what:<{wide}}  {place}"


def _when(combination: Iterable[tuple[str, str]]) -> str:
    words = " and ".join(f"{control} {position}" for control, position in combination)
    return f"with {words}" if words else "whatever the controls do"


def _rows(circuit: Circuit, way: Iterable[str]) -> Iterator[tuple[str, str, str]]:
    """Name, what it is and where it stands, of everything on the way; splices and grounds between wires too."""
    before: set[str] = set()
    for name in way:
        branch = circuit.by_key.get(name)
        if branch is None:
            yield name, "", ""
            before = set()
            continue
        ends = {branch.a, branch.b}
        for node in sorted(before & ends):
            if isinstance(part := circuit.harness.parts.get(node), Ground | Splice):
                yield node, part.kind, _place(part.span)
        yield name, _what(circuit, branch), _place(branch.span)
        before = ends


def _place(span: Span) -> str:
    return f"{span.file}:{span.line}"


def _what(circuit: Circuit, branch: Branch) -> str:
    if branch.piece is not None:
        return _conductor(branch.piece)
    part = circuit.harness.parts.get(branch.part)
    if isinstance(part, Fuse) and part.amps is not None:
        return f"{branch.law.title} {number(part.amps)} A"
    return branch.law.title


def _conductor(piece: Piece) -> str:
    """What a wire looks like: colour, size, length."""
    words = [piece.colour, piece.size.text if piece.size else None]
    if piece.length is not None:
        words.append(f"{number(piece.length)} m")
    return " ".join(word for word in words if word)
