"""The tables of ``REFERENCE.md``, made from the words that decide, so that page and tool never say two things.

``python -m loomwright.lang.vocabulary.reference`` writes them again; a test asks whether they are current.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final

from ..diagnostics.messages import KINDS as MISTAKES
from ..files.reading import LIBRARY, library_names
from ..model.conditions import ENGINE_POSITIONS
from ..quantities.units import ALSO_READ, UNITS, UNITS_OF
from ..survey.words import LINES, MEASURED
from .colours import ALSO_COLOURS, IEC_60757
from .kinds import BATTERY_TERMINALS, KINDS, ONE_NODE, ROLES, SYSTEMS, WHATS
from .shop import HOUSE, JUDGEMENTS
from .statements import STATEMENTS
from .wires import COVERS, OFFERED, THROUGH, WIRE_WORDS
from .words import (
    ENGINE,
    KEPT_WORDS,
    LATCH_POSITIONS,
    SENSED,
    SENSED_OPEN,
    SIGNAL_POSITIONS,
    WIRE_CLASSES,
    Kind,
    Line,
    Property,
    Words,
)

PAGE: Final = Path(__file__).parents[1] / "REFERENCE.md"
_MADE: Final = re.compile(r"(<!-- made: ([a-z ]+) -->\n).*?(<!-- end -->)", re.DOTALL)


def current(page: str) -> str:
    """The page with its tables as the words are now."""
    return _MADE.sub(lambda match: f"{match[1]}\n{TABLES[match[2]]()}\n\n{match[3]}", page)


def _code(words: Iterable[str]) -> str:
    return " ".join(f"`{word}`" for word in words)


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join(f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in line)} |" for line in lines)


def _kinds() -> str:
    head = ("kind", "what it is", "terminals", "on its line", "lines of its block")
    return _table(
        head,
        (
            (f"`{kind}`", spec.says, _terminals(kind, spec), _line_words(spec), _block(spec))
            for kind, spec in KINDS.items()
        ),
    )


def _terminals(kind: str, spec: Kind) -> str:
    if kind == "connector":
        return "`1` `2` …"
    if kind == "source":
        return f"{_code(BATTERY_TERMINALS)} of a battery"
    return "one, its name" if kind in ONE_NODE else _code(spec.terminals)


def _line_words(spec: Kind) -> str:
    marks = [f"`{mark}` QUANTITY" for mark in spec.marks]
    return "; ".join(part for part in (_on_line(spec.words), *marks) if part)


def _on_line(words: Words) -> str:
    units = [_units(dimension) for dimension in words.ratings]
    said = [f"`{word}` {_units(dimension)}" for word, (_, dimension) in words.keyed.items()]
    said += [f"`{word}` NAME" for word in words.named]
    if words is KINDS["load"].words:
        return f"as its elements: {', '.join(units)}; what it is; what it is for; {', '.join(said)}"
    upto = ["a range with `to`"] if words.upto else []
    return "; ".join(part for part in (", ".join((*units, *upto)), ", ".join(said), _code(words.flags)) if part)


def _units(dimension: str) -> str:
    return "/".join(UNITS_OF[dimension][:1]) if dimension != "area" else "mm2 or AWG"


def _block(spec: Kind) -> str:
    lines = [_line(word, line) for word, line in spec.lines.items()]
    if spec.free is not None:
        free = "POSITION" if spec.free.pairs else "ELEMENT"
        lines.insert(0, _line(free, spec.free, code=False))
    lines += [_property(word, prop) for word, prop in spec.properties.items()]
    return "<br>".join(lines)


def _line(word: str, line: Line, *, code: bool = True) -> str:
    name = {"no": "", "may": " [NAME]", "must": " NAME"}[line.name]
    shown = f"`{word}{name}:`" if code else f"{word}`:`"
    return f"{shown} {_how_many(line)}{_said(line)} – {line.says}{_only(line.only)}"


def _said(line: Line) -> str:
    words = "" if line.fact == "elements" else _on_line(line.words)
    return f"; {words}" if words else ""


def _how_many(line: Line) -> str:
    if line.pairs:
        return "pairs"
    if line.rows:
        return "rows"
    if line.fact == "latches":
        return "conditions"
    if line.most is None:
        return "any number"
    return str(line.least) if line.least == line.most else f"{line.least} to {line.most}"


def _property(word: str, prop: Property) -> str:
    quantity = _units(prop.dimension) if prop.dimension else "POSITION"
    return f"`{word}` {quantity}{f' {quantity}' if prop.then else ''} – {prop.says}{_only(prop.only)}"


def _only(sorts: tuple[str, ...]) -> str:
    return f" ({' or '.join(sorts)})" if sorts else ""


def _statements() -> str:
    """How each statement is written; the kinds of part have a table of their own."""
    others = ((f"`{head}`", f"`{form.written}`") for head, form in STATEMENTS.items() if head not in KINDS)
    return _table(("begins with", "is written"), others)


def _unit_list() -> str:
    also: dict[str, list[str]] = {}
    for written, name in ALSO_READ.items():
        also.setdefault(UNITS[name].dimension, []).append(written)
    rows = ((dimension, _code(names), _code(also.get(dimension, []))) for dimension, names in UNITS_OF.items())
    return _table(("quantity", "units", "read too"), rows)


def _colours() -> str:
    codes = {name: code for code, name in IEC_60757.items()}
    also: dict[str, list[str]] = {}
    for written, name in ALSO_COLOURS.items():
        also.setdefault(name, []).append(written)
    named = (*codes, *(name for name in also if name not in codes))
    rows = ((f"`{n}`", f"`{codes[n]}`" if n in codes else "", _code(also.get(n, ()))) for n in named)
    return _table(("colour", "IEC 60757, read too", "read too"), rows)


def _sensed() -> str:
    return _table(
        ("`senses`", "positions, the one at rest first if nothing else is stated"),
        ((f"`{quantity}`", _code(positions) + _open(quantity, positions)) for quantity, positions in SENSED.items()),
    )


def _open(quantity: str, positions: tuple[str, ...]) -> str:
    if quantity not in SENSED_OPEN:
        return ""
    return " and others" if positions else "two or more, of any name"


def _controls() -> str:
    rows = [
        ("a switch", "`KEY`", "those of its table"),
        ("a latch of a unit", "`CTRL.left`", _code(LATCH_POSITIONS)),
        ("a `signal` input of a unit", "`BOX.pickup`", _code(SIGNAL_POSITIONS)),
        ("the engine", f"`{ENGINE}`", _code(ENGINE_POSITIONS)),
    ]
    return _table(("control", "written", "positions"), rows)


def _house() -> str:
    return _table(("begins with", "states"), ((f"`house {word}`", fact.says) for word, fact in HOUSE.items()))


def _library() -> str:
    rows = []
    for name in library_names():
        lines = (LIBRARY / f"{name}.loom").read_text("utf-8").split("\n")
        rows.append((f"`use {name}`", _code(line.split()[2] for line in lines if line.startswith("pattern "))))
    return _table(("statement", "patterns"), rows)


def _surveys() -> str:
    rows = ((f"`{form.written}`", form.says) for form in (*LINES.values(), MEASURED))
    return _table(("a line", "says"), rows)


def _listing(words: Iterable[str]) -> Callable[[], str]:
    return lambda: _code(words)


def _meanings(head: tuple[str, str], words: dict[str, str]) -> Callable[[], str]:
    return lambda: _table(head, ((f"`{word}`", says) for word, says in words.items()))


TABLES: Final[dict[str, Callable[[], str]]] = {
    "statements": _statements,
    "kept words": _listing(KEPT_WORDS),
    "units": _unit_list,
    "colours": _colours,
    "kinds": _kinds,
    "whats": _meanings(("word", "an element that is"), WHATS),
    "roles": _meanings(("word", "what it is for"), ROLES),
    "systems": _listing(SYSTEMS),
    "sensed": _sensed,
    "wire words": _listing((*WIRE_WORDS.choices, *WIRE_WORDS.flags)),
    "offered": _meanings(("word", "what a terminal offers"), OFFERED),
    "covers": _meanings(("word", "the cover of a route"), COVERS),
    "classes": lambda: _table(
        ("class", "stands"), ((f"`{letter}`", f"{degrees:g} °C") for letter, degrees in WIRE_CLASSES.items())
    ),
    "joints": _listing(THROUGH),
    "controls": _controls,
    "house": _house,
    "judgements": _listing(JUDGEMENTS),
    "library": _library,
    "surveys": _surveys,
    "mistakes": _meanings(("kind", "what it reports"), MISTAKES),
}
"""What may be between ``<!-- made: NAME -->`` and ``<!-- end -->`` on the page."""


if __name__ == "__main__":
    PAGE.write_text(current(PAGE.read_text("utf-8")), "utf-8")
